"""What an unknown code, an outside call or an earlier program may have left in force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_checks import codes, end_state, run

ORIGINS = {1: (100.0, 50.0, 200.0), 2: (300.0, 50.0, 200.0)}


@pytest.mark.parametrize(
    "code", ["G54.1 P3", "G110", "G52 X1", "G44 H1", "M100", "G65 P9010", "M98 P9010"]
)
def test_a_code_that_is_not_known_may_change_all_that_a_program_can_set(code: str) -> None:
    options = {"origins": ORIGINS, "lengths": {1: 40.0}, "home": (0.0, 0.0, 0.0)}
    machine = end_state(f"G54 G43 H1\nG0 X1 Y2 Z3\n{code}\nG0 X1 Y2 Z3", **options)
    assert not machine.known
    assert machine.home is None
    assert machine.state.length is None
    assert machine.state.placed == (False, False, False)
    # the same system stated again is another one for all that is known, and moves no axis
    text = f"G54 G43 H1\nG0 X1 Y2 Z3\n{code}\nG0 X1 Y2 Z3\nG54\nG49"
    assert np.isnan(end_state(text, **options).position[:3]).all()
    assert [each.value for each in run(text, **options).events][-2:] == ["G54", "G49"]


def test_a_system_that_p_names_is_not_known() -> None:
    text = "G54\nG0 X1 Y2 Z3\nG54 P3\nG0 X1 Y2 Z3\nG54"
    assert np.isnan(end_state(text, origins=ORIGINS).position[:3]).all()
    assert [event.value for event in run(text).events] == ["G54 P3", "G54"]
    assert not math.isnan(end_state("G0 X1 Y2 Z3\nG54 G4 P3").position[0])


def test_what_was_in_force_before_the_first_move_need_not_be_g54_without_a_length() -> None:
    options = {"origins": ORIGINS, "start_known": False}
    for head, lost in (("G54 G49 G92.1\n", False), ("", True)):
        for code in ("G54", "G49", "G92.1"):
            place = end_state(f"{head}G0 X1 Y2 Z3\n{code}", **options).position[2]
            assert math.isnan(place) is lost, code
        place = end_state(f"{head}G53 G0 Z0", **options).position[2]
        assert math.isnan(place) is lost
    assert [event.value for event in run("G54\nG49\nG0 X1", **options).events] == []
    # where the profile says where the tool stands at first, nothing else is in force
    assert end_state("G0 X1\nG54", origins=ORIGINS).position[0] == 1.0


def test_the_numbers_of_g92_tell_where_the_zero_lies_where_nothing_else_does() -> None:
    for head, value in (("", "G92 X5 Y0"), ("G0 X1 Y1 Z1\n", "G92")):
        motion = run(f"{head}G92 X5 Y0\nG0 X0 Y0", start_known=False)
        assert [event.value for event in motion.events] == [value]


def test_g10_may_set_the_zero_that_is_in_force() -> None:
    for text in ("G0 X1 Y2 Z3\nG10 L2 P1 X7", "G0 X1 Y2 Z3\nG10 L2 P2 X7"):
        assert np.isnan(end_state(text, start_known=False).position[0])
    assert np.isnan(end_state("G54\nG0 X1 Y2 Z3\nG10 L2 P1 X7 Y8 R30").position[:2]).all()


@pytest.mark.parametrize("code", ["G55", "G92 Z60", "G43 H9", "M6 T2"])
def test_the_level_to_which_g98_comes_back_counts_anew_with_the_zero(code: str) -> None:
    # NISTIR 6556, 3.5.16, says nothing of a zero that changes within a row of cycles
    motion = run(f"G0 X0 Y0 Z50\nG98 G81 X1 Y1 Z-1 R2 F100\n{code}\nX2 Y2")
    assert 50.0 in motion.end[motion.block == 1, 2]
    assert np.isnan(motion.end[-1, 2])
    assert motion.unknown[-1].reason == "the level to which G98 comes back is not known"


def test_k_beside_a_cycle_may_be_repeats() -> None:
    motion = run("G0 X0 Y0 Z5\nG91 G81 X10 Y0 Z-3 R-3 F100 K3\nG90 G80")
    assert codes(motion) == ["INT327"]
    assert np.isnan(end_state("G0 X0 Y0 Z5\nG91 G81 X10 Y0 Z-3 R-3 F100 K3").position[:2]).all()
    assert end_state("G0 X0 Y0 Z5\nG91 G81 X10 Y0 Z-3 R-3 F100 K1").position[0] == 10.0


@pytest.mark.parametrize("code", ["G10 L2 P2 X1", "G92 X1", "G53 G0 X1"])
def test_a_place_in_g91_is_told(code: str) -> None:
    for distance, found in (("G90", []), ("G91", ["INT354"])):
        assert codes(run(f"G54 G0 X1 Y1 Z1\n{distance} {code}", origins=ORIGINS)) == found
