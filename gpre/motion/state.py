"""The modal state of the standard (NISTIR 6556, Table 4), as one frozen record."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import isfinite
from operator import attrgetter

MM_PER_INCH = 25.4  # NISTIR 6556, 2.1.2.10


def scale_of(units: int) -> float:
    """Return the millimetres in a unit of length: 20 is the inch, 21 the millimetre."""
    return MM_PER_INCH if units == 20 else 1.0


@dataclass(frozen=True, slots=True)
class State:
    """All that is in force when a move is made, except its feed and plane (columns of Motion).

    motion: the modal motion code times ten (0, 10, 20, 30, 382, 730, 800 ... 890) after the block.
    distance: 90 or 91. arc_distance: 901 (absolute centres) or 911. feed_mode: 93, 94 or 95.
    units: 20 or 21. compensation: 40, 41 or 42. path: 610, 611 or 640. retract: 98 or 99.
    length_offset: the H number in force, 0 after G49, -1 where nobody knows it any more. system: 1
    to 9, 0 where nobody knows it any more. origin: mm, machine coordinates of the
    program's zero, all offsets but the tool's length; one that is not known counts as 0. placed:
    whether it is known, for X, Y and Z. datum: how often the zero was set anew by an unknown
    amount; origins under different ones cannot be compared. length: mm, of the tool, None where not
    known. spindle: rev/min; spindle_way: 1 for M3, -1 for M4, 0 for M5. tool: in the spindle;
    selected: the last T. mist, flood: coolant. overrides: M48 or M49.
    """

    motion: int = 10
    distance: int = 90
    arc_distance: int = 911
    feed_mode: int = 94
    units: int = 21
    compensation: int = 40
    path: int = 640
    retract: int = 98
    length_offset: int = 0
    system: int = 1
    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)
    placed: tuple[bool, bool, bool] = (False, False, False)
    datum: int = 0
    length: float | None = 0.0
    spindle: float = 0.0
    spindle_way: int = 0
    tool: int = 0
    selected: int = 0
    mist: bool = False
    flood: bool = False
    overrides: bool = True

    @property
    def scale(self) -> float:
        """Millimetres in a unit of length of the program."""
        return scale_of(self.units)

    @property
    def frame(self) -> tuple[int, int, tuple[float | None, ...]]:
        """What must be the same for two places to be in one coordinate system.

        Equal ones compare equal, unknown coordinates (None) too: `datum` tells these apart.
        """
        origin = tuple(round(each, 6) if isfinite(each) else None for each in self.origin)
        return self.system, self.datum, origin

    def changed(self, **changes: object) -> State:
        """Return the state with some of its parts changed; quicker than `dataclasses.replace`."""
        result = object.__new__(State)
        for name, value in zip(_NAMES, _VALUES(self), strict=True):
            object.__setattr__(result, name, value)
        for name, value in changes.items():
            object.__setattr__(result, name, value)
        return result


_NAMES = tuple(each.name for each in fields(State))
_VALUES = attrgetter(*_NAMES)
