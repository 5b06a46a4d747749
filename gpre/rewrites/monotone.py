"""Makes the coordinate of one axis along a chain run one way between its true turns.

A true turn is one from which the axis comes back by more than the tolerance. Between two of them
the coordinate is held where it would fall back, so it leaves the old one by no more than the
tolerance, and both ends of the chain stay where they are.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.reversals.runs import turns_of

SAMPLES = 16  # points on each straight piece
CONTEXT = 40  # vertices on either side that settle which way an axis goes


class Shift(NamedTuple):
    """Vertices `first` to `last` (both included) of one axis that are to be moved.

    gained: the reversals that go away.
    """

    axis: int
    first: int
    last: int
    gained: int


def shifts_of(
    x: Floats, y: Floats, axis: int, context: tuple[Floats, Floats], resolution: float
) -> list[Shift]:
    """Find the stretches in which y leaves x, and what each is worth; those worth nothing go.

    x, y: (n,) mm. context: travels of the axis before and behind the chain, mm.
    """
    changed = np.abs(y - x) > DUST
    edges = np.flatnonzero(np.diff(np.concatenate(([False], changed, [False])).astype(np.int8)))
    result = []
    for first, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start, end = max(first - CONTEXT, 0), min(stop + CONTEXT, len(x))
        new = y[start:end]
        old = new.copy()
        old[first - start : stop - start] = x[first:stop]
        before = context[0] if start == 0 else context[0][:0]
        behind = context[1] if end == len(x) else context[1][:0]
        gained = _turns(old, before, behind, resolution) - _turns(new, before, behind, resolution)
        if gained > 0:
            result.append(Shift(axis, first, stop - 1, gained))
    return result


def _turns(x: Floats, before: Floats, behind: Floats, resolution: float) -> int:
    travel = np.concatenate((before, np.diff(x), behind))
    return len(turns_of(travel[travel != 0.0], resolution)[0])


def straightened(x: Floats, tolerance: float) -> Floats:
    """(n,) mm: the coordinates of vertices without turns smaller than `tolerance`; ends kept."""
    turns = true_turns(x.tolist(), tolerance)
    result = x.copy()
    stops = [0, *(at for at, _ in turns), len(x) - 1]
    ways = [way for _, way in turns]
    last_way = -ways[-1] if ways else (1 if x[-1] >= x[0] else -1)
    for place, (start, stop) in enumerate(zip(stops, stops[1:], strict=False)):
        way = ways[place] if place < len(ways) else last_way
        piece = x[start : stop + 1] * way
        held = np.maximum.accumulate(piece)
        result[start : stop + 1] = np.minimum(held, piece[-1]) * way
    return result


def true_turns(x: list[float], tolerance: float) -> list[tuple[int, int]]:
    """Give the vertices where the axis truly turns, each with the direction that ends there.

    Of equal extremes the first counts.
    """
    turns: list[tuple[int, int]] = []
    low = high = 0
    way = 0
    for at, value in enumerate(x):
        if way >= 0 and value > x[high]:
            high = at
        if way <= 0 and value < x[low]:
            low = at
        if way >= 0 and x[high] - value > tolerance:
            if way > 0:
                turns.append((high, 1))
            way, low = -1, at
        elif way <= 0 and value - x[low] > tolerance:
            if way < 0:
                turns.append((low, -1))
            way, high = 1, at
    return turns


def departure(old: Floats, new: Floats) -> float:
    """Give the greatest distance between two short polylines, (n, 3) mm, either way, sampled."""
    return max(_directed(old, new), _directed(new, old))


def _directed(points: Floats, line: Floats) -> float:
    share = np.linspace(0.0, 1.0, SAMPLES, endpoint=False)[None, :, None]
    probes = points[:-1, None] + (points[1:, None] - points[:-1, None]) * share
    probes = np.vstack((probes.reshape(-1, 3), points[-1:]))
    start, along = line[:-1], np.diff(line, axis=0)
    square = np.maximum((along**2).sum(axis=1), DUST**2)
    offset = probes[:, None] - start
    t = np.clip((offset * along).sum(axis=2) / square, 0.0, 1.0)
    gap = np.linalg.norm(offset - along * t[:, :, None], axis=2)
    return float(gap.min(axis=1).max())
