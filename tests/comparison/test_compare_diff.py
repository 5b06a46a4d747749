"""Two programs side by side: what is the same motion, what differs, and the figures."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.comparison.comparison import Comparison
from gpre.comparison.diff import diff
from gpre.source.text import SourceText

PROGRAM = """G21 G90 G17
S1500 M3
G0 X0 Y0 Z5
G1 Z-1 F100
G1 X30 F300
G2 X30 Y20 I0 J10
G1 X0
G1 Y0
G0 Z5
M5
M30
"""


def compared(before: str, after: str) -> Comparison:
    return diff(SourceText.of(before.encode(), "a.ngc"), SourceText.of(after.encode(), "b.ngc"))


SAME = {
    "spacing and case": PROGRAM.lower().replace("g1 x30", "g1   x 30"),
    "comments": PROGRAM.replace("M5", "(stop) M5").replace("G1 X0", "G1 X0 ; back"),
    "block numbers": "".join(
        f"N{10 * at} {line}\n" for at, line in enumerate(PROGRAM.split("\n")[:-1])
    ),
    "modes restated": PROGRAM.replace("G1 X0\n", "G17 G90 G1 X0 F300\n"),
    "modal words left out": PROGRAM.replace("G1 X30 F300", "X30 F300").replace("G1 Y0", "Y0"),
    "incremental": PROGRAM.replace("G1 X0\nG1 Y0\n", "G91 G1 X-30\nY-20\nG90\n"),
    "a move that goes nowhere": PROGRAM.replace("G1 Y0\n", "G1 Y0\nG1 Y0\n"),
    "line ends": PROGRAM.replace("\n", "\r\n"),
    "less than the resolution": PROGRAM.replace("G1 X30 F300", "G1 X30.00009 F300"),
}


@pytest.mark.parametrize("name", SAME)
def test_the_same_motion_written_otherwise(name: str) -> None:
    result = compared(PROGRAM, SAME[name])
    assert result.same_motion, result.first_difference
    assert result.first_difference == ""
    assert result.moves_added == result.moves_gone == 0 or name == "less than the resolution"


def test_inches_are_the_same_path_though_the_units_in_force_differ() -> None:
    inches = "G20 G90 G17\nG0 X0 Y0 Z.1\nG1 Z-.1 F10\nX2.\nM30\n"
    metric = "G21 G90 G17\nG0 X0 Y0 Z2.54\nG1 Z-2.54 F254\nX50.8\nM30\n"
    result = compared(inches, metric)
    assert result.left_out == result.added == 0.0
    assert not result.same_motion  # G20 became G21


DIFFERENT = {
    "place": (PROGRAM.replace("G1 X30", "G1 X30.001"), "ends at another place"),
    "kind": (PROGRAM.replace("G0 Z5", "G1 Z5"), "another kind of move"),
    "way round": (PROGRAM.replace("G2 X", "G3 X"), "turns by another angle"),
    "feed": (PROGRAM.replace("F300", "F310"), "another feed"),
    "speed": (PROGRAM.replace("S1500", "S1600"), "something else in force"),
    "order": (PROGRAM.replace("G1 X0\nG1 Y0\n", "G1 Y0\nG1 X0\n"), "ends at another place"),
    "a move more": (PROGRAM.replace("M5", "G0 X5\nM5"), "goes on with line 10"),
    "a stop more": (PROGRAM.replace("M5", "M0\nM5"), "stop M0"),
    "a stop at another move": (
        PROGRAM.replace("M5\n", "").replace("G0 Z5\nM30", "M5\nG0 Z5\nM30"),
        "something else in force",
    ),
}


@pytest.mark.parametrize("name", DIFFERENT)
def test_another_motion_is_told_by_its_first_difference(name: str) -> None:
    after, words = DIFFERENT[name]
    assert after != PROGRAM
    result = compared(PROGRAM, after)
    assert not result.same_motion
    assert words in result.first_difference


def test_figures_by_hand() -> None:
    result = compared(PROGRAM, PROGRAM.replace("G1 X30 F300", "G1 X30.5 F300\nG1 X30"))
    old, new = result.before_figures, result.after_figures
    # 6 down, 30 along, half a circle of radius 10, 30 back, 20 home
    assert old.feed_length == pytest.approx(6 + 30 + math.pi * 10 + 30 + 20)
    assert old.rapid_length == pytest.approx(5 + 6)
    assert new.feed_length == pytest.approx(old.feed_length + 1.0)
    assert old.moves == 7
    assert new.moves == 8
    # X turns into the arc, within it and out of it; Y on the way home; Z after each rapid
    assert old.total == new.total == (3, 1, 2)
    assert old.in_cut == (3, 1, 1)
    assert result.left_out <= 0.002
    assert result.added == pytest.approx(0.5)
    assert result.added_at == 4
    assert (result.blocks_changed, result.blocks_added, result.blocks_gone) == (1, 1, 0)


def test_a_pass_cut_the_other_way_is_on_the_same_path() -> None:
    after = PROGRAM.replace(
        "G1 X30 F300\nG2 X30 Y20 I0 J10\nG1 X0\nG1 Y0\n",
        "G1 Y20 F300\nG1 X30\nG3 X30 Y0 I0 J-10\nG1 X0\n",
    )
    result = compared(PROGRAM, after)
    assert result.left_out == result.added == 0.0
    assert result.moves_added == result.moves_gone == 0
    assert not result.same_motion


def test_nothing_to_compare() -> None:
    empty = compared("", "")
    assert empty.same_motion
    assert not empty.hunks
    half = compared(PROGRAM, "")
    assert not half.same_motion
    assert math.isinf(half.left_out)
    assert half.added == 0.0
    assert half.blocks_gone == len(PROGRAM.split("\n")) - 1


shift = st.floats(-3.0, 3.0).map(lambda each: round(each, 3))


@given(shift, shift)
def test_the_distance_of_a_shifted_path(dx: float, dy: float) -> None:
    moved = f"G21 G90\nG0 X{dx} Y{dy} Z0\nG1 X{30 + dx:.3f} F300\nM30\n"
    result = compared("G21 G90\nG0 X0 Y0 Z0\nG1 X30 F300\nM30\n", moved)
    far = np.hypot(dx, dy)
    if far > 0.01:
        assert result.left_out == pytest.approx(far, abs=1e-9)
        assert result.added == pytest.approx(far, abs=1e-9)
    else:
        assert result.left_out <= far + 3e-3
