"""Straightens a chain until nothing more is to be gained, within the tolerance of the original.

A pass through all axes may make room for another. All of them together must keep to the tolerance
in space, measured against the chain as it was; a stretch where they cannot is left as it was.
What comes out is settled: straightening it again changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from math import floor, inf, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST, SHARE
from gpre.rewrites.straighten.monotone import VertexShift, departure, shifts_of, straightened

PASSES = 12
SAFE = 0.9  # of the tolerance, for a distance that is sampled
BESIDE = 2  # vertices on either side that a stretch's distance is measured with
# vertices of a stretch whose distance is measured: time and memory for it grow with the square, and
# so many take a quarter of a second and 100 MB
LONGEST = 250


class Corridor(NamedTuple):
    """tolerance: mm, in space. step: mm, of the numbers that can be written."""

    tolerance: float
    step: float

    def reach(self, axes: int) -> float:
        """Return how far a vertex may move on one axis if so many axes move at once, mm."""
        return floor(self.tolerance / sqrt(axes) / self.step + SHARE) * self.step


class TurnGroup(NamedTuple):
    """Vertices `first` to `last` (both included) that have moved, and the reversals gained."""

    first: int
    last: int
    gained: int


@dataclass(frozen=True)
class Settled:
    """points: (n, 3) mm, the new vertices.

    given_up: first, last, and how far it would go, mm; infinite where it is too long to measure.
    """

    points: Floats
    groups: tuple[TurnGroup, ...]
    given_up: tuple[tuple[int, int, float], ...]


Straightened = Callable[[int], tuple[Floats, list[VertexShift]]]


@dataclass
class _Chain:
    """A chain on its way: the vertices as they were and as they are now."""

    old: Floats
    now: Floats
    corridor: Corridor
    around: Sequence[tuple[Floats, Floats]]
    resolution: Sequence[float]
    frozen: NDArray[np.bool_]
    together: NDArray[np.bool_]  # vertices within what has moved

    def shifts(self, points: Floats, axes: int) -> tuple[Floats, list[VertexShift]]:
        """Straighten every axis by itself; give the vertices and what has moved."""
        held = points.copy()
        found: list[VertexShift] = []
        reach = self.corridor.reach(axes)
        for axis in range(3):
            x = points[:, axis]
            new = straightened(x, reach)
            held[:, axis] = new.place
            found += shifts_of(x, new, axis, self.around[axis], self.resolution[axis])
        return held, [each for each in found if not self.frozen[each.first : each.last + 1].any()]

    def fits(self, first: int, last: int, new: Floats) -> tuple[float, bool]:
        """Return how far vertices `first` to `last` would leave the old path, mm; and if they may.

        new: where they would be, with those of `beside` around them.
        """
        old = self.old[beside(first, last)]
        inner = slice(min(first, BESIDE), min(first, BESIDE) + last + 1 - first)
        moved = float(np.linalg.norm(new[inner] - old[inner], axis=1).max())
        if moved <= self.corridor.tolerance + DUST:
            return moved, True
        if len(new) > LONGEST:
            return inf, False
        sampled = departure(old, new)
        return sampled, sampled <= SAFE * self.corridor.tolerance

    def moved_around(self, first: int, last: int) -> tuple[int, int]:
        """Widen a stretch by the moved vertices that touch it."""
        moved = self.together
        while first > 0 and moved[first - 1]:
            first -= 1
        while last + 1 < len(moved) and moved[last + 1]:
            last += 1
        return first, last


def beside(first: int, last: int) -> slice:
    """Return the vertices of a stretch with those on either side that its distance counts with."""
    return slice(max(first - BESIDE, 0), last + 1 + BESIDE)


def settle(
    points: Floats,
    corridor: Corridor,
    around: Sequence[tuple[Floats, Floats]],
    resolution: Sequence[float],
) -> Settled:
    """Straighten a chain of vertices, (n, 3) mm; `around` are the travels on either side of it."""
    nowhere = np.zeros(len(points), bool)
    chain = _Chain(points, points.copy(), corridor, around, resolution, nowhere, nowhere.copy())
    gained = np.zeros(len(points), np.int64)
    given_up: list[tuple[int, int, float]] = []
    for turn in range(PASSES):
        anew = cache(partial(chain.shifts, chain.now.copy()))
        shifts = anew(1)[1]
        if not shifts:
            break
        for group in _touching(shifts):
            first, last = group[0].first, max(each.last for each in group)
            apart, taken = _take(chain, group, anew, gained)
            if taken and turn < PASSES - 1:
                continue
            first, last = chain.moved_around(first, last)
            chain.now[first : last + 1] = points[first : last + 1]
            gained[first : last + 1] = 0
            chain.together[first : last + 1] = False
            chain.frozen[first : last + 1] = True
            given_up.append((first, last, apart))
    return Settled(chain.now, _groups(chain, gained), tuple(sorted(given_up)))


def _take(
    chain: _Chain, group: list[VertexShift], anew: Straightened, gained: NDArray[np.int64]
) -> tuple[float, bool]:
    """Move the vertices of a group, by less if it must be; say how far, mm, and if it was done.

    anew: gives the vertices straightened so that so many axes may move at once.
    """
    first, last = group[0].first, max(each.last for each in group)
    axes = len({each.axis for each in group})
    place = beside(first, last)
    new = _with(chain.now, place, group, anew(1)[0])
    apart, fits = chain.fits(first, last, new)
    if not fits and axes > 1:
        held, shifts = anew(axes)
        group = [each for each in shifts if first <= each.first and each.last <= last]
        group = [each for each in group if not chain.frozen[each.first : each.last + 1].any()]
        new = _with(chain.now, place, group, held)
        fits = bool(group) and chain.fits(first, last, new)[1]
    if fits:
        chain.now[place] = new
        for each in group:
            gained[each.first] += each.gained
            chain.together[each.first : each.last + 1] = True
    return apart, fits


def _with(points: Floats, place: slice, group: list[VertexShift], held: Floats) -> Floats:
    """Return the vertices of a place with those of a group where they are held."""
    new = points[place].copy()
    for each in group:
        rows = slice(each.first - place.start, each.last + 1 - place.start)
        new[rows, each.axis] = held[each.first : each.last + 1, each.axis]
    return new


def _touching(shifts: list[VertexShift]) -> list[list[VertexShift]]:
    """Put together the shifts whose vertices touch or overlap."""
    groups: list[list[VertexShift]] = []
    reach = -2
    for each in sorted(shifts, key=lambda shift: (shift.first, shift.last)):
        if each.first > reach + 1:
            groups.append([])
        groups[-1].append(each)
        reach = max(reach, each.last)
    return groups


def _groups(chain: _Chain, gained: NDArray[np.int64]) -> tuple[TurnGroup, ...]:
    """Return the stretches of vertices that have moved."""
    moved = chain.together
    edges = np.flatnonzero(np.diff(np.concatenate(([False], moved, [False])).astype(np.int8)))
    return tuple(
        TurnGroup(first, stop - 1, int(gained[first:stop].sum()))
        for first, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    )
