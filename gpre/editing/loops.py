"""Small loops in the air that bring the tool to a place from one side.

Each way writes the new blocks for one place, or says why it cannot. The original blocks stay as
they are wherever that is possible; a loop runs at the height at which the tool is anyway.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, hypot

import numpy as np

from gpre.editing.context import Context
from gpre.editing.cycle_words import RESTATED, CycleWords, restated
from gpre.editing.editable import Editable
from gpre.editing.modes import CYCLE_CODES, MOTION_CODES, Modes
from gpre.editing.skip import Skip, skip_if
from gpre.editing.word_edits import HOMES, MACHINE, exact, find_word, g_codes, letters_in, renumber
from gpre.editing.writer import SAME, WITHIN, BlockWriter, gap_at
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Kind
from gpre.room.clearance import Clearance, level_of
from gpre.source.decimals import UnwritableError
from gpre.source.edit import Edit

Sides = Mapping[int, int]  # axis (0 X, 1 Y) to +1 or -1


@dataclass(frozen=True, slots=True)
class Loop:
    """The edits of one loop.

    longer: the air travel that it adds, mm. turns: reversals of Z that leave the cut for the air.
    """

    edits: tuple[Edit, ...]
    block: int
    longer: float
    turns: int = 0


@dataclass
class Looper:
    """Makes loops for one program; raises Skip where one cannot be made in a way."""

    context: Context

    @property
    def editable(self) -> Editable:
        """The program."""
        return self.context.editable

    @property
    def clearance(self) -> Clearance:
        """Where it is clear."""
        return self.context.clearance

    def overshoot(self, axis: int, modes: Modes) -> float:
        """Return how far a loop goes beyond, mm: a round number of the program's units."""
        units = self.context.mill.overshoot(axis) / modes.scale
        return ceil(round(units * 100.0, 6)) / 100.0 * modes.scale

    def before_rapid(self, row: int, sides: Sides) -> Loop:
        """Put one block before a level rapid: it goes beyond, the rapid then comes back.

        An axis that the rapid's block does not name comes back in a block of its own.
        """
        block = self._own_block(row)
        motion = self.editable.motion
        modes = self._absolute_modes(block, row)
        height = level_of(motion, row)
        if np.isnan(height):
            raise Skip("the rapid that leads there climbs or dives as it goes")
        self._need_clear(row, height)  # behind a tool change the height is the rapid's own
        goal = motion.end[row]
        named = letters_in(self.editable, block)
        unnamed = [axis for axis in sides if "XY"[axis] not in named]
        self._need_known(row, unnamed)
        writer = self.editable.writer(block, comments=self.context.comments)
        beyond = self._beyond(row, goal, sides, modes)
        moved = [] if len(unnamed) == len(sides) else self._moved(row)
        self._send(writer, [*sides, *moved], beyond, comment(sides))
        self._send(writer, unnamed, goal)
        edit = self.editable.insertion(block, writer)
        return Loop((edit,), block, self._longer(row, beyond, goal))

    def before_dive(self, row: int, sides: Sides) -> Loop:
        """Go beyond and over the place at the height where a slanting rapid starts.

        The rapid then only dives, straight down to where it ended before.
        """
        block = self._own_block(row)
        motion = self.editable.motion
        modes = self._absolute_modes(block, row)
        if not motion.end[row, 2] < motion.start[row, 2] - RESOLUTION:
            raise Skip("the rapid that leads there climbs as it goes")
        self._need_level(row, float(motion.start[row, 2]))
        goal = motion.end[row]
        named = letters_in(self.editable, block)
        self._need_known(row, [axis for axis in sides if "XY"[axis] not in named])
        writer = self.editable.writer(block, comments=self.context.comments)
        beyond = self._beyond(row, goal, sides, modes)
        self._send(writer, [*sides, *self._moved(row)], beyond, comment(sides))
        self._send(writer, sides, self._this_side_of(writer, goal, sides))
        edit = self.editable.insertion(block, writer)
        level, diving = motion.start[row], motion.end[row]
        before = float(np.linalg.norm(diving - level))
        after = hypot(*(beyond - level[:2])) + hypot(*(goal[:2] - beyond))
        return Loop((edit,), block, after + float(level[2] - diving[2]) - before)

    def split_increment(self, row: int, sides: Sides) -> Loop:
        """Split an incremental rapid in two whose sum is exactly the old increment."""
        block = self._own_block(row)
        motion = self.editable.motion
        if motion.state_of(row).distance != 91:
            raise Skip("the block is not incremental")
        skip_if(self.editable.why_not_touch(block))
        if EventKind.CALL in self.editable.events_in(block):
            raise Skip("the block that leads there calls a subprogram, or ends one")
        height = level_of(motion, row)
        if np.isnan(height):
            raise Skip("the rapid that leads there climbs or dives as it goes")
        self._need_level(row, height)
        goal, modes = motion.end[row], self.editable.modes.after(block)
        beyond = self._beyond(row, goal, sides, modes)
        edits = []
        for axis, side in sides.items():
            word = find_word(self.editable, block, "XY"[axis])
            if word is None:
                raise Skip(f"the block does not name {'XY'[axis]}")
            step = Decimal(f"{self.overshoot(axis, modes) / modes.scale:.2f}")
            edits.append(renumber(self.editable, word, exact(self.editable, word) - side * step))
        here = (float(beyond[0]), float(beyond[1]), float(goal[2]))
        writer = BlockWriter(self.editable.manner, modes, here, comments=self.context.comments)
        writer.rapid((float(goal[0]), float(goal[1]), None), comment(sides))
        at = self.editable.program.source.block_end(block)
        text = writer.text(gap_at(self.editable.program, block + 1))
        return Loop((*edits, Edit(at, at, text)), block, self._longer(row, beyond, goal))

    def there_and_back(self, row: int, sides: Sides) -> Loop:
        """Put two blocks before the block of a move, over its place: beyond, and back."""
        editable, motion = self.editable, self.editable.motion
        block = motion.block_of(row)
        skip_if(editable.why_not_before(row, "no block ends where the tool is over the place"))
        self._need_level(row, float(motion.start[row, 2]))
        self._need_known(row, list(sides))
        modes = editable.modes.before(block)
        place = editable.position_before(block)
        if not np.allclose(place, motion.start[row], rtol=0.0, atol=SAME):
            raise Skip("an offset changes where the tool is over the place")
        beyond = self._beyond(row, place, sides, modes)
        writer = editable.writer(block, comments=self.context.comments)
        self._send(writer, sides, beyond, comment(sides))
        self._send(writer, sides, place)
        self._hand_back(writer, block, modes)
        return Loop((editable.insertion(block, writer),), block, 2.0 * hypot(*(beyond - place[:2])))

    def before_cycle(self, row: int, sides: Sides) -> Loop:
        """Put a block before a block of a canned cycle, and state the cycle again behind it."""
        editable, motion = self.editable, self.editable.motion
        block = motion.block_of(row)
        first = int(editable.first_row[block])
        cycle = self._cycle(block)
        modes = self._absolute_modes(block, first)
        self._events_beside(block, first)
        position = editable.position_before(block)
        retract, goal = float(motion.start[row, 2]), motion.start[row]
        height = max(retract, cycle.initial)
        self._need_level(first, height)
        named = letters_in(editable, block)
        unnamed = [axis for axis in sides if "XY"[axis] not in named]
        self._need_known(first, unnamed)
        writer = editable.writer(block, comments=self.context.comments)
        lift = height - float(position[2])
        if lift > RESOLUTION:
            writer.rapid((None, None, height))
        beyond = self._beyond(first, goal, sides, modes)
        moved = [axis for axis in (0, 1) if abs(goal[axis] - position[axis]) > SAME]
        self._send(writer, [*sides, *moved], beyond, comment(sides))
        self._send(writer, unnamed, goal)
        edits = self._state_again(block, cycle, modes, writer)
        longer = hypot(*(beyond - position[:2])) + hypot(*(goal[:2] - beyond))
        longer += 2.0 * max(lift, 0.0) - hypot(*(goal[:2] - position[:2]))
        return Loop(
            edits, block, float(longer), int(lift > RESOLUTION and height > retract + RESOLUTION)
        )

    def _cycle(self, block: int) -> CycleWords:
        editable = self.editable
        skip_if(editable.why_not_touch(block))
        cycle = self.context.cycles.get(block)
        if cycle is None or not cycle.plain or cycle.code not in RESTATED:
            raise Skip("the cycle cannot be stated again there")
        row = int(editable.first_row[block])
        if editable.motion.state_of(row).distance == 91:
            raise Skip("the cycle counts from where the tool stands (G91)")
        if int(editable.motion.plane[row]) != 17:
            raise Skip("the cycle does not drill along Z")
        if not np.isfinite(cycle.initial):
            raise Skip("the height from which the cycle started is not known")
        return cycle

    def _state_again(
        self, block: int, cycle: CycleWords, modes: Modes, writer: BlockWriter
    ) -> tuple[Edit, ...]:
        """Join the loop with what the cycle's block needs behind it."""
        editable = self.editable
        loop = editable.insertion(block, writer)
        if modes.motion not in CYCLE_CODES:
            return (loop,)
        head, tail = restated(editable, block, cycle)
        first = int(editable.program.words.start[editable.program.blocks.first_word[block]])
        if not head:
            return (loop, *tail)
        if first == loop.start:
            return (Edit(first, first, loop.replacement + head), *tail)
        return (loop, Edit(first, first, head), *tail)

    def _own_block(self, row: int) -> int:
        """Return the block of a rapid that can have blocks put before it."""
        editable, motion = self.editable, self.editable.motion
        block = motion.block_of(row)
        skip_if(editable.why_not_insert(block))
        if int(editable.row_count[block]) != 1 or motion.kind[row] != Kind.RAPID:
            raise Skip("the block that leads there makes more than one move")
        if {MACHINE, *HOMES} & set(g_codes(editable, block)):
            raise Skip("the block that leads there is stated in machine coordinates")
        self._events_beside(block, row)
        return block

    def _events_beside(self, block: int, row: int) -> None:
        for event in self.editable.events_before(row):
            if event.block == block and event.kind not in kinds(Effect.OTHER_PLACE):
                raise Skip(f"the block that leads there does more than move: {event.kind.value}")

    def _absolute_modes(self, block: int, row: int) -> Modes:
        if self.editable.motion.state_of(row).distance != 90:
            raise Skip("the block is incremental")
        return self.editable.modes.before(block)

    def _need_level(self, row: int, height: float) -> None:
        if not self.clearance.known_before(row, 2):
            raise Skip("the height of the tool there is not known")
        self._need_clear(row, height)

    def _need_clear(self, row: int, height: float) -> None:
        reason, needs = self.clearance.why_not_level(height, row)
        if reason and not self.clearance.known_before(row, 2):
            raise Skip("the height of the tool there is not known")
        skip_if(reason, needs)

    def _need_known(self, row: int, axes: list[int]) -> None:
        for axis in axes:
            if not self.clearance.known_before(row, axis):
                raise Skip(f"the program has not said where {'XY'[axis]} stands there")

    def _beyond(self, row: int, goal: Floats, sides: Sides, modes: Modes) -> Floats:
        """(2,) mm: the place beyond the goal, on the axes that need it."""
        beyond: Floats = goal[:2].copy()
        for axis, side in sides.items():
            beyond[axis] -= side * self.overshoot(axis, modes)
            skip_if(self.clearance.why_not_there(row, axis, float(beyond[axis])))
        return beyond

    def _moved(self, row: int) -> list[int]:
        motion = self.editable.motion
        travel = np.abs(motion.end[row, :2] - motion.start[row, :2])
        return [axis for axis in (0, 1) if not travel[axis] <= SAME]

    def _send(
        self, writer: BlockWriter, axes: Container[int], place: Floats, text: str = ""
    ) -> None:
        """Go at rapid, along some axes, to where a place has them."""
        point = [float(place[axis]) if axis in axes else None for axis in range(3)]
        writer.rapid(point, text)

    def _this_side_of(self, writer: BlockWriter, goal: Floats, sides: Sides) -> Floats:
        """(2,) mm: the goal, or a little before it where, rounded, it would be overrun."""
        place: Floats = goal[:2].copy()
        for axis, side in sides.items():
            over = (writer.rounded(axis, float(goal[axis])) - float(goal[axis])) * side
            if over > self.context.mill.axes[axis].resolution:
                place[axis] -= side * WITHIN
        return place

    def _hand_back(self, writer: BlockWriter, block: int, wanted: Modes) -> None:
        """Let the block find its motion code in force, unless it states one."""
        if any(code in MOTION_CODES for code in g_codes(self.editable, block)):
            return
        if wanted.motion in CYCLE_CODES:
            raise Skip("a canned cycle is in force there")
        try:
            writer.restore(wanted)
        except UnwritableError as error:
            raise Skip(str(error)) from error

    def _longer(self, row: int, beyond: Floats, goal: Floats) -> float:
        start = self.editable.motion.start[row, :2]
        if not np.isfinite(start).all():
            start = goal[:2]
        there, straight = hypot(*(beyond - start)), hypot(*(goal[:2] - start))
        return float(there + hypot(*(goal[:2] - beyond)) - straight)


def comment(sides: Sides) -> str:
    """Say in a few characters what a loop is for."""
    ways = " ".join(f"{'XY'[axis]}{'+' if side > 0 else '-'}" for axis, side in sides.items())
    return f"approach {ways}"
