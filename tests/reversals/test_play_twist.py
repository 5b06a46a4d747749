"""The yaw of the table, from the play of the axis that drives it."""

import math

import numpy as np

from gpre.mill.mill import Twist
from gpre.reversals import twist
from gpre.reversals.play import Bounds, play


def test_yaw_swings_from_side_to_side_as_the_backlash_is_taken_up():
    screw = np.array([0.0, 10.0, 9.95, 9.9, 9.0])
    table = play(screw, 0.05).low
    angle = twist.yaw(screw, table, np.full(5, 0.05), 0.0004)
    np.testing.assert_allclose(angle[1:], [0.0002, 0.0, -0.0002, -0.0002], atol=1e-15)


def test_yaw_of_an_unknown_start_is_bounded_on_both_sides():
    screw = np.array([0.0, 0.02, 1.0])
    bounds = twist.yaw_bounds(screw, play(screw, 0.05), np.full(3, 0.05), 0.0004)
    np.testing.assert_allclose(bounds.low, [-0.0002, -0.00012, 0.0002], atol=1e-15)
    np.testing.assert_allclose(bounds.high, [0.0002, 0.0002, 0.0002], atol=1e-15)


def test_shift_is_the_rotation_about_the_pivot():
    point = np.array([[500.0, 90.0, -7.0], [200.0, 290.0, 3.0], [310.0, -40.0, 0.0]])
    angle, pivot = np.array([0.0002, -0.0002, 0.3]), (200.0, 90.0)
    moved = point[:, :2] + twist.shift(point, angle, pivot)
    for at, (x, y, _) in enumerate(point):
        turn = complex(x - 200.0, y - 90.0) * complex(math.cos(angle[at]), math.sin(angle[at]))
        np.testing.assert_allclose(moved[at], [200.0 + turn.real, 90.0 + turn.imag], atol=1e-12)


def test_far_from_the_pivot_the_shift_is_the_distance_times_the_yaw():
    moved = twist.shift(np.array([[400.0, 90.0]]), np.array([0.0002]), (200.0, 90.0))
    np.testing.assert_allclose(moved, [[0.0, 0.04]], atol=5e-6)


def test_bounds_of_the_shift_hold_both_ends():
    least, greatest = twist.shift_bounds(
        np.array([[300.0, 40.0]]), Bounds(np.array([-0.001]), np.array([0.002])), (200.0, 90.0)
    )
    np.testing.assert_allclose(least, [[-0.05, -0.1]], atol=3e-4)
    np.testing.assert_allclose(greatest, [[0.1, 0.2]], atol=3e-4)


def test_axes_that_twist():
    assert twist.twists(Twist()) == ()
    assert twist.twists(Twist(x=0.0004)) == ((0, 0.0004),)
    assert twist.twists(Twist(x=0.0004, y=0.0001)) == ((0, 0.0004), (1, 0.0001))
