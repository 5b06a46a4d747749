"""Arcs as controllers run them, in chords; shares no code with gpre. Lengths mm."""

from __future__ import annotations

import math
from collections.abc import Iterator

Flat = tuple[float, float]
CHORD = math.radians(6.0)
RADII = 0.05  # mm; where the two radii of an arc differ by more, any controller stops


class FaultError(Exception):
    """A controller stops here."""


def centre_of_radius(start: Flat, end: Flat, radius: float, *, left: bool) -> Flat:
    """Give the centre of an arc given by R; left: counter-clockwise (NISTIR 6556, 3.5.3.1)."""
    chord = math.dist(start, end)
    if chord < 1e-9 or chord / 2.0 > abs(radius) + RADII:
        raise FaultError("no such arc by R")
    high = math.sqrt(max(radius**2 - (chord / 2.0) ** 2, 0.0))
    side = high if left == (radius > 0.0) else -high
    along = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    return (
        (start[0] + end[0]) / 2.0 - side * along[1],
        (start[1] + end[1]) / 2.0 + side * along[0],
    )


def round_arc(
    centre: Flat, start: Flat, end: Flat, *, left: bool
) -> Iterator[tuple[float, float, float]]:
    """Give places along an arc, both ends included: the part run, x, y."""
    radii = math.dist(centre, start), math.dist(centre, end)
    if abs(radii[0] - radii[1]) > RADII or min(radii) < 1e-6:
        raise FaultError("the radii of an arc differ")
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    whole = 2.0 * math.pi
    sweep = (last - first) % whole
    if sweep < 1e-9 or whole - sweep < 1e-9:
        sweep = whole
    elif not left:
        sweep = whole - sweep
    sweep = sweep if left else -sweep
    count = max(1, math.ceil(abs(sweep) / CHORD - 1e-6))
    yield 0.0, *start
    for number in range(1, count):
        part = number / count
        radius = radii[0] + (radii[1] - radii[0]) * part
        angle = first + sweep * part
        yield part, centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)
    yield 1.0, *end
