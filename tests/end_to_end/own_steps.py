"""What a mill does, step by step: the records of `own_machine`. Machine coordinates, mm."""

from __future__ import annotations

from dataclasses import dataclass

from own_arcs import Arc
from own_mills import Point


@dataclass(frozen=True)
class Force:
    """What is in force at a move."""

    tool: float
    way: int  # 3, 4 or 5
    speed: float
    mist: bool
    flood: bool
    modes: tuple[float, ...]  # compensation and its number, feed mode, path mode, overrides


@dataclass(frozen=True)
class Setting:
    """What was in force beside that: it tells nothing of the motion that its places do not."""

    motion: float = 1
    plane: float = 17
    distance: float = 90
    units: float = 21
    system: float = 1
    length_number: float = 0
    retract: float = 98


@dataclass(frozen=True)
class Move:
    """path: places from its start on, chords where it is an arc. zero: of the program, here.

    cycle: it is a part of a hole. bite: mm, the deepest of those that make it up. arc: the arc
    itself, or None. called: it stands in a subprogram. home: it ends at a
    home of the machine. turned: A, B, C at its start and its end, degrees of the program.
    """

    line: int
    rapid: bool
    path: tuple[Point, ...]
    feed: float  # mm/min, 0 at rapid
    force: Force
    zero: Point
    cycle: bool = False
    bite: float = 0.0
    arc: Arc | None = None
    setting: Setting = Setting()
    called: bool = False
    home: bool = False
    turned: tuple[float, ...] = (0.0,) * 6


@dataclass(frozen=True)
class Event:
    """What happens besides motion: a stop, a tool change, a dwell, a message, a fault, the end.

    Or `not followed`, and what it is. clear: the tool came to this place at rapid, or has not moved
    at all.
    """

    line: int
    what: str
    text: str
    place: Point
    force: Force
    zero: Point
    clear: bool


Step = Move | Event
"""One thing that a program does."""
