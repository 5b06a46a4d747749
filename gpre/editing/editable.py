"""Which blocks of a program may be edited, and what is in force there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import is_error
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.editing.called_once import Subprograms, only_stops, subprograms
from gpre.editing.code_style import CodeStyle, manner_of
from gpre.editing.modes import Modes, ModeScan, scan_modes
from gpre.editing.writer import BlockWriter, Gap, gap_at
from gpre.motion.events import Effect, Event, EventKind, kinds
from gpre.motion.motion import Motion
from gpre.motion.order import RunOrder
from gpre.program.program import Program
from gpre.program.words import BlockFlag
from gpre.source.edit import Edit

CROSSED, MOVES_ZERO = kinds(Effect.CROSSED), kinds(Effect.MOVES_ZERO)
CLOSED = (  # blocks that no edit touches
    BlockFlag.STATEMENT
    | BlockFlag.OUTSIDE
    | BlockFlag.UNREADABLE
    | BlockFlag.FLOW
    | BlockFlag.LATHE
    | BlockFlag.DELETE
    | BlockFlag.PERCENT
    | BlockFlag.PROGRAM_NUMBER
)


@dataclass(frozen=True)
class Editable:
    """A program with its motion, as an edit sees it. Blocks and rows count from 0.

    whole: why the whole program is left alone, or "". closed_from: the first step (see RunOrder)
    of those that depend on something not understood; `closed_why` says on what.
    """

    program: Program
    motion: Motion
    manner: CodeStyle
    modes: ModeScan
    called: Subprograms
    whole: str
    closed_from: int
    closed_why: str

    @cached_property
    def first_row(self) -> NDArray[np.int64]:
        """(m,): the first row of Motion that each block makes, -1 where it makes none."""
        rows = np.full(len(self.program), -1, np.int64)
        blocks, at = np.unique(self.motion.block, return_index=True)
        rows[blocks] = at
        return rows

    @cached_property
    def row_count(self) -> NDArray[np.int64]:
        """(m,): how many moves each block makes."""
        return np.bincount(self.motion.block, minlength=len(self.program)).astype(np.int64)

    @property
    def order(self) -> RunOrder:
        """The order in which the blocks run."""
        return self.modes.order

    @cached_property
    def _repeated(self) -> NDArray[np.bool_]:
        """(m,): blocks that run more than once."""
        return self.order.runs > 1

    def why_not_cut_anew(self, row: int) -> str:
        """Say why what is cut at a move cannot be cut in any other way, or ""."""
        if self.whole:
            return self.whole
        state = self.motion.state_of(row)
        if state.compensation != 40:
            return "cutter radius compensation is on"
        return "" if state.feed_mode == 94 else "the feed is not stated as a length per minute"

    def why_called(self, block: int) -> str:
        """Say why a block is left alone as part of a subprogram, or ""."""
        return self.called.why_not(int(self.order.first[block]))

    @cached_property
    def _event_blocks(self) -> dict[int, list[EventKind]]:
        found: dict[int, list[EventKind]] = {}
        for event in self.motion.events:
            found.setdefault(event.block, []).append(event.kind)
        return found

    def events_in(self, block: int) -> list[EventKind]:
        """Return what a block does besides moving."""
        return self._event_blocks.get(block, [])

    def span(self, first: int, last: int) -> tuple[int, int]:
        """Return the byte range of whole blocks, line ends included; `last` is the last block."""
        return int(self.program.source.starts[first]), self.program.source.block_end(last)

    def why_not_insert(self, block: int) -> str:
        """Say why no block can be put before this one, or ""."""
        if self.whole:
            return self.whole
        if block >= len(self.program):
            return "no move follows"
        row = self._row_at_or_after(block)
        if self._repeated[block] or (row is not None and self._repeated[self.motion.block[row]]):
            return "the block runs more than once"
        return (
            self.why_called(block) or self._why_closed(block) or self._why_not_between(block, row)
        )

    def why_not_before(self, row: int, nowhere: str = "no block begins there") -> str:
        """Say why no block can be put right before a move, or ""; `nowhere`: its block moves more.

        The moves of that block before it would otherwise come between.
        """
        block = self.motion.block_of(row)
        return self.why_not_insert(block) or ("" if self.first_row[block] == row else nowhere)

    def _why_closed(self, block: int) -> str:
        if self.order.first[block] >= self.closed_from:
            return self.closed_why
        flags = int(self.program.blocks.flags[block])
        if flags & (BlockFlag.OUTSIDE | BlockFlag.FLOW | BlockFlag.UNREADABLE):
            return "the program cannot be followed there"
        if flags & BlockFlag.PROGRAM_NUMBER and not self.order.follows(block):
            return "a subprogram begins there"
        return ""

    def _why_not_between(self, block: int, row: int | None) -> str:
        return self._why_not_last(block) if row is None else self._why_not_modes(block, row)

    def _why_not_modes(self, block: int, row: int) -> str:
        if self.motion.state_of(row).compensation != 40:
            return "cutter radius compensation is on"
        if self.modes.before(block).feed_mode == 93:
            return "the feed is stated as inverse time"
        if self._shared_call_before(row):
            return "a subprogram comes back there, with modes of its own"
        if not self.modes.agrees(row) or (row and not self.modes.agrees(row - 1)):
            return "the modes in force there are not sure"
        return ""

    def _why_not_last(self, block: int) -> str:
        """Say why no block can be put in where no move follows, or "": at a return it can."""
        count = len(self.motion)
        if not count or not self.called.called[self.order.first[block]]:
            return "no move follows"
        if any(event.kind is EventKind.COMPENSATION for event in self.events_before(count)):
            return "cutter radius compensation is on"
        if self._shared_call_before(count):
            return "a subprogram comes back there, with modes of its own"
        if any(event.kind in MOVES_ZERO for event in self.events_before(count)):
            return "no move follows"
        return self._why_not_modes(block, count - 1)

    def _shared_call_before(self, row: int) -> bool:
        """Return whether a subprogram that may run again is called or comes back before a move."""
        at = self._event_at(row)
        for event, step in zip(
            self.events_before(row), self._event_steps[at:].tolist(), strict=False
        ):
            inner = step + 1 if event.value.startswith("M98") else step
            if event.kind is EventKind.CALL and self.called.why_not(inner):
                return True
        return False

    def why_not_replace(self, first: int, last: int) -> str:
        """Say why the blocks `first` to `last` cannot be written anew or dropped, or ""."""
        reason = self.why_not_insert(first)
        if reason:
            return reason
        if not self.order.in_line(first, last):
            return "a subprogram begins or ends within"
        if self.order.first[last] >= self.closed_from:
            return self.closed_why
        flags = self.program.blocks.flags[first : last + 1]
        if (flags & CLOSED).any():
            return "a block there is not made of plain words, or can be switched off"
        if (flags & BlockFlag.COMMENT).any():
            return "a comment would be lost"
        for block in range(first, last + 1):
            if self.events_in(block):
                kind = self.events_in(block)[0].value
                return f"a block there does more than move: {kind}"
        return ""

    def why_not_touch(self, block: int) -> str:
        """Say why a number within this block cannot be changed, or ""; comments stay, so may be."""
        reason = self.why_not_insert(block)
        if reason:
            return reason
        if int(self.program.blocks.flags[block]) & CLOSED:
            return "the block is not made of plain words, or can be switched off"
        return ""

    @cached_property
    def touchable(self) -> NDArray[np.bool_]:
        """(n,) bool: the moves whose block `why_not_touch` has nothing against."""
        motion, flags = self.motion, self.program.blocks.flags
        if self.whole:
            return np.zeros(len(motion), bool)
        usable = ((flags & CLOSED) == 0) & ~self._repeated
        usable &= (self.order.first < self.closed_from) & (self.called.reason == 0)[
            self.order.first
        ]
        plain = np.array([each.compensation == 40 for each in motion.states], bool)
        timed = self.modes.values["feed_mode"][self.order.of_row] == 93
        result: NDArray[np.bool_] = (
            usable[motion.block] & plain[motion.state] & ~timed
        ) & self.modes.agreeing
        return result

    def barrier_between(self, first_row: int, last_row: int) -> str:
        """Name what lies between two moves that no edit may cross, or "".

        Events before move `first_row` do not count, those before `last_row` do.
        """
        for event in self.motion.events[self._event_at(first_row + 1) :]:
            if event.move > last_row:
                break
            if event.kind not in CROSSED:
                return event.kind.value
        return ""

    def events_before(self, row: int) -> list[Event]:
        """Return the events between the move before `row` and that move."""
        found = []
        for event in self.motion.events[self._event_at(row) :]:
            if event.move > row:
                break
            found.append(event)
        return found

    def _event_at(self, move: int) -> int:
        return int(np.searchsorted(self._event_moves, move))

    @cached_property
    def _event_moves(self) -> NDArray[np.int64]:
        return np.array([event.move for event in self.motion.events], np.int64)

    @cached_property
    def _event_steps(self) -> NDArray[np.int64]:
        return self.order.of_events(self.motion.events)

    def _row_at_or_after(self, block: int) -> int | None:
        row = int(self.order.row_at[self.order.first[block]])
        return row if row < len(self.motion) else None

    def modes_before(self, block: int) -> Modes:
        """Return the modes in force when a block starts."""
        return self.modes.before(block)

    def position_before(self, block: int) -> NDArray[np.float64]:
        """(3,) mm: where the tool stands when a block starts; NaN where that is not known."""
        row = self._row_at_or_after(block)
        count = len(self.motion)
        if row is None:
            return self.motion.end[-1].copy() if count else np.full(3, np.nan)
        here: NDArray[np.float64] = self.motion.start[row]
        steps = self._event_steps[self._event_at(row) :].tolist()
        for event, step in zip(self.events_before(row), steps, strict=False):
            if event.kind in MOVES_ZERO and step >= self.order.first[block]:
                here = self.motion.end[row - 1] if row else np.full(3, np.nan)
        return here.copy()

    def writer(self, block: int, *, comments: bool) -> BlockWriter:
        """Start a writer for blocks that go before `block`."""
        return BlockWriter(
            self.manner,
            self.modes_before(block),
            self.position_before(block).tolist(),
            comments=comments,
        )

    def insertion(self, block: int, writer: BlockWriter) -> Edit:
        """Put what a writer holds before `block`."""
        at = int(self.program.source.starts[block])
        return Edit(at, at, writer.text(gap_at(self.program, block)))

    def replacement(self, first: int, last: int, writer: BlockWriter) -> Edit:
        """Put what a writer holds in the place of the blocks `first` to `last`."""
        start, end = self.span(first, last)
        before, after = gap_at(self.program, first).before, gap_at(self.program, last + 1).after
        text = writer.text(Gap(before, after))
        if end == len(self.program.source.data) and not self._ends_with_newline():
            text = text.removesuffix(self.manner.newline)
        return Edit(start, end, text)

    def dropped(self, block: int) -> Edit:
        """Take a block out."""
        return Edit(*self.span(block, block), b"")

    def _ends_with_newline(self) -> bool:
        return self.program.source.data.endswith((b"\n", b"\r"))


def editable_of(program: Program, motion: Motion) -> Editable:
    """Look at a program once, for all questions of a rewrite."""
    modes = scan_modes(program, motion)
    closed_from, closed_why = _closed(program, motion, modes.order)
    return Editable(
        program,
        motion,
        manner_of(program, motion),
        modes,
        subprograms(program, motion, modes.order),
        why_left_alone(program, motion),
        closed_from,
        closed_why,
    )


def why_left_alone(program: Program, motion: Motion) -> str:
    """Say why the whole program is left alone, or ""."""
    flags = program.blocks.flags
    for flag, reason in (
        (BlockFlag.FLOW, "jumps, conditions or macro calls steer the program (line {line})"),
        (BlockFlag.LATHE, "it holds codes of a lathe (line {line})"),
    ):
        found = np.flatnonzero(flags & flag)
        if len(found):
            return reason.format(line=int(found[0]) + 1)
    for finding in (*program.findings, *motion.findings):
        if is_error(finding):
            return f"it has an error{_where(program, finding)}: {finding.message}"
    if len(motion.rotary) and (motion.rotary[:, :3] != motion.rotary[:, 3:]).any():
        return "it turns a rotary axis"
    return ""


def _where(program: Program, finding: Diagnostic) -> str:
    if finding.span is None:
        return ""
    return f" in line {program.source.place(finding.span.start).line}"


def _closed(program: Program, motion: Motion, order: RunOrder) -> tuple[int, str]:
    """Find the first step that depends on something not understood."""
    closed, why = len(order.steps), ""
    flags = program.blocks.flags
    unreadable = np.flatnonzero((flags & BlockFlag.UNREADABLE) > 0)
    unreadable = unreadable[(flags[unreadable] & BlockFlag.OUTSIDE) == 0]
    for block in unreadable.tolist():
        if order.first[block] < closed:
            closed = int(order.first[block])
            why = f"what follows depends on line {block + 1}, which is not understood"
    for block in np.flatnonzero(flags & BlockFlag.DELETE).tolist():
        if order.first[block] < closed and not only_stops(program, block):
            closed = int(order.first[block])
            why = f"what follows depends on line {block + 1}, which can be switched off"
    for event in motion.events:
        strange = event.kind is EventKind.UNKNOWN and not event.value.upper().startswith("M")
        if (strange or event.kind is EventKind.HANDOVER) and order.first[event.block] < closed:
            closed = int(order.first[event.block])
            why = f"what follows depends on {event.value or 'a call'} in line {event.block + 1}"
    if 0 < order.ran < closed:
        closed, why = order.ran, "the program cannot be followed there"
    return closed, why
