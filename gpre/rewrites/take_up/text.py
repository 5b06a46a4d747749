"""Writes a program whose coordinates carry the take-ups, block by block.

A block that makes one straight move keeps its bytes but for its numbers. A block that must become
several, or that makes an arc, is written anew: its block number, its other words and its comments
stay, further moves follow in blocks of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from math import isnan

import numpy as np
from numpy.typing import NDArray

from gpre.editing.editable import Editable
from gpre.editing.modes import MOTION_CODES, Modes
from gpre.editing.skip import Skip
from gpre.editing.word_edits import g_codes, letters_in
from gpre.editing.writer import BlockWriter
from gpre.geometry.arc import Floats
from gpre.motion.motion import Role
from gpre.rewrites.take_up.blocks import Anew, fine_manner, renumbered, reworded
from gpre.rewrites.take_up.lines import NewLines
from gpre.rewrites.take_up.moves import Move, moves_of
from gpre.rewrites.take_up.plan import NONE, Take, TakeUpPlan
from gpre.rewrites.take_up.shift import Shift

AXES = "XYZ"


class TakeUpWriter:
    """Writes one program. Raises Skip, or UnwritableError, where a block cannot be written.

    here: (3,) mm, where the command stands, as the controller counts it. mode, feed: the motion
    code (times ten) and the feed (mm/min) that the new text has in force.
    """

    def __init__(
        self,
        editable: Editable,
        shift: Shift,
        plan: TakeUpPlan,
        free: NDArray[np.bool_],
        *,
        comments: bool,
    ) -> None:
        """Start before the first block."""
        self.editable, self.shift, self.plan, self.free = editable, shift, plan, free
        self.motion = editable.motion
        self.manner = fine_manner(editable)
        self.comments = comments
        self.lines = NewLines(editable)
        self.here: Floats = np.full(3, np.nan)
        self.mode, self.feed = 10, float("nan")
        self._depths: dict[str, float] = {}  # R and Z of the cycle in force, as written
        self._initial = self._retract = float("nan")  # mm, the levels of its rapids
        self._next = 0  # the first block not followed yet
        self._states = _stating(editable)
        self._takes: dict[int, list[Take]] = {}
        for take in plan.takes:
            self._takes.setdefault(take.row, []).append(take)
        self._undone = set(plan.undone)

    def write(self) -> NewLines:
        """Write all blocks that change."""
        motion = self.motion
        if len(motion):
            self.here = motion.start[0].copy()
        for block, group in groupby(range(len(motion)), key=motion.block_of):
            rows = list(group)
            self._arrive(rows[0])
            self._follow(block)
            self._block(block, rows)
            self._next = block + 1
            if rows[-1] in self._undone:
                self._undo(block, rows[-1])
        return self.lines

    def _arrive(self, row: int) -> None:
        """Count the place anew where an offset changed, and take up what is due before a row."""
        motion = self.motion
        if row:
            jump = motion.start[row] - motion.end[row - 1]
            self.here = np.where(np.isnan(motion.start[row]), np.nan, self.here + jump)
        for take in self._takes.get(row - 1, ()):
            self._follow(take.block)
            self._take(take)

    def _follow(self, block: int) -> None:
        """Pass the blocks up to one, which may state a motion code or a feed."""
        if block <= self._next:
            return
        modes = self.editable.modes.before(block)
        passed = slice(self._next, block)
        if self._states[0][passed].any():
            self.mode = modes.motion
        if self._states[1][passed].any():
            self.feed = modes.feed
        self._next = block

    def _writer(self, modes: Modes) -> BlockWriter:
        modes = replace(modes, motion=self.mode, feed=self.feed)
        return BlockWriter(self.manner, modes, self.here.tolist(), comments=self.comments)

    def _done(self, writer: BlockWriter) -> None:
        self.here = np.array(writer.position)
        self.mode, self.feed = writer.modes.motion, writer.modes.feed

    def _take(self, take: Take) -> None:
        """Write a take-up in the air."""
        writer = self._writer(self.editable.modes.before(take.block))
        origin = self.motion.zero(take.at)
        goal = self.shift.command(take.place, take.sides, origin)
        axes = (2,) if 2 in take.axes else (0, 1)
        if any(take.beyond):
            # from where it goes to, not from the other side's command: the yaw may part the two
            back = goal.copy()
            for axis, more in enumerate(take.beyond):
                if more:
                    backlash = 2.0 * self.shift.half(axis, float(goal[axis] + origin[axis]))
                    back[axis] -= take.sides[axis] * (backlash + more)
            writer.rapid(
                [float(back[a]) if a in axes else None for a in range(3)], "take up backlash"
            )
        if take.arrives:
            comment = "" if any(take.beyond) else "take up backlash"
            writer.rapid([float(goal[a]) if a in axes else None for a in range(3)], comment)
        self.lines.add(take.block, writer.text())
        self._done(writer)

    def _undo(self, block: int, row: int) -> None:
        """Write the way back to the intended place, before something that needs it."""
        writer = self._writer(self.editable.modes.after(block))
        place = self.motion.end[row]
        goal = [None if isnan(at) else at for at in place.tolist()]
        if row in self.plan.undone_at_feed:  # the table rests: the screw stays within the backlash
            writer.line(goal, self.shift.mill.limits.max_take_up_feed, "take-up undone")
        else:
            writer.rapid(goal, "take-up undone")
        self.lines.add(block + 1, writer.text())
        self._done(writer)

    def _block(self, block: int, rows: list[int]) -> None:
        """Write one block that moves."""
        motion, row = self.motion, rows[0]
        if not all(self.free[each] for each in rows):
            self._keep(block, rows)
        elif motion.role[row] != Role.NONE:
            self._cycle(block, rows)
        else:
            parts = self.plan.parts.get(row, [])
            moves = moves_of(motion, row, parts, self.plan.sides.get(row, NONE), self.shift)
            if len(moves) == 1 and moves[0].straight and self._fits(block, moves[0]):
                self._number(block, moves[0].end.tolist())
            else:
                self._anew(block, moves)
                return
        modes = self.editable.modes.after(block)
        if self._states[0][block]:
            self.mode = modes.motion
        if self._states[1][block]:
            self.feed = modes.feed

    def _fits(self, block: int, move: Move) -> bool:
        """Return whether a block, as it stands, makes a move of this kind at this feed."""
        stated, own_feed = bool(self._states[0][block]), bool(self._states[1][block])
        modes = self.editable.modes.after(block)
        code = modes.motion if stated else self.mode
        if code != (0 if move.rapid else 10):
            return False
        return move.rapid or (modes.feed if own_feed else self.feed) == move.feed

    def _number(self, block: int, goal: Sequence[float | None]) -> None:
        """Change the numbers of a block."""
        body, self.here = renumbered(self.editable, self.manner, block, self.here, goal)
        self.lines.body[block] = body

    def _anew(self, block: int, moves: list[Move]) -> None:
        """Write a block anew, with what follows from it in blocks behind."""
        anew = Anew(self.editable, self.manner, block)
        writer = self._writer(self.editable.modes.after(block))
        rest = list(moves)
        comment = ""
        while rest and not len(writer):
            move = rest.pop(0)
            move.write(writer, comment=False)
            comment = move.comment
        self.lines.body[block] = anew.text(writer, comment if len(writer) else "")
        self._done(writer)
        if not rest:
            return
        writer = self._writer(writer.modes)
        for move in rest:
            move.write(writer)
        if len(writer):
            anew.need_one()
        self.lines.add(block + 1, writer.text())
        self._done(writer)

    def _keep(self, block: int, rows: list[int]) -> None:
        """Leave a block as it is, and see to it that it finds what it needs in force."""
        motion, modes = self.motion, self.editable.modes.before(block)
        code = self._states[0][block] or self.mode == modes.motion
        at_feed = bool(motion.at_feed[rows].any())
        feed = not at_feed or self._states[1][block] or self.feed == modes.feed
        if not (code and feed):
            writer = self._writer(modes)
            writer.restore(replace(modes, feed=modes.feed if at_feed else self.feed))
            self.lines.add(block, writer.text())
            self._done(writer)
        letters = letters_in(self.editable, block)
        for row in rows:
            relative = motion.state_of(row).distance == 91
            travel = motion.travel(row)
            for axis in range(3):
                if relative and np.isfinite(travel[axis]):
                    self.here[axis] += travel[axis]
                elif not abs(travel[axis]) <= 0.0 or AXES[axis] in letters:
                    self.here[axis] = motion.end[row, axis]

    def _cycle(self, block: int, rows: list[int]) -> None:
        """Change the place of a hole, and its depths where Z carries a shift."""
        motion, modes = self.motion, self.editable.modes.after(block)
        if not self._states[0][block] and self.mode != modes.motion:
            raise Skip(f"a move would come between the holes of the cycle in line {block + 1}")
        feeds = [row for row in rows if motion.role[row] == Role.FEED]
        if not feeds:
            raise Skip(f"the cycle in line {block + 1} makes no hole")
        if self.mode != modes.motion:
            self._depths, self._initial = {}, float(self.here[2])
        origin, sides = self.motion.zero(feeds[0]), self.plan.sides[feeds[0]]
        over = self.shift.command(motion.start[feeds[0]], sides, origin)
        bottom = self.shift.command(motion.end[feeds[-1]], sides, origin)
        start = self.here
        self._number(block, [float(over[0]), float(over[1]), None])
        if not self.shift.has_backlash[2]:
            self.here[2] = motion.end[rows[-1], 2]
            return
        depths = self._deep(block, float(start[2]), (float(over[2]), float(bottom[2])))
        body = reworded(self.editable, self.manner, block, depths | self._places(block, start))
        self.lines.body[block] = body
        high = (
            self.plan.sides[rows[-1]][2] != -1.0
            or motion.end[rows[-1], 2] != motion.start[feeds[0], 2]
        )
        self.here[2] = self._initial if high else self._retract

    def _places(self, block: int, start: Floats) -> dict[str, float]:
        """Return the numbers of X and Y that lead from a place to where the command is to stand."""
        modes = self.editable.modes.after(block)
        letters = letters_in(self.editable, block)
        result = {}
        for axis in range(2):
            base = float(start[axis]) if modes.distance == 91 else 0.0
            if AXES[axis] in letters or self.here[axis] != start[axis]:
                result[AXES[axis]] = (float(self.here[axis]) - base) / modes.scale
        return result

    def _deep(self, block: int, level: float, depth: tuple[float, float]) -> dict[str, float]:
        """Return the numbers of R and Z that a cycle's block must state; mm become units."""
        modes = self.editable.modes.after(block)
        relative = modes.distance == 91
        style, scale = self.manner.length, modes.scale
        base = level if relative else 0.0
        retract = style.rounded((depth[0] - base) / scale)
        self._retract = base + retract * scale
        bottom = style.rounded((depth[1] - (self._retract if relative else 0.0)) / scale)
        letters = letters_in(self.editable, block)
        result = {
            letter: value
            for letter, value in (("R", retract), ("Z", bottom))
            if letter in letters or self._depths.get(letter) != value
        }
        self._depths |= result
        return result


def _stating(editable: Editable) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(m,) bool each: the blocks that state a motion code, and those that state a feed."""
    words, count = editable.program.words, len(editable.program)
    codes, feeds = np.zeros(count, bool), np.zeros(count, bool)
    is_code = (words.letter == ord("G")) & np.isin(np.rint(words.value * 10.0), MOTION_CODES)
    codes[words.block[is_code]] = True
    feeds[words.block[words.letter == ord("F")]] = True
    for block in editable.program.statements:
        codes[block] = any(code in MOTION_CODES for code in g_codes(editable, block))
        feeds[block] = "F" in letters_in(editable, block)
    return codes, feeds
