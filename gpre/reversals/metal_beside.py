"""On which side of its travel a cutter finds metal, told from the stock and the cuts before.

Looked for at places along a stretch, on the leading half of the cutter's rim: metal is there where
the stock box is and no earlier move at feed has reached as deep. The box and the program are all
that is known; what was cut before the program ran, and clamps, are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.region import SegmentIndex
from gpre.geometry.segments import flat_distance, height_at, segments_of
from gpre.mill.job import Box, Job
from gpre.motion.motion import Motion
from gpre.reversals.levels import slopes

CYLINDERS = frozenset(("flat", "bull"))  # shapes that cut a wall as wide as the tool
_CHORD = 1e-3  # mm
_LEVEL = 1e-3  # mm; as deep as that is as deep
_AHEAD = 1e-3  # of the radius: how far beyond the rim is looked
_MOST_PLACES = 12  # on one stretch
_BUDGET = 8_000  # places on all stretches, where there are many
_CHUNK = 2_000  # probes looked at in one go

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
        """Give the places of one stretch."""
        first, last = np.searchsorted(self.stretch, (stretch, stretch + 1))
        at = slice(int(first), int(last))
        return Beside(self.stretch[at], self.right[at], self.left[at], self.ahead[at])


def metal_beside(motion: Motion, job: Job, stock: Box, stretches: list[tuple[int, int]]) -> Beside:
    """Look on both sides of stretches, rows of Motion, half open.

    The tool of a stretch must be known and of `CYLINDERS`, and all positions must count from one
    zero. Earlier tools that are not known count as if they had cut nothing.
    """
    radius = _radii(motion, job)
    finite = np.isfinite(motion.start).all(axis=1) & np.isfinite(motion.end).all(axis=1)
    rows = np.flatnonzero(motion.at_feed & finite & np.isfinite(radius))
    segments = segments_of(motion, rows, _CHORD)
    places = _places(motion, segments.row, segments.end - segments.start, stretches)
    stretch, number, share = places
    if not len(number):
        return Beside(stretch, np.zeros(0), np.zeros(0), np.zeros(0))
    along = segments.end[number] - segments.start[number]
    point = segments.start[number] + along * share[:, None]
    ahead = along[:, :2] / np.hypot(along[:, 0], along[:, 1])[:, None]
    reach = radius[segments.row[number]]
    probe, owner, side, strip = _probes(point, ahead, reach)
    metal = _in_stock(probe, stock)
    probe[:, 2] = np.maximum(probe[:, 2], stock.least[2])
    index = SegmentIndex(segments.start, segments.end)
    widest = float(radius[rows].max())
    for first in range(0, len(probe), _CHUNK):
        some = first + np.flatnonzero(metal[first : first + _CHUNK])
        which, other = index.near(probe[some], probe[some], widest)
        earlier = other < number[owner[some[which]]]
        which, other = some[which[earlier]], other[earlier]
        begin, end = segments.start[other], segments.end[other]
        cut = flat_distance(probe[which], begin, end) <= radius[segments.row[other]]
        cut &= height_at(probe[which], begin, end) <= probe[which, 2] + _LEVEL
        metal[which[cut]] = False
    beside, before = np.zeros((2, len(number))), np.zeros(len(number))
    np.add.at(beside, (side[metal], owner[metal]), (_STRIPS * _ASIDE)[strip[metal]])
    np.add.at(before, owner[metal], (_STRIPS * np.sqrt(1.0 - _ASIDE**2))[strip[metal]])
    return Beside(stretch, beside[0], beside[1], before)


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


def _probes(
    point: Floats, ahead: Floats, reach: Floats
) -> tuple[Floats, Ints, NDArray[np.intp], NDArray[np.intp]]:
    """(q, 3) mm, and (q,) each: the place, the side (0 right, 1 left) and the strip of a probe."""
    right = np.column_stack((ahead[:, 1], -ahead[:, 0]))
    aside = _ASIDE[None, :] * reach[:, None]
    rim = reach[:, None] * (1.0 + _AHEAD)
    forward = np.sqrt(rim**2 - aside**2)
    shape = (2, len(point), len(_ASIDE))
    result = np.empty((*shape, 3))
    for side, sign in enumerate((1.0, -1.0)):
        result[side, :, :, :2] = (
            point[:, None, :2]
            + sign * aside[:, :, None] * right[:, None, :]
            + forward[:, :, None] * ahead[:, None, :]
        )
        result[side, :, :, 2] = point[:, None, 2]
    sides, owner, strip = (each.ravel() for each in np.indices(shape))
    return result.reshape(-1, 3), owner, sides, strip


def _in_stock(probe: Floats, stock: Box) -> NDArray[np.bool_]:
    """(q,) bool: the stock box reaches above the probe there."""
    least, greatest = np.array(stock.least), np.array(stock.greatest)
    beside = (probe[:, :2] >= least[:2]) & (probe[:, :2] <= greatest[:2])
    result: NDArray[np.bool_] = beside.all(axis=1) & (probe[:, 2] < greatest[2] - _LEVEL)
    return result
