"""What the backlash does to each cut: how far its wall is displaced, how much too small it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut, Shape
from gpre.geometry.arc import Floats, Ints
from gpre.motion.motion import Motion
from gpre.prediction.deviation import Deviation


@dataclass(frozen=True, slots=True)
class Feature:
    """One cut. first, last: rows of Motion, half open; block: the one with the worst place.

    size: mm, the greatest deviation of its body. least, greatest: mm, the part beside the path:
    plus outside a closed contour, to the right of the travel on other cuts. size_x, size_y: mm, by
    how much the path of a closed contour comes out too wide (minus: too narrow); None for others.
    known: the state of the backlash is known all along.
    """

    first: int
    last: int
    shape: Shape
    tool: int
    block: int
    size: float
    least: float
    greatest: float
    size_x: float | None
    size_y: float | None
    known: bool


def features_of(
    motion: Motion, cuts: Sequence[Cut], found: Deviation, intended: Motion, count: int
) -> tuple[Feature, ...]:
    """Return the `count` cuts that come out worst, worst first."""
    if not cuts or not len(found):
        return ()
    first = np.array([cut.body_first for cut in cuts])
    last = np.array([cut.body_last for cut in cuts])
    head, tail = np.searchsorted(found.row, first), np.searchsorted(found.row, last)
    number = np.flatnonzero(tail > head)
    head, tail = head[number], tail[number]
    order, worst = _worst_first(found.size, head, tail)
    low, high = _rightward(found, intended)
    result: list[Feature] = []
    for each in order[:count].tolist():
        rows = slice(int(head[each]), int(tail[each]))
        cut = cuts[int(number[each])]
        sides = float(low[rows].min()), float(high[rows].max())
        size_x = size_y = None
        if cut.shape is Shape.CLOSED:
            if _clockwise(found.point[rows]):
                sides = -sides[1], -sides[0]
            size_x, size_y = (_growth(found, rows, axis) for axis in (0, 1))
        at = int(head[each]) + int(found.size[rows].argmax())
        row = int(found.row[at])
        result.append(
            Feature(
                first=cut.first,
                last=cut.last,
                shape=cut.shape,
                tool=motion.state_of(row).tool,
                block=motion.block_of(row),
                size=float(worst[each]),
                least=sides[0],
                greatest=sides[1],
                size_x=size_x,
                size_y=size_y,
                known=bool(found.known[rows].all()),
            )
        )
    return tuple(result)


def _worst_first(size: Floats, head: Ints, tail: Ints) -> tuple[Ints, Floats]:
    """(c,) each: the cuts in order, worst first, and the worst of each."""
    if not len(head):
        return np.zeros(0, np.intp), np.zeros(0)
    bounds = np.column_stack((head, tail)).ravel()
    worst = np.maximum.reduceat(np.append(size, 0.0), bounds)[::2]
    return np.argsort(-worst, kind="stable"), worst


def _rightward(found: Deviation, intended: Motion) -> tuple[Floats, Floats]:
    """(k,) each, mm: the part beside the path, plus to the right of the travel on arcs too."""
    left: NDArray[np.bool_] = intended.sweep[found.of] < 0.0
    low = np.where(left, -found.aside_high, found.aside_low)
    high = np.where(left, -found.aside_low, found.aside_high)
    return low, high


def _clockwise(point: Floats) -> bool:
    x, y = point[:, 0], point[:, 1]
    return bool(np.nansum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0.0)


def _growth(found: Deviation, rows: slice, axis: int) -> float:
    """Return by how much the path is too wide on an axis, mm."""
    wanted = found.point[rows, axis]
    middle = (found.offset_low[rows, axis] + found.offset_high[rows, axis]) / 2.0
    known = np.isfinite(wanted)
    if not known.any():
        return 0.0
    return float(np.ptp((wanted + middle)[known]) - np.ptp(wanted[known]))
