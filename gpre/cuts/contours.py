"""Closed contours within a run of moves at one Z: where the loop begins and ends."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.tolerance import PATH
from gpre.motion.motion import Kind, Motion

_LEAD = 3  # the most moves in one plane that a lead-in or lead-out has: line, arc, and a spare
_SMOOTH = np.cos(np.radians(1.0))  # directions within a degree run on into one another


def find_loop(motion: Motion, first: int, last: int) -> tuple[int, int] | None:
    """Find the rows, half open, of the closed contour in `first` to `last`, all at one Z.

    What lies before it is the lead-in, what lies behind it the lead-out. None where the path does
    not come back to where it started. A path that starts and ends in the middle of a pocket comes
    back too; there the loop inside that closes smoothly is the contour.
    """
    heads, tails = _closings(motion, first, last)
    if not len(heads):
        return None
    whole = (heads == first) & (tails == last)
    if whole.all() or (whole.any() and smooth(motion, first, last)):
        return first, last
    if whole.any():
        for head, tail in sorted(
            zip(heads, tails, strict=True), key=lambda pair: pair[0] - pair[1]
        ):
            led = head > first and tail < last
            if led and smooth(motion, int(head), int(tail)):
                return int(head), int(tail)
        return first, last
    length = tails - heads
    best = int(np.argmax(length))
    return int(heads[best]), int(tails[best])


def smooth(motion: Motion, first: int, last: int) -> bool:
    """Return whether the end of the rows runs on into their start without a corner."""
    leaving = path.tangents(path.take(motion, slice(last - 1, last)), np.ones(1))[0]
    starting = path.tangents(path.take(motion, slice(first, first + 1)), np.zeros(1))[0]
    return bool(leaving @ starting >= _SMOOTH)


def _closings(motion: Motion, first: int, last: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """(k,) each: heads and tails of ranges that end where they start, leads of a few moves off."""
    lead = min(_LEAD, last - first - 1)
    heads = np.arange(first, first + lead + 1)
    tails = np.arange(max(last - lead, first + 1), last + 1)
    between = motion.start[heads, None, :2] - motion.end[None, tails - 1, :2]
    ahead = tails[None, :] > heads[:, None]
    i, j = np.nonzero((np.linalg.norm(between, axis=2) <= PATH) & ahead)
    head, tail = heads[i], tails[j]
    if not len(head):
        return head, tail
    # out and straight back is no contour: a loop needs three moves, or an arc in it
    arcs = _running(motion.kind[first:last] == Kind.ARC)
    along = _running(path.lengths(path.take(motion, slice(first, last))))
    keep = (tail - head >= 3) | (arcs[tail - first] > arcs[head - first])
    # leads that are longer than the loop are no leads
    keep &= along[tail - first] - along[head - first] >= along[-1] / 2.0
    return head[keep], tail[keep]


def _running(values: NDArray[np.generic]) -> NDArray[np.float64]:
    """(k + 1,): running sums from 0."""
    return np.concatenate(([0.0], np.cumsum(values, dtype=np.float64)))
