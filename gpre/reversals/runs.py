"""Turns of one axis from its travels: runs one way, and which of them are too short to count."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats, Ints


def turns_of(travel: Floats, resolution: float) -> tuple[Ints, Floats]:
    """(t,) and (t,) mm: the pieces that follow the extremes, and the travel before each.

    travel: (k,) mm, signed, never 0; NaN breaks the chain. A turn counts once the axis has come
    back from the extreme by more than `resolution` mm; before the first such travel the axis has
    no direction.
    """
    if not len(travel):
        return np.zeros(0, np.intp), np.zeros(0)
    first = _run_starts(travel)
    length = np.add.reduceat(travel, first)
    first, length = _drop_lone_small(first, length, resolution)
    size = np.abs(length)
    small = size <= resolution
    beside = np.zeros(len(small), bool)
    beside[1:] = small[1:] & small[:-1]
    if beside.any():
        return _walk(first, length, resolution)
    big = size > resolution
    turn = np.flatnonzero(big[1:] & big[:-1])
    return first[turn + 1], size[turn]


def _run_starts(travel: Floats) -> Ints:
    """(r,): the first piece of each run one way; unknown pieces are runs of their own."""
    up, down = travel > 0.0, travel < 0.0
    change = (up[1:] != up[:-1]) | (down[1:] != down[:-1])
    return np.concatenate((np.zeros(1, np.intp), np.flatnonzero(change) + 1))


def _drop_lone_small(first: Ints, length: Floats, resolution: float) -> tuple[Ints, Floats]:
    """Merge each run at or below the resolution between two above it into one run with them.

    The later run outruns the small one, so the extreme of the three is the end of the later.
    """
    size = np.abs(length)
    small, big = size <= resolution, size > resolution
    lone = np.flatnonzero(small[1:-1] & big[:-2] & big[2:]) + 1
    if not len(lone):
        return first, length
    keep: NDArray[np.bool_] = np.ones(len(first), bool)
    keep[lone] = False
    keep[lone + 1] = False
    rows = np.flatnonzero(keep)
    return first[rows], np.add.reduceat(length, rows)


def _walk(first: Ints, length: Floats, resolution: float) -> tuple[Ints, Floats]:
    """Follow the runs one by one, for chains in which short runs follow each other."""
    turns: list[int] = []
    runs: list[float] = []
    way = 0  # the direction in force, 0 where not known
    at = low = high = 0.0  # the position and its extremes since the last turn
    low_run = high_run = 0  # the run that follows each extreme
    for run, travel in enumerate(length.tolist()):
        if travel != travel:  # noqa: PLR0124  (not a number: all is forgotten)
            way, at, low, high = 0, 0.0, 0.0, 0.0
            low_run = high_run = run + 1
            continue
        at += travel
        if travel > 0.0 and at >= high and way >= 0:
            high, high_run = at, run + 1
        if travel < 0.0 and at <= low and way <= 0:
            low, low_run = at, run + 1
        if way >= 0 and high - at > resolution:
            if way > 0:
                turns.append(high_run)
                runs.append(high - low)
            way, low, low_run = -1, at, run + 1
        elif way <= 0 and at - low > resolution:
            if way < 0:
                turns.append(low_run)
                runs.append(high - low)
            way, high, high_run = 1, at, run + 1
    return first[turns] if turns else first[:0], np.array(runs)
