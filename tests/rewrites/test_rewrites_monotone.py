"""Fewest turns through a corridor, checked against trying everything."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.rewrites.straighten.monotone import departure, straightened, true_turns

REACH = 0.002


def turns_in(x) -> int:
    signs = [np.sign(step) for step in np.diff(x) if abs(step) > 1e-9]
    return sum(a != b for a, b in zip(signs, signs[1:], strict=False))


def fewest(x: list[float], reach: float) -> int:
    """Try every pattern of directions; dynamic bounds tell whether the corridor allows it.

    Independent of the code under test: each pattern of rising and falling steps is followed with
    the set of reachable values, an interval.
    """
    last = len(x) - 1
    wide = [reach if 0 < at < last else 0.0 for at in range(len(x))]
    best = len(x)
    for pattern in itertools.product((1, -1), repeat=last):
        low = high = x[0]
        for at, way in enumerate(pattern, start=1):
            bottom, top = x[at] - wide[at], x[at] + wide[at]
            low, high = (max(low, bottom), top) if way > 0 else (bottom, min(high, top))
            if low > high + 1e-12:
                break
        else:
            best = min(best, sum(a != b for a, b in itertools.pairwise(pattern)))
    return best


steps = st.lists(st.integers(-50, 50), min_size=2, max_size=9)


@given(steps=steps)
def test_there_are_no_fewer_turns(steps: list[int]):
    x = np.cumsum([0, *steps]) * 1e-4
    held = straightened(x, REACH)
    assert turns_in(held.place) == fewest(x.tolist(), REACH)
    assert np.abs(held.place - x).max() <= REACH + 1e-12
    assert held.place[0] == x[0]
    assert held.place[-1] == x[-1]


@given(steps=st.lists(st.integers(-50, 50), min_size=2, max_size=60))
def test_what_moves_wavers_and_what_is_straight_stays(steps: list[int]):
    x = np.cumsum([0, *steps]) * 1e-4
    held = straightened(x, REACH)
    moved = np.abs(held.place - x) > 1e-12
    assert not (moved & ~held.wavers).any()
    if (np.diff(x) >= 0).all() or (np.diff(x) <= 0).all():
        assert not moved.any()
    assert turns_in(held.place) <= turns_in(x)


@given(steps=st.lists(st.integers(-15, 15), min_size=2, max_size=40))
def test_within_the_reach_an_old_value_is_held(steps: list[int]):
    """Where every fall is within the reach, the new coordinates are among the old ones."""
    x = np.maximum.accumulate(np.cumsum([0, *np.abs(steps)]) * 1e-3)
    noisy = x.copy()
    noisy[1:-1:2] -= 0.0005
    held = straightened(noisy, REACH)
    assert set(np.round(held.place, 9)) <= set(np.round(noisy, 9))


@pytest.mark.parametrize(
    ("x", "turns"),
    [
        ([0.0, 1.0, 2.0], []),
        ([0.0, 1.0, 0.0], [(1, 1)]),
        ([0.0, 1.0, 0.997, 2.0], []),
        ([0.0, 1.0, 0.9955, 2.0], [(1, 1), (2, -1)]),
        ([0.0, 1.0, 1.0, 0.0], [(1, 1)]),
        ([0.0, -0.0015, 1.0], []),
        ([0.0, -0.0025, 1.0], [(1, -1)]),
        ([0.0, 1.0, 0.9985], []),
        ([0.0, 1.0, 0.9975], [(1, 1)]),
    ],
)
def test_true_turns(x: list[float], turns: list[tuple[int, int]]):
    assert true_turns(x, REACH) == turns


def test_departure_is_the_distance_of_the_lines_not_of_the_vertices():
    old = np.array([[0.0, 0, 0], [2, 0, 0], [1, 0, 0], [3, 0, 0]])
    new = np.array([[0.0, 0, 0], [2, 0, 0], [2, 0, 0], [3, 0, 0]])
    assert departure(old, new) < 1e-12
    aside = old + np.array([0.0, 0.5, 0.0])
    assert departure(old, aside) == pytest.approx(0.5)
