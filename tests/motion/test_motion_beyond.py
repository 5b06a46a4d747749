"""What programs in use hold beyond the standard: what is clear is run, the rest is left alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_checks import codes, end_state, ends, events, kinds, run

from gpre.motion.events import EventKind


def test_comments_of_all_manners_hold_no_motion() -> None:
    text = "; G0 X9\n(G0 X8) G0 X1 ; X7\n// a line\n( never closed X6\nG0 X2 (a ; b)"
    assert [end[0] for end in ends(run(text))] == [1, 2]


def test_percent_in_all_places() -> None:
    assert ends(run("a title\n%\nO1234\nG0 X1\n%\nX9")) == [(1, 0, 0)]
    assert len(run("%\n%\nG0 X1\n%")) <= 1
    assert ends(run("%\nG0 X1 %\nX9"))[0] == (1, 0, 0)


def test_a_byte_order_mark_and_line_ends() -> None:
    plain = run("%\nG0 X1\nG1 Y2 F9\n%")
    marked = run(b"\xef\xbb\xbf%\r\nG0 X1\r\nG1 Y2 F9\r\n%\r\n")
    assert ends(plain) == ends(marked) == [(1, 0, 0), (1, 2, 0)]


def test_block_marks_with_a_colon() -> None:
    assert ends(run(":10 G0 X1\n:20 Y2")) == [(1, 0, 0), (1, 2, 0)]


def test_long_block_numbers() -> None:
    assert ends(run("N123456789 G0 X1")) == [(1, 0, 0)]


@pytest.mark.parametrize("letter", "EUVW")
def test_letters_that_a_mill_does_not_know(letter: str) -> None:
    motion = run(f"G0 X1 Y1 Z1\nG1 F9 X2 {letter}3\nG1 X4\nG0 Y2")
    assert len(events(motion, EventKind.UNKNOWN)) == 1
    assert math.isnan(motion.start[1][0])
    assert motion.end[1][0] == 4


def test_typing_errors_lose_the_axes_that_they_name() -> None:
    motion = run("G0 X1 Y1 Z1\nMO6\nN10 21 G40\n.........\nX2\nGO X5\nY3\nG0 X6\nY4")
    assert codes(motion) == ["INT344"]
    assert len(events(motion, EventKind.UNKNOWN)) == 4
    assert ends(motion)[1] == (2, 1, 1)
    assert ends(motion)[-1] == (6, 4, 1)
    assert np.isnan(motion.start[2]).tolist() == [True, True, False]


def test_modes_in_a_block_at_fault_are_in_force() -> None:
    state = end_state("G91 G1 X1 X2 F50 M8").state
    assert (state.distance, state.motion, state.flood) == (91, 10, True)


def test_parameters_of_a_block_at_fault_are_unknown() -> None:
    motion = run("#1=5\n#1=[2 +\nG0 X#1")
    assert codes(motion) == ["INT337"]


def test_blocks_of_a_lathe_are_left_alone() -> None:
    motion = run("G0 X1 Z1\nG96 S100\nG71 P10 Q20 U0.5 W0.1 D2\nX5\nG0 X2 Z2")
    assert len(events(motion, EventKind.UNKNOWN)) == 2
    assert motion.end[-1].tolist() == [2, 0, 2]


def test_codes_that_restate_what_is_so_anyway() -> None:
    motion = run("G97 S900 M3\nG67\nG0 G15 G50 G50.1 G69 X1")
    assert codes(motion) == []
    assert motion.state_of(0).spindle == 900


def test_absolute_centres_end_where_the_program_says() -> None:
    motion = run("F9 G0 X10 Y5\nG90.1 G2 X20 Y5 I15 J5\nG91.1 G2 X10 Y5 I-5 J0")
    assert codes(motion) == []
    assert motion.sweep[1:].tolist() == pytest.approx([-math.pi, -math.pi])


def test_sticky_words_of_cycles_change_one_at_a_time() -> None:
    motion = run("G0 Z5\nG82 G99 X1 Y1 Z-2 F60 R1 P0.1\nG82 X2 Y2\nZ-3\nR2 X3\nG80\nG0 Z9")
    assert codes(motion) == []
    assert kinds(motion) == "R" + "RRLR" + "RLR" * 2 + "RRLR" + "R"


def test_comments_within_expressions() -> None:
    assert run("#7= 1500. (speed)\nG0 X[#7 (half) / 2]").end[0][0] == 750


def test_spaces_within_words() -> None:
    # NISTIR 6556, 3.3: `g0x +0. 12 34y 7` is `g0 x+0.1234 y7`
    assert ends(run("g0x +0. 12 34y 7")) == [(0.1234, 7, 0)]


def test_tool_radius_from_a_parameter() -> None:
    motion = run("#4120=3\nG41 D#4120 G1 F9 X5\nG40 X6")
    assert codes(motion) == []
    assert [motion.state_of(move).compensation for move in range(2)] == [41, 40]


def test_a_semicolon_within_brackets_and_program_text_in_comments() -> None:
    assert ends(run("G0 X1 (drill; then G0 X9)\n(G1 Y5 F100)\nY2")) == [(1, 0, 0), (1, 2, 0)]


def test_home_names_only_the_axes_that_move() -> None:
    motion = run("G0 X1 Y1 Z1\nG91 G28 Z0\nG28 X0 Y0\nM30")
    assert codes(motion) == ["INT328"]
    assert np.isnan(motion.end[-1]).all()
    assert np.isnan(motion.end[2]).tolist() == [False, False, True]
