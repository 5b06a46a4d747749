"""The moves of the command that stand for one move of the intended path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from gpre.editing.writer import BlockWriter, sweep_between
from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES, Floats
from gpre.geometry.tolerance import ROUNDED
from gpre.motion.motion import Kind, Motion
from gpre.rewrites.take_up.parts import Part, Sides
from gpre.rewrites.take_up.shift import Shift

_CLOSE = ROUNDED  # a chord shorter than that does not say where the centre of its arc lies


@dataclass(frozen=True)
class Move:
    """One move of the command, to `end` (3,) mm. sweep: 0 for a straight one; plane: of an arc."""

    end: Floats
    rapid: bool = False
    feed: float | None = None
    centre: Floats | None = None
    sweep: float = 0.0
    plane: int = 17
    comment: str = ""

    @property
    def straight(self) -> bool:
        """True for all but arcs."""
        return self.centre is None

    def write(self, writer: BlockWriter, *, comment: bool = True) -> None:
        """Write the move; an arc goes exactly through where the command stands and its end."""
        said = self.comment if comment else ""
        if self.rapid:
            writer.rapid(self.end.tolist(), said)
        elif self.centre is None:
            writer.line(self.end.tolist(), self.feed, said)
        else:
            centre, sweep = self._true(writer.position)
            end = self.end.tolist()
            writer.arc(end, centre.tolist(), sweep, plane=self.plane, feed=self.feed, comment=said)

    def _true(self, start: Sequence[float]) -> tuple[Floats, float]:
        """Move the centre to where it is as far from both ends; give it, and the turn."""
        assert self.centre is not None
        first, second, _ = PLANE_AXES[self.plane - 17].tolist()
        centre = self.centre.copy()
        chord = float(self.end[first] - start[first]), float(self.end[second] - start[second])
        length = hypot(*chord)
        if length < _CLOSE:
            return centre, self.sweep
        middle = start[first] + chord[0] / 2.0, start[second] + chord[1] / 2.0
        across = -chord[1] / length, chord[0] / length
        off = (
            float(centre[first] - middle[0]) * across[0]
            + float(centre[second] - middle[1]) * across[1]
        )
        u, v = middle[0] + across[0] * off, middle[1] + across[1] * off
        centre[first], centre[second] = u, v
        begin = start[first] - u, start[second] - v
        end = float(self.end[first] - u), float(self.end[second] - v)
        return centre, sweep_between(begin, end, self.sweep > 0.0)


def moves_of(motion: Motion, row: int, parts: list[Part], sides: Sides, shift: Shift) -> list[Move]:
    """Return the moves for one row: a rapid with its sides at the end, or the parts of a cut."""
    origin = motion.zero(row)
    if motion.kind[row] == Kind.RAPID:
        return [Move(shift.command(motion.end[row], sides, origin), rapid=True)]
    return [_move(motion, part, shift, origin) for part in parts]


def _move(motion: Motion, part: Part, shift: Shift, origin: Floats) -> Move:
    first, last = _ends(motion, part)
    meant = last.copy()
    for axis, place in part.held:
        meant[axis] = place
    end = shift.command(meant, part.after, origin)
    comment = _comment(part)
    if part.straight or part.stands or motion.kind[part.row] != Kind.ARC:
        return Move(end, feed=part.feed, comment=comment)
    begin = shift.command(first, part.before, origin)
    centre = motion.centre[part.row].copy()
    normal = int(PLANE_AXES[int(motion.plane[part.row]) - 17][2])
    centre[normal] = first[normal]
    centre = _centre(shift, centre, part, origin, (begin - first + end - last) / 2.0)
    sweep = float(motion.sweep[part.row]) * (part.last - part.first)
    return Move(end, False, part.feed, centre, sweep, int(motion.plane[part.row]), comment)


def _ends(motion: Motion, part: Part) -> tuple[Floats, Floats]:
    if part.first == 0.0 and part.last == 1.0:
        return motion.start[part.row], motion.end[part.row]
    some = paths.take(motion, np.array([part.row, part.row], np.intp))
    first, last = paths.points(some, np.array([part.first, part.last]))
    return first, last


def _centre(shift: Shift, centre: Floats, part: Part, origin: Floats, mean: Floats) -> Floats:
    if shift.bends:  # the backlash at the centre is not that of the arc
        return np.asarray(centre + mean, np.float64)
    return shift.command(centre, part.before, origin)


def _comment(part: Part) -> str:
    turning = [axis for axis in range(3) if part.before[axis] != part.after[axis]]
    if not turning:
        return ""
    named = "".join("XYZ"[axis] for axis in turning)
    return f"take up {named}, tool stands" if part.stands else f"take up {named}"
