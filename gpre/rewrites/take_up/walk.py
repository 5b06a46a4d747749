"""Walks through a motion and decides where each axis takes up its backlash.

In the air the rapids carry the shift at their ends. Before each cut every axis must have its
backlash taken up in the direction in which it first travels there; where the way to the cut does
not bring that about, the axis takes it up in the air, at the highest place on the way. Where the
state of the backlash is not known, the screw goes beyond first and comes back. Before anything that
measures, changes an offset, stops or hands over, the command goes back to the intended place: the
table does not move for that.
"""

from __future__ import annotations

import numpy as np

from gpre.editing.editable import Editable
from gpre.editing.skip import Skip
from gpre.editing.word_edits import letters_in
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Kind, Motion, Role
from gpre.rewrites.take_up.barriers import Barrier, barriers_of
from gpre.rewrites.take_up.parts import PartsCutter, Sides
from gpre.rewrites.take_up.plan import NONE, AxisBacklash, Take, TakeUpPlan
from gpre.rewrites.take_up.rows import free_rows, not_carried, why_not_free
from gpre.rewrites.take_up.run import RunPlan, plan_run
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.turns import courses_of
from gpre.rewrites.take_up.twist import need_true_twist
from gpre.rewrites.take_up.windows import FeedRun
from gpre.room.clearance import Clearance


class Walk:
    """Plans the take-ups of one program. Raises Skip where it cannot be done."""

    def __init__(
        self, editable: Editable, clearance: Clearance, shift: Shift, allowed: float
    ) -> None:
        """Look at the motion; allowed: mm, the error that the windows may leave."""
        self.editable, self.clearance, self.shift, self.allowed = (
            editable,
            clearance,
            shift,
            allowed,
        )
        self.motion: Motion = editable.motion
        self.plan = TakeUpPlan()
        self.courses = courses_of(self.motion, allowed)
        self.side = [0.0, 0.0, 0.0]
        self.backlash = [
            AxisBacklash((axis.greatest_lost_motion + axis.uncertainty) / 2.0)
            for axis in shift.mill.axes
        ]
        for one in self.backlash:
            one.forget()
        self.barriers = barriers_of(self.motion, len(editable.program), z=shift.has_backlash[2])
        self._barriers_at: dict[int, list[Barrier]] = {}
        for each in self.barriers:
            self._barriers_at.setdefault(each.move, []).append(each)
        self.forgets = set(self.motion.moves_at(kinds(Effect.MOVES_AXES)).tolist())
        walls = frozenset(EventKind) - kinds(Effect.CUTS_ON)
        self.walls = frozenset(self.motion.moves_at(walls).tolist())
        self.free = free_rows(editable)
        self._level = (0.0, 0.0)
        self._zeroed: set[tuple[int, int]] = set()

    @property
    def axes(self) -> tuple[int, ...]:
        """The axes whose commands are shifted at all."""
        twisted = bool(self.shift.twists)
        return tuple(a for a in range(3) if self.shift.has_backlash[a] or (twisted and a < 2))

    def make(self) -> TakeUpPlan:
        """Plan the whole program."""
        self._zeroed = self._zero_places()
        at = 0
        for first, last in self._runs():
            self._link(at, first)
            self._cut(first, last)
            at = last
        self._link(at, len(self.motion))
        return self.plan

    def line(self, row: int) -> str:
        """Name the line of a move."""
        return f"line {self.motion.line(row)}"

    def _runs(self) -> list[tuple[int, int]]:
        """Return the stretches at feed, broken where the shift must be taken out."""
        motion = self.motion
        feed = np.append(motion.at_feed & ~not_carried(motion), False)
        feed[motion.moves_at({EventKind.PROBE})] = False
        breaks = {one.move for one in self.barriers}
        runs: list[tuple[int, int]] = []
        for row in np.flatnonzero(feed).tolist():
            if runs and runs[-1][1] == row and row not in breaks:
                runs[-1] = (runs[-1][0], row + 1)
            else:
                runs.append((row, row + 1))
        return runs

    def _zero_places(self) -> set[tuple[int, int]]:
        """Find the rapids that may end without a shift: an axis's last before a barrier."""
        motion = self.motion
        found = set()
        before = 0
        for barrier in self.barriers:
            feed = np.flatnonzero(motion.at_feed[before : barrier.move])
            first = before + int(feed[-1]) + 1 if len(feed) else before
            rows = np.arange(first, barrier.move)
            rows = rows[self.free[rows] & (motion.role[rows] == Role.NONE)]
            for axis in range(3):
                travel = motion.end[rows, axis] - motion.start[rows, axis]
                moving = rows[np.abs(travel) > RESOLUTION]
                if len(moving):
                    found.add((int(moving[-1]), axis))
            before = barrier.move
        return found

    def _link(self, first: int, last: int) -> None:
        """Walk through moves in the air, and all that happens before row `last`."""
        for row in range(first, last):
            self._events(row)
            self._air(row)
        self._events(last)

    def _events(self, row: int) -> None:
        """Meet what happens before a row."""
        for barrier in self._barriers_at.get(row, ()):
            self._take_out(barrier)
        if row in self.forgets:
            for each in self.backlash:
                each.forget()

    def _take_out(self, barrier: Barrier) -> None:
        """Let the command go back to the intended place before an event."""
        row = barrier.move - 1
        if row < 0 or not any(self.side) or not self._shifted(row):
            self.side = [0.0, 0.0, 0.0]
            return
        if barrier.block <= self.motion.block_of(row):
            reason = f"the backlash cannot be let out {barrier.where}"
            raise Skip(f"{reason}: it shares its block with a move")
        if not self._aloft(row):
            self.plan.undone_at_feed.add(row)
        self.plan.undone.append(row)
        self._move(self.motion.end[row], row, NONE)

    def _aloft(self, row: int) -> bool:
        """Return whether the tool stands in the air at the end of a move."""
        if self.motion.kind[row] == Kind.RAPID:
            return True
        return not self.clearance.why_not_level(float(self.motion.end[row, 2]))[0]

    def _shifted(self, row: int) -> bool:
        place, origin = self.motion.end[row], self.motion.zero(row)
        off = self.shift.command(place, self.side, origin) - place
        return bool((np.abs(np.nan_to_num(off)) > DUST).any())

    def _move(self, place: Floats, row: int, sides: Sides) -> None:
        """Change the sides at a place; the screws travel by the difference."""
        origin = self.motion.zero(row)
        old = self.shift.command(place, self.side, origin)
        new = self.shift.command(place, sides, origin)
        for axis in range(3):
            if np.isfinite(place[axis]):
                self.backlash[axis].travel(float(new[axis] - old[axis]))
        self.side = list(sides)

    def _air(self, row: int) -> None:
        """Make a move in the air: an axis that travels has its new side at the end."""
        motion = self.motion
        travel = motion.travel(row)
        origin = self.motion.zero(row)
        old = self.shift.command(motion.start[row], self.side, origin)
        before = list(self.side)
        absolute = motion.state_of(row).distance == 90
        for axis in range(3):
            moves = not abs(travel[axis]) <= DUST
            if not self.free[row]:
                if absolute and (moves or self._names(row, axis)):
                    self.side[axis] = 0.0
            elif moves and axis in self.axes:
                zeroed = (row, axis) in self._zeroed
                self.side[axis] = 0.0 if zeroed else float(np.sign(travel[axis]))
        if motion.role[row] != Role.NONE:
            self._cycle_side(row)
        self.plan.sides[row] = (self.side[0], self.side[1], self.side[2])
        new = self.shift.command(motion.end[row], self.side, origin)
        for axis in range(3):
            self.backlash[axis].travel(float(new[axis] - old[axis]))
            vague = not self.clearance.known_before(row, axis) and not abs(travel[axis]) <= DUST
            # where only the yaw has moved it, it may have gone back into its backlash
            back = (
                self.side[axis] == before[axis] and (new[axis] - old[axis]) * before[axis] < -DUST
            )
            if vague or (back and self.shift.twists):
                self.backlash[axis].forget()

    def _names(self, row: int, axis: int) -> bool:
        return "XYZ"[axis] in letters_in(self.editable, self.motion.block_of(row))

    def _cycle_side(self, row: int) -> None:
        """Z of a canned cycle is shifted for the way down, R and the bottom alike.

        Back at the height where it began, it stands as it stood there.
        """
        motion = self.motion
        if not self.shift.has_backlash[2]:
            return
        if not row or motion.role[row - 1] == Role.NONE:
            self._level = (float(motion.start[row, 2]), self.side[2])
            if motion.end[row, 2] > motion.start[row, 2] + DUST:
                raise Skip(f"the cycle in {self.line(row)} starts below its R")
        if motion.role[row] == Role.POSITION:
            return
        if motion.role[row] == Role.OUT and motion.at_feed[row]:
            raise Skip(f"the cycle in {self.line(row)} feeds out of its hole, and Z has backlash")
        height, side = self._level
        back = motion.role[row] == Role.OUT and motion.state_of(row).retract == 98
        self.side[2] = side if back and abs(motion.end[row, 2] - height) <= DUST else -1.0

    def _cut(self, first: int, last: int) -> None:
        motion = self.motion
        for row in range(first, last):
            if not self.free[row]:
                reason = why_not_free(self.editable, row)
                raise Skip(f"{self.line(row)} cuts and cannot be changed: {reason}")
        run = FeedRun(motion, first, last, self.walls)
        plan = plan_run(run, self.courses, self.shift, self.allowed)
        if motion.role[first] != Role.NONE:
            plan = RunPlan((plan.need[0], plan.need[1], None), ())
            self._cycle_side(first)
        self._prepare(first, plan.need)
        start = (self.side[0], self.side[1], self.side[2])
        if motion.role[first] != Role.NONE:
            for row in range(first, last):
                self._cycle_side(row)
                self.plan.sides[row] = start
            return
        parts = list(
            PartsCutter(run, plan.windows, start, self.shift, allowed=self.allowed).parts()
        )
        if self.shift.twists:
            need_true_twist(motion, parts, self.shift, self.allowed)
        for part in parts:
            self.plan.parts.setdefault(part.row, []).append(part)
            self.side = list(part.after)
        self.plan.windows += plan.windows
        for axis, each in enumerate(self.backlash):
            each.settle(self.side[axis])

    def _prepare(self, row: int, need: tuple[int | None, int | None, int | None]) -> None:
        """Take the backlash up in the air where the way to a cut leaves it otherwise."""
        wanted: dict[int, float] = {}
        wants: dict[int, float] = {}
        unknown: list[int] = []
        for axis in range(3):
            if not self.shift.has_backlash[axis]:
                continue
            backlash = self.backlash[axis]
            want = float(need[axis] or self.side[axis] or self.shift.mill.axes[axis].approach)
            wants[axis] = want
            settled = backlash.taken_up(want) or need[axis] is None
            if self.side[axis] != want or not (backlash.known and settled):
                wanted[axis] = want
            if not backlash.known or self._is_beyond(row, axis, want):
                unknown.append(axis)
        if self.shift.twists and min(wanted, default=2) < 2:
            # the yaw of one axis moves the command of the other: both go beyond and come back
            wanted |= {axis: want for axis, want in wants.items() if axis < 2}
            unknown += [axis for axis in (0, 1) if axis in wants]
        for group in (
            [axis for axis in wanted if axis < 2],
            [axis for axis in wanted if axis == 2],
        ):
            if group:
                self._take(row, {axis: wanted[axis] for axis in group}, unknown)

    def _is_beyond(self, row: int, axis: int, want: float) -> bool:
        """Return whether the table stands ahead of its intended place, the way it is to arrive.

        So it does where a move that stays as it is has brought it there from the other side.
        """
        shift, place = self.shift, float(self.motion.start[row, axis])
        lead = self.side[axis] * shift.half(axis, place + float(self.motion.zero(row)[axis]))
        ahead = want * (lead + self.backlash[axis].low)
        return bool(ahead > shift.mill.axes[axis].uncertainty / 2.0 + RESOLUTION)

    def _take(self, row: int, wanted: dict[int, float], unknown: list[int]) -> None:
        """Put a take-up at the best place on the way to the cut that starts with `row`."""
        motion = self.motion
        level = 2 not in wanted
        # the yaw of one axis moves the other's command too: then both must have arrived
        axes = [0, 1] if level and self.shift.twists else list(wanted)
        after, block, arrives = self._best(row, axes)
        place = motion.start[after + 1] if arrives else motion.start[row]
        if not np.isfinite(place[list(wanted)]).all():
            raise Skip(f"the place of the tool is not known before the cut in {self.line(row)}")
        sides = list(self.plan.sides.get(after, NONE)) if arrives else list(self.side)
        for axis, want in wanted.items():
            sides[axis] = want
            self.side[axis] = want
            self.backlash[axis].settle(want)
        back = [self.shift.beyond(a) if a in unknown and a in wanted else 0.0 for a in range(3)]
        if any(back) and not self._arrives_sideways(after):
            reason, needs = self.clearance.why_not_level(float(place[2]))
            if reason:
                raise Skip(f"the backlash is not known before {self.line(row)}: {reason}", needs)
        left = (sides[0], sides[1], sides[2])
        beyond = (back[0], back[1], back[2])
        self.plan.takes.append(Take(after, block, place, row, left, beyond, tuple(wanted), arrives))
        if not arrives:
            return
        for later in range(after + 1, row):
            old = list(self.plan.sides[later])
            for axis, want in wanted.items():
                old[axis] = want
            self.plan.sides[later] = (old[0], old[1], old[2])

    def _arrives_sideways(self, row: int) -> bool:
        """Return whether a rapid of the program runs over the part to where it ends."""
        if row < 0 or self.motion.kind[row] != Kind.RAPID:
            return False
        travel = np.abs(self.motion.travel(row))
        return bool(travel[:2].max() > RESOLUTION and travel[2] <= RESOLUTION)

    def _clearest(self, rows: list[int], *, moved: bool) -> int:
        """Choose the move behind which the axes move best: high up, and shown to be clear.

        moved: the first of them is where the program itself arrives.
        """
        heights = np.nan_to_num(self.motion.end[rows, 2], nan=-np.inf)
        clear = [
            not self.clearance.why_not_level(float(height), row)[0]
            for height, row in zip(heights, rows, strict=True)
        ]
        if moved and not any(clear):
            return rows[0]
        order = np.lexsort((np.arange(len(rows)), heights, np.array(clear)))
        return rows[int(order[-1])]

    def _best(self, row: int, axes: list[int]) -> tuple[int, int, bool]:
        """Return the move behind which to take up, the block before which that is written.

        The third is False for a cycle whose own move arrives at the place.
        """
        motion, block = self.motion, self.motion.block
        first = row
        floor = max((one.move for one in self.barriers if one.move <= row), default=0)
        while first > floor and not motion.at_feed[first - 1]:
            first -= 1
        least, moved = first, False
        for at in range(first, row):
            travel = np.abs(motion.end[at, axes] - motion.start[at, axes])
            held = not self.free[at] and any(self._names(at, axis) for axis in axes)
            held |= bool(np.isnan(motion.start[at]).any())  # it must stay as it is
            if held or not (travel <= RESOLUTION).all():
                least, moved = at, True
        found = [at for at in range(least, row) if block[at] != block[at + 1]]
        found = [at for at in found if not self.editable.why_not_insert(int(block[at]) + 1)]
        if found:
            best = self._clearest(found, moved=moved) if 2 not in axes else found[-1]
            return best, int(block[best]) + 1, True
        if motion.role[row] != Role.NONE and 2 not in axes:
            return int(self.editable.first_row[block[row]]) - 1, int(block[row]), False
        here = int(block[row])
        aloft = first == row > 0 and self._aloft(row - 1)
        if aloft and block[row - 1] != here and not self.editable.why_not_insert(here):
            return row - 1, here, True
        raise Skip(
            f"no move in the air leads to the cut in {self.line(row)}, "
            "so the backlash cannot be taken up before it"
        )
