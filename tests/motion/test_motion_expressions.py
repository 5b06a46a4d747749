"""Expressions and parameters: NISTIR 6556, 3.3.2 and the expression program of appendix C.2."""

from __future__ import annotations

import math
from itertools import permutations

import pytest
from motion_checks import codes, end_state, ends, events, place, program, run

from gpre.motion.evaluate import evaluate
from gpre.motion.events import EventKind

# NISTIR 6556, C.2: expressions with the values that the program itself prints beside them
PRINTED = {
    "[1 + 2 * 3 - 4 / 5]": 6.2,
    "[15 MOD 4.0]": 3,
    "[2 or 2]": 1,
    "[2 xor 2]": 0,
    "[1 --3]": 4,
    "sin[30]": 0.5,
    "tan[60.0]": 1.7321,
    "atan[1.7321]/[1.0]": 60,
    "acos[0.707107]": 45,
    "round[-0.499]": 0,
    "round[-0.5001]": -1,
    "round[9.975]": 10,
    "fix[-0.499]": -1,
    "fup[-0.499]": 0,
    "exp[2.3026]": 10,
    "ln[10]": 2.3026,
    "[2 ** 3.0]": 8,
    "sqrt[3**2 + 4**2]": 5,
}
# the same program, its other lines from memory: every operator and function once
FROM_MEMORY = {
    "[2.0 / 3 * 1.5 - 5.5 / 11.0]": 0.5,  # printed in 3.3.2.3
    "[0 and 3.7]": 0,
    "[1 and 0]": 0,
    "[1 or 0]": 1,
    "[0 xor 3]": 1,
    "abs[-1.3]": 1.3,
    "asin[0.5]": 30,
    "cos[0.0]": 1,
    "fix[2.8]": 2,
    "fix[-2.8]": -3,  # printed in 3.3.2.4
    "fup[2.8]": 3,
    "fup[-2.8]": -2,  # printed in 3.3.2.4
    "fup[-2.499]": -2,
    "round[2.5]": 3,
    "[2 ** 3 ** 2]": 64,  # equal rank from left to right, 3.3.2.3
    "[10 - 3 - 2]": 5,
    "[1 + 2 ** 3 * 2]": 17,
    "[-5 mod 3]": 1,
    "[5 mod -3]": 2,
    "-3": -3,
    "[[1 + 2] * [3 + 4]]": 21,
}


@pytest.mark.parametrize(("text", "value"), [*PRINTED.items(), *FROM_MEMORY.items()])
def test_values_of_the_expression_program(text: str, value: float) -> None:
    motion = run(f"G1 F100 X{text}")
    assert codes(motion) == []
    assert motion.end[0][0] == pytest.approx(value, abs=1e-3)  # inputs have five digits


def test_the_longest_line_of_the_expression_program() -> None:
    # NISTIR 6556, C.2, n0460; its value computed with a four-quadrant ATAN
    text = "[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]"
    assert run(f"G1 F1 X{text}").end[0][0] == pytest.approx(2.000545078, abs=1e-9)


@pytest.mark.parametrize(("y", "x"), [(1, 1), (1, -1), (-1, -1), (-1, 1), (0, -1), (3, 0)])
def test_atan_finds_the_quadrant(y: int, x: int) -> None:
    value = run(f"G1 F1 X ATAN[{y}]/[{x}]").end[0][0]
    assert value == pytest.approx(math.degrees(math.atan2(y, x)))


def test_a_setting_takes_effect_after_all_values_are_read() -> None:
    # NISTIR 6556, 3.3.3: with #3=15, `#3=6 G1 x#3` goes to 15, then #3 is 6
    motion = run("G1 F10\n#3=15\n#3=6 G1 x#3\nG1 x#3")
    assert [end[0] for end in ends(motion)] == [15, 6]


def test_parallel_settings_of_the_expression_program() -> None:
    # NISTIR 6556, C.2: `#3=5.0 x #3` goes to the 7 set before, `x #3 #3=1.1` to 5
    motion = run("G1 F10\n#3=7.0\n#3=5.0 x #3\nx #3 #3=1.1\nx#3")
    assert [end[0] for end in ends(motion)] == [7, 5, 1.1]


def test_the_last_of_two_settings_wins() -> None:
    # NISTIR 6556, 3.3.5
    assert end_state("#3=15 #3=6").parameters[3] == 6


def test_a_parameter_through_another_binds_tightest() -> None:
    # NISTIR 6556, 3.3.2.2: `#1+2` is (#1)+2, `##2` goes through #2
    motion = run("G1 F10\n#1=4 #2=1\nX[#1+2]\nX##2\nX[##2 + #1]")
    assert [end[0] for end in ends(motion)] == [6, 4, 8]


def test_word_order_does_not_matter() -> None:
    # NISTIR 6556, 3.3.6: `g40 g1 #3=15 (foo) #4=-7.0` means the same in all 120 orders
    results = set()
    for order in permutations(["g40", "g1", "#3=15", "(foo)", "#4=-7.0"]):
        machine = end_state("G0\n" + " ".join(order))
        results.add((machine.state, machine.parameters[3], machine.parameters[4]))
    assert len(results) == 1
    ((state, three, four),) = results
    assert (state.motion, three, four) == (10, 15, -7)


def test_settings_are_events() -> None:
    motion = run("G0 X1\n#7=2.5\nG0 X2")
    assert events(motion, EventKind.PARAMETER) == [(1, 1, "#7=2.5")]


def test_a_parameter_never_set_makes_the_axis_unknown() -> None:
    text = "G1 F10 X1 Y1\nG1 X[#50 + 1]\nY4\nX2"
    motion = run(text)
    assert codes(motion) == ["INT333"]
    assert place(motion, text, "INT333") == "#50"
    assert math.isnan(motion.end[1][0])
    assert motion.end[1][1] == 1
    assert math.isnan(motion.end[2][0])
    assert ends(motion)[3] == (2, 4, 0)


def test_an_unknown_value_travels_through_settings() -> None:
    motion = run("#1=[#9*2]\n#2=#1\nG1 F1 X#2")
    assert codes(motion) == ["INT333"]
    assert math.isnan(motion.end[0][0])


@pytest.mark.parametrize(
    ("text", "code", "span"),
    [
        ("X[1/0]", "INT334", "[1/0]"),
        ("X[5 MOD 0]", "INT334", "[5 MOD 0]"),
        ("X[0 ** -1]", "INT334", "[0 ** -1]"),
        ("XSQRT[-4]", "INT335", "SQRT[-4]"),
        ("XASIN[1.01]", "INT335", "ASIN[1.01]"),
        ("XACOS[-2]", "INT335", "ACOS[-2]"),
        ("XLN[0]", "INT335", "LN[0]"),
        ("X[-8 ** 0.5]", "INT335", "[-8 ** 0.5]"),
        ("XEXP[1000]", "INT335", "EXP[1000]"),
        ("X#5400", "INT336", "#5400"),
        ("X#0", "INT336", "#0"),
        ("X#1.5", "INT336", "#1.5"),
        ("#5400=1 X1", "INT336", "#5400=1"),
    ],
)
def test_values_that_do_not_exist(text: str, code: str, span: str) -> None:
    # the domains are those of the functions; the numbers of parameters NISTIR 6556, 3.2.1
    whole = "G1 F10 Y1\n" + text
    motion = run(whole)
    assert codes(motion) == [code]
    assert place(motion, whole, code).strip("[]") == span.strip("[]")
    if "X1" not in text:
        assert math.isnan(motion.end[1][0])


def test_a_code_from_a_parameter() -> None:
    # common practice: G codes from parameters; here one that is known
    motion = run("#1=1\nG#1 X5 F10")
    assert codes(motion) == []
    assert motion.kind[0] == 1


def test_a_code_from_an_unknown_parameter_is_not_guessed() -> None:
    motion = run("G0 X1\nG#901200 X5\nX7\nG0 X8")
    assert codes(motion) == ["INT336", "INT303", "INT344"]
    assert motion.end[-1][0] == 8
    assert len(motion) == 2
    assert all(math.isnan(each) for each in motion.start[1])  # it may be any code


def test_parametric_arcs_are_evaluated() -> None:
    text = "#10=1 #6=0\nG0 X[10*#10+#6] Y0\nG03 X[-10*#10+#6] Y0 I[-10*#10] J0 F100"
    motion = run(text)
    assert codes(motion) == []
    assert motion.sweep[1] == pytest.approx(math.pi)
    assert motion.centre[1][:2] == pytest.approx((0, 0))


def test_a_sign_before_a_bracket() -> None:
    assert run("G0 X - [ 2 + 3 ]\n#6=4\nX -#6").end[:, 0].tolist() == [-5, -4]


def test_reserved_parameters_mirror_the_offsets() -> None:
    # NISTIR 6556, Table 2 and 3.5.18
    machine = end_state(
        "G0 X4\nG92 X7\n#1=#5211\nG10 L2 P2 X10 Y20\n#2=#5241 #3=#5242\nG55\n#4=#5220"
    )
    assert machine.parameters[1] == -3
    assert (machine.parameters[2], machine.parameters[3]) == (10, 20)
    assert machine.parameters[4] == 2


def test_parameters_between_the_reserved_ones_are_free() -> None:
    """NISTIR 6556, Table 2: six for each of the homes and for G92."""
    machine = end_state("G0 X4\nG92 X7\n#5167=2 #5187=3 #5217=4\n#1=#5167 #2=#5187 #3=#5217")
    assert [machine.parameters[each] for each in (1, 2, 3)] == [2, 3, 4]


def test_reserved_lengths_are_read_in_the_units_in_force() -> None:
    machine = end_state("G21 G10 L2 P2 X25.4\nG20\n#1=#5241\nG21\n#2=#5241")
    assert machine.parameters[1] == pytest.approx(1)
    assert machine.parameters[2] == pytest.approx(25.4)


def test_an_origin_that_only_the_controller_knows() -> None:
    motion = run("G0 X#5221")
    assert codes(motion) == ["INT337"]
    known = run("G0 X#5221", origins={1: (3.0, 0.0, 0.0)})
    assert codes(known) == []
    assert known.end[0][0] == 3


def test_home_and_offset_parameters() -> None:
    # NISTIR 6556, Table 2
    motion = run("#1=#5161 #2=#5163 #3=#5181 #5161=7 #5211=4\n#4=#5161\nG92.3", home=(1, 2, 3))
    assert codes(motion) == ["INT337"]
    machine = end_state("#1=#5161 #2=#5163 #5161=7 #5211=4\n#4=#5161\nG92.3", home=(1, 2, 3))
    assert [machine.parameters[index] for index in (1, 2, 4)] == [1, 3, 7]
    assert machine.position[0] == -4


def test_a_number_too_large_is_not_held() -> None:
    motion = run("G0 X1\nG0 X[" + "9" * 400 + "]")
    assert codes(motion) == ["INT335"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("sqrt[0.25]", 0.5),
        ("sqrt[0]", 0.0),
        ("ln[0.5]", math.log(0.5)),
        ("asin[1]", 90.0),
        ("asin[-1]", -90.0),
        ("acos[-1]", 180.0),
        ("[0.25 ** 0.5]", 0.5),
        ("[-0.5 ** 2]", 0.25),
        ("[0 ** 2]", 0.0),
        ("[0.5 / 0.25]", 2.0),
        ("[-6 mod 3]", 0.0),
        ("[0.5 and 1]", 1.0),
        ("[1 and 1]", 1.0),
        ("[1 xor 1]", 0.0),
        ("[0.5 or 0]", 1.0),
        ("atan[-1]/[-1]", -135.0),
    ],
)
def test_at_the_edges_of_where_a_function_has_a_value(text: str, value: float) -> None:
    # from the definitions of the functions; angles in degrees (NISTIR 6556, 3.3.2.4)
    motion = run(f"G0 X{text}")
    assert codes(motion) == []
    assert ends(motion)[0][0] == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("operator", "less", "same", "more"),
    [
        ("eq", 0, 1, 0), ("ne", 1, 0, 1), ("gt", 0, 0, 1), ("ge", 0, 1, 1), ("lt", 1, 0, 0),
        ("le", 1, 1, 0),
    ],
)  # fmt: skip
def test_comparisons(operator: str, less: int, same: int, more: int) -> None:
    # common practice: the standard has none of them; conditions are read and not followed
    for one, wanted in ((1, less), (2, same), (3, more)):
        statement = program(f"IF [{one} {operator} 2] GOTO 10").statements[0]
        assert statement.condition is not None
        assert evaluate(statement.condition, lambda *_: math.nan, lambda *_: None) == wanted


@pytest.mark.parametrize("operator", ["and", "or", "xor"])
def test_logic_on_all_four_pairs(operator: str) -> None:
    # NISTIR 6556, 3.3.2.3: any number but 0 counts as true
    for one in (0.0, 2.5):
        for other in (0.0, -0.5):
            truth = {"and": one and other, "or": one or other, "xor": bool(one) != bool(other)}
            wanted = float(bool(truth[operator]))
            assert ends(run(f"G0 X[{one} {operator} {other}]"))[0][0] == wanted
