"""Arcs covered by arcs of the same circle, told by their angles; compared with the chords."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.geometry.arc_coverage import covered_arcs
from gpre.geometry.coverage import coverage, distances
from gpre.geometry.matching import keys_of, numbered, paired, undirected
from gpre.geometry.path import Moves, points, take
from gpre.geometry.tolerance import POINT

TOLERANCE = 0.002


def arc(
    first: float, sweep: float, *, radius: float = 8.0, z: float = 0.0, x: float = 0.0
) -> Moves:
    """Arc about (x, 0) from the angle `first`, radians."""
    angles = np.array([first, first + sweep])
    ends = np.column_stack((x + radius * np.cos(angles), radius * np.sin(angles), [z, z]))
    return Moves(
        ends[:1], ends[1:], np.array([[x, 0.0, z]]), np.array([sweep]), np.array([17], np.uint8)
    )


def joined(*paths: Moves) -> Moves:
    return Moves(*(np.concatenate(columns) for columns in zip(*paths, strict=True)))


def covered(one: Moves, other: Moves, *, below: bool = True) -> bool:
    rows = np.arange(len(one.sweep))
    result = covered_arcs(
        one,
        rows,
        other,
        TOLERANCE,
        of_group=np.zeros(len(one.sweep), np.intp),
        by_group=np.zeros(len(other.sweep), np.intp),
        below=below,
    )[0]
    return bool(result.all())


quarter = math.pi / 2


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (arc(0.3, 1.0), arc(0.0, 2.0), True),
        (arc(0.3, 1.0), arc(1.4, -1.2), True),  # the other way round
        (arc(0.3, 1.0), arc(0.3, 0.9), False),
        (arc(0.3, 1.0), joined(arc(0.2, 0.6), arc(1.5, -0.8)), True),
        (arc(0.3, 1.0), joined(arc(0.2, 0.5), arc(1.5, -0.75)), False),  # a gap between
        (arc(-0.5, 1.0), arc(-1.0, 2.0), True),  # across the angle 0
        (arc(3.0, 0.5), arc(2.9, 1.0), True),  # across pi
        (arc(0.3, 4 * quarter), arc(2.0, -4 * quarter), True),  # full circles
        (arc(0.3, 6 * quarter), arc(2.0, 4 * quarter), True),  # more than a turn
        (arc(0.3, 4 * quarter), arc(2.0, 3.9 * quarter), False),
        (arc(0.3, 1.0), arc(0.0, 2.0, radius=8.0019), True),
        (arc(0.3, 1.0), arc(0.0, 2.0, radius=8.0021), False),
        (arc(0.3, 1.0), arc(0.0, 2.0, x=0.0019), True),
        (arc(0.3, 1.0), arc(0.0, 2.0, z=-5.0), True),
        (arc(0.3, 1.0), arc(0.0, 2.0, z=0.0021), False),
    ],
)
def test_angles_tell_what_is_covered(one: Moves, other: Moves, expected: bool) -> None:
    assert covered(one, other) == expected
    assert coverage(one, other, TOLERANCE).holds == expected


def test_a_deeper_arc_does_not_cover_where_distance_in_space_counts() -> None:
    assert not covered(arc(0.3, 1.0), arc(0.0, 2.0, z=-5.0), below=False)


angle = st.floats(-6.0, 6.0).filter(lambda each: abs(each) > 0.05)


@given(angle, angle, st.lists(st.tuples(angle, angle), min_size=1, max_size=4))
def test_what_the_angles_call_covered_is_near_at_every_sample(
    first: float, sweep: float, others: list[tuple[float, float]]
) -> None:
    one = arc(first, sweep)
    other = joined(*(arc(begin, turn) for begin, turn in others))
    t = np.linspace(0.0, 1.0, 400)
    sampled = distances(points(take(one, np.zeros(400, np.intp)), t), other)
    if covered(one, other):
        assert sampled.max() <= TOLERANCE + 1e-3  # the chords of the sampling
    else:
        # the gap may lie between two samples
        assert not coverage(one, other, TOLERANCE).holds or sampled.max() <= TOLERANCE + 1e-3


whole = st.integers(-3, 3).map(float)
corner = st.tuples(whole, whole, whole)


@given(st.lists(st.tuples(corner, corner), min_size=1, max_size=8))
def test_moves_are_matched_either_way_round(pairs: list[Any]) -> None:
    start, end = (np.array([pair[at] for pair in pairs]) for at in (0, 1))
    n = len(pairs)
    straight = np.zeros(n), np.full(n, 17, np.uint8)
    there = Moves(start, end, np.full((n, 3), np.nan), *straight)
    back = Moves(end, start, np.full((n, 3), np.nan), *straight)
    left, right = numbered(undirected(keys_of(there)), undirected(keys_of(back)))
    assert (left == right).all()
    left, right = numbered(keys_of(there), keys_of(back))
    assert ((left == right) == (start == end).all(axis=1)).all()


@given(st.lists(st.integers(0, 4), max_size=12), st.lists(st.integers(0, 4), max_size=12))
def test_partners_are_equal_and_taken_in_order(left: list[int], right: list[int]) -> None:
    partner = paired(np.array(left, np.intp), np.array(right, np.intp)).tolist()
    used = [each for each in partner if each >= 0]
    assert len(set(used)) == len(used)
    for value in set(left) | set(right):
        mine = [partner[at] for at, each in enumerate(left) if each == value]
        theirs = [at for at, each in enumerate(right) if each == value]
        assert mine == theirs[: len(mine)] + [-1] * (len(mine) - len(theirs))


@pytest.mark.parametrize("x", [0.0, 0.0015, -0.0015])
@pytest.mark.parametrize("y", [0.0, 0.0015, -0.0015])
@pytest.mark.parametrize("wider", [0.0, 0.0008, -0.0008])
def test_how_far_arcs_are_apart_adds_up_over_centre_and_radius(
    x: float, y: float, wider: float
) -> None:
    one, other = arc(0.3, 4 * quarter), arc(0.0, 4 * quarter, radius=8.0 + wider)
    shift = np.array((x, y, 0.0))
    other = other._replace(
        start=other.start + shift, end=other.end + shift, centre=other.centre + shift
    )
    assert covered(one, other) == (math.hypot(x, y) + abs(wider) <= TOLERANCE)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_least_move_that_a_key_tells_is_matched_either_way_round(axis: int) -> None:
    end = np.zeros((1, 3))
    end[0, axis] = POINT
    straight = np.full((1, 3), np.nan), np.zeros(1), np.full(1, 17, np.uint8)
    there, back = Moves(np.zeros((1, 3)), end, *straight), Moves(end, np.zeros((1, 3)), *straight)
    left, right = numbered(undirected(keys_of(there)), undirected(keys_of(back)))
    assert left.tolist() == right.tolist()
    assert not np.equal(*numbered(keys_of(there), keys_of(back))).any()
