"""The ground that rewrites stand on: which blocks may be edited, and what is in force there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Diagnostic, Severity
from gpre.motion.events import Event, EventKind
from gpre.motion.motion import Motion
from gpre.program.program import Program
from gpre.program.words import BlockFlag
from gpre.rewrites.manner import Manner, manner_of
from gpre.rewrites.modes import Modes, ModeScan, scan_modes
from gpre.rewrites.writer import BlockWriter, Gap, gap_at
from gpre.source.edit import Edit

HARMLESS = {EventKind.MESSAGE, EventKind.MODE, EventKind.PARAMETER}
MOVES_ZERO = {EventKind.OFFSET, EventKind.HOME, EventKind.HANDOVER, EventKind.CALL}
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
class Ground:
    """A program with its motion, as an edit sees it. Blocks and rows count from 0.

    whole: why the whole program is left alone, or "". closed_from: the first block of the stretch
    that depends on something not understood; `closed_why` says on what.
    """

    program: Program
    motion: Motion
    manner: Manner
    modes: ModeScan
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

    @cached_property
    def _repeated(self) -> NDArray[np.bool_]:
        """(m,): blocks that run more than once."""
        result = np.zeros(len(self.program), bool)
        if len(self.motion):
            block = self.motion.block
            runs = block[np.concatenate(([True], block[1:] != block[:-1]))]
            result |= np.bincount(runs, minlength=len(self.program)) > 1
        return result

    @cached_property
    def _event_blocks(self) -> dict[int, list[EventKind]]:
        found: dict[int, list[EventKind]] = {}
        for event in self.motion.events:
            found.setdefault(event.block, []).append(event.kind)
        return found

    def events_in(self, block: int) -> list[EventKind]:
        """Give what a block does besides moving."""
        return self._event_blocks.get(block, [])

    def span(self, first: int, last: int) -> tuple[int, int]:
        """Give the byte range of whole blocks, line ends included; `last` is the last block."""
        return int(self.program.source.starts[first]), self.program.source.block_end(last)

    def why_not_insert(self, block: int) -> str:
        """Say why no block can be put before this one, or ""."""
        if self.whole:
            return self.whole
        row = self._row_at_or_after(block)
        if row is not None and (self._repeated[block] or self._repeated[self.motion.block[row]]):
            return "the block runs more than once"
        if row is not None and self.motion.called[row]:
            return "the block belongs to a subprogram"
        if block >= self.closed_from:
            return self.closed_why
        flags = int(self.program.blocks.flags[block])
        if flags & (BlockFlag.OUTSIDE | BlockFlag.FLOW | BlockFlag.UNREADABLE):
            return "the program cannot be followed there"
        return "no move follows" if row is None else self._why_not_modes(block, row)

    def _why_not_modes(self, block: int, row: int) -> str:
        if self.motion.state_of(row).compensation != 40:
            return "cutter radius compensation is on"
        if self.modes.before(block).feed_mode == 93:
            return "the feed is stated as inverse time"
        if any(event.kind is EventKind.CALL for event in self.events_before(row)):
            return "a subprogram comes back there, with modes of its own"
        if not self.modes.agrees(row) or (row and not self.modes.agrees(row - 1)):
            return "the modes in force there are not sure"
        return ""

    def why_not_replace(self, first: int, last: int) -> str:
        """Say why the blocks `first` to `last` cannot be written anew or dropped, or ""."""
        reason = self.why_not_insert(first)
        if reason:
            return reason
        if last >= self.closed_from:
            return self.closed_why
        flags = self.program.blocks.flags[first : last + 1]
        if (flags & CLOSED).any():
            return "a block there is not made of plain words, or can be switched off"
        if (flags & BlockFlag.COMMENT).any():
            return "a comment would be lost"
        if self._repeated[first : last + 1].any():
            return "the block runs more than once"
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
        usable[self.closed_from :] = False
        plain = np.array([each.compensation == 40 for each in motion.states], bool)
        timed = self.modes.values["feed_mode"][motion.block] == 93
        result: NDArray[np.bool_] = (
            usable[motion.block] & plain[motion.state] & ~timed & ~motion.called
        ) & self.modes.agreeing
        return result

    def barrier_between(self, first_row: int, last_row: int) -> str:
        """Name what lies between two moves that no edit may cross, or "".

        Events before move `first_row` do not count, those before `last_row` do.
        """
        for event in self.motion.events[self._event_at(first_row + 1) :]:
            if event.move > last_row:
                break
            if event.kind not in HARMLESS:
                return event.kind.value
        return ""

    def events_before(self, row: int) -> list[Event]:
        """Give the events between the move before `row` and that move."""
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

    def _row_at_or_after(self, block: int) -> int | None:
        rows = self.first_row[block:]
        having = np.flatnonzero(rows[:4096] >= 0)
        if not len(having):
            having = np.flatnonzero(rows >= 0)
        return int(rows[having[0]]) if len(having) else None

    def modes_before(self, block: int) -> Modes:
        """Give the modes in force when a block starts."""
        return self.modes.before(block)

    def position_before(self, block: int) -> NDArray[np.float64]:
        """(3,) mm: where the tool stands when a block starts; NaN where that is not known."""
        row = self._row_at_or_after(block)
        if row is None:
            return np.full(3, np.nan)
        here: NDArray[np.float64] = self.motion.start[row]
        for event in self.events_before(row):
            if event.kind in MOVES_ZERO and event.block >= block:
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

    def _ends_with_newline(self) -> bool:
        return self.program.source.data.endswith((b"\n", b"\r"))


def ground_of(program: Program, motion: Motion) -> Ground:
    """Look at a program once, for all questions of a rewrite."""
    closed_from, closed_why = _closed(program, motion)
    return Ground(
        program,
        motion,
        manner_of(program, motion),
        scan_modes(program, motion),
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
        if TABLE[finding.code].severity is Severity.ERROR:
            return f"it has an error{_where(program, finding)}: {finding.message}"
    if len(motion.rotary) and (motion.rotary[:, :3] != motion.rotary[:, 3:]).any():
        return "it turns a rotary axis"
    return ""


def _where(program: Program, finding: Diagnostic) -> str:
    if finding.span is None:
        return ""
    return f" in line {program.source.place(finding.span.start).line}"


def _closed(program: Program, motion: Motion) -> tuple[int, str]:
    """Find the first block that depends on something not understood."""
    closed, why = len(program), ""
    flags = program.blocks.flags
    unreadable = np.flatnonzero((flags & BlockFlag.UNREADABLE) > 0)
    unreadable = unreadable[(flags[unreadable] & BlockFlag.OUTSIDE) == 0]
    if len(unreadable):
        closed = int(unreadable[0])
        why = f"what follows depends on line {closed + 1}, which is not understood"
    for block in np.flatnonzero(flags & BlockFlag.DELETE).tolist():
        if block < closed and not _harmless(program, block):
            closed = block
            why = f"what follows depends on line {closed + 1}, which can be switched off"
            break
    for event in motion.events:
        strange = event.kind is EventKind.UNKNOWN and not event.value.upper().startswith("M")
        if (strange or event.kind is EventKind.HANDOVER) and event.block < closed:
            closed = event.block
            why = f"what follows depends on {event.value or 'a call'} in line {closed + 1}"
    if 0 < motion.followed_to < closed:
        closed, why = motion.followed_to, "the program cannot be followed there"
    return closed, why


def _harmless(program: Program, block: int) -> bool:
    """Tell whether a block that can be switched off only stops, or turns coolant on or off."""
    if block in program.statements:
        return False
    rows = slice(*program.blocks.first_word[block : block + 2].tolist())
    only_m = bool((program.words.letter[rows] == ord("M")).all())
    return only_m and bool(np.isin(program.words.value[rows], (0, 1, 7, 8, 9, 60)).all())
