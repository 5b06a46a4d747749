"""Mills that differ in all that a program does not tell; they share no code with gpre.

A program does not say where its zeros lie, how long its tools are, where home is, where a tool
change leaves the axes and how its controller reads what the standard leaves open. What two
programs do alike on each of these mills depends on nothing that nobody knows. Machine mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random

from own_arcs import RADII
from own_blocks import PLAIN, Reading

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Known:
    """What the profile tells of a mill; what is None or missing is drawn by chance. Machine mm.

    change: the axes that a tool change moves, `all`, `z` or `none`. all_home: G28 takes all axes
    home, not only those named.
    """

    origins: Mapping[int, Point] = field(default_factory=dict)
    lengths: Mapping[int, float] = field(default_factory=dict)
    home: Point | None = None
    second_home: Point | None = None
    units: int | None = None
    distance: int | None = None
    plane: int | None = None
    change: str = "all"
    all_home: bool | None = None


@dataclass(frozen=True)
class Machine:
    """A mill and how it stands before the first block.

    change: where a tool change leaves X, Y and Z; None: where they are. number_alone: an H or D
    word counts without its G code. all_home: G28 takes all axes home, not only those named.
    dwell_alone: axis words beside G4 move nothing. change_stops: the spindle stands after a tool
    change (NISTIR 6556, 3.6.3, from memory). row_level: G98 comes back to where the axis stood
    before the first of a row of cycles (common practice), else before each of them (3.5.20, from
    memory). tap_to_top: G84 feeds out to R and goes on at rapid (common practice), else it feeds
    all the way (3.5.16.4, from memory). back_off: mm, how far above the last depth a peck comes
    back down (3.5.16.3 has "a bit"). radii: mm, by how much the radii of an arc may differ.
    cycles_share: a cycle takes over the words of another one (common practice), else it is a fault
    (3.5.16). kept: what G92.3 brings back of an earlier program. told_systems, told_lengths: whose
    zeros and lengths somebody has told, None for all; where another comes in force the place is NaN
    until the program states it.
    """

    origins: Mapping[int, Point]
    lengths: Mapping[int, float]
    home: Point
    second_home: Point
    change: tuple[float | None, ...]
    start: Point
    units: int = 21
    distance: int = 90
    plane: int = 17
    motion: float = 1
    retract: int = 98
    length: float = 0.0
    system: int = 1
    feed: float = 77.0
    number_alone: bool = False
    all_home: bool = False
    dwell_alone: bool = False
    change_stops: bool = True
    row_level: bool = True
    tap_to_top: bool = True
    back_off: float = 0.1
    radii: float = RADII
    cycles_share: bool = True
    kept: Point = (0.0, 0.0, 0.0)
    told_systems: frozenset[int] | None = None
    told_lengths: frozenset[int] | None = None
    reading: Reading = PLAIN


def plain_machine(**changes: object) -> Machine:
    """A mill whose zeros all lie at machine zero, with the tool there; to be changed."""
    nowhere = (0.0, 0.0, 0.0)
    at = Machine(dict.fromkeys(range(1, 10), nowhere), {}, nowhere, nowhere, (None,) * 3, nowhere)
    return replace(at, **changes)  # type: ignore[arg-type]


def machines(known: Known, count: int, seed: int = 1, *, points: bool = False) -> list[Machine]:
    """Draw mills that agree with what is known.

    points: the program at hand writes all its coordinates with a point.
    """
    random = Random(seed)
    return [_drawn(known, at, random, points=points) for at in range(count)]


def _drawn(known: Known, at: int, random: Random, *, points: bool) -> Machine:
    """The first stands as the standard begins; the others are odder."""

    def place(low: float, high: float) -> Point:
        return tuple(round(random.uniform(*each), 3) for each in ((0, 400), (0, 180), (low, high)))  # type: ignore[return-value]

    origins = {system: place(-220.0, -180.0) for system in range(1, 10)}
    lengths = {number: round(random.uniform(20.0, 120.0), 3) for number in range(-1, 100)}
    home, second, start, change = place(90, 200), place(90, 200), place(0, 200), place(-150, 200)
    odd = at > 0
    return Machine(
        {**origins, **known.origins},
        {**lengths, 0: 0.0, **known.lengths},
        known.home or home,
        known.second_home or second,
        _change(known, change if at % 3 else None),
        start,
        known.units or (20 if at % 4 == 3 else 21),
        known.distance or (91 if at % 4 == 2 else 90),
        known.plane or (18 if at % 5 == 4 else 17),
        1 if at % 2 == 0 else 0,
        99 if at % 3 == 2 else 98,
        lengths[98] if odd else 0.0,
        1 if at % 4 < 3 else 5,
        random.uniform(50.0, 90.0),
        at % 2 == 1,
        at % 4 == 1 if known.all_home is None else known.all_home,
        at % 4 == 1,
        change_stops=at % 2 == 0,
        row_level=at % 3 != 1,
        tap_to_top=at % 3 != 2,
        cycles_share=at % 4 != 3,
        kept=(1.5 * at, -2.5 * at, 3.5 * at),
        reading=Reading(
            thousandths=points and at % 2 == 1,
            open_comment="bracket" if at % 3 == 1 else "line",
            nested=at % 3 == 2,
            columns=256 if at % 2 else None,
            joined=at % 4 != 1,
            ends_at_number=at % 3 == 2,
        ),
    )


def _change(known: Known, place: Point | None) -> tuple[float | None, ...]:
    """Return where a tool change leaves the axes."""
    if place is None or known.change == "none":
        return None, None, None
    return place if known.change == "all" else (None, None, place[2])
