"""Arcs and helices of NISTIR 6556, 3.5.3, as controllers run them; shares no code with gpre. mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from own_values import FaultError

Flat = tuple[float, float]
Place = tuple[float, float, float]

CHORD = math.radians(6.0)
RADII = 0.05  # mm; where the two radii of an arc differ by more, any controller stops
WHOLE = 2.0 * math.pi
# 3.5.3 and 4.3.6.1: first and second axis of a plane, and its normal. From the positive end of the
# normal, first to second is counter-clockwise: X to Y, Z to X, Y to Z
PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
CENTRES = {17: ("I", "J"), 18: ("K", "I"), 19: ("J", "K")}


@dataclass(frozen=True)
class Arc:
    """An arc from `start` to `end` about `centre` (in its plane), `sweep` rad, G3 above zero."""

    start: Place
    end: Place
    plane: int
    centre: Flat
    sweep: float

    def at(self, part: float) -> Place:
        """Return the place where a part of it is run, 0 to 1; two radii that differ give way."""
        if part in {0.0, 1.0}:
            return self.end if part else self.start
        one, two, normal = PLANES[self.plane]
        away = self.start[one] - self.centre[0], self.start[two] - self.centre[1]
        last = math.dist((self.end[one], self.end[two]), self.centre)
        radius = math.hypot(*away) * (1.0 - part) + last * part
        angle = math.atan2(away[1], away[0]) + self.sweep * part
        place = [0.0, 0.0, 0.0]
        place[one] = self.centre[0] + radius * math.cos(angle)
        place[two] = self.centre[1] + radius * math.sin(angle)
        place[normal] = self.start[normal] * (1.0 - part) + self.end[normal] * part
        return place[0], place[1], place[2]

    def chords(self, greatest: float = CHORD) -> list[Place]:
        """Return places along it, no farther apart than `greatest` rad, both ends included."""
        count = max(1, math.ceil(abs(self.sweep) / greatest - 1e-6))
        return [self.at(number / count) for number in range(count + 1)]

    @property
    def length(self) -> float:
        """Along the helix, to which the feed applies (2.1.2.6)."""
        one, two, normal = PLANES[self.plane]
        radius = math.dist((self.start[one], self.start[two]), self.centre)
        return math.hypot(radius * self.sweep, self.end[normal] - self.start[normal])


def centre_of_radius(
    start: Flat, end: Flat, radius: float, *, left: bool, radii: float = RADII
) -> Flat:
    """Return the centre of an arc given by R; left: counter-clockwise (3.5.3.1)."""
    chord = math.dist(start, end)
    if chord < 1e-9 or chord / 2.0 > abs(radius) + radii or radius == 0.0:
        raise FaultError("no such arc by R")
    high = math.sqrt(max((abs(radius) - chord / 2.0) * (abs(radius) + chord / 2.0), 0.0))
    side = high if left == (radius > 0.0) else -high
    along = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    return (
        (start[0] + end[0]) / 2.0 - side * along[1],
        (start[1] + end[1]) / 2.0 + side * along[0],
    )


def arc_about(
    start: Sequence[float],
    end: Sequence[float],
    plane: int,
    centre: Flat,
    *,
    left: bool,
    turns: int = 1,
    radii: float = RADII,
) -> Arc:
    """Return the arc about a centre; left: counter-clockwise. An end at the start is a whole turn.

    turns: of a P word, which the standard does not have (common practice).
    """
    one, two, _ = PLANES[plane]
    here, there = (start[one], start[two]), (end[one], end[two])
    reach = math.dist(centre, here), math.dist(centre, there)
    if abs(reach[0] - reach[1]) > radii or min(reach) < 1e-6:
        raise FaultError("the radii of an arc differ")
    sweep = WHOLE
    if math.dist(here, there) > 1e-9:
        first = math.atan2(here[1] - centre[1], here[0] - centre[0])
        last = math.atan2(there[1] - centre[1], there[0] - centre[0])
        sweep = (last - first if left else first - last) % WHOLE or WHOLE
    sweep += WHOLE * (turns - 1)
    ends = [(place[0], place[1], place[2]) for place in (start, end)]
    return Arc(ends[0], ends[1], plane, centre, sweep if left else -sweep)
