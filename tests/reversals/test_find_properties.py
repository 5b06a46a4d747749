"""The finder against a dense count, and what must not change its result."""

from __future__ import annotations

import numpy as np
import pytest
from dense_count import MISS, Turn, count
from examples import share
from hypothesis import assume, given
from hypothesis import strategies as st
from motion_maker import changed, motions
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.motion.motion import Kind, Motion
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import Reversals

RESOLUTIONS = st.sampled_from([1e-4, 1e-3, 0.02])


def triple(resolution: float) -> tuple[float, float, float]:
    return (resolution, resolution, resolution)


def clear(motion: Motion, resolution: float) -> list[Turn]:
    """The dense count, where no turn lies so near the resolution that samples cannot tell."""
    turns = count(motion, resolution)
    for other in (resolution - 2 * MISS, resolution + 2 * MISS):
        again = count(motion, other)
        assume([(t.axis, t.move) for t in again] == [(t.axis, t.move) for t in turns])
    return turns


def is_tie(travel: NDArray[np.float64], earlier: int, later: int, resolution: float) -> bool:
    """Return whether an axis stands as far out at the start of one move as at that of another.

    It went back by less than the resolution in between, so that either is its extreme.
    """
    way = np.cumsum(travel[earlier:later])
    return bool(abs(way[-1]) <= 2 * MISS and np.abs(way).max() <= resolution)


@given(motions(), RESOLUTIONS)
@share(1.5)
def test_the_finder_agrees_with_a_dense_count(motion: Motion, resolution: float) -> None:
    turns = clear(motion, resolution)
    found = find_reversals(motion, triple(resolution))
    assert len(found) == len(turns)
    travel = motion.end - motion.start
    for axis in range(3):
        theirs = [turn for turn in turns if turn.axis == axis]
        mine = np.flatnonzero(found.axis == axis)
        assert len(mine) == len(theirs)
        for row, turn in zip(mine, theirs, strict=True):
            assert found.direction[row] == turn.direction
            assert found.run[row] == pytest.approx(turn.run, abs=4 * MISS)
            here, at = found.move[row], found.position[row, axis]
            if here == turn.move:
                assert at == pytest.approx(turn.coordinate, abs=2 * MISS)
            elif is_tie(travel[:, axis], *sorted((here, turn.move)), resolution):
                assert at == pytest.approx(motion.start[here, axis], abs=2 * MISS)
                assert turn.coordinate == pytest.approx(motion.start[turn.move, axis], abs=2 * MISS)
            else:
                # the same place told from two sides: it lies closer to the end of one move than
                # the samples can tell, and the coordinates may have been renumbered behind it
                earlier, later = min(here, turn.move), max(here, turn.move)
                assert not np.any(np.abs(travel[earlier + 1 : later, axis]) > 2 * MISS)
                there = (at, turn.coordinate) if here == earlier else (turn.coordinate, at)
                assert motion.end[earlier, axis] == pytest.approx(there[0], abs=2 * MISS)
                assert motion.start[later, axis] == pytest.approx(there[1], abs=2 * MISS)
            cutting = motion.kind[found.move[row]] != Kind.RAPID
            if found.in_cut[row] != cutting:  # at feed it has come back by the resolution at most
                assert cutting
                behind = motion.end[here:, axis] - at
                back = np.abs(behind) > resolution + 1e-9
                assert motion.kind[here + int(np.argmax(back))] == Kind.RAPID


@given(motions())
def test_every_reversal_stands_where_it_says(motion: Motion) -> None:
    found = find_reversals(motion)
    assert np.all((found.along >= 0.0) & (found.along < 1.0))
    some = path.take(motion, found.move.astype(np.intp))
    assert np.array_equal(
        found.position, path.points(some, found.along), equal_nan=True
    ) or found.position == pytest.approx(path.points(some, found.along), abs=1e-9, nan_ok=True)
    assert np.array_equal(found.block, motion.block[found.move])
    assert np.all(found.run > 1e-4)
    # one axis turns there and back in turn, unless its position was lost in between
    for axis in range(3):
        rows = np.flatnonzero(found.axis == axis)
        lost = np.flatnonzero(np.isnan(motion.end[:, axis] - motion.start[:, axis]))
        for a, b in zip(rows[:-1], rows[1:], strict=True):
            between = np.any((lost > found.move[a]) & (lost < found.move[b]))
            assert between or found.direction[a] == -found.direction[b]


def reversed_in_time(motion: Motion) -> Motion:
    back = path.take(path.backwards(motion), slice(None, None, -1))
    return changed(
        motion,
        kind=motion.kind[::-1],
        start=back.start,
        end=back.end,
        centre=back.centre,
        sweep=back.sweep,
        plane=back.plane,
    )


@given(motions(), RESOLUTIONS)
def test_run_backwards_a_path_turns_as_often(motion: Motion, resolution: float) -> None:
    # at the ends of the way a comeback that counts forwards is a start that counts backwards
    assume(_no_run_near(motion, resolution))
    there = find_reversals(motion, triple(resolution))
    back = find_reversals(reversed_in_time(motion), triple(resolution))
    for axis in range(3):
        a, b = there.axis == axis, back.axis == axis
        assert np.count_nonzero(a) == np.count_nonzero(b)
        if np.array_equal(motion.start[1:], motion.end[:-1], equal_nan=True):
            mine = there.position[a, axis]
            theirs = back.position[b, axis][::-1]
            assert mine == pytest.approx(theirs, abs=2 * resolution)


def _no_run_near(motion: Motion, resolution: float) -> bool:
    counts = [len(find_reversals(motion, triple(resolution * share))) for share in (0.9, 1.0, 1.1)]
    return counts[0] == counts[1] == counts[2]


@given(motions(), st.integers(0, 2))
def test_a_mirrored_axis_turns_at_the_mirrored_places(motion: Motion, axis: int) -> None:
    mirror = np.ones(3)
    mirror[axis] = -1.0
    # a mirrored plane turns the other way; a mirrored normal swaps the side it is seen from
    normals = {17: 2, 18: 1, 19: 0}
    in_plane = np.array([normals[int(plane)] != axis for plane in motion.plane], bool)
    mirrored = changed(
        motion,
        start=motion.start * mirror,
        end=motion.end * mirror,
        centre=motion.centre * mirror,
        sweep=np.where(in_plane, -motion.sweep, motion.sweep),
    )
    assume(_no_run_near(motion, 1e-4))
    there, here = find_reversals(motion), find_reversals(mirrored)
    for each in range(3):
        a, b = there.axis == each, here.axis == each
        assert np.count_nonzero(a) == np.count_nonzero(b)
        assert np.array_equal(there.direction[a] * mirror[each], here.direction[b])
        assert there.position[a, each] * mirror[each] == pytest.approx(
            here.position[b, each], abs=1e-6
        )


@given(motions(), st.data())
def test_rests_change_nothing(motion: Motion, data: st.DataObject) -> None:
    n = len(motion)
    where = np.sort(data.draw(st.lists(st.integers(0, n), max_size=6))).astype(np.intp)
    at = np.where(
        (where < n)[:, None], motion.start[np.minimum(where, n - 1)], motion.end[where - 1]
    ).reshape(-1, 3)
    assume(not np.isnan(at).any())  # a rest at an unknown place is no rest that one can see
    rested = changed(
        motion,
        kind=np.insert(motion.kind, where, Kind.LINE),
        start=np.insert(motion.start, where, at, axis=0),
        end=np.insert(motion.end, where, at, axis=0),
        centre=np.insert(motion.centre, where, np.nan, axis=0),
        sweep=np.insert(motion.sweep, where, 0.0),
        plane=np.insert(motion.plane, where, 17),
    )
    new_row = np.arange(n) + np.searchsorted(where, np.arange(n), side="right")
    _same(find_reversals(motion), find_reversals(rested), new_row)


def _same(there: Reversals, here: Reversals, new_row: np.ndarray) -> None:
    assert np.array_equal(new_row[there.move], here.move)
    for name in ("axis", "along", "position", "direction", "kind", "in_cut", "run"):
        assert np.array_equal(getattr(there, name), getattr(here, name)), name


@given(motions(), st.floats(0.1, 0.9))
def test_lines_cut_in_two_turn_at_the_same_places(motion: Motion, cut: float) -> None:
    assume(_no_run_near(motion, 1e-4))
    straight = np.flatnonzero((motion.sweep == 0.0) & (motion.start != motion.end).any(axis=1))
    middle = motion.start[straight] + cut * (motion.end[straight] - motion.start[straight])
    end = motion.end.copy()
    end[straight] = middle
    two = changed(
        motion,
        kind=np.insert(motion.kind, straight + 1, motion.kind[straight]),
        start=np.insert(motion.start, straight + 1, middle, axis=0),
        end=np.insert(end, straight + 1, motion.end[straight], axis=0),
        centre=np.insert(motion.centre, straight + 1, np.nan, axis=0),
        sweep=np.insert(motion.sweep, straight + 1, 0.0),
        plane=np.insert(motion.plane, straight + 1, 17),
    )
    there, here = find_reversals(motion), find_reversals(two)
    assert np.array_equal(there.axis, here.axis)
    assert np.array_equal(there.direction, here.direction)
    assert np.array_equal(there.kind, here.kind)
    assert np.array_equal(there.in_cut, here.in_cut)
    assert there.position == pytest.approx(here.position, abs=1e-5)


@given(motions(unknown=False), st.floats(1e-5, 0.05), st.floats(1e-5, 0.05))
def test_a_coarser_axis_never_turns_more_often(motion: Motion, one: float, other: float) -> None:
    fine = len(find_reversals(motion, triple(min(one, other))))
    coarse = len(find_reversals(motion, triple(max(one, other))))
    assert coarse <= fine
