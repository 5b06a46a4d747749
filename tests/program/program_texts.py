"""Texts of programs drawn from a grammar, plain and odd; and what two readings must share."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from gpre.program.program import Program

LETTERS = "ABCDFGHIJKLMPQRSTXYZ"
BLANKS = st.sampled_from(["", "", "", " ", "  ", "\t"])
DIGITS = st.text("0123456789", min_size=1, max_size=6)
LONG_DIGITS = st.text("0123456789", min_size=1, max_size=20)
SIGN = st.sampled_from(["", "", "-", "+"])


@st.composite
def numbers(draw: st.DrawFn) -> str:
    """A real number in any of its forms (NISTIR 6556, 3.3.2.1)."""
    digits = draw(st.sampled_from([DIGITS, DIGITS, LONG_DIGITS]))
    form = draw(st.integers(0, 3))
    whole, fraction = draw(digits), draw(digits)
    text = (whole, f"{whole}.", f"{whole}.{fraction}", f".{fraction}")[form]
    return draw(SIGN) + text


@st.composite
def words(draw: st.DrawFn) -> str:
    letter = draw(st.sampled_from(LETTERS))
    if draw(st.booleans()):
        letter = letter.lower()
    return letter + draw(numbers())


COMMENT_TEXT = st.text(st.characters(codec="latin-1", exclude_characters="\r\n();%"), max_size=12)
COMMENTS = st.one_of(COMMENT_TEXT.map("({})".format), st.just("(MSG, X1 Y2)"))


@st.composite
def plain_blocks(draw: st.DrawFn) -> str:
    """A block that the bulk scanner takes: block delete, number, words, comments."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.sampled_from(["", "%", "  ", "; text (more) ;", "(text)"]))
    text = draw(st.sampled_from(["", "", "", "/"]))
    if draw(st.integers(0, 2)) == 0:
        text += f"N{draw(st.integers(0, 1_000_000))}" + draw(BLANKS)
    for _ in range(draw(st.integers(0, 5))):
        text += draw(words()) + draw(BLANKS)
        if draw(st.integers(0, 9)) == 0:
            text += draw(COMMENTS)
    return text


EXPRESSIONS = st.recursive(
    st.one_of(numbers(), st.integers(1, 99).map("#{}".format)),
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from(["+", "-", "*", "/", "**", " MOD ", " or "]), inner).map(
            lambda parts: "[" + "".join(parts) + "]"
        ),
        inner.map("sin[{}]".format),
        st.tuples(inner, inner).map(lambda pair: f"ATAN[{pair[0]}]/[{pair[1]}]"),
        inner.map("-[{}]".format),
    ),
    max_leaves=5,
)

ODD_BLOCKS = st.one_of(
    EXPRESSIONS.map("G1 X{}".format),
    st.tuples(st.integers(1, 99), EXPRESSIONS).map(lambda pair: f"#{pair[0]} = {pair[1]}"),
    EXPRESSIONS.map("IF [{} LT 3] GOTO 10".format),
    st.sampled_from(
        [
            "x +0. 12 34 y 7",
            "MO6",
            "N10 21 G40",
            "....",
            "WHILE [#1 LT 3] DO1",
            "END1",
            "GOTO 5",
            "o100 sub",
            "O<name> call [1]",
            "O1234",
            ":12",
            ":12 G1",
            "%%",
            "M30 %",
            "% TITLE",
            "// text",
            "//G1 X5",
            "/2 G1 X1",
            "(open",
            "(a (b) c)",
            "(a (b) c) d)",
            "X1)",
            "G1 X1 X2",
            "M1 M2 M3 M4 M5",
            "G65 P1 A1 A2",
            "M97 P5",
            "G96 S100",
            "G71 P1 Q2 U.5",
            "G71",
            "G70 I5 J6 L2",
            "U1 W2",
            "X1E5",
            "G1 V1",
            "X--1",
            "X1.2.3",
            "X",
            "N",
            "N1.5",
            "N5 /G1",
            "G1 N5",
            "X\x00",
            "X\x01 5",
            "X5,6",
            "X[",
            "[",
            "#",
            "\ufeff",
            "é",
        ]
    ),
)
NEWLINES = st.sampled_from(["\n", "\n", "\r\n", "\r"])


@st.composite
def programs(draw: st.DrawFn, odd: bool = True) -> bytes:
    """A whole text, of plain blocks or of all kinds, with any line ends and encoding."""
    blocks = st.one_of(plain_blocks(), plain_blocks(), ODD_BLOCKS) if odd else plain_blocks()
    lines = draw(st.lists(st.tuples(blocks, NEWLINES), max_size=12))
    text = "".join(line + end for line, end in lines)
    if draw(st.booleans()):
        text = text.rstrip("\r\n")
    data = text.encode(draw(st.sampled_from(["latin-1", "utf-8"])), "replace")
    return draw(st.sampled_from([b"", b"", b"", b"\xef\xbb\xbf"])) + data


def assert_same(one: Program, other: Program) -> None:
    """All that two readings of one text say is the same, bit by bit."""
    for name in ("letter", "value", "start", "end", "block"):
        left, right = getattr(one.words, name), getattr(other.words, name)
        assert left.dtype == right.dtype
        assert left.tobytes() == right.tobytes(), name
    for name in ("first_word", "flags", "number"):
        assert np.array_equal(getattr(one.blocks, name), getattr(other.blocks, name)), name
    assert one.statements == other.statements
    assert one.findings == other.findings
    assert one.text == other.text
