"""Programs whose backlash is not taken up, and why; mills with backlash tables, twist, loose Z."""

from dataclasses import replace

import numpy as np
import pytest
from known_mill import STATED
from take_up_bench import MILL, carried, motion_of, reasons, take_up, worst_error

from gpre.mill.job import Job
from gpre.mill.mill import Axis, Twist
from gpre.motion.controller import Controller
from gpre.prediction.deviation import deviation_from
from gpre.prediction.table_path import table_path
from gpre.proof.side import Pair, Side
from gpre.proof.take_up.twist_left import twist_left
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G54\nT1 M6\nS3000 M3\n"
CIRCLE = f"{HEAD}G0 X9 Y0\nG0 Z5\nG1 Z-2 F100\nG3 I-9 F300\nG0 Z5\nM30\n"
ORIGINS = Controller(origins={1: (150.0, 60.0, -120.0)}, stated=STATED, tool_change_moves="none")


@pytest.mark.parametrize("mode", ["G61", "G61.1"])
def test_in_exact_path_the_tool_stands_at_each_turn_instead_of_at_both_ends_of_a_window(mode):
    text = CIRCLE.replace("G54", f"G54 {mode}")
    after = carried(text)
    assert after.count("tool stands)") == 3
    assert after.count("(take up") == 4  # one of them in the air
    assert worst_error(text, after, (0.09, 0.06, 0.0)) <= 0.0002


def test_exact_stop_is_no_hindrance_where_the_path_stops_anyway():
    carried(f"{HEAD}G61\nG0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X20 F200\nG1 X0\nG0 Z5\nM30\n")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (CIRCLE.replace("G1 Z-2 F100", "G41 D1\nG1 Z-2 F100"), "cutter radius compensation"),
        (CIRCLE.replace("F300", "").replace("F100", ""), "no feed is set"),
        (CIRCLE.replace("G3 I-9 F300", "G93\nG3 I-9 F2\nG94"), "length per minute"),
        (CIRCLE.replace("G3 I-9", "#1=9\nG3 I[0-#1]"), "not made of plain words"),
        (CIRCLE.replace("G0 Z5\nG1", "G1").replace("G0 X9 Y0", "G1 X9 Y0 F200"), "in the air"),
        (CIRCLE.replace("G3 I-9 F300\nG0 Z5", "G3 I-9 F300\nM0\nG1 X5\nG0 Z5"), "in the air"),
        (CIRCLE.replace("G0 Z5\nM30", "G1 X5 M30"), "shares its block with a move"),
        (CIRCLE.replace("G0 Z5\nM30", "G1 X5 (a) (b)\nM0 X7\nM30"), "shares its block"),
    ],
)
def test_what_is_left_alone_is_named(text, said):
    assert any(said in reason for reason in reasons(text)), reasons(text)


def test_subprograms_are_not_compensated():
    text = (
        f"{HEAD}G0 X9 Y0\nG0 Z5\nM98 P200\nG0 Z5\nM30\nO200\nG1 Z-2 F100\nG3 I-9 F300\nG0 Z5\nM99\n"
    )
    (reason,) = reasons(text)
    assert reason


def test_a_table_of_backlash_needs_the_origin_and_is_followed():
    table = ((0.0, 0.11), (200.0, 0.08), (400.0, 0.10))
    mill = replace(MILL, x=Axis(lost_motion=table))
    text = (
        f"{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-2 F100\nG1 X60 Y1 F300\nG3 X-60 I-60\nG1 X0 Y2\nG0 Z5\nM30\n"
    )
    assert "origins" in reasons(text, mill)[0]
    mill = replace(mill, controller=ORIGINS)
    after = carried(text, mill)
    assert "X0.080..0.110" in after
    path = table_path(motion_of(after, mill), mill)
    found = deviation_from(motion_of(after, mill), path, motion_of(text, mill), 1.0)
    assert found.greatest <= 0.002
    assert found.known.all()


def test_z_that_hangs_is_not_shifted_and_a_loose_one_is():
    assert "Z-2 " in carried(CIRCLE)
    loose = replace(MILL, z=Axis(lost_motion=0.05))
    after = carried(CIRCLE, loose)
    assert "Z-2.025" in after
    assert worst_error(CIRCLE, after, (0.09, 0.06, 0.05), loose) <= 0.002


def test_cycles_on_a_loose_z_have_the_shift_of_the_way_down():
    loose = replace(MILL, z=Axis(lost_motion=0.05))
    text = (
        f"{HEAD}G0 X10 Y10\nG0 Z5\nG99 G81 X10 Y10 Z-5 R2 F100\nX20\nG91 X5 Y2\nG90 G80\n"
        "G0 Z20\nM30\n"
    )
    after = carried(text, loose)
    assert "Z-5.025 R1.975" in after
    feeding = text.replace("G81", "G85")
    assert "feeds out of its hole" in reasons(feeding, loose)[0]
    carried(feeding)


TWISTED = replace(MILL, controller=ORIGINS, twist=Twist(x=0.0004, pivot=(200.0, 60.0)))


def test_twist_is_taken_out_where_the_coordinates_can():
    after = carried(CIRCLE, TWISTED)
    assert "and twist" in after
    motion = motion_of(after, TWISTED)
    found = deviation_from(motion, table_path(motion, TWISTED), motion_of(CIRCLE, TWISTED), 1.0)
    assert found.greatest <= 0.002
    plain = motion_of(carried(CIRCLE), TWISTED)
    missed = deviation_from(plain, table_path(plain, TWISTED), motion_of(CIRCLE, TWISTED), 1.0)
    assert missed.greatest > 0.005  # the twist alone


def test_holes_far_from_the_pivot_are_put_where_they_belong():
    mill = replace(TWISTED, twist=Twist(x=0.0004, pivot=(200.0, 90.0)))
    holes = "".join(
        f"G0 X{x} Y{y}\nG1 Z-5 F100\nG0 Z5\n" for x, y in ((10, 10), (30, 20), (10, 20))
    )
    text = f"{HEAD}G0 X10 Y10\nG0 Z5\n{holes}M30\n"
    motion = motion_of(carried(text, mill), mill)
    found = deviation_from(motion, table_path(motion, mill), motion_of(text, mill), 1.0)
    assert found.greatest <= 2e-4
    assert np.abs(found.offset_high).max() <= 2e-4


def test_a_slot_along_x_far_from_the_pivot_is_cut_straight():
    # the yaw, half of 0.0004 rad, leads Y off by 0.02 mm along 100 mm; the backlash lies ready for
    # it
    slot = f"{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X100 F200\nG0 Z5\nM30\n"
    mill = replace(TWISTED, twist=Twist(x=0.0004, pivot=(200.0, 90.0)))
    motion = motion_of(carried(slot, mill), mill)
    found = deviation_from(motion, table_path(motion, mill), motion_of(slot, mill), 1.0)
    assert found.greatest <= 0.002
    without = replace(mill, twist=Twist())
    plain = motion_of(carried(slot, without), mill)
    missed = deviation_from(plain, table_path(plain, mill), motion_of(slot, mill), 1.0)
    assert missed.greatest > 0.01


@pytest.mark.parametrize(
    ("text", "pivot", "said"),
    [
        (CIRCLE, (200.0, 90.0), "which no coordinate undoes"),
        (
            f"{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X50 F200\nG1 Y5\nG0 Z5\nM30\n",
            (200.0, 60.0),
            "go back",
        ),
    ],
)
def test_where_coordinates_cannot_undo_the_twist_the_backlash_alone_is_carried(text, pivot, said):
    mill = replace(TWISTED, twist=Twist(x=0.0004, pivot=pivot))
    result = take_up(text, mill)
    after = result.data.decode()
    assert result.proof.holds
    assert said in result.plan.chosen[0].summary
    assert "and twist" not in after
    assert after == carried(text, replace(mill, twist=Twist()))
    # what it leaves is told, and is a third of what the untouched program leaves, or less
    told = next(each for each in result.proof.obligations if each.name == "twist of the table")
    motion = motion_of(after, mill)
    found = deviation_from(motion, table_path(motion, mill), motion_of(text, mill), 1.0)
    assert told.value == pytest.approx(found.greatest, abs=1e-4)
    assert told.value <= told.limit / 3.0


def test_a_program_that_leaves_the_twist_may_not_make_the_part_worse():
    mark = "(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)\n"
    sides = []
    for off, proved in ((0.0, True), (0.2, False)):
        text = mark + CIRCLE.replace("X9", f"X{9 + off}")
        mill = replace(TWISTED, twist=Twist(x=0.0004, pivot=(200.0, 90.0)))
        before, after = (Side.of(SourceText.of(each.encode()), mill) for each in (CIRCLE, text))
        told = twist_left(Pair(before, after, mill, Job()))
        assert told.holds == proved
        sides.append(told.value)
    assert sides[1] == pytest.approx(sides[0] + 0.2, abs=0.02)


@pytest.mark.parametrize(("second", "known"), [("G54", True), ("G55", False)])
def test_what_a_twist_leaves_is_told_where_all_origins_are_known(second, known):
    ring = CIRCLE.removesuffix("M30\n")
    text = f"{ring}{second}\n{ring.removeprefix(HEAD)}M30\n"
    result = take_up(text, replace(TWISTED, twist=Twist(x=0.0004, pivot=(200.0, 90.0))))
    told = next(each for each in result.proof.obligations if each.name == "twist of the table")
    assert told.holds
    assert ("is not known" not in told.figure) == known


def test_twist_without_backlash_cannot_be_spread():
    mill = replace(TWISTED, x=Axis(lost_motion=0.0))
    assert "nothing can spread" in take_up(CIRCLE, mill).plan.chosen[0].summary


def test_a_mill_without_backlash_has_nothing_to_take_up():
    mill = replace(MILL, x=Axis(lost_motion=0.0), y=Axis(lost_motion=0.0))
    assert reasons(CIRCLE, mill) == []
