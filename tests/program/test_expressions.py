"""Blocks with parameters and expressions: the grammar of NISTIR 6556, appendix E, and beyond it."""

import math

import pytest
from hypothesis import given
from program_texts import EXPRESSIONS

from gpre.diagnostics.diagnostic import Span
from gpre.program.expression import Call, Expression, Number, Operation, Parameter
from gpre.program.items import block_words
from gpre.program.read import read
from gpre.program.statement import LONGEST, MOST_OPERATORS
from gpre.program.words import BlockFlag, Statement


def shape(tree: Expression) -> object:
    """An expression without its spans, as nested tuples."""
    if isinstance(tree, Number):
        return tree.value
    if isinstance(tree, Parameter):
        return ("#", shape(tree.index))
    if isinstance(tree, Call):
        return (tree.function, *map(shape, tree.arguments))
    return (tree.operator, shape(tree.left), shape(tree.right))


def statement(text: str) -> Statement:
    program = read(text.encode("latin-1"))
    assert list(program.statements) == [0], program.findings
    return program.statements[0]


def value(text: str) -> object:
    """The tree behind an X word."""
    (word,) = statement("X" + text).words
    return shape(word.value)


def codes(text: str) -> list[str]:
    return [each.code for each in read(text.encode("latin-1")).findings]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # NISTIR 6556, 3.3.2.3: ** before * / MOD before + - OR XOR AND, equals left to right.
        (
            "[2.0 / 3 * 1.5 - 5.5 / 11.0]",
            ("-", ("*", ("/", 2.0, 3.0), 1.5), ("/", 5.5, 11.0)),
        ),
        ("[2 ** 3 ** 2]", ("**", ("**", 2.0, 3.0), 2.0)),
        ("[1 + 2 or 3 and 4 xor 5]", ("xor", ("and", ("or", ("+", 1.0, 2.0), 3.0), 4.0), 5.0)),
        ("[15 MOD 4.0 * 2]", ("*", ("mod", 15.0, 4.0), 2.0)),
        ("[1 + 2 * 3 ** 4]", ("+", 1.0, ("*", 2.0, ("**", 3.0, 4.0)))),
        ("[2 - 3 - 4]", ("-", ("-", 2.0, 3.0), 4.0)),
        # Appendix E: a number has its own sign.
        ("[1 --3]", ("-", 1.0, -3.0)),
        ("[1/2.1+-0.345]", ("+", ("/", 1.0, 2.1), -0.345)),
        # 3.3.2.2: # binds tightest.
        ("[#1+2]", ("+", ("#", 1.0), 2.0)),
        ("##2", ("#", ("#", 2.0))),
        ("#[1+2]", ("#", ("+", 1.0, 2.0))),
        # 3.3.2.4: functions; ATAN has two arguments.
        ("atan[1.7321]/[1.0]", ("atan", 1.7321, 1.0)),
        ("[atan[1]/[2] / 3]", ("/", ("atan", 1.0, 2.0), 3.0)),
        ("SQRT[3**2 + 4**2]", ("sqrt", ("+", ("**", 3.0, 2.0), ("**", 4.0, 2.0)))),
        # Beyond the standard: a sign before a bracket, a parameter, a function.
        ("-[2]", ("negate", 2.0)),
        (" - [ #6 ]", ("negate", ("#", 6.0))),
        ("-#1", ("negate", ("#", 1.0))),
        ("+#1", ("#", 1.0)),
        ("-sin[30]", ("negate", ("sin", 30.0))),
        ("[-#1 ** 2]", ("**", ("negate", ("#", 1.0)), 2.0)),
        # Blanks and comments anywhere between.
        ("[1 (one) + 2 ( two ) ]", ("+", 1.0, 2.0)),
        ("[ s i n [ 3 0 ] ]", ("sin", 30.0)),
    ],
)
def test_trees(text: str, expected: object) -> None:
    assert value(text) == expected


@pytest.mark.parametrize(
    "name", ["abs", "acos", "asin", "cos", "exp", "fix", "fup", "ln", "round", "sin", "sqrt", "tan"]
)
def test_every_function_in_any_case(name: str) -> None:
    assert value(f"{name.upper()}[0.5]") == (name, 0.5)
    assert value(f"[{name}[.5]*2]") == ("*", (name, 0.5), 2.0)


def test_the_long_expression_of_the_standard() -> None:
    # NISTIR 6556, C.2, block n0460.
    tree = value("[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]")
    asin = ("asin", ("+", ("/", 1.0, 2.1), -0.345))
    atan = ("atan", ("*", ("*", ("fix", 4.4), 2.1), ("sqrt", 16.8)), -18.0)
    assert tree == ("+", 2.0, ("/", asin, ("**", atan, 2.0)))


def test_settings_and_words_keep_their_order_and_their_places() -> None:
    text = "N7 #3 = 6 G1 X#3 #4=[1+#3] (x) Y -2"
    found = statement(text)
    assert [word.letter for word in found.words] == ["G", "X", "Y"]
    assert [text[word.span.start : word.span.end] for word in found.words] == ["G1", "X#3", "Y -2"]
    assert [text[each.span.start : each.span.end] for each in found.assignments] == [
        "#3 = 6",
        "#4=[1+#3]",
    ]
    assert shape(found.assignments[0].parameter) == 3.0
    assert shape(found.assignments[1].value) == ("+", 1.0, ("#", 3.0))
    program = read(text.encode())
    assert program.blocks.number[0] == 7
    assert block_words(program, 0) == found.words


def test_a_parameter_set_through_another() -> None:
    (setting,) = statement("##2=5").assignments
    assert shape(setting.parameter) == ("#", 2.0)
    assert shape(setting.value) == 5.0


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        ("G#901200", "G"),
        ("D#4120 M#100", "DM"),
        ("G03 X[625.67*#10+#6] Y#2 I[-53.9*#10]", "GXYI"),
        ("g tan[3] x5 g tan[4] l exp[2]", "GXGL"),  # no GT, no LE: they are no comparisons here
        ("x#1y#2m#3f#4", "XYMF"),
    ],
)
def test_words_of_any_letter_take_expressions(text: str, letters: str) -> None:
    assert "".join(word.letter for word in statement(text).words) == letters


@pytest.mark.parametrize(
    ("text", "flow", "condition", "target"),
    [
        ("IF [#1 LT #2] GOTO 30", "IF", ("lt", ("#", 1.0), ("#", 2.0)), 30.0),
        ("if[#1 eq 0] then g1 x5", "IF", ("eq", ("#", 1.0), 0.0), None),
        ("IF [[#1 GT 1] AND [#2 LE 3]] #3=1", "IF", None, None),
        ("WHILE [#1 LT 3] DO1", "WHILE", ("lt", ("#", 1.0), 3.0), 1.0),
        ("DO 2", "DO", None, 2.0),
        ("END1", "END", None, 1.0),
        ("GOTO 100", "GOTO", None, 100.0),
        ("GOTO #1", "GOTO", None, ("#", 1.0)),
        ("N50 goto[#1+1]", "GOTO", None, ("+", ("#", 1.0), 1.0)),
        ("ELSE", "ELSE", None, None),
        ("ENDIF", "ENDIF", None, None),
        ("o100 sub", "O-WORD", None, None),
        ("O<bolt circle> call [1] [#2]", "O-WORD", None, None),
        ("o101 while [#1 lt 5]", "O-WORD", None, None),
        ("o102 repeat [3]", "O-WORD", None, None),
        ("o#1 call", "O-WORD", None, None),
        ("o103 endif", "O-WORD", None, None),
        ("o<depth> #1=3", "O-WORD", None, None),
        ("o103 elseif [1]", "O-WORD", None, None),
        ("G65 P9010 A#1", "CALL", None, None),
    ],
)
def test_flow_is_named(text: str, flow: str, condition: object, target: object) -> None:
    program = read(text.encode())
    found = program.statements[0]
    assert found.flow == flow
    assert program.blocks.flags[0] & BlockFlag.FLOW
    assert not program.blocks.flags[0] & BlockFlag.UNREADABLE
    assert program.findings[0].code == ("REA222" if flow == "CALL" else "REA221")
    if condition is not None:
        assert found.condition is not None
        assert shape(found.condition) == condition
    assert (shape(found.target) if found.target else None) == target


def test_flow_keeps_what_it_would_do() -> None:
    found = statement("IF [#1 LT #2] THEN #1= #2")
    assert shape(found.assignments[0].value) == ("#", 2.0)
    found = statement("IF [#1 LT #2] G1 X5 M99")
    assert [word.letter for word in found.words] == ["G", "X", "M"]


def test_flow_that_cannot_be_read_is_named_all_the_same() -> None:
    program = read(b"IF #1 EQ 3 GOTO 1\n")
    assert program.statements[0] == Statement(flow="IF")
    assert program.blocks.flags[0] & BlockFlag.FLOW
    assert program.blocks.flags[0] & BlockFlag.UNREADABLE
    assert {each.code for each in program.findings} == {"REA221", "REA230"}


@pytest.mark.parametrize(
    ("text", "code", "place"),
    [
        ("X[1 + 2", "REA231", "["),
        ("X[[1]", "REA231", "["),
        ("X1]#1=2", "REA231", "]"),
        ("X[ATAN[1]]", "REA230", "]"),
        ("X[1 +]", "REA230", "]"),
        ("X#1#", "REA230", "#"),
        ("#1=", "REA230", "="),
        ("[1+2]", "REA230", "["),
        ("X[1 $ 2]", "REA201", "$"),
        ("X[1 ~ 2]", "REA201", "~"),
        ("#<depth>=5", "REA233", "#"),
        ("X[#1 GT 2]", "REA234", "#"),
        ("O10 X[#1 GT 2]", "REA234", "#"),
        ("X[sinh[1]]", "REA230", None),
    ],
)
def test_faults_have_a_code_and_a_place(text: str, code: str, place: str | None) -> None:
    program = read(text.encode())
    (finding,) = program.findings
    assert finding.code == code
    assert program.blocks.flags[0] & BlockFlag.UNREADABLE
    assert not program.statements
    if place:
        assert finding.span is not None
        assert text[finding.span.start] == place


def test_blanks_within_a_number_are_said() -> None:
    program = read(b"X[1 2 + #3]")
    assert shape(program.statements[0].words[0].value) == ("+", 12.0, ("#", 3.0))
    assert [each.code for each in program.findings] == ["REA236"]


def test_a_fault_at_the_end_points_at_the_end() -> None:
    (finding,) = read(b"G1 X#1 Y#").findings
    assert finding.code == "REA230"
    assert finding.span == Span(8, 9)


def test_what_would_be_too_deep_is_refused_before_it_is_read() -> None:
    assert codes("X" + "[" * 41 + "1" + "]" * 41) == ["REA232"]
    assert codes("X[1" + "+1" * (MOST_OPERATORS + 1) + "]") == ["REA232", "SRC102"]
    assert codes("X" + "#" * (MOST_OPERATORS + 1) + "1") == ["REA232"]
    assert "REA232" in codes("#1=" + "1" * LONGEST)
    assert codes("X" + "[" * 39 + "1" + "]" * 39) == []


def test_comparisons_side_by_side_in_conditions_do_not_fail() -> None:
    assert statement("IF [#1 LT 2 AND #2 GT 3] GOTO 5").flow == "IF"


@given(EXPRESSIONS)
def test_spans_hold_their_parts(text: str) -> None:
    data = ("G1 X" + text).encode()
    program = read(data)
    (*_, word) = block_words(program, 0)
    assert word.span == (3, len(data))

    def check(tree: Expression, within: Span) -> None:
        assert within.start <= tree.span.start < tree.span.end <= within.end
        if isinstance(tree, Number):
            written = data[tree.span.start : tree.span.end].decode().replace(" ", "")
            assert math.isclose(float(written), tree.value, rel_tol=0, abs_tol=0)
        elif isinstance(tree, Parameter):
            check(tree.index, tree.span)
        elif isinstance(tree, Call):
            for each in tree.arguments:
                check(each, tree.span)
        elif isinstance(tree, Operation):
            check(tree.left, tree.span)
            check(tree.right, tree.span)

    check(word.value, word.span)
