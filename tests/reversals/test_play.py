"""The play operator against published sequences, closed forms and a step-by-step loop."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from steps import steps

from gpre.mill.backlash import half_backlash
from gpre.mill.mill import Axis
from gpre.reversals.play import engaged, play


def stepwise(screw, reach, start):
    """The definition, sample by sample: w = max(u - r, min(u + r, w))."""
    half = np.broadcast_to(reach, np.shape(screw))
    table, result = start, []
    for u, r in zip(screw, half, strict=True):
        table = max(u - r, min(u + r, table))
        result.append(table)
    return np.array(result)


def only(bounds):
    np.testing.assert_array_equal(bounds.low, bounds.high)
    return bounds.low


def test_published_sequence_of_a_dead_band():
    # ufunclab (open-source array functions), docstring of backlash: dead band 0.4 in all, start 0
    screw = np.array([0, 1, 1.1, 1.0, 1.5, 1.4, 1.2, 0.5])
    expected = [0, 0.8, 0.9, 0.9, 1.3, 1.3, 1.3, 0.7]
    np.testing.assert_allclose(only(play(screw, 0.2, 0.0)), expected, atol=1e-15)


def test_published_sequence_of_friction_backlash():
    # python-control, descfcn.py, friction_backlash_nonlinearity(2)
    screw = np.array([0.0, 1, 2, 1, 0, -1])
    np.testing.assert_allclose(only(play(screw, 1.0, 0.0)), [0, 0, 1, 1, 1, 0], atol=0)


@pytest.mark.parametrize(
    ("backlash", "expected"),
    # python-control, descfcn.py (Multiple-Input Describing Functions, 1968, no. 48)
    [(0.2, 0.947956 - 0.114592j), (1.0, 0.5 - 0.318310j)],
)
def test_describing_function_by_fourier_integration(backlash, expected):
    turns, per_turn = 3, 40_000
    phase = np.arange(turns * per_turn + 1) * 2 * np.pi / per_turn
    table = play(np.sin(phase), backlash / 2).low
    last = slice((turns - 1) * per_turn, turns * per_turn)
    # N = (b1 + j a1) / A
    in_phase = 2.0 * np.mean(table[last] * np.sin(phase[last]))
    quadrature = 2.0 * np.mean(table[last] * np.cos(phase[last]))
    assert in_phase == pytest.approx(expected.real, abs=2e-6)
    assert quadrature == pytest.approx(expected.imag, abs=2e-6)


def test_describing_function_of_a_large_motion():
    phase = np.arange(3 * 40_000 + 1) * 2 * np.pi / 40_000
    table = play(10.0 * np.sin(phase), 0.05).low[80_000:120_000]
    mean = np.mean(table * np.exp(-1j * phase[80_000:120_000])) * 2.0 / 10.0
    # N = b1 + j a1, and mean is a1 - j b1 over the amplitude
    assert 1j * mean == pytest.approx(0.999401 - 0.006334j, abs=2e-6)


# Closed forms: F_min = -b/2, F_max = sqrt((R-b/2)^2 + (sqrt(2Rb-b^2)-b/2)^2) - R for equal
# backlash, sqrt(R^2+Rb-3b^2/4) - R for X only; they agree with a simulation of 72,000 points
CIRCLES = [
    (25, 0.1, 0.1, 0.045388, -0.05, 0.090893),
    (25, 0.1, 0.0, 0.0498, -0.05, 0.099601),
    (10, 0.05, 0.05, 0.022414, -0.025, 0.044903),
    (10, 0.05, 0.0, 0.024875, -0.025, 0.049751),
    (50, 0.02, 0.02, 0.009713, -0.01, 0.019429),
]


@pytest.mark.parametrize(
    ("radius", "backlash_x", "backlash_y", "most", "least", "hysteresis"), CIRCLES
)
def test_circle_with_play(radius, backlash_x, backlash_y, most, least, hysteresis):
    steps = 72_000
    angle = np.arange(2 * steps + 1) * 2 * np.pi / steps

    def deviation(way):
        x = play(radius * np.cos(way * angle), backlash_x / 2).low[steps:]
        y = play(radius * np.sin(way * angle), backlash_y / 2).low[steps:]
        return np.hypot(x, y) - radius, np.unwrap(np.arctan2(way * y, x))

    there, there_angle = deviation(1.0)
    assert there.max() == pytest.approx(most, abs=1e-6)
    assert there.min() == pytest.approx(least, abs=1e-6)
    back, back_angle = deviation(-1.0)
    at = np.linspace(there_angle[0], there_angle[-1], 200_000)
    # the same place on the clockwise circle lies at the angle counted the other way
    back = np.interp(2 * np.pi - at % (2 * np.pi), back_angle % (2 * np.pi), back, period=2 * np.pi)
    there = np.interp(at, there_angle, there)
    assert np.abs(there - back).max() == pytest.approx(hysteresis, abs=2e-6)


def test_screw_that_leads_by_half_the_backlash_carries_the_table_where_it_should():
    # command = intended + direction b/2 with the jump at the turn: no error
    wanted = np.concatenate((np.linspace(0, 8, 50), np.linspace(8, -3, 50), np.linspace(-3, 4, 50)))
    lead = np.repeat([0.045, -0.045, 0.045], 50)
    np.testing.assert_allclose(only(play(wanted + lead, 0.045, 0.0)), wanted, atol=1e-12)


def test_unknown_start_is_carried_until_a_run_is_longer_than_the_backlash():
    bounds = play(np.array([0.0, 0.02, 0.0, 0.06, 0.1, 0.3]), 0.05)
    np.testing.assert_allclose(bounds.low, [-0.05, -0.03, -0.03, 0.01, 0.05, 0.25], atol=1e-15)
    np.testing.assert_allclose(bounds.high, [0.05, 0.05, 0.05, 0.05, 0.05, 0.25], atol=1e-15)
    assert bounds.known.tolist() == [False, False, False, False, True, True]


def test_start_between_two_places():
    bounds = play(np.array([0.0, 0.02, 0.0]), 0.05, (-0.01, 0.04))
    np.testing.assert_allclose(bounds.low, [-0.01, -0.01, -0.01], atol=1e-15)
    np.testing.assert_allclose(bounds.high, [0.04, 0.04, 0.04], atol=1e-15)


def test_start_that_the_backlash_does_not_allow_is_pushed_to_its_edge():
    assert only(play(np.array([1.0, 1.0]), 0.1, -5.0)).tolist() == [0.9, 0.9]


def test_unknown_position_forgets_the_state():
    bounds = play(np.array([0.0, 1.0, math.nan, math.nan, 5.0, 5.02, 7.0]), 0.05, 0.0)
    np.testing.assert_allclose(bounds.low[[0, 1, 4, 5, 6]], [0, 0.95, 4.95, 4.97, 6.95])
    np.testing.assert_allclose(bounds.high[[0, 1, 4, 5, 6]], [0, 0.95, 5.05, 5.05, 6.95])
    assert np.isnan(bounds.low[2:4]).all()


def test_no_samples_and_one_sample():
    assert len(play(np.zeros(0), 0.1).low) == 0
    bounds = play(np.array([3.0]), 0.1)
    assert (bounds.low.tolist(), bounds.high.tolist()) == ([2.9], [3.1])


def test_no_backlash_is_no_lag():
    screw = np.array([0.0, 3.0, -2.0, math.nan, 4.0])
    np.testing.assert_array_equal(play(screw, 0.0).low, screw)
    np.testing.assert_array_equal(play(screw, 0.0).high, screw)


fine = st.integers(-60, 60).map(lambda value: value / 100.0)


@given(
    st.lists(st.one_of(fine, st.just(None)), min_size=1, max_size=60),
    st.integers(0, 40).map(lambda value: value / 100.0),
    st.one_of(st.none(), fine),
)
def test_agrees_with_the_loop(points, reach, start):
    """None among the points: the screw rests."""
    screw, last = [], 0.0
    for point in points:
        last = last if point is None else point
        screw.append(last)
    screw = np.array(screw)
    bounds = play(screw, reach, start)
    lowest, highest = (-1e9, 1e9) if start is None else (start, start)
    np.testing.assert_array_equal(bounds.low, stepwise(screw, reach, lowest))
    np.testing.assert_array_equal(bounds.high, stepwise(screw, reach, highest))


@given(st.lists(st.tuples(fine, st.integers(0, 30)), min_size=1, max_size=40))
def test_agrees_with_the_loop_where_the_backlash_changes_as_it_likes(rows):
    screw = np.array([row[0] for row in rows])
    reach = np.array([row[1] / 100.0 for row in rows])
    bounds = play(screw, reach)
    np.testing.assert_array_equal(bounds.low, stepwise(screw, reach, -1e9))
    np.testing.assert_array_equal(bounds.high, stepwise(screw, reach, 1e9))


@given(st.lists(fine, min_size=2, max_size=20), st.integers(1, 9), st.integers(1, 40))
def test_more_samples_change_nothing(points, between, hundredths):
    """The operator knows no time: only turning points matter."""
    screw = np.array(points)
    dense = np.interp(np.arange((len(screw) - 1) * between + 1) / between, range(len(screw)), screw)
    few, many = play(screw, hundredths / 100.0), play(dense, hundredths / 100.0)
    np.testing.assert_allclose(many.low[::between], few.low, atol=1e-12)
    np.testing.assert_allclose(many.high[::between], few.high, atol=1e-12)


@given(st.lists(fine, min_size=1, max_size=30), fine, st.integers(0, 40))
def test_table_stays_in_the_backlash_and_any_start_within_the_bounds(points, start, hundredth):
    screw, reach = np.array(points), hundredth / 100.0
    bounds = play(screw, reach)
    assert (np.abs(bounds.low - screw) <= reach + 1e-12).all()
    known = only(play(screw, reach, start))
    assert (bounds.low <= known).all()
    assert (known <= bounds.high).all()


def test_ends_of_take_ups_between_samples():
    screw, reach = np.array([0.0, 10.0, 9.0, 8.99, 3.0]), np.full(5, 0.05)
    table = play(screw, reach, 0.0).low
    found = engaged(screw, reach, table)
    assert found.after.tolist() == [0, 1]
    np.testing.assert_allclose(found.share, [0.005, 0.1])
    assert found.side.tolist() == [1, -1]


def test_ends_of_take_ups_where_the_backlash_changes_on_the_way():
    screw, reach = np.array([0.0, 10.0, 0.0]), np.array([0.05, 0.15, 0.05])
    table = play(screw, reach, 0.0).low
    found = engaged(screw, reach, table)
    # back from 10: pushed where 10 - u = r(10) + r(u) = 0.15 + 0.05 + 0.01 u
    turned = (10.0 - 0.2) / 1.01
    np.testing.assert_allclose(found.share[found.after == 1], [(10.0 - turned) / 10.0])
    # and the first: u = r(u) = 0.05 + 0.01 u
    np.testing.assert_allclose(found.share[found.after == 0], [0.05 / 0.99 / 10.0])


def test_backlash_by_position():
    axis = Axis(lost_motion=((0.0, 0.1), (100.0, 0.2), (200.0, 0.1)))
    places = np.array([-50.0, 0.0, 50.0, 100.0, 150.0, 900.0])
    np.testing.assert_allclose(half_backlash(axis, places), [0.05, 0.05, 0.075, 0.1, 0.075, 0.05])
    np.testing.assert_allclose(
        half_backlash(axis, places, -0.15), [0.0, 0.0, 0.0, 0.025, 0.0, 0.0], atol=1e-15
    )


def test_one_backlash_for_the_whole_axis():
    assert half_backlash(Axis(lost_motion=0.09), np.array([1.0, 7.0])).tolist() == [0.045, 0.045]


def test_axis_that_hangs_has_no_lash():
    assert half_backlash(Axis(lost_motion=0.3, gravity_loaded=True), np.zeros(3)).tolist() == [
        0,
        0,
        0,
    ]


@pytest.mark.parametrize("size", [0.01, 1.0])
def test_samples_are_worked_at_together_and_not_one_by_one(size):
    """Small wiggles within the backlash never settle the state, which is the worst case."""
    screw = np.random.default_rng(7).uniform(-size, size, 200_000)
    few, many = (steps(lambda count=count: play(screw[:count], 0.1)) for count in (2_000, 200_000))
    assert many <= 2 * few + 500
