"""Coverage of one path by another, against shapely and against dense sampling."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from steps import steps

from gpre.geometry.coverage import coverage, distances
from gpre.geometry.path import Moves, points, take
from gpre.geometry.segments import distance, distance_below

TOLERANCE = 0.002


def lines(*corners: Any) -> Moves:
    """Straight moves through the corners."""
    at = np.array(corners, float)
    start, end = at[:-1], at[1:]
    n = len(start)
    return Moves(start, end, np.full((n, 3), np.nan), np.zeros(n), np.full(n, 17, np.uint8))


def arc(start: Any, end: Any, centre: Any, sweep: float, plane: int = 17) -> Moves:
    return Moves(
        np.array([start], float),
        np.array([end], float),
        np.array([centre], float),
        np.array([sweep]),
        np.array([plane], np.uint8),
    )


def joined(*paths: Moves) -> Moves:
    return Moves(*(np.concatenate(columns) for columns in zip(*paths, strict=True)))


def test_the_same_path_backwards_is_matched_without_measuring() -> None:
    there = lines((0, 0, 0), (10, 0, 0), (10, 5, -1))
    back = lines((10, 5, -1), (10, 0, 0), (0, 0, 0))
    result = coverage(there, back, TOLERANCE)
    assert result.holds
    assert result.greatest == 0.0


def test_a_path_cut_into_other_moves_is_covered_both_ways() -> None:
    whole = lines((0, 0, 0), (10, 0, 0), (10, 10, 0))
    pieces = lines((10, 10, 0), (10, 3.3, 0), (10, 0, 0), (7.1, 0, 0), (0, 0, 0))
    for one, other in ((whole, pieces), (pieces, whole)):
        result = coverage(one, other, TOLERANCE)
        assert result.holds
        assert result.greatest < 1e-9


@pytest.mark.parametrize("gap", [0.006, 0.01, 0.1, 3.0])
def test_a_gap_is_found_however_short(gap: float) -> None:
    whole = lines((0, 0, 0), (100, 0, 0))
    left = lines((0, 0, 0), (40.123, 0, 0))
    right = lines((40.123 + gap, 0, 0), (100, 0, 0))
    result = coverage(whole, joined(left, right), TOLERANCE)
    assert not result.holds
    assert list(result.failed) == [0]
    assert coverage(joined(left, right), whole, TOLERANCE).holds


def test_a_gap_within_the_tolerance_of_both_ends_is_none() -> None:
    whole = lines((0, 0, 0), (100, 0, 0))
    left, right = lines((0, 0, 0), (40, 0, 0)), lines((40.003, 0, 0), (100, 0, 0))
    result = coverage(whole, joined(left, right), TOLERANCE)
    assert result.holds
    assert 0.0015 <= result.greatest <= TOLERANCE + 1e-6


def test_a_deeper_pass_covers_a_shallower_one_and_not_the_other_way() -> None:
    shallow, deep = lines((0, 0, -1), (10, 0, -1)), lines((0, 0, -2), (10, 0, -2))
    assert coverage(shallow, deep, TOLERANCE).holds
    result = coverage(deep, shallow, TOLERANCE)
    assert not result.holds
    assert result.greatest == pytest.approx(1.0)
    assert not coverage(shallow, deep, TOLERANCE, below=False).holds


def test_a_plunge_onto_a_contour_is_covered_by_the_contour() -> None:
    contour = lines((0, 0, -2), (10, 0, -2), (10, 10, -2), (0, 0, -2))
    assert coverage(lines((10, 10, 5), (10, 10, -2)), contour, TOLERANCE).holds
    assert not coverage(lines((10, 10, 5), (10, 10, -2.1)), contour, TOLERANCE).holds
    assert not coverage(lines((9, 10.5, 5), (9, 10.5, -2)), contour, TOLERANCE).holds


def test_groups_do_not_cover_one_another() -> None:
    one = lines((0, 0, 0), (10, 0, 0))
    group, other = np.array([3]), np.array([4])
    assert coverage(one, one, TOLERANCE, of_group=group, by_group=group).holds
    result = coverage(one, one, TOLERANCE, of_group=group, by_group=other)
    assert not result.holds
    assert math.isinf(result.greatest)


def test_nothing_covers_where_there_is_nothing() -> None:
    one, none = lines((0, 0, 0), (10, 0, 0)), lines((0, 0, 0))
    assert not coverage(one, none, TOLERANCE).holds
    assert coverage(none, one, TOLERANCE).holds


def test_a_circle_from_another_start_is_the_same_circle() -> None:
    turn = 2 * math.pi
    whole = arc((25, 0, 0), (25, 0, 0), (0, 0, 0), turn)
    halves = joined(
        arc((0, 25, 0), (0, -25, 0), (0, 0, 0), -math.pi),
        arc((0, -25, 0), (0, 25, 0), (0, 0, 0), -math.pi),
    )
    for one, other in ((whole, halves), (halves, whole)):
        result = coverage(one, other, TOLERANCE)
        assert result.holds
        assert result.greatest <= 0.1 * TOLERANCE
    # G2 for G3: the other half of the circle
    wrong = arc((0, 25, 0), (0, -25, 0), (0, 0, 0), math.pi)
    right = arc((0, 25, 0), (0, -25, 0), (0, 0, 0), -math.pi)
    result = coverage(wrong, right, TOLERANCE)
    assert not result.holds
    assert result.greatest > 5.0


def test_a_helix_and_its_quarters() -> None:
    turns = arc((5, 0, 0), (5, 0, -2), (0, 0, 0), 4 * math.pi)
    at = points(take(turns, np.zeros(9, int)), np.linspace(0, 1, 9))
    quarters = joined(
        *(arc(a, b, (0, 0, a[2]), math.pi / 2) for a, b in zip(at[:-1], at[1:], strict=True))
    )
    assert coverage(turns, quarters, TOLERANCE, below=False).greatest <= 0.1 * TOLERANCE
    assert coverage(quarters, turns, TOLERANCE).holds
    lower = Moves(*quarters)._replace(
        start=quarters.start - [0, 0, 0.01], end=quarters.end - [0, 0, 0.01]
    )
    assert not coverage(lower, turns, TOLERANCE).holds


def slanted(shift: float) -> Moves:
    """A pass over a tilted plane, 30 degrees, moved along the plane's normal."""
    normal = np.array([-math.sin(math.radians(30)), 0.0, math.cos(math.radians(30))])
    start = np.array([0.0, 0.0, 0.0]) + shift * normal
    end = np.array([20.0, 5.0, 20.0 * math.tan(math.radians(30))]) + shift * normal
    return lines(start, end)


def test_a_tilted_surface_within_the_tolerance_passes_and_beyond_fails() -> None:
    base = slanted(0.0)
    for shift in (0.0015, -0.0015):
        moved = slanted(shift)
        assert coverage(moved, base, TOLERANCE).holds
        assert coverage(base, moved, TOLERANCE).holds
    for shift in (0.0025, -0.0025):
        moved = slanted(shift)
        assert not (
            coverage(moved, base, TOLERANCE).holds and coverage(base, moved, TOLERANCE).holds
        )


def test_the_flat_distance_is_that_of_shapely() -> None:
    rng = np.random.default_rng(7)
    point, start, end = (rng.normal(size=(200, 3)) for _ in range(3))
    for each in (point, start, end):
        each[:, 2] = 0.0
    expected = shapely.distance(
        shapely.points(point[:, :2]), shapely.linestrings(np.stack((start, end), 1)[:, :, :2])
    )
    assert np.allclose(distance(point, start, end), expected, atol=1e-12)
    assert np.allclose(distance_below(point, start, end), expected, atol=1e-12)


coordinate = st.integers(-4, 4).map(float)
place = st.tuples(coordinate, coordinate, coordinate)


@given(place, place, place)
def test_the_distance_below_is_the_least_over_the_segment(one: Any, first: Any, last: Any) -> None:
    p, a, b = (np.array([each]) for each in (one, first, last))
    q = a + np.linspace(0, 1, 8001)[:, None] * (b - a)
    gap = q - p
    sampled = np.sqrt(gap[:, 0] ** 2 + gap[:, 1] ** 2 + np.maximum(gap[:, 2], 0.0) ** 2).min()
    exact = distance_below(p, a, b)[0]
    assert exact <= sampled + 1e-12
    assert exact >= sampled - 2e-3


@given(
    st.lists(place, min_size=2, max_size=6, unique=True),
    st.lists(place, min_size=2, max_size=6, unique=True),
    st.booleans(),
)
def test_coverage_agrees_with_dense_sampling(left: Any, right: Any, below: bool) -> None:
    one, other, tolerance = lines(*left), lines(*right), 0.5
    result = coverage(one, other, tolerance, below=below)
    t = np.linspace(0, 1, 201)
    row = np.repeat(np.arange(len(one.sweep)), len(t))
    sampled = distances(points(take(one, row), np.tile(t, len(one.sweep))), other, below=below)
    if result.holds:
        assert sampled.max() <= result.greatest + 1e-9
        assert result.greatest <= tolerance * 1.02
    else:
        # a place beyond the tolerance lies within half a step of a sample
        step = np.linalg.norm(one.end - one.start, axis=1).max() / 200
        assert sampled.max() > tolerance - step


def changed_throughout(n: int) -> tuple[Any, Any]:
    """Return a wavy path, and the path over the middles of its moves."""
    rng = np.random.default_rng(3)
    x = np.cumsum(rng.uniform(0.05, 0.2, n))
    corners = np.column_stack((x % 50.0, np.floor(x / 50.0) * 0.5, np.sin(x)))
    half = np.concatenate((corners[:1], (corners[:-1] + corners[1:]) / 2.0, corners[-1:]))
    return lines(*corners), lines(*half)


def test_a_large_path_that_is_changed_throughout_is_no_more_steps_than_a_small_one() -> None:
    small, large = changed_throughout(1_000), changed_throughout(20_000)
    assert coverage(*large, 0.1).greatest > 0.0
    few, many = (steps(lambda pair=pair: coverage(*pair, 0.1)) for pair in (small, large))
    assert many <= 2 * few


@pytest.mark.parametrize(("z", "below"), [(-5.0, 0.3), (0.0, 0.3), (1.0, math.hypot(0.3, 1.0))])
def test_how_far_points_lie_from_a_path(z: float, below: float) -> None:
    """A deeper path is as far as XY sees it, where only what is deeper counts."""
    path, point = lines((0, 0.3, z), (10, 0.3, z)), np.array([[5.0, 0.0, 0.0]])
    assert distances(point, path, reach=20.0).tolist() == pytest.approx([below])
    in_space = distances(point, path, below=False, reach=20.0)
    assert in_space.tolist() == pytest.approx([math.hypot(0.3, z)])
    assert distances(point, path, below=False, reach=0.2).tolist() == [np.inf]
