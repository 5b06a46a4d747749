"""The moves of a motion, made ready for many questions about places on them.

What `gpre.geometry` would work out for each place (radius and angle of its arc) is worked out once
for each move here: a sampled arc asks for it dozens of times.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.arc import Floats, Ints, Polar
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion


class Normals(NamedTuple):
    """(k, 3) unit vectors each, at a right angle to the path and to one another.

    aside: away from the centre of an arc; to the right of a straight move as seen from above (so
    that outside a contour that runs counter-clockwise is plus on both); X for a move straight up
    or down. upward: the other one. along: the direction of travel. NaN for moves of no length.
    """

    aside: Floats
    upward: Floats
    along: Floats


class _CurvePlaces(NamedTuple):
    """Places on arcs: which of the places asked for, (k,) axes, cosine, sine and radius there.

    arc: (k,) the number of the arc.
    """

    at: Ints
    arc: Ints
    first: Ints
    second: Ints
    cosine: Floats
    sine: Floats
    radius: Floats


class Across(NamedTuple):
    """What lies across the path at k places: directions, and where arcs have their centres."""

    normals: Normals
    on_arcs: _CurvePlaces
    centre_u: Floats
    centre_v: Floats

    def outside(self, point: Floats) -> tuple[Ints, Floats]:
        """Return which places lie on arcs, (a,), and how far outside those `point` is, (a,) mm.

        point: (k, 3) mm. The distance from the centre, less the radius at the place.
        """
        some = self.on_arcs
        u = point[some.at, some.first] - self.centre_u
        v = point[some.at, some.second] - self.centre_v
        return some.at, np.hypot(u, v) - some.radius


class Curves:
    """The moves of a motion. Lengths mm; `row` (k,) and `t` (k,), 0 to 1, name places on them."""

    def __init__(self, motion: Motion) -> None:
        self.motion = motion
        self.arc_row, self.arcs = paths.arcs_of(motion)
        self.about: Polar = arc.polar(self.arcs)
        self._first, self._second, self._normal = arc.axes_of(self.arcs.plane)
        which = np.arange(len(self.arc_row))
        self._centre = (
            self.arcs.centre[which, self._first],
            self.arcs.centre[which, self._second],
        )
        self._rise = self.arcs.end[which, self._normal] - self.arcs.start[which, self._normal]
        self._number = np.full(len(motion), -1, np.intp)
        self._number[self.arc_row] = which
        self._travel = motion.end - motion.start

    def points(self, row: Ints, t: Floats) -> Floats:
        """(k, 3) mm: the places; the ends of moves are met exactly."""
        result = self._travel.take(row, axis=0)
        result *= t[:, None]
        result += self.motion.start.take(row, axis=0)
        inner = self._on_arcs(row, t, inner_only=True)
        if len(inner.at):
            centre_u, centre_v = (each[inner.arc] for each in self._centre)
            result[inner.at, inner.first] = centre_u + inner.radius * inner.cosine
            result[inner.at, inner.second] = centre_v + inner.radius * inner.sine
        at_end = np.flatnonzero(t == 1.0)
        result[at_end] = self.motion.end.take(row[at_end], axis=0)
        return result

    def across(self, row: Ints, t: Floats) -> Across:
        """Return what lies across the path at the places."""
        some = self._on_arcs(row, t)
        centre_u, centre_v = (each[some.arc] for each in self._centre)
        return Across(self._normals(row, some), some, centre_u, centre_v)

    def _normals(self, row: Ints, some: _CurvePlaces) -> Normals:
        """(k, 3) each: the directions across the path and along it."""
        along = self._travel.take(row, axis=0)
        outward = np.zeros((len(some.at), 3))
        if len(some.at):
            which = np.arange(len(some.at))
            change = self.about.radius_change[some.arc]
            around = some.radius * self.arcs.sweep[some.arc]
            outward[which, some.first], outward[which, some.second] = some.cosine, some.sine
            tangent = np.empty_like(outward)
            tangent[which, some.first] = change * some.cosine - around * some.sine
            tangent[which, some.second] = change * some.sine + around * some.cosine
            tangent[which, self._normal[some.arc]] = self._rise[some.arc]
            along[some.at] = tangent
        _to_units(along)
        flat = np.hypot(along[:, 0], along[:, 1])
        plumb = flat < DUST
        flat[plumb] = 1.0
        aside = np.zeros_like(along)
        aside[:, 0], aside[:, 1] = along[:, 1] / flat, -along[:, 0] / flat
        aside[plumb] = (1.0, 0.0, 0.0)
        aside[np.isnan(flat)] = np.nan
        if len(some.at):  # radii that differ slant the path a little
            tangent = along[some.at]
            outward -= np.einsum("ij,ij->i", outward, tangent)[:, None] * tangent
            _to_units(outward)
            aside[some.at] = outward
        return Normals(aside, _upwards(aside, along), along)

    def solve(self, axis: int, row: Ints, target: Floats, ends: tuple[Floats, Floats]) -> Floats:
        """(k,): where moves `row` have the coordinate `target`, between `ends`, one way there.

        Regula falsi in the Illinois manner: the bracket stays, and both of its ends move.
        """
        low, high = ends[0].copy(), ends[1].copy()
        miss_low = self.points(row, low)[:, axis] - target
        miss_high = self.points(row, high)[:, axis] - target
        result = low.copy()
        side = np.zeros(len(target), np.int8)
        rest = np.arange(len(target))
        for _ in range(_STEPS):
            gap = miss_high[rest] - miss_low[rest]
            steep = gap != 0.0
            share = np.where(steep, -miss_low[rest] / np.where(steep, gap, 1.0), 0.5)
            at = low[rest] + np.clip(share, 0.0, 1.0) * (high[rest] - low[rest])
            result[rest] = at
            here = self.points(row[rest], at)[:, axis] - target[rest]
            forward = np.sign(here) == np.sign(miss_low[rest])
            ahead, back = rest[forward], rest[~forward]
            low[ahead], miss_low[ahead] = at[forward], here[forward]
            high[back], miss_high[back] = at[~forward], here[~forward]
            miss_high[ahead[side[ahead] == 1]] /= 2.0
            miss_low[back[side[back] == -1]] /= 2.0
            side[ahead], side[back] = 1, -1
            rest = rest[np.abs(here) > _CLOSE]
            if not len(rest):
                break
        return result

    def _on_arcs(self, row: Ints, t: Floats, *, inner_only: bool = False) -> _CurvePlaces:
        number = self._number.take(row)
        on_arc = number >= 0
        if inner_only:
            on_arc &= (t != 0.0) & (t != 1.0)
        at = np.flatnonzero(on_arc)
        number, t = number.take(at), t.take(at)
        angle = self.about.angle.take(number) + self.arcs.sweep.take(number) * t
        return _CurvePlaces(
            at,
            number,
            self._first.take(number),
            self._second.take(number),
            np.cos(angle),
            np.sin(angle),
            self.about.radius.take(number) + self.about.radius_change.take(number) * t,
        )


_STEPS = 40
_CLOSE = 1e-11  # mm; what the solver leaves


def _to_units(vector: Floats) -> None:
    """Make vectors (k, 3) as long as 1, in place; those of no length become NaN."""
    length = np.sqrt(np.einsum("ij,ij->i", vector, vector))
    length[length == 0.0] = np.nan
    vector /= length[:, None]


def _upwards(aside: Floats, along: Floats) -> Floats:
    """(k, 3): at a right angle to both, its greatest component plus."""
    upward = np.cross(aside, along)
    x, y, z = np.abs(upward).T
    lead = np.where(
        z >= np.maximum(x, y), upward[:, 2], np.where(x >= y, upward[:, 0], upward[:, 1])
    )
    upward[lead < 0.0] *= -1.0
    return upward
