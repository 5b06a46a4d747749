"""A second look at loops off the part, with areas in the plane; it shares no code with gpre.

Works from what the second reading makes of two texts (`own_machine`). All cuts are taken to be made
by one flat tool in one setup. Says what it does not like.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "end_to_end"))

import own_paths
import own_steps

from gpre.mill.job import Job
from gpre.mill.mill import Mill

METAL = 0.01  # mm; thinner differences are none
CLEAR = 0.09  # mm; where it stops the tool is so far from what stays
BESIDE = 1.0  # mm; farther out a clamp may stand
TANGENT = 0.02  # rad
SAME = 1e-6

Steps = Sequence[own_steps.Step]


@dataclass(frozen=True)
class Step:
    """One move: (k, 3) points, at feed or not, its feed and line."""

    points: NDArray[np.float64]
    cuts: bool
    feed: float
    line: int

    @property
    def low(self) -> float:
        return float(self.points[:, 2].min())

    @property
    def upright(self) -> bool:
        return bool(np.ptp(self.points[:, :2], axis=0).max() <= SAME)

    def shape(self) -> shapely.Geometry:
        at = self.points[:, :2]
        return shapely.Point(at[0]) if self.upright else shapely.LineString(at)

    def key(self) -> tuple[object, ...]:
        ends = np.round(np.concatenate((self.points[0], self.points[-1])), 5).tolist()
        return (*ends, self.cuts)


def steps_of(steps: Sequence[own_steps.Step]) -> list[Step]:
    """Return all moves as straight pieces, program coordinates."""
    return [
        Step(
            own_paths.in_program(move, own_paths.samples(move)),
            not move.rapid,
            move.feed,
            move.line,
        )
        for move in own_paths.moves(steps)
    ]


def swept(steps: list[Step], height: float, radius: float) -> shapely.Geometry:
    """Return what the tool has passed over at feed, as deep as `height`."""
    shapes = []
    for step in steps:
        if not step.cuts:
            continue
        deep = step.points[:, 2] <= height + 1e-4
        if deep.all() or (deep.any() and step.upright):
            shapes.append(step.shape())
        elif deep.sum() > 1:
            shapes.append(shapely.LineString(step.points[deep, :2]))
        elif deep.any():
            shapes.append(shapely.Point(step.points[deep][0, :2]))
    return shapely.union_all(shapely.buffer(shapes, radius, quad_segs=96))


def thick(area: shapely.Geometry) -> bool:
    return not shapely.buffer(area, -METAL / 2.0).is_empty


class Look:
    """Both programs and what lies round the part."""

    def __init__(self, before: Steps, after: Steps, job: Job, mill: Mill) -> None:
        self.old, self.new = steps_of(before), steps_of(after)
        self.mill = mill
        self.radius = job.tools[1].diameter / 2.0
        box = job.stock
        self.top = box.max[2] if box else np.inf
        self.stock = shapely.box(*box.min[:2], *box.max[:2]) if box else None
        self.known = {step.key() for step in self.old}
        self.levels = sorted({round(s.low, 4) for s in (*self.old, *self.new) if s.cuts})
        self.whole: dict[float, shapely.Geometry] = {}

    def final(self, height: float) -> shapely.Geometry:
        """Return all that the original takes off at a height."""
        height = round(height, 4)
        if height not in self.whole:
            self.whole[height] = swept(self.old, height, self.radius)
        return self.whole[height]

    def metal(self, area: shapely.Geometry) -> shapely.Geometry:
        return area if self.stock is None else shapely.intersection(area, self.stock)

    def room(
        self, area: shapely.Geometry, free: shapely.Geometry, around: shapely.Geometry
    ) -> bool:
        """Return whether an area holds no metal beside `free`, and no clamp far from `around`."""
        rest = shapely.difference(area, free)
        if thick(self.metal(rest)):
            return False
        return not thick(shapely.difference(rest, shapely.buffer(around, BESIDE)))


def complaints(before: Steps, after: Steps, job: Job, mill: Mill) -> list[str]:
    """Return sentences about what looks wrong in the second program."""
    look = Look(before, after, job, mill)
    return [*_metal(look), *_new_moves(look), *_loops(look)]


def _metal(look: Look) -> list[str]:
    said = []
    for height in look.levels:
        if height > 0.5:
            continue  # above all work
        was, now = look.final(height), swept(look.new, height, look.radius)
        if thick(look.metal(shapely.symmetric_difference(was, now))):
            said.append(f"at Z{height:g} other metal is taken off")
        if thick(shapely.difference(now, shapely.buffer(was, BESIDE))):
            said.append(f"at Z{height:g} the tool runs where a clamp may stand")
    return said


def _new_moves(look: Look) -> list[str]:
    said = []
    for at, step in enumerate(look.new):
        if step.key() in look.known or at < 2:
            continue
        if not step.cuts and not step.upright and step.low < 1.0:
            said.append(f"line {step.line}: a rapid sideways at Z{step.low:g}")
        if step.low > look.top + SAME or (not step.cuts and not step.upright):
            continue
        rises = step.points[-1, 2] > step.points[0, 2]
        if not rises and (not step.cuts or step.upright):
            inner = shapely.buffer(step.shape(), look.radius - METAL)
            free = swept(look.new[:at], step.low, look.radius)
            if not look.room(inner, free, free):
                said.append(f"line {step.line}: down where nothing was cleared")
        if step.upright:  # it stops there
            outer = shapely.buffer(step.shape(), look.radius + CLEAR)
            final = look.final(step.low if not rises else float(step.points[0, 2]))
            rest = look.metal(shapely.difference(outer, final))
            if thick(rest):
                said.append(f"line {step.line}: it stops at a wall")
    return said


def _way(points: NDArray[np.float64]) -> NDArray[np.float64]:
    flat = np.diff(points[:, :2], axis=0)
    flat = flat[np.hypot(*flat.T) > 1e-7]
    way: NDArray[np.float64] = flat / np.hypot(*flat.T)[:, None]
    return way


def _loops(look: Look) -> list[str]:
    """Follow each new lift out of a cut and the way back into it."""
    said, new = [], look.new
    for at in range(1, len(new) - 1):
        lift = new[at]
        if lift.cuts or not lift.upright or lift.points[-1, 2] <= lift.points[0, 2]:
            continue
        if lift.key() in look.known and new[at + 1].key() in look.known:
            continue
        back = at
        while not new[back].cuts or new[back].upright:
            back += 1
            if back == len(new):
                break
        if back == len(new) or new[back].low >= look.top:
            continue
        said += _one_loop(look, at, back)
    return said


def _one_loop(look: Look, at: int, back: int) -> list[str]:
    said, new = [], look.new
    off, on = new[at - 1], new[back]
    line = new[at].line
    if off.key() not in look.known and at >= 2 and new[at - 2].cuts and not new[at - 2].upright:
        turned = _angle(_way(new[at - 2].points)[-1], _way(off.points)[0])
        if turned > TANGENT:
            said.append(f"line {off.line}: it leaves at an angle of {turned:.3f}")
    goes = back + 1 < len(new) and new[back + 1].cuts and not new[back + 1].upright
    if on.key() not in look.known and goes:
        turned = _angle(_way(on.points)[-1], _way(new[back + 1].points)[0])
        if turned > TANGENT:
            said.append(f"line {on.line}: it comes on at an angle of {turned:.3f}")
        place = swept(new[:at], on.low, look.radius)
        inner = shapely.buffer(on.shape(), look.radius - METAL)
        if not look.room(inner, place, place):
            said.append(f"line {on.line}: it comes on through metal")
    for axis in range(2):
        air = np.concatenate([new[k].points[:, axis] for k in range(at, back)])
        steps = np.diff(air)
        steps = steps[np.abs(steps) > 1e-4]
        goes = _next_way(new, back, axis)
        if not len(steps) or not goes:
            continue
        if np.sign(steps[-1]) != goes:
            said.append(f"line {line}: {'XY'[axis]} does not go on as it came")
            continue
        run = 0.0
        for each in steps[::-1]:
            if np.sign(each) != goes:
                backlash = look.mill.axes[axis]
                if run < 2.0 * (backlash.greatest_lost_motion + backlash.uncertainty) - 1e-6:
                    said.append(f"line {line}: {'XY'[axis]} takes up only {run:.3f} mm")
                break
            run += abs(each)
    return said


def _next_way(new: list[Step], first: int, axis: int) -> int:
    for step in new[first:]:
        if not step.cuts:
            return 0
        moved = np.diff(step.points[:, axis])
        reached = np.cumsum(moved)
        far = np.flatnonzero(np.abs(reached) > 1e-3)
        if len(far):
            return int(np.sign(reached[far[0]]))
    return 0


def _angle(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    return float(np.arccos(np.clip(one @ other, -1.0, 1.0)))
