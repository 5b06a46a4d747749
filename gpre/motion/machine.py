"""All that the interpreter remembers between two blocks, as one explicit record.

Positions and offsets have six numbers, X Y Z A B C: mm and degrees. Machine coordinates are
program coordinates plus the origin of the work system in force plus the G92 offset.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, field
from math import isfinite

from gpre.motion.controller import Controller
from gpre.motion.entry import StretchEntry
from gpre.motion.state import State


@dataclass(slots=True)
class Cycle:
    """The sticky words of the canned cycle in force, lengths in mm (NISTIR 6556, 3.5.16).

    initial: where the axis of the cycle stood before the first of a row of cycles.
    """

    initial: float
    words: dict[str, float] = field(default_factory=dict)


@dataclass
class Machine:
    """Position, modal state, offsets and parameters. Change it through `gpre.motion.run` only.

    feed: the F number in force: mm/min (G94) or mm/rev (G95), NaN where none is set. feed_units:
    the units in which it was stated. parameters: the user's, as numbers of the program. origins:
    of systems 0 to 9 (see State), machine coordinates. known: pairs of system and axis whose origin
    was given. offset: of G92, in force; stored_offset: what G92.3 brings back, None where an
    earlier program left it. system_known, length_known, offset_known: False where an earlier
    program may have left another one in force than is assumed. zero_set: G92 or G10 has said where
    the tool stands. lengths: of tools by H number, mm, as far as they are known. home,
    second_home: of G28 and G30, machine coordinates, None where not known. cycle: None where no
    cycle is in force. motion_known: False after a code that may have set a motion mode of its own.
    parameters_lost: a call that could not be followed may have set any of them. ended: the program
    has come to its end, or to where it cannot be followed. said: notes made once a program.
    zero_noted: it was said already that the F0 in force stops a move at feed.
    """

    position: list[float]
    state: State
    plane: int = 17
    feed: float = math.nan
    feed_units: int = 21
    parameters: dict[int, float] = field(default_factory=dict)
    origins: dict[int, list[float]] = field(default_factory=dict)
    known: set[tuple[int, int]] = field(default_factory=set)
    offset: list[float] = field(default_factory=lambda: [0.0] * 6)
    stored_offset: list[float] | None = None
    system_known: bool = True
    length_known: bool = True
    offset_known: bool = True
    zero_set: bool = False
    lengths: dict[int, float] = field(default_factory=lambda: {0: 0.0})
    home: tuple[float, float, float] | None = None
    second_home: tuple[float, float, float] | None = None
    cycle: Cycle | None = None
    motion_stated: bool = False
    motion_known: bool = True
    parameters_lost: bool = False
    rotary_used: bool = False
    ended: bool = False
    said: set[str] = field(default_factory=set)
    zero_noted: bool = False

    @classmethod
    def begin(cls, controller: Controller, relative: Collection[int] = ()) -> Machine:
        """Return the machine before the first block.

        Where it starts at a place that is not known, `relative` are the axes whose places count
        from there; the others are NaN. Then nobody knows either which work system, tool length and
        offset an earlier program left in force.
        """
        origins = {system: [0.0] * 6 for system in range(10)}
        known: set[tuple[int, int]] = set()
        for system, origin in controller.origins.items():
            origins[system] = [*origin, 0.0, 0.0, 0.0]
            known |= {(system, axis) for axis in range(3)}
        start = list(controller.start)
        datum = 0
        if not controller.start_known:
            start = [0.0 if axis in relative else math.nan for axis in range(3)]
            # such a zero is none of a work system: its places compare with their like alone
            datum = -sum(1 << axis for axis in relative)
        state = State(
            units=controller.units,
            distance=controller.distance,
            datum=datum,
        )
        machine = cls(
            [*start, 0.0, 0.0, 0.0],
            state,
            plane=controller.plane,
            feed_units=controller.units,
            origins=origins,
            known=known,
            system_known=controller.start_known,
            length_known=controller.start_known,
            offset_known=controller.start_known,
            lengths={**controller.lengths, 0: 0.0},
            home=controller.home,
            second_home=controller.second_home,
        )
        machine.note_origin()
        return machine

    @property
    def scale(self) -> float:
        """Millimetres in a unit of length of the program."""
        return self.state.scale

    def origin(self, axis: int) -> float:
        """Return the machine coordinate of the program's zero on an axis, mm or degrees."""
        return self.origins[self.state.system][axis] + self.offset[axis]

    def knows_system(self, system: int) -> bool:
        """Return whether the origin of a work system is known in X, Y and Z."""
        known = self.known
        return (system, 0) in known and (system, 1) in known and (system, 2) in known

    def between(self, left: int, entered: int) -> list[float]:
        """Return what to add to a position where one work system gives way to another.

        Six numbers, mm and degrees, NaN where one of the two origins is not known.
        """
        both = zip(self.origins[left], self.origins[entered], strict=True)
        shift = [old - new for old, new in both]
        if not (self.knows_system(left) and self.knows_system(entered)):
            known = self.known
            for axis in range(3):
                if (left, axis) not in known or (entered, axis) not in known:
                    shift[axis] = math.nan
        shift[3:] = [math.nan] * 3  # nobody gives the origins of rotary axes
        return shift

    def knows_origin(self, axis: int) -> bool:
        """Return whether the machine coordinate of the program's zero is known on an axis."""
        known = self.system_known and (self.state.system, axis) in self.known
        return known and isfinite(self.origin(axis))

    def in_program(self, axis: int, place: float) -> float:
        """Return the program coordinate of a machine coordinate, mm or degrees; NaN if unknown."""
        length = self.length_in_force if axis == 2 else 0.0
        if length is None or not self.knows_origin(axis):
            return math.nan
        return place - self.origin(axis) - length

    @property
    def length_in_force(self) -> float | None:
        """The length of the tool in mm, None where not known."""
        return self.state.length if self.length_known else None

    def note_origin(self, *, anew: bool = False) -> None:
        """Let the modal state tell the origin in force. anew: it was set by an unknown amount."""
        system, known = self.state.system, self.known
        here, offset = self.origins[system], self.offset
        x, y, z = here[0] + offset[0], here[1] + offset[1], here[2] + offset[2]
        placed = tuple(
            [(system, axis) in known and isfinite(at) for axis, at in enumerate((x, y, z))]
        )
        datum = self.state.datum + anew
        self.state = self.state.changed(origin=(x, y, z), placed=placed, datum=datum)

    def entry(self) -> StretchEntry:
        """Return what plain blocks need to know."""
        x, y, z, a, b, c = self.position
        return StretchEntry(
            (x, y, z),
            self.state,
            self.plane,
            self.feed,
            (a, b, c),
            self.motion_stated,
            "INT316" in self.said,
            self.zero_noted,
        )

    def leave(self, exit_: StretchEntry) -> None:
        """Take over what plain blocks have changed."""
        self.position[:3] = exit_.position
        self.state = exit_.state
        self.plane = exit_.plane
        if exit_.feed != self.feed:
            self.feed = exit_.feed
            self.feed_units = self.state.units
        self.zero_noted = exit_.zero_noted
