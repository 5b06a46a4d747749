"""Places of holes under backlash, and their spread."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from prediction_maker import mill, motion

from gpre.cuts.find_cuts import find_cuts
from gpre.mill.mill import Twist
from gpre.motion.controller import Controller
from gpre.prediction.deviation import deviation
from gpre.prediction.holes import greatest_distance, holes_of
from gpre.prediction.table_path import table_path

BOTH_SIDES = ("G0 X-5 Y-5", "G81 X0 Y0 Z-3 R2", "X10", "X5", "Y10", "X0 Y5", "G80")


def holes(on, *blocks, **others):
    made = motion(*blocks, **others)
    return holes_of(made, find_cuts(made), deviation(made, table_path(made, on)))


def test_holes_reached_from_both_sides_are_apart_by_the_backlash():
    found = holes(mill(0.09, 0.06), *BOTH_SIDES)
    np.testing.assert_allclose(found.point, [[0, 0], [10, 0], [5, 0], [5, 10], [0, 5]])
    np.testing.assert_allclose(found.low[:, 0], [-0.045, -0.045, 0.045, 0.045, 0.045], atol=1e-12)
    np.testing.assert_allclose(found.low[:, 1], [-0.03, -0.03, -0.03, -0.03, 0.03], atol=1e-12)
    np.testing.assert_array_equal(found.low, found.high)
    assert found.spread_x == pytest.approx(0.09)
    assert found.spread_y == pytest.approx(0.06)
    assert found.spread == pytest.approx(np.hypot(0.09, 0.06), rel=1e-5)
    assert found.cycle.all()


def test_holes_reached_from_one_side_are_all_out_by_the_same():
    blocks = ("G0 X-5 Y-5", "G81 X0 Y0 Z-3 R2", "X10", "G80", "G0 X-5", "G81 X5 Y10 Z-3 R2", "G80")
    found = holes(mill(0.09, 0.06), *blocks)
    assert len(found) == 3
    assert found.spread == pytest.approx(0.0, abs=1e-9)


def test_holes_by_hand_are_the_same_as_cycles():
    hand = []
    for x, y in ((0, 0), (10, 0), (5, 0), (5, 10), (0, 5)):
        hand += [f"G0 X{x} Y{y}", "Z2", "G1 Z-3", "G0 Z5"]
    found = holes(mill(0.09, 0.06), "G0 X-5 Y-5", *hand)
    cycles = holes(mill(0.09, 0.06), *BOTH_SIDES)
    np.testing.assert_allclose(found.low, cycles.low)
    assert not found.cycle.any()


def test_pecks_of_a_hole_count_once():
    found = holes(mill(0.1), "G0 X-5 Z9", "G83 X0 Y0 Z-8 R2 Q2", "X4", "G80")
    assert len(found) == 2
    # drilled again at the same place by another tool: another hole
    again = holes(mill(0.1), "G0 X-5 Z9", "T1 M6", "G81 X4 Z-1 R2", "T2 M6", "G81 X4 Z-8 R2")
    assert len(again) == 2


def test_a_plunge_that_goes_on_as_a_contour_is_no_hole():
    assert len(holes(mill(0.1), "G0 Z2", "G1 Z-2", "X10", "G0 Z5")) == 0
    assert holes(mill(0.1), "G0 Z2").spread == 0.0


def test_twist_spreads_holes_that_are_reached_from_one_side_no_further():
    twist = Twist(x=0.0004, pivot=(200.0, 90.0))
    at = Controller(origins={1: (350.0, 90.0, 0.0)})
    found = holes(mill(twist=twist, by="controller"), *BOTH_SIDES, controller=at)
    # up to 160 mm from the pivot, 0.0002 rad each way
    assert found.spread_y == pytest.approx(0.0002 * (160 + 155), rel=1e-3)


def test_controller_puts_holes_where_they_belong():
    assert holes(mill(0.09, 0.06, by="controller"), *BOTH_SIDES).spread == 0.0


places = st.lists(
    st.tuples(st.integers(-90, 90), st.integers(-90, 90)), min_size=1, max_size=12
).map(lambda rows: np.array(rows, float) / 1000.0)


@given(places)
def test_spread_is_the_greatest_distance_of_any_two(at):
    greatest = max(np.hypot(*(one - other)) for one in at for other in at)
    assert greatest_distance(at, at) == pytest.approx(greatest, rel=1e-5, abs=1e-12)


def test_spread_of_places_known_within_bounds_is_the_worst():
    low, high = np.array([[0.0, 0.0], [0.1, 0.0]]), np.array([[0.0, 0.0], [0.2, 0.0]])
    assert greatest_distance(low, high) == pytest.approx(0.2)
