"""Rasters: parallel straight passes there and back, joined by short step-overs at feed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION, ROUNDED
from gpre.motion.motion import Kind, Motion

_LEAD = 2  # moves before the first pass and behind the last one
_SHORT_STEP = 0.25  # of the shorter pass: two longer ones and a wall would be a contour


@dataclass(frozen=True, slots=True)
class Pass:
    """Rows of Motion, half open, of one straight run; `way` is +1 along the raster, -1 against."""

    first: int
    last: int
    way: int


@dataclass(frozen=True)
class Raster:
    """Passes in the order of the program; the rows between two are the step-over.

    along: (2,) unit vector, X and Y, the direction of the first pass. step: (2,) unit vector at a
    right angle to it, towards the passes still to come. steps: (n - 1,) mm, from pass to pass.
    """

    passes: tuple[Pass, ...]
    along: NDArray[np.float64]
    step: NDArray[np.float64]
    steps: NDArray[np.float64]

    @property
    def one_way(self) -> bool:
        """True where every pass runs the same way."""
        return all(each.way == 1 for each in self.passes)


def read_raster(motion: Motion, first: int, last: int) -> Raster | None:
    """Read the rows `first` to `last`, all at one Z, as a raster; None where they are not one.

    The passes must alternate, each must lie to the same side of the one before, and they must be
    longer than the step-overs. A few moves may lead to the first pass and off the last one.
    """
    if np.abs(motion.end[last - 1, :2] - motion.start[first, :2]).max() <= ROUNDED:
        return None  # comes back to where it started, and a raster goes to one side
    way, along = _ways(motion, first, last)
    if along is None:
        return None
    passes = _runs(way, first)
    if len(passes) < 2 or passes[0].first > first + _LEAD or passes[-1].last < last - _LEAD:
        return None
    signs = np.array([each.way for each in passes])
    if (signs[1:] == signs[:-1]).any():
        return None
    heads = np.array([each.first for each in passes])
    tails = np.array([each.last - 1 for each in passes])
    if (heads[1:] == tails[:-1] + 1).any():  # straight back with no step-over
        return None
    lengths = np.hypot(*(motion.end[tails, :2] - motion.start[heads, :2]).T)
    across = np.array([-along[1], along[0]])
    steps = np.diff(motion.start[heads, :2] @ across)
    if (steps < 0).all():
        across, steps = -across, -steps
    if not (steps > ROUNDED).all():
        return None
    few = len(passes) == 2
    greatest = float(lengths.min()) * _SHORT_STEP if few else float(np.median(lengths))
    if float(steps.max()) >= greatest:
        return None
    return Raster(passes, along, across, steps)


def _ways(
    motion: Motion, first: int, last: int
) -> tuple[NDArray[np.int8], NDArray[np.float64] | None]:
    """(k,) int8: +1 or -1 for rows along the passes, else 0; and the way of the first pass."""
    rows = slice(first, last)
    delta = motion.end[rows, :2] - motion.start[rows, :2]
    length = np.hypot(delta[:, 0], delta[:, 1])
    line = (motion.kind[rows] == Kind.LINE) & (length > RESOLUTION)
    none = np.zeros(len(length), np.int8)
    if np.count_nonzero(line) < 2:
        return none, None
    longest = int(np.argmax(np.where(line, length, 0.0)))
    along = delta[longest] / length[longest]
    aside = np.abs(delta @ np.array([-along[1], along[0]]))
    run = delta @ along
    # a short step-over must not pass for a piece of a pass only because it is short
    straight = line & (aside <= ROUNDED) & (np.abs(run) > 10.0 * aside)
    way = np.where(straight, np.sign(run), 0).astype(np.int8)
    rank = np.flatnonzero(way)
    if way[rank[0]] < 0:
        return -way, -along
    return way, along


def _runs(way: NDArray[np.int8], first: int) -> tuple[Pass, ...]:
    """Join neighbouring rows of the same way into passes."""
    change = np.flatnonzero(np.diff(way)) + 1
    heads = np.concatenate(([0], change))
    tails = np.concatenate((change, [len(way)]))
    keep = way[heads] != 0
    return tuple(
        Pass(first + int(head), first + int(tail), int(way[head]))
        for head, tail in zip(heads[keep], tails[keep], strict=True)
    )
