"""Where a tool in the air is clear of the part, told from the program's own moves and the stock."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Box, Job
from gpre.mill.mill import Mill
from gpre.motion.events import Effect, kinds
from gpre.motion.motion import Kind, Motion
from gpre.motion.programmed import last_said
from gpre.program.program import Program
from gpre.reversals.screw_side import shifts_origin

LOSES_XY, LOSES_Z = kinds(Effect.LOSES_XY), kinds(Effect.LOSES_Z)


class Clearance:
    """What is known of the tool's height over the part, and of its place."""

    def __init__(self, program: Program, motion: Motion, mill: Mill, job: Job) -> None:
        """Look at a program's moves; `job` may name the stock."""
        self.program, self.motion, self.mill, self.job = program, motion, mill, job

    @cached_property
    def highest_cut(self) -> float:
        """The greatest Z at which the program moves along X or Y at feed, mm; -inf if nowhere.

        Of a ramp the lower end counts: where it starts is above the metal.
        """
        motion = self.motion
        aside = np.abs(motion.end[:, :2] - motion.start[:, :2]).max(axis=1, initial=0.0)
        along = motion.at_feed & ((aside > RESOLUTION) | (motion.kind == Kind.ARC))
        low = np.minimum(motion.start[along, 2], motion.end[along, 2])
        low = low[np.isfinite(low)]
        return float(low.max()) if len(low) else -np.inf

    def why_not_level(
        self, height: float, row: int | None = None, *, aside: bool = True
    ) -> tuple[str, tuple[str, ...]]:
        """Say why the tool may not go about in the air at `height` (mm), and what would help.

        Without stock the program itself must show that the height is clear: with a level rapid no
        higher, within the same setup as the move `row`, if one is given. aside: the tool goes where
        it does not cut; there clamps may stand that are higher than the stock.
        """
        if not np.isfinite(height):
            return "the height of the tool there is not known", ()
        if self.job.stock is not None:
            reason = self._why_not_over(self.job.stock, height)
            level = self.travel_level(row) if aside and row is not None else np.inf
            if not reason and height < level - RESOLUTION < np.inf:
                reason = f"the program travels over the part higher than Z{height:g}"
            return reason, ()
        if height <= self.highest_cut + RESOLUTION:
            cuts = f"and the program cuts at Z{self.highest_cut:g}"
            return f"the tool travels there at Z{height:g}, {cuts}", ("stock",)
        if height < -RESOLUTION:
            return f"the tool travels there below Z0, at Z{height:g}", ("stock",)
        if row is not None and height < self._planes[int(self._setup[row])] - RESOLUTION:
            return f"nothing in the program shows that all is clear at Z{height:g}", ("stock",)
        return "", ()

    def _why_not_over(self, stock: Box, height: float) -> str:
        top, keep = stock.max[2], self.mill.limits.rapid_clearance
        travels = f"the tool travels there at Z{height:g}"
        if height <= top + RESOLUTION:
            return f"{travels}, not above the stock (Z{top:g})"
        if height < top + keep - RESOLUTION:
            return f"{travels}, less than {keep:g} mm above the stock (Z{top:g})"
        return ""

    @cached_property
    def _setup(self) -> NDArray[np.int64]:
        """(n,): the number of the setup of each move: what lies between two losses of Z."""
        motion = self.motion
        begins = np.zeros(len(motion) + 1, bool)
        begins[motion.moves_at(LOSES_Z)] = True
        result: NDArray[np.int64] = np.cumsum(begins[:-1])
        return result

    @cached_property
    def _planes(self) -> NDArray[np.float64]:
        """(s,) mm: per setup the lowest level rapid along X or Y above all cuts; inf for none."""
        motion = self.motion
        travel = np.abs(motion.end - motion.start)
        level = (motion.kind == Kind.RAPID) & (travel[:, 2] <= RESOLUTION)
        level &= (travel[:, :2].max(axis=1, initial=0.0) > RESOLUTION) & (
            motion.end[:, 2] > self.highest_cut + RESOLUTION
        )
        moved = np.flatnonzero(travel[:, 2] > RESOLUTION)  # before that the height is only assumed
        level[: int(moved[0]) if len(moved) else len(motion)] = False
        planes = np.full(int(self._setup.max(initial=0)) + 1, np.inf)
        np.minimum.at(planes, self._setup[level], motion.end[level, 2])
        return planes

    def travel_level(self, row: int) -> float:
        """Z of the lowest level rapid above all cuts in the setup of a move, mm; inf for none."""
        return float(self._planes[int(self._setup[row])])

    def why_not_there(self, row: int, axis: int, place: float) -> str:
        """Say why an axis may not go to `place` (mm, program coordinates), or ""."""
        travel = self.mill.axes[axis].travel
        motion = self.motion
        state = int(motion.state[row])
        if travel is None or not motion.placed[state, axis]:
            return ""
        at = place + float(motion.origins[state, axis])
        if travel[0] <= at <= travel[1]:
            return ""
        return f"the loop would leave the travel of {'XYZ'[axis]}"

    def why_not_over(self, row: int, *places: NDArray[np.float64]) -> str:
        """Say why the tool may not go over places, (2,) mm or more each, or ""; see above."""
        for axis in range(2):
            for place in places:
                if reason := self.why_not_there(row, axis, float(place[axis])):
                    return reason
        return ""

    def stated(self, row: int, axis: int) -> bool:
        """Return whether the program has said where an axis stands when a move ends."""
        motion = self.motion
        if not np.isfinite(motion.end[row, axis]):
            return False
        lost = int(self._lost[axis][row])
        if motion.state_of(row).distance == 91 and lost == 0:
            return True
        return int(self._said[axis][row]) >= lost

    def known_before(self, row: int, axis: int) -> bool:
        """Return whether the program has said where an axis stands when a move starts.

        In G91 only the way since the start counts, so that is known until something loses it.
        """
        motion = self.motion
        if not np.isfinite(motion.start[row, axis]):
            return False
        lost = int(self._lost[axis][row])
        if motion.state_of(row).distance == 91 and lost == 0:
            return True
        return row > 0 and int(self._said[axis][row - 1]) >= lost

    @cached_property
    def _said(self) -> tuple[NDArray[np.int64], ...]:
        return last_said(self.program, self.motion)

    @cached_property
    def _lost(self) -> list[NDArray[np.int64]]:
        """Per axis (n,): the row before which its place was last lost, 0 where it never was."""
        motion = self.motion
        result = []
        for loses in (LOSES_XY, LOSES_XY, LOSES_Z):
            lost = np.zeros(len(motion) + 1, np.int64)
            for event in motion.events:
                if event.kind in loses or shifts_origin(event):
                    lost[event.move] = event.move
            result.append(np.maximum.accumulate(lost[:-1]) if len(motion) else lost[:-1])
        return result


def level_of(motion: Motion, row: int) -> float:
    """Return the Z of a move that runs at one height, mm; NaN for any other."""
    start, end = float(motion.start[row, 2]), float(motion.end[row, 2])
    return start if abs(end - start) <= RESOLUTION else float("nan")
