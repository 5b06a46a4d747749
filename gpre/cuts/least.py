"""The fewest reversals that a cut can have, however it is begun, entered and left.

A reversal counts as cutting where a cutting move starts the new way. How the tool comes to a cut is
free, so none need lie at its start, and lead-ins and lead-outs count nothing: what follows is lower
bounds, worked out for the body alone and for every path within the tolerance of it.

- Closed contour. Round once, an axis turns an even number of times T, at least twice if it travels
  at all. Begun where the axis turns, that turn lies at the start: T - 1. Begun elsewhere: T. X and
  Y can only be spared one turn each where both turn at one place: a circle of two and two turns has
  at least 1 of X, or of Y, and 3 together. n rounds without leaving the wall: n T - 1.
- Open contour, surface, raster: the path is given, so what turns within it turns.
- Helix: half a turn, a turn of each axis; begun where an axis turns, n turns have 2 n - 1 of it,
  and 4 n - 1 together. Where the tool's steepest ramp is known, the fewest turns that it allows.
- Hole and pass: none, but for a hole that is left at feed, where Z turns.

With loops or lifts. The tool leaves a wall on its tangent, and what then turns, turns in the air.
That does where the path bends towards the side that the metal is on (round the outside of a part,
at an outside corner), not where it bends away from it, as in a bore or a pocket: whatever leads off
there goes back along the axis that turns. With metal on both sides nothing leads off. A raster can
be cut one way. Where the metal lies is told from stock, tools and program; else it is not known.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, ceil, floor, pi, tan

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.contours import find_loop
from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.helices import END_MILLS, PITCH_SHARE, Helix, find_helices, like_a_thread
from gpre.cuts.levels import levels
from gpre.cuts.walls import Hand, Wall, walls_of
from gpre.geometry.tolerance import ARC_ANGLE, ROUNDED, SHARE
from gpre.mill.job import Job
from gpre.motion.motion import Motion
from gpre.reversals.turning import Turning, chain_of, coincide, count_turns, turning

_BEYOND = 1e7  # mm; farther off than any mill goes nothing is worked out

Axes = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Least:
    """Reversals while cutting: by_axis, X, Y, Z, the fewest of each; together, of all at once."""

    by_axis: Axes
    together: int


@dataclass(frozen=True, slots=True)
class CutLeast:
    """The fewest of one cut. shape: what it was taken for; down: with the tool down all the way.

    lifted: where it may leave the wall on its tangent; None where it is not known where metal is.
    """

    shape: Shape
    down: Least
    lifted: Least | None


def least_reversals(
    motion: Motion, cuts: Sequence[Cut], job: Job, tolerance: float
) -> tuple[CutLeast, ...]:
    """Find the fewest reversals of each cut; `tolerance` mm is how far its path may be changed."""
    helices = find_helices(motion)
    cuts = [_seen(cut, helices) for cut in cuts]
    walls = walls_of(motion, cuts, job)
    with np.errstate(invalid="ignore"):
        far = ~(np.abs(motion.end).max(axis=1, initial=0.0) < _BEYOND)
        rises = motion.end[:, 2] > motion.start[:, 2]
    finder = _Finder(motion, job, 2.0 * tolerance, helices, _running(far), _running(rises))
    return tuple(finder.of(cut, wall) for cut, wall in zip(cuts, walls, strict=True))


def fewest_turns(helix: Helix, helices: tuple[Helix, ...], motion: Motion, job: Job) -> float:
    """Return how many turns a helix needs at the least to go down, by its tool's steepest ramp.

    As many as it has where nothing tells how steep it may be, where no full circle at depth leaves
    its floor, and where it may be a thread.
    """
    turns = helix.turn / (2.0 * pi)
    tool = job.tools.get(motion.state_of(helix.first).tool)
    if tool is None or tool.max_ramp_angle is None or tool.shape not in END_MILLS:
        return turns
    if not helix.full_floor or like_a_thread(motion, helix, helices):
        return turns
    steepest = 2.0 * pi * helix.radius * tan(min(tool.max_ramp_angle, pi / 4.0))
    pitch = min(steepest, PITCH_SHARE * tool.diameter)
    depth = float(motion.start[helix.first, 2] - motion.end[helix.last - 1, 2])
    return min(depth / pitch, turns) if pitch > 0.0 else turns


def _seen(cut: Cut, helices: Sequence[Helix]) -> Cut:
    """Take a circle at the foot of a helix for a part of the helix."""
    at = bisect_left(helices, cut.first, key=lambda each: each.first)
    if cut.shape is not Shape.CLOSED or at == len(helices):
        return cut
    helix = helices[at]
    if helix.first < cut.body_first < cut.body_last <= helix.floor and helix.turn > 2.0 * pi:
        return Cut(cut.first, cut.last, helix.first, helix.floor, Shape.HELIX)
    return cut


def _running(flags: NDArray[np.bool_]) -> NDArray[np.intp]:
    """(n + 1,): how many of the flags before each row are set."""
    return np.concatenate((np.zeros(1, np.intp), np.cumsum(flags, dtype=np.intp)))


@dataclass(frozen=True)
class _Finder:
    """allowance: mm, what an axis comes back by before it must have turned.

    far, rises: (n + 1,) how many moves before each row go beyond all measure, how many go up.
    """

    motion: Motion
    job: Job
    allowance: float
    helices: tuple[Helix, ...]
    far: NDArray[np.intp]
    rises: NDArray[np.intp]

    def of(self, cut: Cut, wall: Wall) -> CutLeast:
        """Find the fewest of one cut."""
        nothing = Least((0, 0, 0), 0)
        if self.far[cut.last] > self.far[cut.first]:
            return CutLeast(cut.shape, nothing, None)
        if cut.shape is Shape.PASS:
            return CutLeast(cut.shape, nothing, nothing)
        if cut.shape is Shape.HOLE:
            if self.rises[cut.last] == self.rises[cut.first]:
                return CutLeast(cut.shape, nothing, nothing)
            z = count_turns(self._heights(cut.first, cut.last), self.allowance)
            least = Least((0, 0, z), z)
            return CutLeast(cut.shape, least, least)
        if cut.shape is Shape.HELIX:
            return self._helix(cut, wall)
        if cut.shape is Shape.CLOSED:
            return self._closed(cut, wall)
        return self._as_it_stands(cut, wall)

    def _heights(self, first: int, last: int) -> NDArray[np.float64]:
        """(n,) mm: Z at the ends of rows, from the start of the first."""
        return np.append(self.motion.start[first, 2], self.motion.end[first:last, 2])

    def _as_it_stands(self, cut: Cut, wall: Wall) -> CutLeast:
        chain = chain_of(self.motion, cut.body_first, cut.body_last, self.allowance)
        z = count_turns(chain[:, 2], self.allowance)
        x, y = (count_turns(chain[:, axis], self.allowance) for axis in (0, 1))
        spare = 2 * self._turns_to_spare(cut)
        x, y = max(x - spare, 0), max(y - spare, 0)
        down = Least((x, y, z), x + y + z)
        if cut.shape is Shape.RASTER:
            return CutLeast(cut.shape, down, Least((0, 0, z), z))
        if cut.shape is not Shape.OPEN:
            return CutLeast(cut.shape, down, None)
        kept = []
        for axis in (0, 1):
            turns = turning(chain, axis, self.allowance, ring=False)
            kept.append(max(int(_kept(turns, wall).sum()) - spare, 0))
        return CutLeast(cut.shape, down, _lifted((kept[0], kept[1], z), sum(kept) + z, wall))

    def _turns_to_spare(self, cut: Cut) -> int:
        """Return how many turns helices within the body could do without."""
        spare = 0
        for each in self.helices:
            if cut.body_first <= each.first < cut.body_last:
                turns = each.turn / (2.0 * pi)
                spare += floor(
                    turns - fewest_turns(each, self.helices, self.motion, self.job) + SHARE
                )
        return spare

    def _closed(self, cut: Cut, wall: Wall) -> CutLeast:
        rounds = self._rounds(cut)
        body = chain_of(self.motion, cut.body_first, cut.body_last, self.allowance)
        z = count_turns(body[:, 2], self.allowance)
        chains = [chain_of(self.motion, *each, self.allowance) for each in rounds]
        found = [
            tuple(turning(chain, axis, self.allowance, ring=True) for axis in (0, 1))
            for chain in chains
        ]
        # rounds of one contour have one start, so only the first is spared the turn there
        starts = 1 if self._alike(rounds) else len(rounds)
        both = [coincide(x, y) for x, y in found]
        down = _begun([[len(each) for each in axes] for axes in found], both, z, starts)
        kept = [[int(_kept(each, wall).sum()) for each in axes] for axes in found]
        lifted = _begun(kept, both, z, len(rounds))
        return CutLeast(cut.shape, down, _lifted(lifted.by_axis, lifted.together, wall))

    def _rounds(self, cut: Cut) -> list[tuple[int, int]]:
        """Return the rows of each round, without what leads to it and off it."""
        rounds = []
        for level in levels(self.motion, cut.body_first, cut.body_last):
            rows = (level.body, level.last)
            rounds.append(find_loop(self.motion, *rows) or rows)
        return rounds

    def _alike(self, rounds: list[tuple[int, int]]) -> bool:
        motion = self.motion
        first, last = rounds[0]
        for head, tail in rounds[1:]:
            if tail - head != last - first:
                return False
            apart = np.abs(motion.end[head:tail, :2] - motion.end[first:last, :2]).max()
            bent = np.abs(motion.sweep[head:tail] - motion.sweep[first:last]).max()
            if apart > ROUNDED or bent > ARC_ANGLE:
                return False
        return True

    def _helix(self, cut: Cut, wall: Wall) -> CutLeast:
        motion, rows = self.motion, slice(cut.body_first, cut.body_last)
        z = count_turns(self._heights(cut.body_first, cut.body_last), self.allowance)
        away = motion.start[rows, :2] - motion.centre[rows, :2]
        radius = float(np.hypot(away[:, 0], away[:, 1]).min())
        if 2.0 * radius <= self.allowance:
            nothing = Least((0, 0, z), z)
            return CutLeast(cut.shape, nothing, nothing)
        # turned by as little as that an axis need not have turned yet
        little = acos(max(1.0 - self.allowance / radius, -1.0))
        each, together = 0, 0
        for first, last in self._ways(cut):
            sweep = self._least_sweep(first, last) - 2.0 * little
            each += max(ceil(sweep / pi - SHARE) - 1, 0)
            together += max(ceil(sweep / (pi / 2.0) - SHARE) - 1, 0)
        down = Least((each, each, z), together + z)
        bends = np.sign(motion.sweep[rows])
        inside = {Hand.LEFT: 1, Hand.RIGHT: -1}.get(wall.hand, 0)
        if wall.hand is Hand.NONE or (inside and bool((bends == inside).all())):
            return CutLeast(cut.shape, down, Least((0, 0, z), z))
        return CutLeast(cut.shape, down, _lifted(down.by_axis, down.together, wall))

    def _ways(self, cut: Cut) -> list[tuple[int, int]]:
        """Split the body where it changes its way round."""
        signs = np.sign(self.motion.sweep[cut.body_first : cut.body_last])
        bounds = cut.body_first + np.flatnonzero(np.diff(signs)) + 1
        edges = [cut.body_first, *bounds.tolist(), cut.body_last]
        return list(zip(edges[:-1], edges[1:], strict=True))

    def _least_sweep(self, first: int, last: int) -> float:
        """Return how far rows of one way round turn, rad, at the least."""
        sweep = float(np.abs(self.motion.sweep[first:last]).sum())
        for each in self.helices:
            if first <= each.first < last:
                sweep -= each.turn - 2.0 * pi * fewest_turns(
                    each, self.helices, self.motion, self.job
                )
        return sweep


def _kept(turns: Turning, wall: Wall) -> NDArray[np.bool_]:
    """(k,) bool: the turns at which the tool cannot leave the wall on its tangent."""
    if wall.hand is Hand.BOTH:
        return np.ones(len(turns), np.bool_)
    if wall.hand in {Hand.LEFT, Hand.RIGHT}:
        away: NDArray[np.bool_] = turns.bend == (-1 if wall.hand is Hand.LEFT else 1)
        return away
    return np.zeros(len(turns), np.bool_)


def _begun(turns: list[list[int]], both: list[bool], z: int, starts: int) -> Least:
    """Take off the turns that may lie at starts; turns: of X and Y, round by round."""
    axes = [0, 0]
    together = z
    for number, (counts, at_once) in enumerate(zip(turns, both, strict=True)):
        may_start = number < starts
        for axis in (0, 1):
            axes[axis] += max(counts[axis] - may_start, 0)
        spared = min(sum(each > 0 for each in counts), 2 if at_once else 1)
        together += sum(counts) - (spared if may_start else 0)
    return Least((axes[0], axes[1], z), together)


def _lifted(by_axis: Axes, together: int, wall: Wall) -> Least | None:
    """Return the fewest with lifts, as far as it is known where the metal is."""
    if wall.hand is Hand.UNKNOWN:
        return None
    if by_axis[:2] != (0, 0) and not wall.everywhere:
        return None
    return Least(by_axis, together)
