"""Runs a program through: stretches of plain blocks in columns, all else block by block."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.motion.controller import Controller
from gpre.motion.events import EventKind
from gpre.motion.machine import Machine
from gpre.motion.motion import Motion
from gpre.motion.outcome import Action, Outcome
from gpre.motion.reference import LONGEST_KEPT, block_span, step
from gpre.motion.run import Run
from gpre.motion.stretches import Stretches
from gpre.motion.subprograms import DEEPEST
from gpre.program.program import Program
from gpre.program.words import BlockFlag

# Run by calls, beyond two a block of the text: what calls of calls may add. 200 calls of 200 blocks
# each must do. A step is about 8 microseconds: what a plain block takes that runs one by one.
MOST_CALLED_BLOCKS = 250_000
MOST_CALLED_STEPS = 250_000
NO_START = "where the tool stands before the first block is not in the profile"
STRETCH_STEPS = 16  # a stretch in columns takes about as long, however few its blocks
PER_MOVES = 2  # moves of a block that take a step more; each event takes one
PER_BYTES = 12  # bytes that do, of a block that is read anew each time, as expressions are
_STATEMENT = int(BlockFlag.STATEMENT)


def trace(program: Program, controller: Controller | None = None) -> Motion:
    """Run a program from its first block; see Motion for what comes out of it. Never raises.

    Where nobody says where the tool stands at first, an axis is not known until the program states
    it. Places of one that it never states, only steps, count from where the tool stood.
    """
    controller = controller or Controller()
    motion, _ = trace_from(program, controller)
    if controller.start_known:
        return motion
    relative = [axis for axis in range(3) if not np.isfinite(motion.end[:, axis]).any()]
    if not relative or not len(motion):
        return motion
    return trace_from(program, controller, Machine.begin(controller, relative))[0]


def trace_from(
    program: Program,
    controller: Controller,
    machine: Machine | None = None,
    *,
    fast: bool = True,
) -> tuple[Motion, Machine]:
    """Run a program from the state in which another one left the machine; give the new state too.

    fast: False runs every block through the scalar interpreter.
    """
    machine = machine or Machine.begin(controller)
    run = Run(program, controller, machine)
    if not controller.start_known:
        lost = [axis for axis in range(3) if math.isnan(machine.position[axis])]
        run.will_be_lost(lost, NO_START)
    walk = _Walk(run, Stretches(program, controller) if fast else None)
    followed_to = walk.walk()
    motion = run.recorder.motion(
        rotary_used=machine.rotary_used, followed_to=followed_to, walked=walk.stretches_walked()
    )
    return motion, machine


@dataclass
class _Return:
    """Where a subprogram goes back to, and how often it still runs."""

    block: int
    start: int
    repeats: int


@dataclass
class _Walk:
    """The way through the blocks of one program."""

    run: Run
    stretches: Stretches | None
    at: int = 0
    calls: list[_Return] = field(default_factory=list)
    called_blocks: int = 0
    called_steps: int = 0  # blocks run one by one, and what stretches cost
    since: int = 0  # where the present stretch of blocks began, and the row it began with
    rows: int = 0
    at_end: bool = False  # the block at work is the last one
    walked: array[int] = field(default_factory=lambda: array("i"))
    most_blocks: int = field(init=False)
    most_steps: int = field(init=False)

    def __post_init__(self) -> None:
        """Find how far calls are followed."""
        text = 2 * len(self.run.program)
        self.most_blocks = text + MOST_CALLED_BLOCKS
        self.most_steps = text + MOST_CALLED_STEPS

    def walk(self) -> int:
        """Run until the program ends; give the first block of it that was not executed."""
        count = len(self.run.program)
        if self.run.machine.ended:
            return 0
        followed_to = self._walk(count)
        self._note(min(self.at + self.at_end, count))
        return min(followed_to, count)

    def stretches_walked(self) -> NDArray[np.int32]:
        """(k, 3): see Motion."""
        return np.array(self.walked, np.int32).reshape(-1, 3)

    def _note(self, end: int) -> None:
        self.walked.extend((self.since, end, self.rows))

    def _walk(self, count: int) -> int:
        while self.at < count and self._within_limits():
            if self.stretches is not None and self._run_stretch(self.stretches):
                continue
            called = len(self.calls) > 0
            outcome = self._step_called() if called else step(self.run, self.at)
            if outcome.action is Action.NEXT:
                self.at += 1
                self.called_blocks += called
                continue
            ended = outcome.action is Action.END
            if outcome.action is Action.CALL and self._enter(outcome):
                continue
            if outcome.action is Action.RETURN:
                if self._leave():
                    continue
                ended = True
            self.run.machine.ended = True
            self.at_end = ended
            return self._main_block() + ended
        if self.calls and self.at >= count:  # a subprogram without M99 at the end of the file
            self.run.machine.ended = True
            return self.calls[0].block + 1
        self.run.machine.ended = self.at < count
        return self._main_block()

    def _step_called(self) -> Outcome:
        """Run one block of a subprogram, and count what that takes."""
        recorder, lines, block = self.run.recorder, self.run.lines, self.at
        moves, events = recorder.count, len(recorder.events)
        outcome = step(self.run, block)
        self.called_steps += 1 + (recorder.count - moves) // PER_MOVES
        self.called_steps += len(recorder.events) - events
        size = lines.ends[block] - lines.starts[block]
        if lines.flags[block] & _STATEMENT or size > LONGEST_KEPT:
            self.called_steps += size // PER_BYTES
        return outcome

    def _main_block(self) -> int:
        """Return the block of the main program at work: the call where a subprogram runs."""
        return self.calls[0].block if self.calls else self.at

    def _run_stretch(self, stretches: Stretches) -> bool:
        stretch = stretches.run(self.at, self.run.machine)
        if stretch is None:
            return False
        self.run.recorder.add_stretch(stretch, called=bool(self.calls))
        self.run.machine.leave(stretch.exit)
        if self.calls:
            self.called_blocks += stretch.last - self.at
            self.called_steps += STRETCH_STEPS
        self.at = stretch.last
        return True

    def _jump(self, block: int) -> None:
        self._note(self.at + 1)
        self.at = self.since = block
        self.rows = self.run.recorder.count
        if self.stretches is not None:
            self.stretches.resume = 0

    def _enter(self, outcome: Outcome) -> bool:
        if len(self.calls) >= DEEPEST:
            self.run.report(
                "INT331",
                f"more than {DEEPEST} calls within calls; the program is followed up to here",
                block_span(self.run, self.at),
                "does the subprogram call itself?",
            )
            return False
        self.calls.append(_Return(self.at, outcome.target, outcome.repeats - 1))
        self._jump(outcome.target)
        self.run.called = True
        return True

    def _leave(self) -> bool:
        """M99: again, or back; False in the main program, which ends there."""
        if not self.calls:
            self.run.event(EventKind.END, "M99")
            self.run.report(
                "INT347",
                "M99 in the main program starts it again; counted once",
                block_span(self.run, self.at),
            )
            return False
        back = self.calls[-1]
        self.called_blocks += 1
        if back.repeats > 0:
            back.repeats -= 1
            self._jump(back.start)
            return True
        self.run.event(EventKind.CALL, "M99")
        self.calls.pop()
        self._jump(back.block + 1)
        self.run.called = bool(self.calls)
        return True

    def _bound(self) -> str:
        """Say what was too much."""
        if self.called_blocks > self.most_blocks:
            return f"{self.most_blocks:,} blocks run by calls"
        if self.called_steps > self.most_steps:
            return f"{self.called_blocks:,} blocks run by calls, which take long"
        return f"{self.run.most_moves:,} moves"

    def _within_limits(self) -> bool:
        too_often = self.called_blocks > self.most_blocks or self.called_steps > self.most_steps
        if too_often or self.run.too_long:
            self.run.report(
                "INT332",
                f"repeats and calls make more than is followed: {self._bound()}; the program"
                " is followed up to here",
                block_span(self.run, self.at),
                "is a repeat count wrong? else give a part of the program",
            )
            return False
        return True
