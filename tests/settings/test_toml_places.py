"""Places of keys and values, compared with the standard library's own reading."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.settings.toml_places import find_places

TEXTS = [
    "a = 1\nb = 'x'\n",
    '[x]\nlost_motion = 0.09 # mm\ntravel = [0.0, 400.0]\n[y]\n"lost motion" = 1\n',
    "x.lost_motion = 0.1\nx.deep.er = [[1, 2], [3,\n 4], # a\n]\n",
    'a = """\n[no] \\"""x = 1\n"""\nb = \'\'\'# no\n\'\'\'\'\'\nc = "# \\" no"\nd = \'[\'\n',
    "t = { a = 1, b = [1, {c = 'x'}], \"d e\" = true }\nu = {}\nv=[]\n",
    "[[tool]]\nn = 1\n[tool.deep]\nm = 2\n[[tool]]\nn = 3\n[[tool.deeper]]\nk = 4\n",
    "d = 1979-05-27 07:32:00 # date\ne = 1979-05-27T07:32:00Z\nf = 07:32:00\n",
    "\r\n[ x ]\r\n lost_motion  =  0.09\t\r\n[ 'y' . z ]\r\nq=-inf",
    "[controller.origins]\nG54 = [1, 2, 3]\n'G59.1' = [1,2,3,]\n",
    '"é" = "ü" # ö\n"k" = 2\n',
    "",
    "# only a comment",
]


def leaves(value, path=()):
    """Return each value that is no table, with the keys that lead to it."""
    if isinstance(value, dict):
        for key, each in value.items():
            yield from leaves(each, (*path, key))
        return
    yield path, value
    if isinstance(value, list):
        for at, each in enumerate(value):
            if isinstance(each, dict):
                yield from leaves(each, (*path, at))
            else:
                yield from leaves(each, (*path, at))


def check(text):
    values = tomllib.loads(text)
    places = find_places(text)
    for path, value in leaves(values):
        start, end = places.value[path]
        if text.startswith("[[", start) and isinstance(value[0], dict):
            continue  # [[tool]]: the place is the head of the first table
        # the place holds just the value, no more and no less
        assert tomllib.loads(f"k = {text[start:end]}")["k"] == value
        assert text[start:end] == text[start:end].strip()
        if not isinstance(path[-1], int):
            key_start, key_end = places.key[path]
            inner = tomllib.loads(f"{text[key_start:key_end]} = 0")
            while isinstance(inner, dict):
                ((name, inner),) = inner.items()
            assert name == path[-1]


@pytest.mark.parametrize("text", TEXTS)
def test_each_place_reads_back_as_its_value(text):
    check(text)


KEYS = st.text("abcxyz_-09", min_size=1, max_size=4) | st.text(
    "a .#\"'[=", min_size=1, max_size=4
).map(lambda text: '"' + text.replace('"', '\\"') + '"')
SCALARS = st.sampled_from(
    ["1", "-0.5", "true", "'#'", '"a\\"b"', '"]"', "1e3", "'''x\ny'''", '"""a"b\n"""', "07:32:00"]
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda each: "[" + ", ".join(each) + "]")
        | st.lists(inner, max_size=3).map(
            lambda each: "[\n" + "".join(f"  {v}, # ]\n" for v in each) + "]"
        )
        | st.dictionaries(KEYS, inner, max_size=2).map(
            lambda each: "{ " + ", ".join(f"{k} = {v}" for k, v in each.items()) + " }"
        )
    ),
    max_leaves=6,
)


@given(st.lists(st.tuples(KEYS, VALUES), max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_places_hold_for_any_text_that_the_library_reads(pairs, newline):
    text = "".join(f"{key} = {value}{newline}" for key, value in pairs)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    check(text)


def test_a_text_that_is_nested_deep_loses_places_but_not_its_head():
    text = "a = 1\nb = " + "[" * 3000 + "]" * 3000
    assert find_places(text).value[("a",)] == (4, 5)
