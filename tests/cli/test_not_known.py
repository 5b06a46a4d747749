"""What is not known of places, on the command line: told with line and reason, or made known."""

import json

import pytest
from command import call

# By hand: one slot in two work systems with one tool; invented demo program.
TWO = """G21 G17 G90 G94
S2000 M3
G54
G43 H11 Z25
G0 X0 Y0
G0 Z2
G1 Z-1 F100
X40 F300
G0 Z25
G55
G0 X0 Y0
G0 Z2
G1 Z-1 F100
X40 F300
G0 Z25
M30
"""
PROFILE = """[controller]
units = 'mm'
start = [0.0, 0.0, 0.0]
[controller.origins]
G54 = [0.0, 0.0, 0.0]
"""
KNOWN = ("--work-offset", "G55=100,0,0", "--tool-length", "H11=80")
OLD_NAMES = ("--origins", "G55=100,0,0", "--lengths", "H11=80")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "two.ngc").write_text(TWO)
    (tmp_path / "slower.ngc").write_text(TWO.replace("X40 F300", "X40 F250"))
    # in G55 the tool goes down where it stood, if the zeros were the same
    (tmp_path / "lost.ngc").write_text(TWO.replace("G55\nG0 X0 Y0\n", "G55\n"))
    (tmp_path / "mill.toml").write_text(PROFILE)
    return tmp_path


def test_prove_tells_since_when_and_why(capsys, folder):
    status, out, _ = call(capsys, "prove", "two.ngc", "slower.ngc", "--mill", "mill.toml")
    assert status == 0
    told = " ".join(out.split())
    assert "Z unknown where line 4 starts: the length of H11 is not in the profile" in told
    assert "X and Y unknown from line 10 until line 11 states them: the origin of G55 is" in told


@pytest.mark.parametrize("known", [KNOWN, OLD_NAMES])
def test_options_make_it_known(capsys, folder, known):
    arguments = ("prove", "two.ngc", "slower.ngc", "--mill", "mill.toml", *known)
    status, out, _ = call(capsys, *arguments)
    assert status == 0
    assert "unknown" not in out
    shape = json.loads(call(capsys, *arguments, "--json")[1])
    assert shape["before"]["not_known"] == []


@pytest.mark.parametrize("command", ["predict", "rewrite", "prove"])
def test_the_help_has_the_new_names_of_options_alone(capsys, command):
    _, out, _ = call(capsys, command, "--help")
    assert all(name in out for name in KNOWN[::2])
    assert not any(name in out for name in OLD_NAMES[::2])


def test_a_restated_place_that_is_lost_fails_whatever_is_known(capsys, folder):
    for more in ((), ("--mill", "mill.toml"), ("--mill", "mill.toml", *KNOWN)):
        status, out, _ = call(capsys, "prove", "two.ngc", "lost.ngc", *more)
        assert status == 4, more
        assert "NOT PROVED" in out


def test_the_job_file_makes_it_known_in_its_own_units(capsys, folder):
    (folder / "two.job.toml").write_text(
        'units = "inch"\n[origins]\nG55 = [4.0, 0.0, 0.0]\n[lengths]\nH11 = 3.15\n'
    )
    arguments = ("prove", "two.ngc", "slower.ngc", "--mill", "mill.toml", "--certificate", "c.json")
    status, out, _ = call(capsys, *arguments)
    assert status == 0
    assert "unknown" not in out
    values = json.loads((folder / "c.json").read_text())["values"]
    assert values["origins"]["G55"] == pytest.approx([101.6, 0.0, 0.0])
    assert values["lengths"]["H11"] == pytest.approx(80.01)


def test_the_certificate_lists_what_was_not_known(capsys, folder):
    arguments = ("prove", "two.ngc", "slower.ngc", "--mill", "mill.toml", "--certificate", "c.txt")
    assert call(capsys, *arguments)[0] == 0
    text = (folder / "c.txt").read_text()
    assert "PLACES NOT KNOWN" in text
    assert "the length of H11 is not in the profile" in text
    assert "a tool change may move any axis" in text


def test_rewrite_says_which_cuts_it_skips(capsys, folder):
    deep = TWO.replace("G55\nG0 X0 Y0\nG0 Z2\n", "G55\nG0 X0 Y0\n")
    (folder / "deep.ngc").write_text(deep)
    status, out, _ = call(capsys, "rewrite", "deep.ngc", "--mill", "mill.toml", "--plan")
    assert status == 0
    told = " ".join(out.split())
    assert "Z is not known since line 10: the origin of G55 is not in the profile" in told


@pytest.mark.parametrize(
    "option",
    [
        ("--work-offset", "G55=1,2"),
        ("--work-offset", "G60=1,2,3"),
        ("--work-offset", "G55=1,2,x"),
        ("--work-offset", "G55"),
        ("--tool-length", "H11"),
        ("--tool-length", "H0=5"),
        ("--tool-length", "x=5"),
        ("--tool-length", "H3=nan"),
    ],
)
def test_an_option_that_cannot_be_read_is_wrong_usage(capsys, folder, option):
    status, _, err = call(capsys, "prove", "two.ngc", "slower.ngc", *option)
    assert status == 2
    assert " ".join(option) in err


@pytest.mark.parametrize("table", ["[controller.lengths]\ntool3 = 5\n", "[lengths]\nT3 = 5\n"])
def test_a_length_without_an_h_number_is_a_fault_in_its_place(capsys, folder, table):
    name = "mill.toml" if "controller" in table else "two.job.toml"
    (folder / name).write_text(table)
    status, _, err = call(capsys, "prove", "two.ngc", "slower.ngc", "--mill", "mill.toml")
    assert status == 3
    assert "MIL515" in err
