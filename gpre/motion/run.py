"""One run of a program: its machine, what is recorded, and the ways to change both."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.motion.block import Block, BlockError
from gpre.motion.content import Content
from gpre.motion.controller import Controller
from gpre.motion.events import Event, EventKind
from gpre.motion.groups import AXES, PLANE_AXES
from gpre.motion.lines import Lines, OddText
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind, Role
from gpre.motion.recorder import Recorder
from gpre.motion.unknown import Lost
from gpre.program.program import Program

MOST_ADDED = 500_000  # moves beyond two a block: what repeats may add before it is too much
NO_H = -1  # the number of a tool length that nobody knows
NO_CENTRE = (math.nan, math.nan, math.nan)


@dataclass
class Run:
    """What the parts of the interpreter share.

    block: the index of the block at work. called: it belongs to a subprogram. turns: what P words
    have added to arcs. numbers: blocks of
    the program numbers, once they are needed. contents, odd: of blocks by their text, some of those
    met so far. lines: the blocks of the program. most_moves: beyond so many it is not followed.
    """

    program: Program
    controller: Controller
    machine: Machine
    recorder: Recorder = field(default_factory=Recorder)
    block: int = 0
    called: bool = False
    turns: int = 0
    numbers: dict[int, int] | None = None
    contents: dict[bytes, Content] = field(default_factory=dict)
    odd: dict[bytes, OddText] = field(default_factory=dict)
    lines: Lines = field(init=False)
    most_moves: int = field(init=False)

    def __post_init__(self) -> None:
        """Look at the program."""
        self.lines = Lines(self.program)
        self.most_moves = 2 * len(self.program) + MOST_ADDED

    @property
    def too_long(self) -> bool:
        """Return whether repeats of repeats have made more moves than are followed."""
        return self.recorder.count > self.most_moves

    def report(
        self,
        code: str,
        message: str,
        span: Span | None,
        advice: str = "",
    ) -> None:
        """Keep a finding."""
        self.recorder.note(Diagnostic(code, message, span, help=advice))

    def report_once(self, code: str, message: str, span: Span | None, advice: str = "") -> None:
        """Keep a finding that is made once a program."""
        if code not in self.machine.said:
            self.machine.said.add(code)
            self.report(code, message, span, advice)

    def event(self, kind: EventKind, value: str = "") -> None:
        """Keep an event: it happens before the next move."""
        self.recorder.events.append(Event(kind, self.block, self.recorder.count, value))

    def set_state(self, kind: EventKind | None = None, value: str = "", **changes: object) -> None:
        """Change the modal state; where that changes anything, an event of `kind` says so."""
        state = self.machine.state
        for name, new in changes.items():
            old = getattr(state, name)
            if old is not new and old != new:
                self.machine.state = state.changed(**changes)
                if kind is not None:
                    self.event(kind, value)
                return

    def lose(self, axes: Collection[int], reason: str) -> None:
        """Take the position on some axes as unknown from here on; `reason` says why."""
        self.will_be_lost(axes, reason)
        position = self.machine.position
        for axis in axes:
            position[axis] = math.nan
        self._forget_level(axes)

    def _forget_level(self, axes: Collection[int]) -> None:
        """Take the level to which G98 comes back as unknown where its axis counts anew."""
        machine = self.machine
        if machine.cycle is not None and PLANE_AXES[machine.plane][2] in axes:
            machine.cycle.initial = math.nan

    def will_be_lost(self, axes: Iterable[int], reason: str) -> None:
        """Note why the next move ends at a place that is not known on some axes."""
        recorder = self.recorder
        recorder.lost += [
            Lost(axis, self.block, recorder.count, reason) for axis in axes if axis < 3
        ]

    def lose_all(self, reason: str) -> None:
        """Take all that a program can set as unknown: something ran that cannot be followed."""
        self.forget_settings(reason)
        self.lose_parameters()
        self.machine.motion_known = False
        self.machine.feed = math.nan

    def renumber(self, shift: Sequence[float], reason: str) -> None:
        """Add `shift` (six numbers) to the position: the tool stands still, its zero moved.

        Where the shift is NaN the place is not known from here on; `reason` says why.
        """
        position = self.machine.position
        lost = []
        for axis, by in enumerate(shift):
            if math.isnan(by):
                lost.append(axis)
            elif by:
                position[axis] += by
                self._forget_level((axis,))
        if lost:
            self.lose(lost, reason)

    def renumber_to(self, axis: int, value: float) -> None:
        """Return the place where the tool stands another number on an axis."""
        self.machine.position[axis] = value
        self._forget_level((axis,))

    @property
    def nothing_stands(self) -> bool:
        """Whether nothing that the program has said so far tells where the tool stands."""
        return self.recorder.nowhere and not self.machine.zero_set

    def forget_settings(self, reason: str) -> None:
        """Take origins, lengths, home, what of them is in force, and places as unknown."""
        machine = self.machine
        machine.known.clear()
        machine.origins[0] = [0.0] * 6
        machine.lengths = {0: 0.0}
        machine.home = machine.second_home = None
        machine.offset, machine.stored_offset = [math.nan] * 6, None
        # nothing more is assumed of what is in force: the state says itself that it is not known
        machine.system_known = machine.length_known = machine.offset_known = True
        self.set_state(length=None, length_offset=NO_H, system=0)
        self.lose(range(6), reason)
        machine.note_origin(anew=True)

    def lose_parameters(self) -> None:
        """Take all parameters as unknown."""
        self.machine.parameters.clear()
        self.machine.parameters_lost = True

    def target(self, block: Block) -> list[float]:
        """Return the end point that the axis words ask for, six numbers, in G90 or G91."""
        machine = self.machine
        end = list(machine.position)
        relative, scale = machine.state.distance == 91, machine.scale
        for axis in block.axes:
            value = (block.take(AXES[axis]) or 0.0) * (scale if axis < 3 else 1.0)
            end[axis] = value + (machine.position[axis] if relative else 0.0)
            machine.rotary_used = machine.rotary_used or axis >= 3
        return end

    def length_word(self, block: Block, letter: str) -> float | None:
        """Return a word that is a length, in mm, or None where it is not there."""
        value = block.take(letter)
        return None if value is None else value * self.machine.scale

    def move(
        self,
        kind: Kind,
        end: Sequence[float],
        feed: float,
        *,
        centre: tuple[float, float, float] = NO_CENTRE,
        sweep: float = 0.0,
        role: Role = Role.NONE,
    ) -> None:
        """Record a move from where the tool stands to `end` (six numbers)."""
        machine, recorder = self.machine, self.recorder
        recorder.add(
            (*machine.position, *end, *centre, sweep, feed),
            (
                kind,
                machine.plane,
                role,
                self.block,
                recorder.state_row(machine.state),
                self.called,
            ),
        )
        machine.position[:] = end

    def rapid_feed(self) -> float:
        """Return the feed in force during a rapid, mm/min; NaN where there is none or not known."""
        machine = self.machine
        if machine.state.feed_mode == 94:
            return machine.feed
        if machine.state.feed_mode == 95 and machine.state.spindle > 0.0:
            return machine.feed * machine.state.spindle
        return math.nan

    def path_feed(self, block: Block, length: float) -> float:
        """Return the feed of a move along the path of `length` mm, in mm/min, NaN where none is.

        G93 moves take 1/F minutes (NISTIR 6556, 3.5.19), G95 feeds are mm a turn of the spindle.
        A feed of 0 is told of once for each F word: what moves under it stands.
        """
        machine = self.machine
        if machine.state.feed_mode == 93:
            number = block.words.get("F")
            if number is None:
                raise BlockError(
                    "INT317", "a move at feed in G93 needs an F word of its own", advice="add F"
                )
            if number == 0.0:
                self._report_zero(block)
            return number * length if length > 0.0 else math.nan
        if machine.feed == 0.0 and not machine.zero_noted:
            machine.zero_noted = True
            self._report_zero(block)
        if math.isnan(machine.feed):
            self.report_once(
                "INT316",
                "a move at feed, and no feed is set",
                block.span,
                "the controller may refuse it, or use a feed of its own: add an F word",
            )
        elif machine.feed_units != machine.state.units:
            machine.feed_units = machine.state.units
            self.report(
                "INT342",
                "the feed in force was stated in the other unit of length",
                block.span,
                "state F again after G20 or G21",
            )
        if machine.state.feed_mode == 95 and machine.state.spindle <= 0.0:
            self.report_once(
                "INT318",
                "a feed per revolution (G95), and no spindle speed is set",
                block.span,
                "add an S word before it",
            )
            return math.nan
        return self.rapid_feed()

    def _report_zero(self, block: Block) -> None:
        self.report(
            "INT349",
            "a move at feed, and the feed is 0",
            block.span_of("F"),
            "write the feed that is meant; no controller moves at F0",
        )


def straight_length(start: Sequence[float], end: Sequence[float]) -> float:
    """Return the distance in X Y Z, mm."""
    return math.dist(start[:3], end[:3])
