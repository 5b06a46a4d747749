"""What a program does besides moving, in order, and what each kind of it may bring about."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, Flag, auto
from functools import cache


class EventKind(Enum):
    """What happens."""

    TOOL_CHANGE = "tool change"
    STOP = "stop"  # M0, M1, M60
    END = "end"  # M2, M30
    DWELL = "dwell"
    PROBE = "probe"
    HOME = "home"  # G28, G30
    OFFSET = "offset"  # G10, G43, G49, G54 ..., G92 ...
    SPINDLE = "spindle"
    COOLANT = "coolant"
    MODE = "mode"  # G61, G64, M48, M49, G93, G94, G95, units
    COMPENSATION = "compensation"
    PARAMETER = "parameter"  # a parameter is set
    CALL = "call"  # into a subprogram, or back
    UNKNOWN = "unknown"  # a code that is not understood
    HANDOVER = "handover"  # macros and calls out of the file: afterwards nothing is known
    MESSAGE = "message"


class Effect(Flag):
    """What an event does, or may do: see EFFECTS, the one table that all of gpre reads."""

    MOVES_AXES = auto()  # the axes may have been moved by hand, or by the controller
    LOSES_XY = auto()  # where X and Y stand must be stated again
    LOSES_Z = auto()  # where Z stands, or how long the tool is, must be stated again
    MOVES_ZERO = auto()  # coordinates count from elsewhere
    SHIFTS_CLAMPS = auto()  # a clamp, or the zero, may be elsewhere
    HIDES_MOVES = auto()  # moves may come that are not seen here, made with what is in force
    NEEDS_PLACE = auto()  # the table must stand just where the program means it
    STANDS_STILL = auto()  # the axes stand while it happens (common practice, no source)
    PARTS_CUTS = auto()  # the moves before it and behind it are not one cut
    CLEAR_ANYWHERE = auto()  # it may find the tool elsewhere, as long as that stands clear
    OTHER_PLACE = auto()  # a new way in the air may lead by it: it minds no place
    CROSSED = auto()  # an edit may reach across it
    CUTS_ON = auto()  # nothing changes for the tool


def _table() -> dict[EventKind, Effect]:
    """Return the effects of each kind; every kind but a message parts cuts."""
    e, k = Effect, EventKind
    hands = e.MOVES_AXES | e.SHIFTS_CLAMPS | e.NEEDS_PLACE | e.STANDS_STILL
    lost = e.LOSES_XY | e.LOSES_Z
    lightly = e.CLEAR_ANYWHERE | e.OTHER_PLACE
    parts = {
        k.TOOL_CHANGE: hands | e.LOSES_Z,
        k.STOP: hands,
        k.END: e.NEEDS_PLACE | e.STANDS_STILL | e.CLEAR_ANYWHERE,
        k.DWELL: e.STANDS_STILL,
        k.PROBE: hands | lost,
        k.HOME: hands | lost | e.MOVES_ZERO,
        k.OFFSET: e.LOSES_Z | e.MOVES_ZERO | e.SHIFTS_CLAMPS | e.NEEDS_PLACE | e.CLEAR_ANYWHERE,
        k.SPINDLE: lightly | e.STANDS_STILL,
        k.COOLANT: lightly | e.STANDS_STILL,
        k.MODE: lightly | e.CROSSED,
        k.COMPENSATION: e.NEEDS_PLACE,
        k.PARAMETER: lightly | e.CROSSED | e.CUTS_ON,
        k.CALL: e.NEEDS_PLACE,
        k.UNKNOWN: e.SHIFTS_CLAMPS | e.NEEDS_PLACE | e.STANDS_STILL | e.HIDES_MOVES,
        k.HANDOVER: hands | lost | e.MOVES_ZERO | e.HIDES_MOVES,
    }
    message = {k.MESSAGE: lightly | e.CROSSED | e.CUTS_ON}
    return {kind: effects | e.PARTS_CUTS for kind, effects in parts.items()} | message


EFFECTS = _table()


@cache
def kinds(effect: Effect) -> frozenset[EventKind]:
    """Return the kinds of event that have an effect."""
    return frozenset(kind for kind, effects in EFFECTS.items() if effect in effects)


@dataclass(frozen=True, slots=True)
class Event:
    """One event: it happens before move `move` (row of Motion), stated in `block`.

    `value` says the rest: the tool, the seconds of a dwell, the code as written.
    """

    kind: EventKind
    block: int
    move: int
    value: str = ""

    @property
    def key(self) -> bytes:
        """What must be equal in two programs for the same to happen in both."""
        return f"{self.kind.value} {self.value}".encode()
