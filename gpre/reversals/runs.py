"""Turns of one axis from its travels: runs one way, and which of them are too short to count.

A run above the resolution settles everything: behind it the axis has its direction, and its
extreme stands at the run's end. So two such runs in a row have a turn between them, a single
short run between two of them is none, and only rows of short runs need to be followed.
"""

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
    last = _ends_at_extremes(length, resolution)
    last += 1
    extreme = first[last]
    last -= 1
    del first  # of a large program each of these takes much
    return extreme, _travel_before(length, last)


def _ends_at_extremes(length: Floats, resolution: float) -> Ints:
    """(t,): the runs that end at extremes."""
    size = np.abs(length)
    big, small = size > resolution, size <= resolution
    del size
    last = np.flatnonzero(big[1:] & big[:-1])
    if (small[1:] & small[:-1]).any():
        found = _follow_short_rows(length, small, resolution)
        last = np.sort(np.concatenate((last, np.array(found, np.intp))))
    return last


def _run_starts(travel: Floats) -> Ints:
    """(r,): the first piece of each run one way; unknown pieces are runs of their own."""
    up, down = travel > 0.0, travel < 0.0
    starts = np.empty(len(travel), np.bool_)
    starts[0] = True
    np.not_equal(up[1:], up[:-1], out=starts[1:])
    starts[1:] |= down[1:] != down[:-1]
    return np.flatnonzero(starts)


def _travel_before(length: Floats, last: Ints) -> Floats:
    """(t,) mm: from the extreme before to each extreme; `last` (t,) are the runs that end there."""
    if not len(last):
        return np.zeros(0)
    breaks = np.flatnonzero(np.isnan(length))
    opens, begins = [0], [0]  # the first turn of each chain, and the run that the chain begins with
    if len(breaks):
        chain = np.searchsorted(breaks, last)
        opens = np.flatnonzero(np.diff(chain, prepend=-1)).tolist()
        begins = [int(breaks[chain[row] - 1]) + 1 if chain[row] else 0 for row in opens]
    level = np.cumsum(np.where(np.isnan(length), 0.0, length) if len(breaks) else length)
    at = level[last]
    result = np.empty(len(at))
    np.subtract(at[1:], at[:-1], out=result[1:])
    np.abs(result[1:], out=result[1:])
    for row, begin in zip(opens, begins, strict=True):
        before = level[begin - 1] if begin else 0.0
        reach = level[begin : int(last[row]) + 1]
        up = length[last[row] + 1] < 0.0  # it turns down, so it came from below
        far = min(before, reach.min()) if up else max(before, reach.max())
        result[row] = abs(at[row] - far)
    return result


def _follow_short_rows(length: Floats, small: NDArray[np.bool_], resolution: float) -> list[int]:
    """Follow two and more short runs in a row, from the long run before to the one behind."""
    edges = np.flatnonzero(np.diff(small.astype(np.int8), prepend=0, append=0))
    begin, end = edges[::2], edges[1::2]
    several = end - begin > 1
    found: list[int] = []
    for first, last in zip(begin[several].tolist(), end[several].tolist(), strict=True):
        way = 0
        if first and length[first - 1] != 0.0 and not np.isnan(length[first - 1]):
            way = 1 if length[first - 1] > 0.0 else -1
        beyond = last + 1 if last < len(length) and not np.isnan(length[last]) else last
        found += _walk(length[first:beyond].tolist(), first, way, resolution)
    return found


def _walk(length: list[float], first: int, way: int, resolution: float) -> list[int]:
    """Follow runs one by one; give those that end at extremes that count.

    first: the number of the first of the runs. way: the direction before them, with its extreme
    right there, or 0 where it is not known.
    """
    turns: list[int] = []
    at = low = high = 0.0  # the position and its extremes since the last turn
    low_run = high_run = first - 1  # the runs that end at them
    for run, travel in enumerate(length, first):
        at += travel
        if at >= high and way >= 0:
            high, high_run = at, run
        if at <= low and way <= 0:
            low, low_run = at, run
        if way >= 0 and high - at > resolution:
            if way > 0:
                turns.append(high_run)
            way, low, low_run = -1, at, run
        elif way <= 0 and at - low > resolution:
            if way < 0:
                turns.append(low_run)
            way, high, high_run = 1, at, run
    return turns
