"""What a program does besides moving, in order: the places that no rewrite crosses."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


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
