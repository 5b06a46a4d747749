"""What the job tells of the metal: whether the stock box says where it is, which tools cut it."""

from __future__ import annotations

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import RESOLUTION
from gpre.proof.side import Bools, Ints, Pair, Side, sub


def cutting_frames(pair: Pair) -> set[int]:
    """Return the numbers of the work systems and origins in which either program moves at feed."""
    result: set[int] = set()
    for side, frame in zip((pair.before, pair.after), pair.frames, strict=True):
        result |= set(np.unique(frame[side.feeding]).tolist())
    return result


def unnamed_tools(pair: Pair) -> list[int]:
    """Return the numbers of the tools that move at feed in either program and are not named."""
    used: set[int] = set()
    for side in (pair.before, pair.after):
        used |= set(np.unique(side.tool[side.feeding]).tolist())
    return sorted(used - pair.job.tools.keys())


def boxed(pair: Pair) -> bool:
    """Return whether the stock is named and lies in the one work system in which all is cut."""
    return pair.job.stock is not None and len(cutting_frames(pair)) == 1


def clear_of_stock(pair: Pair, side: Side, rows: Ints) -> Bools:
    """(k,): moves that keep above the stock box, or beside it by more than the tool's radius.

    False throughout where the stock is not known, and for tools that are not.
    """
    result = np.zeros(len(rows), bool)
    stock = pair.job.stock
    if stock is None or not len(rows) or not boxed(pair):
        return result
    radius = pair.widths(side, unknown=np.inf)[rows] / 2.0
    known = np.isfinite(radius)
    low, high = paths.bounds(sub(side, rows))
    reach = radius[:, None] + RESOLUTION
    beside = (high[:, :2] < np.array(stock.min[:2]) - reach).any(axis=1)
    beside |= (low[:, :2] > np.array(stock.max[:2]) + reach).any(axis=1)
    # the program leads the lowest point of every tool: nothing of it lies below its path
    result |= known & ((low[:, 2] > stock.max[2] + RESOLUTION) | beside)
    return result
