"""Straight and arc moves in one column set."""

from __future__ import annotations

import math

import numpy as np
import pytest
from arc_samples import arcs
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from gpre.geometry import arc, path
from gpre.geometry.path import Moves
from gpre.geometry.too_dense import CrowdedError


@st.composite
def moves(draw: DrawFn) -> Moves:
    """Arcs with as many straight moves between them, the rows mixed."""
    bows = draw(arcs(turns=1.5))
    n = len(bows.sweep)
    coordinate = st.floats(-50.0, 50.0)
    ends = np.array(draw(st.lists(coordinate, min_size=6 * n, max_size=6 * n))).reshape(n, 6)
    order = np.array(draw(st.permutations(range(2 * n))))
    return path.take(
        Moves(
            np.concatenate((bows.start, ends[:, :3])),
            np.concatenate((bows.end, ends[:, 3:])),
            np.concatenate((bows.centre, np.full((n, 3), np.nan))),
            np.concatenate((bows.sweep, np.zeros(n))),
            np.concatenate((bows.plane, np.full(n, 17, np.uint8))),
        ),
        order,
    )


def test_an_l_and_a_quarter_have_the_lengths_of_plane_geometry() -> None:
    some = Moves(
        np.array([[0.0, 0, 0], [3.0, 4, 12]]),
        np.array([[3.0, 4, 12], [-7.0, 14, 12]]),
        np.array([[np.nan] * 3, [-7.0, 4, 12]]),
        np.array([0.0, math.pi / 2]),
        np.array([17, 17], np.uint8),
    )
    assert path.lengths(some) == pytest.approx([13.0, 5 * math.pi])
    assert path.tangents(some, np.zeros(2)) == pytest.approx(
        np.array([[3 / 13, 4 / 13, 12 / 13], [0, 1, 0]])
    )
    assert path.tangents(some, np.ones(2))[1] == pytest.approx([-1, 0, 0], abs=1e-12)


@given(moves(), st.floats(0.01, 0.99), st.floats(0.0, 1.0))
@share(0.6)
def test_a_split_path_is_the_path(some: Moves, cut: float, t: float) -> None:
    n = len(some.sweep)
    before, after = path.split(some, np.full(n, cut))
    at = np.full(n, t)
    assert path.points(before, at) == pytest.approx(path.points(some, at * cut), abs=1e-9)
    assert path.points(after, at) == pytest.approx(
        path.points(some, cut + at * (1.0 - cut)), abs=1e-9
    )
    assert path.lengths(before) + path.lengths(after) == pytest.approx(path.lengths(some))


@given(moves(), st.floats(0.0, 1.0))
@share(0.6)
def test_a_path_backwards_has_the_same_points_lengths_and_bounds(some: Moves, t: float) -> None:
    back = path.backwards(some)
    at = np.full(len(some.sweep), t)
    assert path.points(back, at) == pytest.approx(path.points(some, 1.0 - at), abs=1e-9)
    assert path.lengths(back) == pytest.approx(path.lengths(some))
    for mine, theirs in zip(path.bounds(back), path.bounds(some), strict=True):
        assert mine == pytest.approx(theirs, abs=1e-9)


@given(moves())
@share(0.6)
def test_bounds_hold_all_samples(some: Moves) -> None:
    rows, _, points = path.sample(some, 0.01)
    least, greatest = path.bounds(some)
    assert np.all(points >= least[rows] - 1e-9)
    assert np.all(points <= greatest[rows] + 1e-9)
    straight = np.flatnonzero(some.sweep == 0.0)
    assert np.all(np.bincount(rows)[straight] == 2)


def test_the_rows_of_arcs_are_those_with_a_sweep() -> None:
    some = Moves(
        np.zeros((3, 3)),
        np.ones((3, 3)),
        np.full((3, 3), np.nan),
        np.array([0.0, 1.0, 0.0]),
        np.full(3, 17, np.uint8),
    )
    rows, bows = path.arcs_of(some)
    assert rows.tolist() == [1]
    assert isinstance(bows, arc.Arcs)


def test_arcs_without_end_are_not_sampled() -> None:
    many = 5000
    start = np.tile([5.0, 0.0, 0.0], (many, 1))
    turns = np.full(many, 2000.0 * np.pi)
    endless = Moves(start, start, np.zeros((many, 3)), turns, np.full(many, 17, np.uint8))
    with pytest.raises(CrowdedError):
        path.sample(endless)


@pytest.mark.parametrize(("plane", "normal"), [(17, 2), (18, 1), (19, 0)])
def test_backwards_a_helix_has_its_centre_at_the_height_of_its_new_start(
    plane: int, normal: int
) -> None:
    first, second = {17: (0, 1), 18: (2, 0), 19: (1, 2)}[plane]
    start, end, centre = np.zeros((3, 1, 3))
    start[0, first], end[0, second], end[0, normal] = 5.0, 5.0, 3.0
    there = Moves(start, end, centre, np.array([np.pi / 2.0]), np.array([plane], np.uint8))
    back = path.backwards(there)
    assert back.centre[0, normal] == 3.0
    assert back.centre[0, [first, second]].tolist() == [0.0, 0.0]
    again = path.backwards(back)
    for name in Moves._fields:
        assert getattr(again, name).tolist() == getattr(there, name).tolist(), name
