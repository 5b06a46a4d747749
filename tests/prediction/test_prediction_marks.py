"""Dwell marks with their seconds and turns, and how fast the backlash is crossed."""

import math

import numpy as np
import pytest
from known_mill import known_mill
from prediction_maker import mill, motion

from gpre.mill.mill import Axis, Compensation
from gpre.prediction.marks import MarkKind, marks_of, take_up_seconds
from gpre.prediction.table_path import table_path
from gpre.prediction.take_ups import take_ups_of
from gpre.reversals.find import find_reversals


def marks(on, *blocks):
    made = motion(*blocks)
    return marks_of(made, find_reversals(made), on)


HELIX = ("S2000 M3", "G0 X30 Y-3", "X20 Y0 Z0", *(f"G3 X20 Y0 I-20 Z-{z}" for z in range(1, 13)))


def test_helix_of_twelve_turns_stops_four_times_a_turn():
    on = mill(0.09, 0.06, by="controller", take_up_feed=60.0, pause=0.08)
    found = marks(on, *HELIX)
    # 48 quadrants; at the first the tool has come in X minus and Y plus, so none is missing
    assert abs(len(found) - 48) <= 1
    assert (found.kind == MarkKind.TAKE_UP).all()
    x = found.axis == 0
    # b / take-up feed x 60 + pause; x spindle / 60
    np.testing.assert_allclose(found.seconds[x], 0.09 / 60 * 60 + 0.08)
    np.testing.assert_allclose(found.seconds[~x], 0.06 / 60 * 60 + 0.08)
    np.testing.assert_allclose(found.turns[x], 0.17 * 2000 / 60)
    assert found.lost_in_cut == pytest.approx(found.seconds.sum())


def test_take_ups_in_the_air_cost_time_and_leave_no_mark():
    found = marks(mill(0.09, by="controller", pause=0.5), "G0 X10", "X5", "G1 X9", "X8")
    assert found.take_ups == 3
    assert len(found) == 2
    assert found.lost_seconds == pytest.approx(3 * 0.59)
    assert found.lost_in_cut == pytest.approx(2 * 0.59)


def test_spindle_that_stands_rubs_no_turns():
    found = marks(mill(0.09, by="controller"), "S2000 M3", "M5", "G1 X10", "X5")
    assert found.turns.tolist() == [0.0]
    found = marks(mill(0.09, by="controller"), "S2000 M4", "G1 X10", "X5")
    assert found.turns[0] > 0


def test_axis_without_backlash_and_z_that_hangs_are_not_taken_up():
    on = mill(0.0, 0.0, 0.3, gravity_loaded=True, by="controller")
    assert len(marks(on, "G1 X10 Z-3", "X5 Z0")) == 0


def test_seconds_follow_the_backlash_at_the_position():
    on = known_mill(
        x=Axis(lost_motion=((0.0, 0.1), (100.0, 0.2))),
        compensation=Compensation("controller", take_up_feed=60.0, pause=0.0),
    )
    made = motion("G1 X50", "X0", "X100", "X90")
    seconds = take_up_seconds(made, find_reversals(made), on)
    np.testing.assert_allclose(seconds, [0.15, 0.1, 0.2])


@pytest.mark.parametrize("by", ["none", "program"])
def test_no_stop_at_quadrants_or_round_corners_in_continuous_mode(by):
    on = mill(0.09, 0.06, by=by)
    found = marks(on, "G64", "G0 X20", "G3 X20 Y0 I-20", "G1 Y5", "X15", "Y9", "X30")
    assert (len(found), found.lost_seconds) == (0, 0.0)


@pytest.mark.parametrize(("mode", "stops"), [("G64", 0), ("G61", 1), ("G61.1", 1)])
def test_corner_stops_in_the_exact_modes(mode, stops):
    found = marks(mill(0.09), mode, "G1 X10 Y0", "X5 Y8", "Y20")
    assert len(found) == stops
    if stops:
        assert found.kind.tolist() == [MarkKind.STOP]
        assert found.seconds.tolist() == [0.0]


def test_path_that_goes_straight_back_stops_in_any_mode():
    found = marks(mill(0.09), "G64", "G1 X10 Y5", "G1 X10", "X5 Y2.5", "G0 X0", "G1 X5")
    assert found.row.tolist() == [2, 2]  # X and Y


def test_exact_path_does_not_stop_where_moves_run_on():
    # X turns where a half circle runs on into a straight move back
    blocks = ("G1 X10", "G3 X10 Y10 J5", "G1 X0")
    assert len(marks(mill(0.09), "G61", *blocks)) == 0
    made = marks(mill(0.09), "G61.1", *blocks)
    assert len(made) <= 1


def take_ups(on, *blocks):
    made = motion(*blocks)
    return take_ups_of(made, table_path(made, on), on)


def test_quadrant_crosses_the_backlash_in_r_acos_one_less_b_over_r_over_f():
    # r 25, b 0.1, F600: 0.22368 s
    found = take_ups(mill(0.1), "G0 X35", "X25", "F600 G3 X-25 Y0 I-25")
    assert found.axis.tolist() == []  # X ran in minus before and goes on: nothing to take up
    found = take_ups(mill(0.1), "G0 X15", "X25", "F600 G3 X-25 Y0 I-25")
    assert found.distance == pytest.approx([0.1], abs=1e-9)
    assert found.seconds == pytest.approx([25 * math.acos(1 - 0.1 / 25) / 10], rel=1e-5)
    assert found.seconds == pytest.approx([0.22368], abs=1e-5)
    assert found.speed[0] >= 0.1 / found.seconds[0] * 60


def test_straight_corner_crosses_the_backlash_at_the_axis_speed():
    found = take_ups(mill(0.09, 0.06), "G0 X-5 Y-5", "X0 Y0", "G1 X10 Y10", "X4 Y18")
    assert (found.row.tolist(), found.axis.tolist()) == ([3], [0])
    assert found.speed == pytest.approx([300 * 0.6])
    assert found.seconds == pytest.approx([0.09 / 180 * 60])


def test_take_up_written_into_the_path_goes_at_its_own_speed():
    # 0.09 of X in 0.4 mm of Y at F300: 67 mm/min
    found = take_ups(
        mill(0.09, by="program"), "G0 X-5", "X0", "G1 Y5", "X-0.09 Y5.4", "Y9", "G0 X9", "G1 X8"
    )
    length = math.hypot(0.09, 0.4)
    assert found.row.tolist() == [3, 6]
    assert found.distance[0] == pytest.approx(0.09)
    assert found.speed[0] == pytest.approx(0.09 / length * 300)
    assert found.speed[0] == pytest.approx(67, abs=2)


def test_take_up_over_several_moves_is_one():
    found = take_ups(
        mill(0.09), "G0 X-9", "X-5", "G1 X0", "X-0.03", "Y1", "X-0.06", "X-0.07", "X-3"
    )
    assert found.row.tolist() == [3]
    assert found.distance == pytest.approx([0.09])
    assert found.seconds == pytest.approx([0.09 / 300 * 60])


def test_nothing_to_cross_where_the_controller_does_it():
    assert len(take_ups(mill(0.09, by="controller"), "G1 X5", "X0", "X5")) == 0
    assert len(take_ups(mill(0.09), "G0 X5", "X0")) == 0  # in the air


def test_a_mill_without_backlash_takes_nothing_up():
    made = motion("G0 X-5 Y-5", "G1 X10", "X0")
    found = take_ups_of(made, table_path(made, mill()), mill())
    assert found.row.tolist() == found.distance.tolist() == found.seconds.tolist() == []
    assert found.speed.tolist() == found.axis.tolist() == []
    still = motion("M3 S100", "M5")
    assert len(take_ups_of(still, table_path(still, mill(0.09)), mill(0.09)).speed) == 0
