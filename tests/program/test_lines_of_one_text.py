"""Lines of one text are read once and moved; blocks of one shape go through the grammar once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from examples import share
from hypothesis import example, given
from hypothesis import strategies as st

from gpre.program.expression import Call, Expression, Number, Operation, Parameter
from gpre.program.line import SHORT, _read_line, scan_line
from gpre.program.read import read
from gpre.program.statement import _form_of

PARTS = st.sampled_from(
    [
        *"GXYZMFNO#[]=()%/;:.-+~?@ \t0123456789",
        *(
            "G1",
            "X1.25",
            "#1=",
            "[#1+12]",
            "cos[",
            "atan[1]/[2]",
            "**",
            " mod ",
            "gt",
            "O12",
            "N10",
        ),
        *("IF [", "GOTO 12", "WHILE [", "] DO 1", "sub", "(note)", "(a(b)c)", "(open", "\x01", "é"),
    ]
)
LINES = st.lists(PARTS, max_size=9).map(lambda parts: "".join(parts).encode("latin-1"))


@share(3)
@given(LINES, st.integers(0, 70_000))
@example(b"IF [#1 GT 2] GOTO 5", 12)
@example(b"WHILE [#1 LT 3] DO 1", 9)
@example(b"N123456 X-#1 Y1", 5)
@example(b"X1 (a", 300)
def test_a_line_reads_alike_wherever_it_stands(raw: bytes, base: int) -> None:
    data = b" " * base + raw
    for _ in range(2):  # read, and taken from what was kept
        line = scan_line(data, base, len(data))
        assert line == _read_line(raw, base)
        line.findings.clear()
        line.words.clear()


def numbers(expression: Expression | None) -> Iterator[Number]:
    if isinstance(expression, Number):
        yield expression
    elif isinstance(expression, Parameter):
        yield from numbers(expression.index)
    elif isinstance(expression, Call):
        for each in expression.arguments:
            yield from numbers(each)
    elif isinstance(expression, Operation):
        yield from numbers(expression.left)
        yield from numbers(expression.right)


VALUES = st.one_of(
    st.integers(0, 99_999).map(str),
    st.tuples(st.integers(0, 999), st.integers(0, 99_999)).map(lambda pair: f"{pair[0]}.{pair[1]}"),
    st.sampled_from([".5", "7.", "-3", "+12.50", "- 4", "1 2", "007"]),
)


@given(st.lists(VALUES, min_size=5, max_size=5), st.sampled_from(["", " ", "(long note here) "]))
def test_numbers_of_one_shape_keep_their_values_and_places(values: list[str], gap: str) -> None:
    a, b, c, d, e = values
    text = f"N5 {gap}X[{a}+ {b}]{gap}Y[SIN[{c}]*[{d}]] #{gap}[{e}]=[{a}] Z#1\n#2=[{b}/{c}]\n"
    program = read(text.encode())
    assert [each.code for each in program.findings if each.code == "REA230"] == []
    found: list[str] = []
    for _, statement in sorted(program.statements.items()):
        parts = [word.value for word in statement.words]
        for each in statement.assignments:
            parts += [each.parameter, each.value]
        for number in (each for part in parts for each in numbers(part)):
            written = program.text[number.span.start : number.span.end].decode()
            assert float(written.replace(" ", "")) == number.value
            found.append(written)
    # the words of a statement come first, then its settings
    assert found == [a, b, c, d, "1", e, a, "2", b, c]


@pytest.mark.parametrize(
    ("text", "place"),
    [("#1=[12+]", "]"), ("X[123 456 + 77 * ] Y1", "]"), ("#100=[1234+55", "["), ("#12=34*", "*")],
)
def test_faults_behind_long_numbers_are_shown_in_place(text: str, place: str) -> None:
    source = (text + "\n").encode()
    for _ in range(2):
        (fault,) = [each for each in read(source).findings if each.code in {"REA230", "REA231"}]
        assert fault.span is not None
        assert source[fault.span.start : fault.span.end].decode() == place


def test_blocks_of_one_shape_go_through_the_grammar_once() -> None:
    _form_of.cache_clear()
    lines = [f"G1 X[{at}.{at}+#{at + 1}] Y[COS[{at}]]" for at in range(200)]
    read("\n".join(lines).encode())
    assert min(map(len, lines)) > SHORT - 8
    assert _form_of.cache_info().misses == 1
