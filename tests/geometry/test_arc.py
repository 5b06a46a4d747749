"""Arc kernels against the standard, handbook formulas, shapely and numerical integration."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from arc_samples import arcs, walk
from examples import share
from hypothesis import given
from hypothesis import strategies as st

from gpre.geometry import arc
from gpre.geometry.arc import Arcs

ONE = np.ones(1)


Point = tuple[float, float, float]


def one(start: Point, end: Point, centre: Point, sweep: float, plane: int = 17) -> Arcs:
    return Arcs(
        np.array([start], float),
        np.array([end], float),
        np.array([centre], float),
        np.array([sweep], float),
        np.array([plane], np.uint8),
    )


def circle(radius: float, rise: float = 0.0, turns: float = 1.0) -> Arcs:
    return one((radius, 0, 0), (radius, 0, rise), (0, 0, 0), turns * 2 * math.pi)


# --- the standard's own arcs ------------------------------------------------------------------


def test_centre_form_example_of_the_standard() -> None:
    # NISTIR 6556, 3.5.3.2: at X7 Y7, G17 G2 X10 Y16 I3 J4 Z9: centre (10, 11), radius 5;
    # the turn and the length follow by plane geometry
    start, end = np.array([[7.0, 7.0, 0.0]]), np.array([[10.0, 16.0, 9.0]])
    centre = np.array([[10.0, 11.0, 0.0]])
    plane = np.array([17], np.uint8)
    sweep = arc.sweeps(start, end, centre, plane, -ONE)
    assert math.degrees(sweep[0]) == pytest.approx(-143.13010, abs=1e-5)
    flat = Arcs(start, end * [1, 1, 0], centre, sweep, plane)
    assert arc.lengths(flat)[0] == pytest.approx(12.490458, abs=1e-6)


def test_radius_form_example_of_the_standard() -> None:
    # NISTIR 6556, Table 10: at (3, 1, 0) G2 X0 (6 - 4 * 3 / 2) R7.01 Z0.5 gave ARC_FEED with the
    # centre (1.5, 7.8476), clockwise; turn and helix length by plane geometry
    start, end = np.array([[3.0, 1.0, 0.0]]), np.array([[0.0, 1.0, 0.5]])
    plane = np.array([17], np.uint8)
    # clockwise from X3 to X0 with less than half a turn: the centre lies on the right of the
    # travel, which goes -X, so at greater Y
    centre, lacks = arc.centres_by_radius(start, end, np.array([7.01]), plane, -ONE)
    assert lacks[0] < 0
    assert centre[0, :2] == pytest.approx([1.5, 7.8476], abs=5e-5)
    sweep = arc.sweeps(start, end, centre, plane, -ONE)
    assert math.degrees(sweep[0]) == pytest.approx(-24.711390, abs=1e-6)
    assert arc.lengths(Arcs(start, end, centre, sweep, plane))[0] == pytest.approx(
        3.064444, abs=1e-6
    )


def test_negative_radius_takes_the_long_way_round() -> None:
    # NISTIR 6556, 3.5.3.1: R below 0 turns by more than 180 degrees
    start, end = np.array([[0.0, 0.0, 0.0]]), np.array([[1.0, 1.0, 0.0]])
    plane = np.array([17], np.uint8)
    for way in (1.0, -1.0):
        for radius, turn in ((1.0, math.pi / 2), (-1.0, 1.5 * math.pi)):
            centre, _ = arc.centres_by_radius(start, end, ONE * radius, plane, ONE * way)
            sweep = arc.sweeps(start, end, centre, plane, ONE * way)
            assert sweep[0] == pytest.approx(way * turn, abs=1e-12)


def test_radius_shorter_than_half_the_chord_says_what_it_lacks() -> None:
    start, end = np.array([[0.0, 0.0, 0.0]]), np.array([[10.0, 0.0, 0.0]])
    centre, lacks = arc.centres_by_radius(
        start, end, np.array([4.5]), np.array([17], np.uint8), ONE
    )
    assert lacks[0] == pytest.approx(0.5)
    assert centre[0] == pytest.approx([5.0, 0.0, 0.0])


def test_in_the_xz_plane_counter_clockwise_leads_from_z_to_x() -> None:
    # NISTIR 6556, 4.3.6.1: the first axis of the XZ plane is Z, the second X
    start, end, centre = np.array([[0.0, 3.0, 5.0]]), np.array([[5.0, 3.0, 0.0]]), np.zeros((1, 3))
    plane = np.array([18], np.uint8)
    assert arc.sweeps(start, end, centre, plane, ONE)[0] == pytest.approx(math.pi / 2)
    assert arc.sweeps(start, end, centre, plane, -ONE)[0] == pytest.approx(-1.5 * math.pi)
    half = arc.points(Arcs(start, end, centre, np.array([math.pi / 2]), plane), ONE / 2)
    assert half[0] == pytest.approx([5 * math.sqrt(0.5), 3.0, 5 * math.sqrt(0.5)])


def test_in_the_yz_plane_counter_clockwise_leads_from_y_to_z() -> None:
    start, end, centre = np.array([[1.0, 5.0, 0.0]]), np.array([[1.0, 0.0, 5.0]]), np.zeros((1, 3))
    plane = np.array([19], np.uint8)
    assert arc.sweeps(start, end, centre, plane, ONE)[0] == pytest.approx(math.pi / 2)


def test_an_end_that_is_the_start_is_a_full_turn() -> None:
    point, centre = np.array([[10.0, 0.0, 0.0]]), np.zeros((1, 3))
    plane = np.array([17], np.uint8)
    assert arc.sweeps(point, point, centre, plane, ONE)[0] == 2 * math.pi
    assert arc.sweeps(point, point, centre, plane, -ONE)[0] == -2 * math.pi


# --- handbook values --------------------------------------------------------------------------


def test_helix_length_of_the_formula() -> None:
    # L = sqrt((2 pi r)^2 + p^2) a turn (math.uni.lu/helix/length.html); r 10, p 2: 62.863676
    assert arc.lengths(circle(10.0, 2.0))[0] == pytest.approx(62.863676, abs=1e-6)
    # published example, rounded there: r 1, rise 2, one turn: 6.60, ten turns: about 66
    # (sciencing.com/calculate-helical-length-7808380.html)
    assert arc.lengths(circle(1.0, 2.0))[0] == pytest.approx(6.60, abs=0.01)
    assert arc.lengths(circle(1.0, 20.0, 10.0))[0] == pytest.approx(66.0, abs=0.1)


def test_helix_runs_down_at_the_angle_of_the_formula() -> None:
    # atan(p / (2 pi r)): r 2, p 0.5 gives 2.2785 degrees
    tangent = arc.tangents(circle(2.0, -0.5), np.zeros(1))[0]
    assert math.degrees(math.asin(-tangent[2])) == pytest.approx(2.2785, abs=1e-4)


@pytest.mark.parametrize(("radius", "chord", "steps"), [(25.0, 0.01, 112), (10.0, 0.005, 100)])
def test_chord_steps_of_the_sagitta_formula(radius: float, chord: float, steps: int) -> None:
    # step = 2 acos(1 - e / r): 3.24125 degrees for r 25, e 0.01; 3.62385 for r 10, e 0.005
    assert arc.chord_counts(circle(radius), chord)[0] == steps


# --- shapely ----------------------------------------------------------------------------------


def test_full_circle_agrees_with_a_dense_polygon() -> None:
    round_ = circle(12.5)
    polygon = shapely.Point(0, 0).buffer(12.5, quad_segs=20_000)
    assert arc.lengths(round_)[0] == pytest.approx(polygon.length, rel=1e-8)
    least, greatest = arc.bounds(round_)
    assert (*least[0, :2], *greatest[0, :2]) == pytest.approx(polygon.bounds, abs=1e-9)
    _, _, points = arc.sample(round_, 1e-6)
    assert shapely.Polygon(points[:, :2]).area == pytest.approx(polygon.area, rel=1e-6)


@given(arcs(turns=1.0))
@share(0.6)
def test_lengths_and_bounds_agree_with_a_dense_line_of_shapely(some: Arcs) -> None:
    least, greatest = arc.bounds(some)
    length = arc.lengths(some)
    frames = {17: (0, 1), 18: (2, 0), 19: (1, 2)}
    for row in range(len(some.sweep)):
        dense = walk(some, row, np.linspace(0.0, 1.0, 4001))
        first, second = frames[int(some.plane[row])]
        line = shapely.LineString(dense[:, [first, second]])
        low = [least[row, first], least[row, second]]
        high = [greatest[row, first], greatest[row, second]]
        assert (*low, *high) == pytest.approx(line.bounds, abs=1e-4)
        # what the bounds hold is never less than what the samples reach
        assert np.all(np.array(low) <= np.array(line.bounds[:2]) + 1e-9)
        assert np.all(np.array(high) >= np.array(line.bounds[2:]) - 1e-9)
        rise = arc.rises(some.rows(slice(row, row + 1)))[0]
        assert length[row] == pytest.approx(math.hypot(line.length, rise), rel=1e-4)


# --- numerical integration and differences ----------------------------------------------------


@given(arcs(turns=2.0))
@share(0.6)
def test_lengths_agree_with_the_speed_integrated(some: Arcs) -> None:
    t = np.linspace(0.0, 1.0, 20_001)
    for row, length in enumerate(arc.lengths(some)):
        velocity = np.gradient(walk(some, row, t), t, axis=0, edge_order=2)
        speed = np.linalg.norm(velocity, axis=1)
        assert length == pytest.approx(np.trapezoid(speed, t), rel=1e-6)


@given(arcs(), st.floats(0.001, 0.999))
@share(0.6)
def test_tangents_are_the_direction_of_small_steps(some: Arcs, t: float) -> None:
    # differences of the fourth order: (f(-2h) - 8 f(-h) + 8 f(h) - f(2h)) / 12 h, with an error of
    # h⁴ f⁽⁵⁾ / 30, so that the digits are lost neither to the step nor to the rounding
    step = 2e-4
    tangent = arc.tangents(some, np.full(len(some.sweep), t))
    for row in range(len(some.sweep)):
        places = walk(some, row, t + step * np.array([-2.0, -1.0, 1.0, 2.0]))
        change = np.array([1.0, -8.0, 8.0, -1.0]) @ places
        direction = change / np.linalg.norm(change)
        assert tangent[row] == pytest.approx(direction, abs=1e-8)


@given(arcs(), st.floats(0.0, 1.0))
@share(0.6)
def test_points_lie_where_the_definition_has_them(some: Arcs, t: float) -> None:
    points = arc.points(some, np.full(len(some.sweep), t))
    for row in range(len(some.sweep)):
        assert points[row] == pytest.approx(walk(some, row, np.array([t]))[0], abs=1e-9)


@given(arcs())
@share(0.6)
def test_the_ends_are_met_exactly(some: Arcs) -> None:
    n = len(some.sweep)
    assert np.array_equal(arc.points(some, np.zeros(n)), some.start)
    assert np.array_equal(arc.points(some, np.ones(n)), some.end)


# --- quadrant places --------------------------------------------------------------------------


def test_quadrants_of_a_full_circle_lie_at_its_quarters() -> None:
    tilted = one((3, 4, 0), (3, 4, 0), (0, 0, 0), 2 * math.pi)
    for axis, angles in ((0, (math.pi, 2 * math.pi)), (1, (math.pi / 2, 1.5 * math.pi))):
        rows, t = arc.quadrants(tilted, axis)
        assert rows.tolist() == [0, 0]
        expected = (np.array(angles) - math.atan2(4, 3)) / (2 * math.pi)
        assert t == pytest.approx(expected, abs=1e-15)
    assert len(arc.quadrants(tilted, 2)[0]) == 0


def test_a_quadrant_at_the_end_of_an_arc_is_not_inside_it() -> None:
    quarter = one((10, 0, 0), (0, 10, 0), (0, 0, 0), math.pi / 2)
    assert len(arc.quadrants(quarter, 0)[0]) == 0
    assert len(arc.quadrants(quarter, 1)[0]) == 0


def test_many_turns_have_two_quadrants_a_turn_on_each_axis() -> None:
    tilted = one((3, 4, 0), (3, 4, -5), (0, 0, 0), -7 * 2 * math.pi)
    for axis in (0, 1):
        rows, t = arc.quadrants(tilted, axis)
        assert len(rows) == 14
        assert np.all(np.diff(t) > 0)


@given(arcs(uneven=0.3))
def test_quadrants_are_the_turns_of_a_dense_walk(some: Arcs) -> None:
    t = np.linspace(0.0, 1.0, 20_001)
    for axis in range(3):
        rows, places = arc.quadrants(some, axis)
        for row in range(len(some.sweep)):
            mine = places[rows == row]
            way = np.sign(np.diff(walk(some, row, t)[:, axis]))
            way = np.where(np.abs(np.diff(walk(some, row, t)[:, axis])) < 1e-12, 0, way)
            known = np.flatnonzero(way)
            turned = known[1:][way[known[1:]] != way[known[:-1]]]
            assert np.all(np.diff(mine) > 0.0)
            # a turn in the first or last step of the walk may be seen or not
            seen = t[turned][(t[turned] > 2e-4) & (t[turned] < 1 - 2e-4)]
            for place in seen:
                assert np.min(np.abs(mine - place)) < 2e-4
            # solved: the axis stands still there to the last digits
            for place in mine:
                one_row = some.rows(slice(row, row + 1))
                still = arc.tangents(one_row, np.array([place]))[0, axis]
                assert abs(still) < 1e-9


# --- identities -------------------------------------------------------------------------------


@given(arcs(), st.floats(0.01, 0.99), st.floats(0.0, 1.0))
@share(0.6)
def test_the_parts_of_a_split_arc_are_the_arc(some: Arcs, cut: float, t: float) -> None:
    n = len(some.sweep)
    before, after = arc.split(some, np.full(n, cut))
    assert np.array_equal(before.end, after.start)
    at = np.full(n, t)
    assert arc.points(before, at) == pytest.approx(arc.points(some, at * cut), abs=1e-9)
    assert arc.points(after, at) == pytest.approx(
        arc.points(some, cut + at * (1.0 - cut)), abs=1e-9
    )
    assert arc.lengths(before) + arc.lengths(after) == pytest.approx(arc.lengths(some), rel=1e-9)
    row = np.arange(n)
    normal = arc.axes_of(after.plane)[2]
    assert np.array_equal(after.centre[row, normal], after.start[row, normal])


@given(arcs(), st.floats(0.0, 1.0))
@share(0.6)
def test_backwards_is_the_same_curve_and_twice_is_the_arc(some: Arcs, t: float) -> None:
    back = arc.backwards(some)
    at = np.full(len(some.sweep), t)
    assert arc.points(back, at) == pytest.approx(arc.points(some, 1.0 - at), abs=1e-9)
    assert arc.tangents(back, at) == pytest.approx(-arc.tangents(some, 1.0 - at), abs=1e-9)
    again = arc.backwards(back)
    for mine, theirs in zip(again, some, strict=True):
        assert np.array_equal(mine, theirs)


@given(st.one_of(arcs(), arcs(0.05, 0.9)), st.sampled_from([1.0, 0.1, 0.01, 1e-3, 1e-4]))
@share(0.6)
def test_chords_stay_within_the_bound(some: Arcs, chord: float) -> None:
    rows, t, points = arc.sample(some, chord)
    for row in range(len(some.sweep)):
        mine, at = points[rows == row], t[rows == row]
        assert at[0] == 0.0
        assert at[-1] == 1.0
        # of at most 40 chords, spread over the arc, nine points each
        for i in np.unique(np.linspace(0, len(at) - 2, 40).astype(int)):
            between = walk(some, row, np.linspace(at[i], at[i + 1], 11))
            a, b = mine[i], mine[i + 1]
            ab = b - a
            share = np.clip((between - a) @ ab / max(ab @ ab, 1e-30), 0.0, 1.0)
            far = np.linalg.norm(between - (a + share[:, None] * ab), axis=1)
            assert far.max() <= chord * (1.0 + 1e-6) + 1e-9


@given(arcs(turns=0.9, uneven=0.0))
def test_centre_and_turn_come_back_from_the_two_forms(some: Arcs) -> None:
    way = np.sign(some.sweep)
    again = arc.sweeps(some.start, some.end, some.centre, some.plane, way)
    assert again == pytest.approx(some.sweep, abs=1e-9)
    radius = arc.polar(some).radius * np.where(np.abs(some.sweep) > math.pi, -1.0, 1.0)
    centre, lacks = arc.centres_by_radius(some.start, some.end, radius, some.plane, way)
    assert np.all(lacks <= 1e-9)
    first, second, _ = arc.axes_of(some.plane)
    row = np.arange(len(way))
    # the radius form loses half the digits near the half circle (NISTIR 6556, 3.5.3.1)
    for axis in (first, second):
        assert centre[row, axis] == pytest.approx(some.centre[row, axis], abs=2e-4)
