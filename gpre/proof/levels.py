"""The order in which levels are first cut, neighbourhood by neighbourhood.

A level is the Z of a cut that runs sideways. Cuts whose boxes in XY touch are neighbours, and so
are the neighbours of neighbours; the radius of a tool is counted in where the job gives it.
Cuts over sloped surfaces have no levels.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.region import BoxIndex
from gpre.geometry.tolerance import RESOLUTION, ROUNDED
from gpre.proof.columns import chains, flat_lengths
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SLOPED_SHARE = 0.2  # of a cut's way in XY: with more of it sloped it has no levels


class _Cuts(NamedTuple):
    """Level cuts of one program: box, section, and per row of level moves its cut and Z."""

    least: Floats
    greatest: Floats
    section: Ints
    cut: Ints
    level: Floats
    row: Ints


def level_order(pair: Pair) -> Obligation:
    """Show that every neighbourhood is cut level by level in the original's order."""
    sides = [_cuts(side, pair) for side in (pair.before, pair.after)]
    where = _neighbourhoods(sides)
    orders = [_orders(cuts, part) for cuts, part in zip(sides, where, strict=True)]
    compared = 0
    for place in sorted(orders[0].keys() & orders[1].keys()):
        old, new = orders[0][place], orders[1][place]
        both = old.keys() & new.keys()
        was, now = ([level for level in order if level in both] for order in (old, new))
        compared += len(both)
        early = _too_early(orders, place, was)
        if was != now or early is not None:
            level = next((b for a, b in zip(was, now, strict=True) if a != b), early)
            assert level is not None
            return Obligation(
                "level order",
                holds=False,
                figure=f"Z{level * ROUNDED:.3f} is cut before a level that the original cut first",
                before=int(pair.before.motion.block[old[level][0]]),
                after=int(pair.after.motion.block[new[level][0]]),
            )
    return Obligation("level order", holds=True, figure=f"{compared} levels in the same order")


def _cuts(side: Side, pair: Pair) -> _Cuts:
    motion = side.motion
    rows = side.feeding
    chain = chains(side)
    flat = flat_lengths(side)[rows]
    level = np.abs(motion.end[rows, 2] - motion.start[rows, 2]) <= RESOLUTION
    count = int(chain.max(initial=-1)) + 1
    sloped = np.bincount(chain[rows], np.where(level, 0.0, flat), count)
    whole = np.bincount(chain[rows], flat, count)
    good = (whole > RESOLUTION) & (sloped <= SLOPED_SHARE * whole)
    kept = level & (flat > RESOLUTION) & good[chain[rows]]
    rows = rows[kept]
    numbers, cut = np.unique(chain[rows], return_inverse=True)
    least = np.full((len(numbers), 3), np.inf)
    greatest = -least
    section = np.zeros(len(numbers), np.intp)
    if len(rows):
        low, high = paths.bounds(paths.take(motion, rows))
        radius = _radii(side, pair)[rows, None]
        np.minimum.at(least, cut, low - radius)
        np.maximum.at(greatest, cut, high + radius)
        section[cut] = side.section[rows]
    z = np.rint(motion.start[rows, 2] / ROUNDED)
    return _Cuts(least, greatest, section, cut.astype(np.intp), z, rows)


def _radii(side: Side, pair: Pair) -> Floats:
    result = np.zeros(len(side.motion))
    for number, tool in pair.job.tools.items():
        result[side.tool == number] = tool.diameter / 2.0
    return result


def _neighbourhoods(sides: list[_Cuts]) -> list[Ints]:
    """Return the number of the neighbourhood of each cut, shared by both programs."""
    least = np.concatenate([cuts.least for cuts in sides])
    greatest = np.concatenate([cuts.greatest for cuts in sides])
    section = np.concatenate([cuts.section for cuts in sides])
    parent = list(range(len(section)))

    def root(at: int) -> int:
        while parent[at] != at:
            parent[at] = parent[parent[at]]
            at = parent[at]
        return at

    if len(section):
        one, other = BoxIndex(least, greatest).pairs(least, greatest, RESOLUTION)
        same = (section[one] == section[other]) & (one < other)
        for left, right in zip(one[same].tolist(), other[same].tolist(), strict=True):
            parent[root(left)] = root(right)
    number = np.array([root(at) for at in range(len(section))], np.intp)
    count = len(sides[0].section)
    return [number[:count], number[count:]]


_Order = dict[float, tuple[int, int]]  # level: its first and its last row, in order of the first


def _too_early(orders: list[dict[int, _Order]], place: int, levels: list[float]) -> float | None:
    """Return a level begun before another is done that the original did first, or None."""
    old, new = orders[0][place], orders[1][place]
    for at, level in enumerate(levels):
        for earlier in levels[:at]:
            done_first = old[earlier][1] < old[level][0]
            if done_first and not new[earlier][1] < new[level][0]:
                return level
    return None


def _orders(cuts: _Cuts, neighbourhood: Ints) -> dict[int, _Order]:
    """Return for each neighbourhood its levels in the order of their first cut."""
    result: dict[int, _Order] = {}
    for cut, level, row in zip(
        cuts.cut.tolist(), cuts.level.tolist(), cuts.row.tolist(), strict=True
    ):
        order = result.setdefault(int(neighbourhood[cut]), {})
        order[level] = (order[level][0] if level in order else row, row)
    return result
