"""What stays as it is while a place is not known, and what a twist of the table lets through."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sin

import numpy as np
import pytest
from take_up_bench import MILL, carried, motion_of, reasons, take_up, worst_error

from gpre.mill.mill import Mill, Twist
from gpre.prediction.table_path import table_path
from gpre.rewrites.take_up.plan import AxisBacklash

ORIGINS = {1: (150.0, 60.0, -120.0)}
BACKLASH = (0.09, 0.06, 0.0)
HEAD = "G21 G90 G17 G54\nT1 M6\nS3000 M3\n"
CUTS = "G0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X10 F300\nG1 X5 Y5\nG0 Z5\n"
ON = "G0 Z5\nG1 Z-1 F100\nG1 X20 F300\nG0 Z5\nM30\n"
TAKEN = "G1 Z-1 F100\nG1 X20.045 F300\nG0 Z5\nG0 X20 Y3 (take-up undone)\nM30\n"
HOMES = {
    # the axes that are not sent home, too, stay until all are known
    "G28 Z0\nG0 X12 Y3\n": (
        "G0 X12 Y3\nG0 Z5\nG0 X11.865 Y2.91 (take up backlash)\nG0 X12.045 Y3.03\n"
    ),
    "G28 X0\nG0 X12\nG0 Y3\n": (
        "G0 X12\nG0 Y2.97\nG0 Z5\nG0 X11.865 Y3.09 (take up backlash)\nG0 X12.045 Y2.97\n"
    ),
    "G30 X0 Y0\nG0 X12 Y4\nG0 Y3\n": (
        "G0 X12 Y4\nG0 Y2.97\nG0 Z5\nG0 X11.865 (take up backlash)\nG0 X12.045\n"
    ),
}


@pytest.mark.parametrize("home", HOMES)
def test_until_all_axes_are_known_again_nothing_changes(home: str) -> None:
    after = carried(f"{HEAD}{CUTS}{home}{ON}").split(home.split("\n", 1)[0] + "\n")[1]
    assert after == HOMES[home] + TAKEN


MACHINE = {
    "G53 G0 X162 Y65\nG0 X12 Y3\n": (
        "G53 G0 X162 Y65\nG0 X12 Y2.97\nG0 Z5\nG0 X12.045 (take up backlash)\n" + TAKEN
    ),
    "G53 G0 Z-100\nG0 X12 Y3\n": "G53 G0 Z-100\nG0 X12.045 Y2.97\nG0 Z5\n" + TAKEN,
    "G53 G0 X162\nG0 Y3\n": (
        "G53 G0 X162\nG0 Y2.97\nG0 Z5\nG0 X12.045 (take up backlash)\n" + TAKEN
    ),
}


@pytest.mark.parametrize("move", MACHINE)
def test_what_counts_from_the_machines_zero_stays_as_it_is(move: str) -> None:
    """The zero of the part, X150 Y60 of the machine, is known from the profile."""
    mill = replace(MILL, controller=replace(MILL.controller, origins=ORIGINS))
    after = carried(f"{HEAD}{CUTS}{move}{ON}", mill)
    assert after[after.index("G53") :] == MACHINE[move]


def test_before_a_move_to_an_unknown_place_the_axes_stand_where_they_are_meant() -> None:
    """Z is not known behind G53 Z0, and the move of X and Y that follows stays as it is."""
    after = carried(f"{HEAD}{CUTS}M5\nG53 G0 Z0\nG53 G0 X0 Y0\nM30\n")
    assert after.endswith("G0 Z5\nG0 X5 Y5 (take-up undone)\nM5\nG53 G0 Z0\nG53 G0 X0 Y0\nM30\n")


def test_moves_at_feed_from_an_unknown_place_stay_and_need_no_feed() -> None:
    anywhere = replace(MILL, controller=replace(MILL.controller, start_known=False))
    after = carried(f"G21 G90 G17\nS3000 M3\nG1 Z5\nG0 X20 Y9\n{CUTS}M30\n", anywhere)
    assert after.split("\n", 1)[1].startswith("G21 G90 G17\nS3000 M3\nG1 Z5\nG0 X20 Y9\nG0 X-0.045")


@pytest.mark.parametrize("behind", ["M30\n", "M0\nG0 Z5\nM30\n"])
def test_a_tool_that_stands_in_the_cut_lets_the_backlash_out_at_feed(behind: str) -> None:
    """The screws go back within their backlash: the table rests, no faster than a take-up may."""
    text = f"{HEAD}{CUTS.removesuffix('G0 Z5' + chr(10))}{behind}"
    after = carried(text)
    assert f"X5 Y5 F120 (take-up undone)\n{behind}" in after
    assert worst_error(text, after, BACKLASH) <= 0.002


@pytest.mark.parametrize(
    ("cycle", "reason"),
    [
        ("G81", ""),
        ("G85", ""),
        ("G86", ""),
        ("G89", ""),
        ("G87", "G87 moves beside its hole"),
        ("G88", "the operator takes the tool out in G88"),
    ],
)
def test_cycles_that_move_beside_their_hole_are_left_alone(cycle: str, reason: str) -> None:
    beside = " I1 J0 K-1" if cycle == "G87" else ""
    text = f"{HEAD}G0 X0 Y0\nG0 Z5\n{cycle} X5 Y5 Z-3 R2{beside} F100\nG80\nG0 Z5\nM30\n"
    if reason:
        assert reasons(text) == [f"line 6 cuts and cannot be changed: {reason}"]
    else:
        assert f"{cycle} X5.045 Y5.03 Z-3 R2 F100\n" in carried(text)


def test_a_screw_that_went_somewhere_unknown_is_known_again_behind_a_long_way() -> None:
    backlash = AxisBacklash(0.05)
    backlash.travel(1.0)
    assert backlash.known
    backlash.travel(float("nan"))
    assert (backlash.known, backlash.low, backlash.high) == (False, -0.05, 0.05)
    backlash.travel(0.04)
    assert not backlash.known
    backlash.travel(0.07)  # more than the backlash in all: the table lags behind by half of it
    assert (backlash.known, backlash.low) == (True, -0.05)


# --- on a table that twists ----------------------------------------------------------------------


def twisted(full: float, pivot: float) -> Mill:
    """Twist by `full` rad about a pivot; the ring below lies at Y60 of the machine."""
    controller = replace(MILL.controller, origins=ORIGINS)
    return replace(MILL, controller=controller, twist=Twist(x=full, pivot=(200.0, pivot)))


RING = f"{HEAD}G0 X9 Y0\nG0 Z5\nG1 Z-2 F100\nG3 I-9 F300\nG0 Z5\nM30\n"


@pytest.mark.parametrize(("pivot", "holds"), [(61.0, True), (62.0, False), (65.0, False)])
def test_how_far_a_twist_may_move_the_tool_along_the_axis_that_turns(
    pivot: float, *, holds: bool
) -> None:
    """The twist by the distance from the pivot; three tenths of what windows may leave, 0.0014."""
    along = 0.0004 * (pivot - 60.0)
    assert (along <= 0.3 * 0.7 * 0.002) == holds
    result = take_up(RING, twisted(0.0004, pivot))
    assert ("and twist" in result.data.decode()) == holds
    if not holds:
        assert result.plan.chosen[0].summary.endswith(
            "; the twist of the table is not taken out: where X turns in line 7 the twist of the "
            f"table moves the tool along X by {along:.4f} mm, which no coordinate undoes"
        )


def test_where_a_twist_asks_an_axis_to_go_back_the_line_is_named() -> None:
    slot = f"{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X50 F200\nG1 Y5\nG0 Z5\nM30\n"
    summary = take_up(slot, twisted(0.0004, 60.0)).plan.chosen[0].summary
    # half the twist over 50 mm
    assert "not taken out: the twist of the table asks Y in line 7 to go back by 0.0100" in summary


def test_a_ring_of_chords_shorter_than_a_take_up_is_carried_on_such_a_table() -> None:
    places = [2.0 * pi * at / 720 for at in range(1, 721)]
    chords = "".join(f"G1 X{9 * cos(a):.4f} Y{9 * sin(a):.4f}\n" for a in places)
    carried(f"{HEAD}G0 X9 Y0\nG0 Z5\nG1 Z-2 F300\n{chords}G0 Z5\nM30\n", twisted(0.0004, 60.0))


def test_where_one_axis_takes_up_on_such_a_table_both_go_beyond_and_come_back() -> None:
    """From plus to minus by 0.09 and 0.06 mm, and the yaw; first as much farther in plus."""
    text = (
        f"{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X5 F200\nG0 Z5\nG0 X10 Y5\nG1 Z-1 F100\n"
        "G1 X6 F200\nG0 Z5\nM30\n"
    )
    mill = twisted(0.0001, 60.0)
    after = carried(text, mill)
    assert (
        "G0 X10.0453 Y5.032\nG0 X10.1348 Y5.088 (take up backlash)\nG0 X9.9548 Y4.968\n"
        "G1 Z-1 F100\n" in after
    )
    motion = motion_of(after, mill)
    path = table_path(motion, mill)
    cut = motion.at_feed[path.samples.row]
    assert np.abs(path.high - path.low)[cut].max() <= 1e-9
