"""Keys of very many parts are found before the text is read, wherever they stand."""

import pytest

from gpre.diagnostics.faults import FileFault
from gpre.settings.deep_keys import DEEPEST_KEY, find_deep_key
from gpre.settings.toml_file import GREATEST_SIZE, MOST_FINDINGS, SettingsFile

MANY = ".".join(["a"] * (DEEPEST_KEY + 1))
FEWER = ".".join(["a"] * DEEPEST_KEY)


@pytest.mark.parametrize(
    "text",
    [
        f"[{MANY}]\n",
        f"[[{MANY}]]\n",
        f"{MANY} = 1\n",
        f"x = {{ {MANY} = 1 }}\n",
        f"x = [\n1, # {FEWER}\n{{{MANY} = 1}}]\n",
        f"[{MANY.replace('.', ' . ')}]\n",
        f"[{MANY.replace('a', chr(34) + 'a.b' + chr(34))}]\n",
        f"[{MANY.replace('a', chr(39) + '#' + chr(39))}]\n",
        f"x = '''{FEWER}'''\n[{MANY}]\n",
    ],
)
def test_a_key_of_too_many_parts_is_a_fault_at_its_place(text):
    found = find_deep_key(text)
    assert found is not None
    assert text[found.start] == "."
    with pytest.raises(FileFault) as caught:
        SettingsFile.of(text.encode(), "mill.toml")
    (finding,) = caught.value.diagnostics
    assert finding.code == "MIL511"
    assert (finding.span.start, finding.span.end) == (found.start, found.end)


def test_the_place_is_in_bytes_of_the_file():
    text = f"# größe\n[{MANY}]\n"
    with pytest.raises(FileFault) as caught:
        SettingsFile.of(b"\xef\xbb\xbf" + text.encode(), "mill.toml")
    (finding,) = caught.value.diagnostics
    assert finding.span.start == len(b"\xef\xbb\xbf") + len("# größe\n[a".encode())


@pytest.mark.parametrize(
    "text",
    [
        f"[{FEWER}]\n",
        f"# {MANY}\n",
        f'x = "{MANY}"\n',
        f"x = '{MANY}'\n",
        f'x = """\n{MANY}\n"""\n',
        f"x = '''\n{MANY}\n'''\n",
        f'x = "a\\"{MANY}"\n',
        "x = [" + "0.1, " * 500 + "]\n",
        "x = [" + "[0.5, 0.09], " * 500 + "]\n",
        "".join(f"a{at}.b = 1.5\n" for at in range(500)),
    ],
)
def test_what_stands_in_strings_comments_and_numbers_is_no_key(text):
    assert find_deep_key(text) is None
    SettingsFile.of(text.encode(), "mill.toml")


def test_no_text_is_too_much_for_the_look():
    """Unclosed strings, brackets and points, 200 kB of each."""
    for piece in ('"', "'", '"""a', "'''a", ".", "a.", ". a ", '"a".', "\\", "#.", "[", "a"):
        text = piece * (GREATEST_SIZE // len(piece))
        found = find_deep_key(text)
        assert (found is None) == (piece not in {"a.", ". a ", '"a".'})


@pytest.mark.parametrize(
    "text",
    [
        "".join(f"k{at} = 1\n" for at in range(5000)),
        "[x]\nlost_motion = [" + "[0.1, 0.2], " * 5000 + "]\n",
        "".join(f"[tool.{at}]\ndiameter = -1\n" for at in range(5000)),
    ],
)
def test_a_file_of_nothing_but_faults_has_a_bounded_number_of_them(text):
    from gpre.mill.job_file import read_job
    from gpre.mill.profile import read_profile

    reader = read_job if "tool" in text else read_profile
    with pytest.raises(FileFault) as caught:
        reader(SettingsFile.of(text.encode(), "mill.toml"))
    assert len(caught.value.diagnostics) == MOST_FINDINGS


def test_a_number_of_very_many_digits_is_told_in_plain_words():
    with pytest.raises(FileFault) as caught:
        SettingsFile.of(f"x = {'9' * 5000}\n".encode(), "mill.toml")
    (finding,) = caught.value.diagnostics
    assert finding.code == "MIL501"
    assert finding.message == "a number has more digits than can be read"
