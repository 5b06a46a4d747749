"""All that the interpreter remembers between two blocks, as one explicit record.

Positions and offsets have six numbers, X Y Z A B C: mm and degrees. Machine coordinates are
program coordinates plus the origin of the work system in force plus the G92 offset.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from gpre.motion.controller import Controller
from gpre.motion.entry import Entry
from gpre.motion.state import State

MM_PER_INCH = 25.4  # NISTIR 6556, 2.1.2.10


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
    of systems 1 to 9, machine coordinates. known: pairs of system and axis whose origin was given.
    offset: of G92, in force; stored_offset: what G92.3 brings back. cycle: None where no cycle is
    in force. motion_known: False after a code that may have set a motion mode of its own.
    parameters_lost: a call that could not be followed may have set any of them. ended: the program
    has come to its end, or to where it cannot be followed. said: notes made once a program.
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
    stored_offset: list[float] = field(default_factory=lambda: [0.0] * 6)
    cycle: Cycle | None = None
    motion_stated: bool = False
    motion_known: bool = True
    parameters_lost: bool = False
    rotary_used: bool = False
    ended: bool = False
    said: set[str] = field(default_factory=set)

    @classmethod
    def begin(cls, controller: Controller) -> Machine:
        """Give the machine before the first block."""
        origins = {system: [0.0] * 6 for system in range(1, 10)}
        known: set[tuple[int, int]] = set()
        for system, origin in controller.origins.items():
            origins[system] = [*origin, 0.0, 0.0, 0.0]
            known |= {(system, axis) for axis in range(3)}
        first = origins[1]
        state = State(
            units=controller.units,
            distance=controller.distance,
            origin=(first[0], first[1], first[2]),
        )
        return cls(
            [*controller.start, 0.0, 0.0, 0.0],
            state,
            plane=controller.plane,
            feed_units=controller.units,
            origins=origins,
            known=known,
        )

    @property
    def scale(self) -> float:
        """Millimetres in a unit of length of the program."""
        return MM_PER_INCH if self.state.units == 20 else 1.0

    def origin(self, axis: int) -> float:
        """Give the machine coordinate of the program's zero on an axis, mm or degrees."""
        return self.origins[self.state.system][axis] + self.offset[axis]

    def renumber(self, shift: Sequence[float]) -> None:
        """Add `shift` (six numbers) to the position: the tool stands still, its origin moved."""
        for axis, by in enumerate(shift):
            if by != 0.0:
                self.position[axis] += by
        self.note_origin()

    def note_origin(self) -> None:
        """Let the modal state tell the origin in force."""
        origin = (self.origin(0), self.origin(1), self.origin(2))
        self.state = self.state.changed(origin=origin)

    def entry(self) -> Entry:
        """Give what plain blocks need to know."""
        x, y, z, a, b, c = self.position
        return Entry(
            (x, y, z),
            self.state,
            self.plane,
            self.feed,
            (a, b, c),
            self.motion_stated,
            "INT316" in self.said,
        )

    def leave(self, exit_: Entry) -> None:
        """Take over what plain blocks have changed."""
        self.position[:3] = exit_.position
        self.state = exit_.state
        self.plane = exit_.plane
        if exit_.feed != self.feed:
            self.feed = exit_.feed
            self.feed_units = self.state.units
