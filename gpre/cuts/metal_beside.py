"""On which side of its travel a cutter finds metal, told from the stock and the cuts before.

Looked for at places along a stretch, on the leading half of the cutter's rim: metal is there where
the stock box is and no earlier move at feed has reached as deep. The box and the program are all
that is known; what was cut before the program ran, and clamps, are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.levels import slopes
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.region import SegmentIndex
from gpre.geometry.segments import Segments, passing, segments_of
from gpre.geometry.tolerance import ROUNDED, SIDE_CHORD
from gpre.mill.job import Box, Job
from gpre.motion.motion import Motion

CYLINDERS = frozenset(("flat", "bull"))  # shapes that cut a wall as wide as the tool
_AHEAD = 1e-3  # of the radius: how far beyond the rim is looked
_MOST_PLACES = 12  # on one stretch
_BUDGET = 8_000  # places on all stretches, where there are many
_CHUNK = 250  # places looked at in one go

# of the radius: bounds of the strips, from the rim inwards, that one probe each stands for. Fine at
# the rim, where a finishing cut takes its little.
_EDGES = np.array([0.0, 0.008, 0.02, 0.045, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.0])
_STRIPS = np.diff(_EDGES)
_ASIDE = 1.0 - (_EDGES[1:] + _EDGES[:-1]) / 2.0


@dataclass(frozen=True)
class Beside:
    """p places on stretches. stretch: (p,) its number. right, left, ahead: (p,).

    With y the distance from the cutter's middle in radii, over all y where there is metal: right,
    left: the integral of y on that side, at most 0.5. ahead: that of sqrt(1 - y²), at most pi / 2.
    """

    stretch: Ints
    right: Floats
    left: Floats
    ahead: Floats

    def of(self, stretch: int) -> Beside:
        """Return the places of one stretch."""
        first, last = np.searchsorted(self.stretch, (stretch, stretch + 1))
        at = slice(int(first), int(last))
        return Beside(self.stretch[at], self.right[at], self.left[at], self.ahead[at])


def metal_beside(motion: Motion, job: Job, stock: Box, stretches: list[tuple[int, int]]) -> Beside:
    """Look on both sides of stretches, rows of Motion, half open.

    The tool of a stretch must be known and of `CYLINDERS`, and all positions must count from one
    zero. Earlier tools that are not known count as if they had cut nothing.
    """
    radius = _radii(motion, job)
    finite = motion.known
    rows = np.flatnonzero(motion.at_feed & finite & np.isfinite(radius))
    segments = segments_of(motion, rows, SIDE_CHORD)
    stretch, number, share = _places(motion, segments.row, segments.end - segments.start, stretches)
    if not len(number):
        nothing = np.zeros(0)
        return Beside(stretch, nothing, nothing, nothing)
    along = segments.end[number] - segments.start[number]
    point = segments.start[number] + along * share[:, None]
    probe = _probes(point, along[:, :2], radius[segments.row[number]])
    metal = _in_stock(probe, stock)
    # below the stock there is nothing to be cut
    probe[..., 2] = np.maximum(probe[..., 2], stock.min[2])
    reach = radius[segments.row]
    index = SegmentIndex(segments.start, segments.end)
    for first in range(0, len(point), _CHUNK):
        some = first + np.flatnonzero(metal[first : first + _CHUNK].any(axis=(1, 2)))
        which, other = index.near(point[some], point[some], 2.1 * float(reach.max()))
        which = some[which]
        low = np.minimum(segments.start[other, 2], segments.end[other, 2])
        near = (other < number[which]) & (low <= probe[which, 0, 0, 2] + ROUNDED)
        which, other = which[near], other[near]
        cut = _cut_away(probe[which], segments.take(other), reach[other])
        np.logical_and.at(metal, which, ~cut)
    beside = np.where(metal, _STRIPS * _ASIDE, 0.0).sum(axis=2)
    ahead = np.where(metal, _STRIPS * np.sqrt(1.0 - _ASIDE**2), 0.0).sum(axis=(1, 2))
    return Beside(stretch, beside[:, 0], beside[:, 1], ahead)


def _cut_away(probe: Floats, segments: Segments, reach: Floats) -> NDArray[np.bool_]:
    """(k, 2, s) bool: the probes (k, 2, s, 3) that a tool has reached on its segment."""
    shape = probe.shape[:-1]
    each = shape[1] * shape[2]
    flat = probe.reshape(-1, 3)
    start, end = np.repeat(segments.start, each, axis=0), np.repeat(segments.end, each, axis=0)
    _, aside, height = passing(flat[:, :2], start, end)
    cut = (aside <= np.repeat(reach, each)) & (height <= flat[:, 2] + ROUNDED)
    result: NDArray[np.bool_] = cut.reshape(shape)
    return result


def _radii(motion: Motion, job: Job) -> Floats:
    """(n,) mm: the radius of the tool of each move, NaN where it is not known.

    What goes straight down leaves a hole as wide as the tool, whatever its shape.
    """
    known = [job.tools.get(state.tool) for state in motion.states]
    every = np.array([np.nan if tool is None else tool.diameter / 2.0 for tool in known])
    wide = np.array([tool is not None and tool.shape in CYLINDERS for tool in known], np.bool_)
    allowed = wide[motion.state] | slopes(motion).upright
    return np.where(allowed, every[motion.state], np.nan)


def _places(
    motion: Motion, row: Ints, along: Floats, stretches: list[tuple[int, int]]
) -> tuple[Ints, Ints, Floats]:
    """(p,) each: stretch, segment and the share of it, even over the way that each goes in XY."""
    flat = np.hypot(along[:, 0], along[:, 1])
    flat[slopes(motion).upright[row]] = 0.0
    reached = np.concatenate(([0.0], np.cumsum(flat)))
    ends = np.array(stretches, np.intp).reshape(-1, 2)
    head, tail = (reached[np.searchsorted(row, ends[:, side])] for side in (0, 1))
    count = int(np.clip(_BUDGET // max(len(ends), 1), 3, _MOST_PLACES))
    share = (np.arange(count) + 0.5) / count
    stretch = np.repeat(np.arange(len(ends)), count)
    wanted = (head[:, None] + (tail - head)[:, None] * share).ravel()
    some = np.repeat(tail > head, count)
    stretch, wanted = stretch[some], wanted[some]
    number = np.searchsorted(reached, wanted, side="left") - 1
    number = np.clip(number, 0, max(len(flat) - 1, 0))
    with np.errstate(divide="ignore", invalid="ignore"):
        within = (wanted - reached[number]) / flat[number]
    good = np.isfinite(within)
    return stretch[good], number[good], np.clip(within[good], 0.0, 1.0)


def _probes(point: Floats, along: Floats, reach: Floats) -> Floats:
    """(p, 2, s, 3) mm: s probes to the right of each place (p, 3) and as many to the left.

    along: (p, 2) mm, the way of travel. reach: (p,) mm, the tool's radius.
    """
    ahead = along / np.hypot(along[:, 0], along[:, 1])[:, None]
    right = np.column_stack((ahead[:, 1], -ahead[:, 0]))
    aside = _ASIDE[None, :] * reach[:, None]
    forward = np.sqrt((reach[:, None] * (1.0 + _AHEAD)) ** 2 - aside**2)
    result = np.empty((len(point), 2, len(_ASIDE), 3))
    result[...] = point[:, None, None, :]
    result[..., :2] += (forward[:, :, None] * ahead[:, None, :])[:, None]
    sideways = aside[:, :, None] * right[:, None, :]
    result[:, 0, :, :2] += sideways
    result[:, 1, :, :2] -= sideways
    return result


def _in_stock(probe: Floats, stock: Box) -> NDArray[np.bool_]:
    """(p, 2, s) bool: the stock box reaches above the probe there."""
    least, greatest = np.array(stock.min), np.array(stock.max)
    beside = (probe[..., :2] >= least[:2]) & (probe[..., :2] <= greatest[:2])
    result: NDArray[np.bool_] = beside.all(axis=-1) & (probe[..., 2] < greatest[2] - ROUNDED)
    return result
