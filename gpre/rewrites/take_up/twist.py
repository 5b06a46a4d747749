"""Whether the twist of a table can be taken out of a cut by the coordinates alone.

The yaw swings while the driving axis crosses its backlash. Two things cannot be undone then. What
the swing moves the tool along the turning axis itself, farther the farther the place lies aside of
the pivot: the screw of that axis has no hold on the table meanwhile. And where the yaw, which
stays, asks an axis to go slowly back against the direction in which its backlash is taken up, the
table would not follow.
"""

from __future__ import annotations

import numpy as np

from gpre.editing.skip import Skip
from gpre.geometry import path as paths
from gpre.geometry.arc import Floats
from gpre.motion.motion import Motion
from gpre.rewrites.take_up.parts import Part, Sides
from gpre.rewrites.take_up.shift import Shift

SPARE = 0.3  # of the allowed error: what a twist may take of it


def need_true_twist(motion: Motion, parts: list[Part], shift: Shift, allowed: float) -> None:
    """Raise Skip where the parts of a run would not bring the table where it is meant."""
    spare = SPARE * allowed
    peak: Floats | None = None
    turning: dict[int, tuple[float, int]] = {}  # axis: where its take-up began, and its line
    for part in parts:
        line = motion.line(part.row)
        begin, end = _ends(motion, part, shift)
        peak = begin if peak is None else peak
        for axis in range(3):
            if not shift.has_backlash[axis]:
                continue
            if part.before[axis] != part.after[axis]:
                turning.setdefault(axis, (float(begin[axis]), line))
                if abs(part.after[axis]) == 1.0:
                    start, where = turning.pop(axis)
                    crossed = (float(end[axis]) - start) * part.after[axis]
                    _need_crossed(axis, where, 2.0 * shift.most(axis) - crossed, spare)
                    peak[axis] = end[axis]
                continue
            back = (peak[axis] - end[axis]) * part.after[axis]
            if back > spare:
                raise Skip(
                    f"the twist of the table asks {'XYZ'[axis]} in line {line} to go back by "
                    f"{back:.4f} mm, which its backlash swallows"
                )
            if back < 0.0:
                peak[axis] = end[axis]


def _need_crossed(axis: int, line: int, lacking: float, spare: float) -> None:
    """Look at a take-up: the screw must cross the backlash, no less and no more (mm)."""
    if abs(lacking) > spare:
        raise Skip(
            f"where {'XYZ'[axis]} turns in line {line} the twist of the table moves the tool along "
            f"{'XYZ'[axis]} by {abs(lacking):.4f} mm, which no coordinate undoes"
        )


def _ends(motion: Motion, part: Part, shift: Shift) -> tuple[Floats, Floats]:
    """(3,) mm each: the command at both ends of a part."""
    origin = motion.zero(part.row)
    some = paths.take(motion, np.array([part.row, part.row], np.intp))
    first, last = paths.points(some, np.array([part.first, part.last]))
    pairs: tuple[tuple[Floats, Sides], ...] = ((first, part.before), (last, part.after))
    one, other = (shift.command(place, sides, origin) for place, sides in pairs)
    return one.copy(), other.copy()
