"""Which ways from hole to hole are clear: between two holes a clamp or a boss may stand.

The program's own ways are clear, and those as high as it ever goes. Lower, at the R of a cycle say,
a new way is taken only along an axis and only where the program goes as low all along it; at rapid
many controllers do not keep to a slanted line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.rewrites.order.holes import Station
from gpre.room.lowest_traverse import LowestTraverse

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_MOST_LOOKED_AT = 300  # places; between more of them only the program's own ways are taken


@dataclass(frozen=True)
class Goal:
    """Where the tool goes behind the last hole. place: (3,) mm. free: another may be the last."""

    place: Floats | None
    free: bool


def clear_ways(
    gone: LowestTraverse,
    place: Floats,
    now: Sequence[int],
    *,
    start: Floats,
    level: float,
    row: int,
) -> Bools:
    """(n + 1, n): the clear ways from each place, in the last row from the start, to each.

    place: (n, 2) mm. now: the places in the program's order. start: (3,) mm. level: mm, at which
    the tool goes from hole to hole. row: a move of that setup.
    """
    count = len(place)
    heights = np.full(count + 1, level)
    heights[-1] = start[2]
    froms = np.vstack((place, start[:2]))
    one, other = np.divmod(np.arange((count + 1) * count), count)
    result: Bools = np.ones((count + 1, count), bool)
    result &= (heights >= gone.highest[gone.setup[row]] - RESOLUTION)[:, None]
    travel = np.abs(place[other] - froms[one])
    ask = (travel.min(axis=1) <= RESOLUTION) & ~result.ravel() & (one != other)
    ask &= count <= _MOST_LOOKED_AT
    asked = np.flatnonzero(ask)
    z = heights[one[asked], None]
    clear = gone.clear(
        np.hstack((froms[one[asked]], z)),
        np.hstack((place[other[asked]], z)),
        np.full(len(asked), gone.setup[row]),
    )
    result[one[asked], other[asked]] = clear
    result[[count, *now[:-1]], now] = True
    return result


def clear_after(gone: LowestTraverse, place: Floats, goal: Goal, *, last: int, row: int) -> Bools:
    """(n,): the places from which the way to the goal is clear, `last` among them."""
    if goal.place is None:
        return np.ones(len(place), bool)
    z = np.full((len(place), 1), goal.place[2])
    setup = np.full(len(place), gone.setup[row])
    result = gone.clear(np.hstack((place, z)), np.tile(goal.place, (len(place), 1)), setup)
    travel = np.abs(place - goal.place[:2]).min(axis=1)
    result &= (travel <= RESOLUTION) | (z[:, 0] >= gone.highest[setup] - RESOLUTION)
    result[last] = True
    return result


def way_in(gone: LowestTraverse, stations: Sequence[Station]) -> Floats:
    """(3,) mm: from where, and how high, the tool goes to the first hole; Z -inf on a slope."""
    motion, first = gone.motion, stations[0]
    rows = slice(first.first, first.last)
    travel = motion.travel(rows)
    aside = np.flatnonzero(np.abs(travel[:, :2]).max(axis=1) > RESOLUTION)
    if not len(aside):
        return np.array((*first.place, first.level))
    here = motion.start[first.first + int(aside[0])].copy()
    if abs(float(travel[int(aside[0]), 2])) > RESOLUTION:
        here[2] = -np.inf
    result: Floats = here
    return result
