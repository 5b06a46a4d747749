"""Where the table stands while cutting because only screws move that cross their backlash."""

import numpy as np
import pytest
from prediction_maker import mill, motion

from gpre.prediction.dwells import standing
from gpre.prediction.table_path import table_path

SEATED = ("S1200 M3", "G0 X-5 Y-5", "G0 X0 Y0")  # longer than any backlash here, towards plus


def stands(on, *blocks):
    made = motion(*SEATED, *blocks)
    return made, standing(made, table_path(made, on))


def test_an_axis_alone_in_its_backlash_leaves_the_table_standing():
    """By hand: 0.09 mm at F 300 is 0.018 s, and 0.36 turns at 1200 rev/min."""
    made, found = stands(mill(0.09, 0.06), "G1 X40", "G1 Y5", "G1 X0", "G1 Y9", "G1 X40")
    assert found.row.tolist() == [4, 6]
    np.testing.assert_allclose(found.seconds, 0.018)
    np.testing.assert_allclose(found.turns, 0.36)
    assert made.end[4].tolist() == [0.0, 5.0, 0.0]


def test_another_axis_that_moves_keeps_the_table_moving():
    _, found = stands(mill(0.09, 0.06), "G1 X40", "G1 X0 Y20")
    assert not len(found)
    _, found = stands(mill(0.09, 0.06), "G1 X25", "G3 X25 Y0 I-25 J0")
    assert not len(found)


def test_two_axes_that_both_turn_stand_until_the_first_is_through():
    """Straight back along 3 to 4: Y is through its 0.06 after 0.075 mm of the way."""
    _, found = stands(mill(0.09, 0.06), "G1 X30 Y40", "G1 X0 Y0")
    np.testing.assert_allclose(found.seconds, 0.075 / 300.0 * 60.0)


def test_one_backlash_over_several_short_moves_is_one_place():
    """0.06 mm at F 300: 0.012 s."""
    steps = [f"G1 X{40 - 0.02 * each:.2f}" for each in range(1, 6)]
    made, found = stands(mill(0.06), "G1 X40", *steps)
    assert found.row.tolist() == [3]
    np.testing.assert_allclose(found.seconds, 0.012)
    assert len(made) == 8


@pytest.mark.parametrize("by", ["none", "program", "controller"])
def test_take_ups_of_the_controller_are_not_counted_twice(by):
    _, found = stands(mill(0.09, by=by), "G1 X40", "G1 X0")
    assert len(found) == (by != "controller")


def test_rapids_and_dust_are_left_out():
    _, found = stands(mill(0.09), "G1 X40", "G0 X0", "G1 X20")
    assert found.row.tolist() == [4]
    _, found = stands(mill(0.02), "G1 X40", "G1 X0")  # 0.004 s
    assert not len(found)
    _, found = stands(mill(0.0), "G1 X40", "G1 X0")
    assert found.seconds.tolist() == found.turns.tolist() == []
    assert not len(standing(motion(), table_path(motion(), mill(0.09))))
