"""Makes the coordinate of one axis along a chain run one way between its true turns.

Each vertex may move by `reach` either way, the two ends not at all: a corridor. A true turn is one
that no way through the corridor avoids: the axis comes back by more than twice the reach, or an
end lies further back than the reach. Between two true turns the coordinate is held where it would
fall back, at its old extreme if that lies in the corridor, else at the corridor's edge.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.reversals.runs import turns_of

SAMPLES = 16  # points on each straight piece
CONTEXT = 40  # vertices on either side that settle which way an axis goes


class VertexShift(NamedTuple):
    """Vertices `first` to `last` (both included) of one axis that are to be moved.

    gained: the reversals that go away.
    """

    axis: int
    first: int
    last: int
    gained: int


class Held(NamedTuple):
    """(n,) mm and (n,) bool: new coordinates, and the vertices where the old ones waver.

    What wavers in one go, up to the next vertex that every way must pass, stands together.
    """

    place: Floats
    wavers: NDArray[np.bool_]


def shifts_of(
    x: Floats, held: Held, axis: int, context: tuple[Floats, Floats], resolution: float
) -> list[VertexShift]:
    """Find the stretches that are to be moved, and what each is worth; those worth nothing go.

    x: (n,) mm, as it is. context: travels of the axis before and behind the chain, mm.
    """
    y = held.place
    changed = np.abs(y - x) > DUST
    edges = np.flatnonzero(np.diff(np.concatenate(([False], held.wavers, [False])).astype(np.int8)))
    result = []
    for opens, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        moved = np.flatnonzero(changed[opens:stop])
        if not len(moved):
            continue
        start, end = max(opens - CONTEXT, 0), min(stop + CONTEXT, len(x))
        new = y[start:end]
        old = new.copy()
        old[opens - start : stop - start] = x[opens:stop]
        before = context[0] if start == 0 else context[0][:0]
        behind = context[1] if end == len(x) else context[1][:0]
        gained = _turns(old, before, behind, resolution) - _turns(new, before, behind, resolution)
        if gained > 0:
            result.append(VertexShift(axis, opens + int(moved[0]), opens + int(moved[-1]), gained))
    return result


def _turns(x: Floats, before: Floats, behind: Floats, resolution: float) -> int:
    travel = np.concatenate((before, np.diff(x), behind))
    return len(turns_of(travel[travel != 0.0], resolution + DUST)[0])


def straightened(x: Floats, reach: float) -> Held:
    """Return the coordinates of (n,) vertices, mm, with as few turns as the corridor allows."""
    turns = true_turns(x.tolist(), reach)
    place = x.copy()
    wavers = np.zeros(len(x), bool)
    stops = [0, *(at for at, _ in turns), len(x) - 1]
    ways = [way for _, way in turns]
    ways.append(-ways[-1] if ways else (1 if x[-1] >= x[0] else -1))
    for start, stop, way in zip(stops, stops[1:], ways, strict=False):
        piece = x[start : stop + 1] * way
        reached = np.maximum.accumulate(piece)
        wavers[start : stop + 1] |= reached > np.minimum.accumulate(piece[::-1])[::-1] + DUST
        top = piece + reach
        top[-1] = piece[-1]
        ceiling = np.minimum.accumulate(top[::-1])[::-1]
        place[start : stop + 1] = np.minimum(reached, ceiling) * way
    place[0], place[-1] = x[0], x[-1]
    return Held(place, wavers)


def true_turns(x: list[float], reach: float) -> list[tuple[int, int]]:
    """Return the vertices where the axis must turn, each with the direction that ends there.

    Of equal extremes the first counts.
    """
    turns: list[tuple[int, int]] = []
    way = high = low = 0  # the direction, 0 while both will do; the extremes since the last turn
    floor = ceiling = x[0]  # how high a rising way must be by now, how low a falling one
    last = len(x) - 1
    for at in range(1, last + 1):
        value = x[at]
        wide = reach if at < last else 0.0
        if way >= 0 and value + wide < floor - DUST:
            if way > 0:
                turns.append((high, 1))
                low, ceiling = at, value + wide
            way = -1
        elif way <= 0 and value - wide > ceiling + DUST:
            if way < 0:
                turns.append((low, -1))
                high, floor = at, value - wide
            way = 1
        floor, ceiling = max(floor, value - wide), min(ceiling, value + wide)
        high = at if value > x[high] else high
        low = at if value < x[low] else low
    return turns


def departure(old: Floats, new: Floats) -> float:
    """Return the greatest distance between two short polylines, (n, 3) mm, either way, sampled."""
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
