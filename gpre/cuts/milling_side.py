"""Climb or conventional: on which side of the cutter's travel the metal lies, cut by cut.

With the spindle turning clockwise (M3) and metal on the right of the travel the cutter climbs: its
teeth move there against the travel, and it pulls the work along. With M4 the sides change places.
In a slot, with metal on both sides, the two balance in the direction of travel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.levels import levels, slopes
from gpre.cuts.metal_beside import CYLINDERS, Beside, metal_beside
from gpre.cuts.passes import Raster, read_raster
from gpre.mill.job import Job
from gpre.motion.motion import Motion
from gpre.motion.state import State

_MOSTLY = 0.9  # of the places looked at
# of the tangential cutting force: what pushes the cutter off at a right angle (textbook value for
# steel and aluminium, 0.3 and more; memory). Where metal is cut at y radii beside the middle, a
# chip as thick as sqrt(1 - y²) pulls the work along with y and pushes it back with 0.3 sqrt(1 - y²)
_RADIAL = 0.3


class MillingSide(Enum):
    """How a stretch is milled."""

    CLIMB = "climb"
    CONVENTIONAL = "conventional"
    BOTH = "both sides"  # a slot
    PARTLY = "climb in part"
    AIR = "no metal found"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Milled:
    """Rows of Motion, half open, and how they are milled; reason: why it is not known, else "".

    needs: what would have to be named for it (`tool 3`, `stock`).
    """

    first: int
    last: int
    side: MillingSide
    reason: str = ""
    needs: tuple[str, ...] = ()


def pass_climbs(motion: Motion, raster: Raster, way: int) -> bool:
    """Return whether passes that run `way` (+1 as the first, -1 against it) climb.

    The metal still to be cut lies on the side to which the raster steps.
    """
    right = np.array([raster.along[1], -raster.along[0]]) * way
    spindle = motion.state_of(raster.passes[0].first).spindle_way
    return float(right @ raster.step) * spindle > 0


def milling_sides(motion: Motion, cuts: Sequence[Cut], job: Job) -> tuple[Milled, ...]:
    """Tell for each stretch of each cut whether it climbs; holes have no side.

    A stretch is a pass of a raster, a level of any other cut, or a cut that is not level. With
    tool and stock the metal is looked for; else a raster is told by its steps, and of a contour
    it is not known which side has the metal.
    """
    found: list[Milled] = []
    looked: list[Milled] = []
    of_cuts = _MetalOfCuts(motion, job)
    for cut in cuts:
        if cut.shape is Shape.HOLE:
            continue
        for each in _stretches(motion, cut, job):
            stretch = of_cuts.judged(each, cut)
            (looked if stretch.side is MillingSide.AIR else found).append(stretch)
        leads = ((cut.first, cut.body_first), (cut.body_last, cut.last))
        for first, last in leads:  # without a look nothing is known of them
            if not of_cuts.upright[first:last].all():
                stretch = of_cuts.judged(Milled(first, last, MillingSide.UNKNOWN), cut)
                looked += [stretch] if stretch.side is MillingSide.AIR else []
    if looked and job.stock is not None:
        ends = [(each.first, each.last) for each in looked]
        beside = metal_beside(motion, job, job.stock, ends)
        for number, each in enumerate(looked):
            way = motion.state_of(each.first).spindle_way
            side = side_of(beside.of(number), way)
            found.append(Milled(each.first, each.last, side))
    return tuple(sorted(found, key=lambda each: each.first))


def side_of(beside: Beside, spindle_way: int) -> MillingSide:
    """Return the verdict on the places of one stretch: which way the mean force points along it."""
    some = (beside.right > 0.0) | (beside.left > 0.0)
    if not some.any():
        return MillingSide.AIR
    pull = (beside.right - beside.left)[some] * spindle_way
    prevails = np.abs(pull) > _RADIAL * beside.ahead[some]
    climbs, resists = prevails & (pull > 0.0), prevails & (pull < 0.0)
    if climbs.mean() >= _MOSTLY:
        return MillingSide.CLIMB
    if climbs.any():
        return MillingSide.PARTLY
    return MillingSide.CONVENTIONAL if resists.mean() > 0.5 else MillingSide.BOTH


def _stretches(motion: Motion, cut: Cut, job: Job) -> list[Milled]:
    """Split a cut; passes of rasters carry the side that their steps tell."""
    if cut.shape in {Shape.HELIX, Shape.SURFACE}:
        return [Milled(cut.body_first, cut.body_last, MillingSide.UNKNOWN)]
    result: list[Milled] = []
    for level in levels(motion, cut.body_first, cut.body_last):
        raster = None
        if cut.shape is Shape.RASTER:
            raster = read_raster(motion, level.body, level.last)
        if raster is None:
            result.append(Milled(level.body, level.last, MillingSide.UNKNOWN))
            continue
        tool = job.tools.get(motion.state_of(level.body).tool)
        slot = tool is not None and float(raster.steps.max()) >= tool.diameter
        for each in raster.passes:
            side = (
                MillingSide.CLIMB
                if pass_climbs(motion, raster, each.way)
                else MillingSide.CONVENTIONAL
            )
            result.append(Milled(each.first, each.last, MillingSide.BOTH if slot else side))
    return result


class _MetalOfCuts:
    """What must be known before the metal beside a stretch can be looked for."""

    def __init__(self, motion: Motion, job: Job) -> None:
        self.motion, self.job = motion, job
        self.upright = slopes(motion).upright
        rows = np.unique(motion.state[motion.at_feed])
        self.one_zero = len({motion.states[int(row)].frame for row in rows}) <= 1
        vague = np.zeros(len(motion), np.bool_)
        if len(motion):
            known = [_cuts_known(state, job) for state in motion.states]
            vague = motion.at_feed & ~self.upright & ~np.array(known)[motion.state]
        at = np.flatnonzero(vague)
        self.vague_from = int(at[0]) if len(at) else len(motion)

    def judged(self, stretch: Milled, cut: Cut) -> Milled:
        """Return the side, as far as it is known without looking; AIR: look for the metal.

        A spindle that stands mills nothing, and cutter radius compensation says itself on which
        side of the path the cutter runs (G41: left of it, so the part is on its right).
        """
        state = self.motion.state_of(stretch.first)
        first, last = stretch.first, stretch.last
        if not state.spindle_way:
            return Milled(first, last, MillingSide.UNKNOWN, "the spindle stands")
        if state.compensation != 40:
            right = state.compensation == 41
            climbs = right == (state.spindle_way > 0)
            return Milled(first, last, MillingSide.CLIMB if climbs else MillingSide.CONVENTIONAL)
        missing = self._missing(stretch)
        if not missing and not self._why_not(stretch):
            return Milled(first, last, MillingSide.AIR)
        if stretch.side is not MillingSide.UNKNOWN:
            return stretch
        reason = self._why_not(stretch) or _from_direction(self.motion, stretch, cut)
        return Milled(first, last, MillingSide.UNKNOWN, reason, missing)

    def _missing(self, stretch: Milled) -> tuple[str, ...]:
        number = self.motion.state_of(stretch.first).tool
        tool = (f"tool {number}",) if number not in self.job.tools else ()
        return (*tool, "stock") if self.job.stock is None else tool

    def _why_not(self, stretch: Milled) -> str:
        number = self.motion.state_of(stretch.first).tool
        tool = self.job.tools.get(number)
        if tool is not None and tool.shape not in CYLINDERS:
            return f"tool {number} is no end mill with a straight side"
        if self.job.stock is None or tool is None:
            return ""
        if not self.one_zero:
            return "the program uses several work offsets; the stock is known in one only"
        if self.vague_from < stretch.first:
            number = self.motion.state_of(self.vague_from).tool
            return f"what tool {number} cut before is not known"
        return ""


def _cuts_known(state: State, job: Job) -> bool:
    """Return whether it is known what moves aside in this state cut."""
    tool = job.tools.get(state.tool)
    return tool is not None and tool.shape in CYLINDERS and state.compensation == 40


def _from_direction(motion: Motion, stretch: Milled, cut: Cut) -> str:
    """Say what it would be: round a part and in a pocket, or by the side that has the metal."""
    clockwise = motion.state_of(stretch.first).spindle_way > 0
    if cut.shape is not Shape.CLOSED:
        return f"climb where the metal is on the {'right' if clockwise else 'left'} of the travel"
    # round a part the part lies inside, and that is on the right of a clockwise travel
    inside_right = _area(motion, stretch.first, stretch.last) < 0.0
    words = ("climb", "conventional") if inside_right == clockwise else ("conventional", "climb")
    return f"{words[0]} round the outside of a part, {words[1]} along the inside of a pocket"


def _area(motion: Motion, first: int, last: int) -> float:
    """Return the area that rows enclose, mm²; negative where they run clockwise."""
    start, end = motion.start[first:last, :2], motion.end[first:last, :2]
    chords = float((start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]).sum()) / 2.0
    sweep, centre = motion.sweep[first:last], motion.centre[first:last, :2]
    arcs = (sweep != 0.0) & (motion.plane[first:last] == 17)
    radius = np.hypot(*(start[arcs] - centre[arcs]).T)
    return chords + float((radius**2 * (sweep[arcs] - np.sin(sweep[arcs]))).sum()) / 2.0
