"""How steeply the tool goes down into the metal: straight ramps and helices.

The angle of a helix is atan(p / (2 pi r)) with its pitch p and the radius r of the tool's centre.
A ramp may be as steep as the original's steepest of its kind with that tool, or as the job says
that the tool may go down; and a helix may go as deep per turn as the original's deepest, or as
that angle makes it, though never by more than half the tool's diameter. Arcs in other planes than
XY count by their chords. (Cutting-tool catalogues and common practice; memory.)
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi, tan

import numpy as np

from gpre.cuts.helices import PITCH_SHARE
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.motion import Kind
from gpre.proof.boxed import boxed, clear_of_stock
from gpre.proof.changed_moves import Meeting
from gpre.proof.proof import Obligation
from gpre.proof.side import Bools, Floats, Ints, Pair, Side

NAME = "ramps"


@dataclass(frozen=True)
class Ramps:
    """k moves at feed that go down and aside, one row each.

    row: (k,) of Motion. drop, flat: (k,) mm, how far down and how far in XY, along the arc.
    turn: (k,) rad, of a helix in XY, 0 for others. tool: (k,) its number.
    """

    row: Ints
    drop: Floats
    flat: Floats
    turn: Floats
    tool: Ints

    @classmethod
    def of(cls, side: Side) -> Ramps:
        """Find the ramps of a program."""
        motion = side.motion
        rows = side.feeding
        delta = motion.end[rows] - motion.start[rows]
        arc = (motion.kind[rows] == Kind.ARC) & (motion.plane[rows] == 17)
        turn = np.where(arc, np.abs(motion.sweep[rows]), 0.0)
        radius = np.hypot(*(motion.start[rows] - motion.centre[rows])[:, :2].T)
        flat = np.where(arc, radius * turn, np.hypot(delta[:, 0], delta[:, 1]))
        down = (-delta[:, 2] > RESOLUTION) & (flat > RESOLUTION)
        tool = side.tool[rows[down]].astype(np.intp)
        return cls(rows[down], -delta[down, 2], flat[down], turn[down], tool)

    def take(self, kept: Bools | Ints) -> Ramps:
        """Return some of them."""
        return Ramps(
            self.row[kept], self.drop[kept], self.flat[kept], self.turn[kept], self.tool[kept]
        )

    @property
    def angle(self) -> Floats:
        """(k,) rad."""
        result: Floats = np.arctan2(self.drop, self.flat)
        return result

    @property
    def pitch(self) -> Floats:
        """(k,) mm per turn, 0 where it is no helix."""
        result: Floats = np.zeros(len(self.row))
        np.divide(self.drop * 2.0 * pi, self.turn, out=result, where=self.turn > 0.0)
        return result

    @property
    def radius(self) -> Floats:
        """(k,) mm, of the tool's centre round the helix, 0 where it is none."""
        result: Floats = np.zeros(len(self.row))
        np.divide(self.flat, self.turn, out=result, where=self.turn > 0.0)
        return result


def ramps(meeting: Meeting) -> Obligation:
    """Show that no ramp is steeper, and no helix deeper per turn, than it may be."""
    return _Judge(meeting).judge()


def allowed_depth(pair: Pair, found: Ramps) -> Floats:
    """(k,) mm: how deep the job's ramp angle lets each ramp go, 0 where the job names none.

    A helix per turn, and no deeper than half the tool's diameter; another ramp along its way.
    """
    result = np.zeros(len(found.row))
    for number, tool in pair.job.tools.items():
        if tool.max_ramp_angle is None:
            continue
        mine = found.tool == number
        way = np.where(found.turn > 0.0, 2.0 * pi * found.radius, found.flat)[mine]
        depth = way * tan(min(tool.max_ramp_angle, pi / 2.0 - DUST))
        most = np.where(found.turn[mine] > 0.0, PITCH_SHARE * tool.diameter, np.inf)
        result[mine] = np.minimum(depth, most)
    return result


class _Judge:
    """Both programs' ramps, those in the air left out."""

    def __init__(self, meeting: Meeting) -> None:
        self.meeting = meeting
        self.pair = meeting.pair
        self.old, self.new = (
            found.take(~self._in_the_air(side, found.row))
            for side, found in (
                (each, Ramps.of(each)) for each in (self.pair.before, self.pair.after)
            )
        )

    def _in_the_air(self, side: Side, rows: Ints) -> Bools:
        if boxed(self.pair):
            return clear_of_stock(self.pair, side, rows)
        planes = self.meeting.planes[side.setup[rows]]
        result: Bools = side.motion.end[rows, 2] >= planes - RESOLUTION
        return result

    def judge(self) -> Obligation:
        """Compare tool by tool."""
        said = []
        doubtful = self._doubtful()
        for tool in sorted({*self.old.tool.tolist(), *self.new.tool.tolist()}):
            old, new = (each.take(each.tool == tool) for each in (self.old, self.new))
            fault = self._fault(old, new.take(np.isin(new.row, doubtful)))
            if fault is not None:
                return fault
            said.append(self._told(tool, old, new))
        return Obligation(NAME, holds=True, figure="; ".join(said) or "no ramps")

    def _doubtful(self) -> Ints:
        """Return the rows of `after` that `before` has not, nor goes down there as steeply."""
        rows = self.new.row[self.pair.partner[self.new.row] < 0]
        if not len(rows):
            return rows
        met = self.meeting.encounters
        unlike = np.ones(len(self.pair.after.motion), bool)
        unlike[met.row] = False
        unlike[met.row[~met.same_slope]] = True
        return rows[unlike[rows]]

    def _fault(self, old: Ramps, new: Ramps) -> Obligation | None:
        if not len(new.row):
            return None
        off = 2.0 * self.pair.tolerance
        helix = new.turn > 0.0
        stated = allowed_depth(self.pair, new)
        way = np.where(helix, new.turn / (2.0 * pi), 1.0)  # of what the stated depth is for
        own = np.where(helix, _steepest(_of_kind(old, helix=True)), _steepest(old))
        steep = new.drop > np.maximum(new.flat * np.tan(own), stated * way) + off
        deepest = float(old.pitch.max(initial=0.0))
        deep = helix & (deepest > 0.0)
        deep &= new.drop > np.maximum(deepest, stated) * way + off
        for bad, told, much in (
            (steep, self._too_steep, new.angle),
            (deep, self._too_deep, new.pitch),
        ):
            at = np.flatnonzero(bad)
            if len(at):
                worst = int(at[np.argmax(much[at])])
                like = _of_kind(old, helix=bool(helix[worst]))
                return told(like, new.take(np.array([worst])))
        return None

    def _too_steep(self, old: Ramps, one: Ramps) -> Obligation:
        now, was = (degrees(float(each.angle.max(initial=0.0))) for each in (one, old))
        what = f"goes down at {now:.2f} degrees", f"{was:.2f}"
        return self._bad(old, one, what, (now, was), _worst(old, old.angle))

    def _too_deep(self, old: Ramps, one: Ramps) -> Obligation:
        now, was = (float(each.pitch.max(initial=0.0)) for each in (one, old))
        what = f"goes {now:.3f} mm deep per turn", f"{was:.3f}"
        return self._bad(old, one, what, (now, was), _worst(old, old.pitch))

    def _bad(
        self,
        old: Ramps,
        one: Ramps,
        what: tuple[str, str],
        values: tuple[float, float],
        worst: int,
    ) -> Obligation:
        motion = self.pair.after.motion
        row, tool = int(one.row[0]), int(one.tool[0])
        x, y, z = motion.start[row]
        kind = "helices" if one.turn[0] > 0.0 and (old.turn > 0.0).any() else "ramps"
        first = (
            f"the original's {kind} {what[1]} at most"
            if len(old.row)
            else "the original has no ramp"
        )
        figure = f"T{tool} {what[0]} from X{x:.4f} Y{y:.4f} Z{z:.4f}; {first}, {self._job(tool)}"
        return Obligation(
            NAME,
            holds=False,
            figure=figure,
            value=values[0],
            limit=values[1],
            before=self.pair.before.block_of(worst),
            after=self.pair.after.block_of(row),
        )

    def _job(self, tool: int) -> str:
        named = self.pair.job.tools.get(tool)
        if named is None or named.max_ramp_angle is None:
            return "and the job names no ramp angle for the tool"
        return f"and the job's ramp angle is {degrees(named.max_ramp_angle):.4g} degrees"

    def _told(self, tool: int, old: Ramps, new: Ramps) -> str:
        was, now = (degrees(float(each.angle.max(initial=0.0))) for each in (old, new))
        text = f"T{tool} {was:.2f} to {now:.2f} degrees"
        before, after = (float(each.pitch.max(initial=0.0)) for each in (old, new))
        if before or after:
            text += f", helices {before:.3f} to {after:.3f} mm per turn"
        named = self.pair.job.tools.get(tool)
        off = 2.0 * self.pair.tolerance
        if after > before + off and named is not None and named.max_ramp_angle is not None:
            allowed = degrees(named.max_ramp_angle)
            text += f", which the job's ramp angle of {allowed:.4g} degrees allows"
        return text


def _of_kind(old: Ramps, *, helix: bool) -> Ramps:
    """Return what a ramp is compared with: a helix against helices where there are any."""
    turns = old.turn > 0.0
    return old.take(turns) if helix and turns.any() else old


def _worst(old: Ramps, much: Floats) -> int:
    """Return the row of the ramp with the greatest of (k,) values, -1 where there is none."""
    return int(old.row[int(np.argmax(much))]) if len(old.row) else -1


def _steepest(old: Ramps) -> float:
    return float(old.angle.max(initial=0.0))
