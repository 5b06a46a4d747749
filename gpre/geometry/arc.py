"""Kernels for arcs and helices on arrays; one row an arc, lengths mm, angles radians.

An arc turns about `centre` from `start` to `end` by `sweep`, counter-clockwise positive seen from
the positive end of the plane's normal. In the XZ plane (18) the first axis is Z and the second X
(NISTIR 6556, 4.3.6.1). Angles count from the plane's first axis towards the second. Along the
normal the arc runs evenly (a helix). `t`, 0 to 1, is the fraction of the sweep; with equal radii
also that of the length.

Rounded programs have arcs whose two radii differ slightly. Here the radius then runs evenly with
the angle from the start's to the end's, so that the arc meets both points. The direction of
travel still turns one way only: a right angle behind it is the slanted angle, `angle - atan(r' /
(r sweep))`, whose slope over `t` lies between `sweep` and twice that. So every quadrant place is
the one root of a monotone function.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.repeats import evenly, repeated
from gpre.geometry.tolerance import CHORD, DUST

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# first, second and normal axis of a plane, row by plane - 17 (NISTIR 6556, 4.3.6.1)
PLANE_AXES: NDArray[np.intp] = np.array([[0, 1, 2], [2, 0, 1], [1, 2, 0]], np.intp)
TURN = 2.0 * np.pi
_NEWTON_STEPS = 4  # the first guess is within the difference of the radii, each step squares it
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


class Arcs(NamedTuple):
    """n arcs in columns.

    start, end, centre: (n, 3) mm. sweep: (n,) radians, not 0. plane: (n,) 17, 18 or 19. The
    centre's coordinate along the normal is not used.
    """

    start: Floats
    end: Floats
    centre: Floats
    sweep: Floats
    plane: NDArray[np.uint8]

    def rows(self, rows: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Arcs:
        """Return some of the arcs."""
        if isinstance(rows, np.ndarray) and rows.dtype == np.intp:  # take is much the faster way
            return Arcs(
                self.start.take(rows, axis=0),
                self.end.take(rows, axis=0),
                self.centre.take(rows, axis=0),
                self.sweep.take(rows),
                self.plane.take(rows),
            )
        return Arcs(
            self.start[rows], self.end[rows], self.centre[rows], self.sweep[rows], self.plane[rows]
        )


class Polar(NamedTuple):
    """The same arcs about their centres: (n,) radius and angle at the start, and their change.

    radius, radius_change: mm. angle: radians from the first axis towards the second.
    """

    radius: Floats
    radius_change: Floats
    angle: Floats


def axes_of(plane: NDArray[np.uint8]) -> tuple[Ints, Ints, Ints]:
    """(n,) each: the first, the second and the normal axis of planes, 0 X, 1 Y, 2 Z."""
    axes = PLANE_AXES[plane.astype(np.intp) - 17]
    return axes[:, 0], axes[:, 1], axes[:, 2]


def polar(arcs: Arcs) -> Polar:
    """(n,) each, mm and radians: radius and angle at the start, change of the radius to the end."""
    first, second, _ = axes_of(arcs.plane)
    row = np.arange(len(arcs.sweep))
    centre_u, centre_v = arcs.centre[row, first], arcs.centre[row, second]
    u, v = arcs.start[row, first] - centre_u, arcs.start[row, second] - centre_v
    radius = np.hypot(u, v)
    last = np.hypot(arcs.end[row, first] - centre_u, arcs.end[row, second] - centre_v)
    return Polar(radius, last - radius, np.arctan2(v, u))


def level_circles(arcs: Arcs, within: float) -> NDArray[np.bool_]:
    """(n,): arcs in G17 whose radii at both ends are one, `within` so much, mm."""
    even = np.abs(polar(arcs).radius_change) <= within
    result: NDArray[np.bool_] = even & (arcs.plane == 17)
    return result


def points(arcs: Arcs, t: Floats) -> Floats:
    """(n, 3) mm: the point of each arc at the fraction `t` (n,); the ends are met exactly."""
    return points_of(arcs, polar(arcs), t)


def points_of(arcs: Arcs, about: Polar, t: Floats) -> Floats:
    """(n, 3) mm: as `points`, where `polar(arcs)` is at hand already."""
    first, second, normal = axes_of(arcs.plane)
    row = np.arange(len(arcs.sweep))
    radius = about.radius + about.radius_change * t
    angle = about.angle + arcs.sweep * t
    result = np.empty((len(row), 3))
    result[row, first] = arcs.centre[row, first] + radius * np.cos(angle)
    result[row, second] = arcs.centre[row, second] + radius * np.sin(angle)
    low, high = arcs.start[row, normal], arcs.end[row, normal]
    result[row, normal] = low + (high - low) * t
    at_start, at_end = t == 0.0, t == 1.0
    result[at_start] = arcs.start[at_start]
    result[at_end] = arcs.end[at_end]
    return result


def rises(arcs: Arcs) -> Floats:
    """(n,) mm: the travel along the plane's normal, signed; not 0 for a helix."""
    row = np.arange(len(arcs.sweep))
    normal = axes_of(arcs.plane)[2]
    rise: Floats = arcs.end[row, normal] - arcs.start[row, normal]
    return rise


def lengths(arcs: Arcs) -> Floats:
    """(n,) mm: length along the arc or helix, sqrt((r sweep)^2 + rise^2) with equal radii.

    With unequal radii the speed is integrated by Gauss's rule with eight nodes, exact to rounding
    as long as the radii differ by little.
    """
    about = polar(arcs)
    rise = rises(arcs)
    result = np.hypot(about.radius * arcs.sweep, rise)
    uneven = np.flatnonzero(about.radius_change)
    if len(uneven):
        change = about.radius_change[uneven, None]
        radius = about.radius[uneven, None] + change * (_NODES + 1.0) / 2.0
        across = (radius * arcs.sweep[uneven, None]) ** 2
        speed = np.sqrt(across + change**2 + rise[uneven, None] ** 2)
        result[uneven] = speed @ _WEIGHTS / 2.0
    return result


def tangents(arcs: Arcs, t: Floats) -> Floats:
    """(n, 3) unit vectors: the direction of travel at the fraction `t` (n,); 0 and 1 for the ends.

    NaN for an arc of no length.
    """
    about = polar(arcs)
    first, second, normal = axes_of(arcs.plane)
    row = np.arange(len(arcs.sweep))
    angle = about.angle + arcs.sweep * t
    cosine, sine = np.cos(angle), np.sin(angle)
    outward = about.radius_change
    around = (about.radius + outward * t) * arcs.sweep
    result = np.empty((len(row), 3))
    result[row, first] = outward * cosine - around * sine
    result[row, second] = outward * sine + around * cosine
    result[row, normal] = rises(arcs)
    with np.errstate(invalid="ignore", divide="ignore"):
        unit: Floats = result / np.linalg.norm(result, axis=1, keepdims=True)
    return unit


def quadrants(arcs: Arcs, axis: int) -> tuple[Ints, Floats]:
    """(k,) each: rows and fractions strictly between 0 and 1 where an axis turns, in order.

    Solved, not sampled. Arcs whose normal is the axis have none. An arc of several turns has two
    a turn.
    """
    return quadrants_of(arcs, polar(arcs), axis)


def quadrants_of(arcs: Arcs, about: Polar, axis: int) -> tuple[Ints, Floats]:
    """(k,) each: as `quadrants`, where `polar(arcs)` is at hand already."""
    first, _, normal = axes_of(arcs.plane)
    usable = (normal != axis) & np.isfinite(about.angle) & np.isfinite(arcs.sweep)
    usable &= (arcs.sweep != 0.0) & np.isfinite(about.radius_change)
    # the first axis turns where the slanted angle is a multiple of pi, the second half way between
    offset = np.where(first == axis, 0.0, 0.5)
    low = _slanted(about, arcs.sweep, 0.0) / np.pi - offset
    high = _slanted(about, arcs.sweep, 1.0) / np.pi - offset
    forward = arcs.sweep > 0.0
    least = np.where(usable, np.floor(np.minimum(low, high)) + 1.0, 0.0)
    greatest = np.where(usable, np.ceil(np.maximum(low, high)) - 1.0, -1.0)
    count = np.maximum(greatest - least + 1.0, 0.0).astype(np.intp)
    rows, rank = repeated(count)
    if not len(rows):
        return rows, np.zeros(0)
    whole = np.where(forward[rows], least[rows] + rank, greatest[rows] - rank)
    target = (whole + offset[rows]) * np.pi
    some = Polar(about.radius[rows], about.radius_change[rows], about.angle[rows])
    t = _solve(some, arcs.sweep[rows], target)
    inside = (t > 0.0) & (t < 1.0)
    return rows[inside], t[inside]


def bounds(arcs: Arcs) -> tuple[Floats, Floats]:
    """(n, 3) each, mm: the least and the greatest coordinates anywhere on each arc."""
    least = np.minimum(arcs.start, arcs.end)
    greatest = np.maximum(arcs.start, arcs.end)
    about = polar(arcs)
    for axis in range(3):
        rows, t = quadrants_of(arcs, about, axis)
        if len(rows):
            some = Polar(*(column[rows] for column in about))
            reached = points_of(arcs.rows(rows), some, t)[:, axis]
            np.minimum.at(least[:, axis], rows, reached)
            np.maximum.at(greatest[:, axis], rows, reached)
    return least, greatest


def split(arcs: Arcs, t: Floats) -> tuple[Arcs, Arcs]:
    """Cut each arc at the fraction `t` (n,) into two that together are the same curve."""
    middle = points(arcs, t)
    row = np.arange(len(t))
    normal = axes_of(arcs.plane)[2]
    centre = arcs.centre.copy()
    centre[row, normal] = middle[row, normal]  # the centre lies at the level of the start
    before = Arcs(arcs.start, middle, arcs.centre, arcs.sweep * t, arcs.plane)
    after = Arcs(middle, arcs.end, centre, arcs.sweep * (1.0 - t), arcs.plane)
    return before, after


def backwards(arcs: Arcs) -> Arcs:
    """Return the same curves run from their ends to their starts."""
    row = np.arange(len(arcs.sweep))
    normal = axes_of(arcs.plane)[2]
    centre = arcs.centre.copy()
    centre[row, normal] = arcs.end[row, normal]
    return Arcs(arcs.end, arcs.start, centre, -arcs.sweep, arcs.plane)


def chord_counts(arcs: Arcs, chord: float = CHORD) -> Ints:
    """(n,): how many equal steps keep every chord within `chord` mm of its arc.

    A step turns by at most 2 acos(1 - chord / r), and a quarter turn at most. With unequal radii
    the radius of the formula grows by what the slant adds to the path's bend.
    """
    about = polar(arcs)
    turn = np.abs(arcs.sweep)
    with np.errstate(invalid="ignore", divide="ignore"):
        slant = np.where(about.radius_change != 0.0, 2.0 * np.abs(about.radius_change) / turn, 0.0)
        radius = np.maximum(about.radius, about.radius + about.radius_change) + slant
        share = np.clip(1.0 - chord / radius, 0.0, 1.0)
        step = np.minimum(2.0 * np.arccos(share), np.pi / 2.0)
        # chords far below the rounding of the cosine: the sagitta's own series
        step = np.where(step > 1e-6, step, np.sqrt(8.0 * chord / radius))
        count = np.ceil(turn / step - DUST)
    whole: Ints = np.maximum(np.nan_to_num(count, nan=1.0, posinf=1.0), 1.0).astype(np.intp)
    return whole


def sample(arcs: Arcs, chord: float = CHORD) -> tuple[Ints, Floats, Floats]:
    """(m,), (m,) and (m, 3) mm: row, fraction and point along each arc, both ends included.

    The chords between neighbours stay within `chord` mm of the arc.
    """
    rows, t = evenly(chord_counts(arcs, chord))
    return rows, t, points(arcs.rows(rows), t)


def sweeps(
    start: Floats, end: Floats, centre: Floats, plane: NDArray[np.uint8], way: Floats
) -> Floats:
    """(n,) radians: the turn from start to end about the centre, all (n, 3) mm.

    way: (n,), +1 counter-clockwise (G3), -1 clockwise (G2). See `planar_sweeps`.
    """
    first, second, _ = axes_of(plane)
    row = np.arange(len(way))
    centre_u, centre_v = centre[row, first], centre[row, second]
    u0, v0 = start[row, first] - centre_u, start[row, second] - centre_v
    u1, v1 = end[row, first] - centre_u, end[row, second] - centre_v
    return planar_sweeps((u0, v0), (u1, v1), way)


def planar_sweeps(start: tuple[Floats, Floats], end: tuple[Floats, Floats], way: Floats) -> Floats:
    """(n,) radians: the turn from start to end about the origin of their plane.

    start, end: (n,) mm on the first and on the second axis. way: (n,), +1 counter-clockwise (G3),
    -1 clockwise (G2). The turn lies above 0 and at most at 2 pi in size; an end that is the start
    is a full turn (NISTIR 6556, 3.5.3.2).
    """
    (u0, v0), (u1, v1) = start, end
    turn = np.arctan2(u0 * v1 - v0 * u1, u0 * u1 + v0 * v1) * way
    turn = np.where(turn <= 0.0, turn + TURN, turn)
    same = (np.abs(u1 - u0) <= DUST) & (np.abs(v1 - v0) <= DUST)
    result: Floats = np.where(same, TURN, turn) * way
    return result


def sweeps_about(start: Floats, end: Floats, centre: Floats, like: Floats) -> Floats:
    """(n,) radians: the turns in XY from start to end about a centre beside the arcs' own.

    start, end: (n, 2) mm. centre: (2,) mm. like: (n,) radians, the sweeps about their own centres,
    for the way round and the whole turns.
    """
    one, other = start - centre, end - centre
    across = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    turn = np.arctan2(across, (one * other).sum(axis=1))
    result: Floats = turn + TURN * np.round((like - turn) / TURN)
    return result


def centres_by_radius(
    start: Floats, end: Floats, radius: Floats, plane: NDArray[np.uint8], way: Floats
) -> tuple[Floats, Floats]:
    """(n, 3) mm and (n,) mm: centres of arcs in the radius form, and what the radius lacks.

    start, end: (n, 3) mm. radius: (n,) mm, negative for a turn above 180 degrees (NISTIR 6556,
    3.5.3.1). way: (n,), +1 counter-clockwise (G3), -1 clockwise (G2). Half the chord less the
    radius is the second result: above 0 no arc of this radius joins the two points, and the
    centre given is the middle of the chord. NaN centres where start and end are the same.
    """
    first, second, _ = axes_of(plane)
    row = np.arange(len(way))
    du = end[row, first] - start[row, first]
    dv = end[row, second] - start[row, second]
    half = np.hypot(du, dv) / 2.0
    share = height_share(half, radius, way)
    centre = start.copy()
    centre[row, first] = (start[row, first] + end[row, first]) / 2.0 - dv * share
    centre[row, second] = (start[row, second] + end[row, second]) / 2.0 + du * share
    return centre, half - np.abs(radius)


def height_share(half: Floats, radius: Floats, way: Floats) -> Floats:
    """(n,): how far the centre of an arc lies to the left of its chord, as a share of the chord.

    half: (n,) mm, half the chord. radius, way: as `centres_by_radius` has them.
    """
    size = np.abs(radius)
    # the product keeps the digits that r^2 - (c/2)^2 would lose near the half circle
    height = np.sqrt(np.maximum((size - half) * (size + half), 0.0))
    side = np.where(radius < 0.0, -way, way)
    with np.errstate(invalid="ignore", divide="ignore"):
        share: Floats = side * height / (2.0 * half)
    return share


def _slanted(about: Polar, sweep: Floats, t: float | Floats) -> Floats:
    """(n,) radians: the angle at `t` less the slant of the path; see the head of the module."""
    angle: Floats = about.angle + sweep * t
    if not about.radius_change.any():
        return angle
    return angle - _slant(about, sweep, t)


def _slant(about: Polar, sweep: Floats, t: float | Floats) -> Floats:
    around = (about.radius + about.radius_change * t) * sweep
    with np.errstate(invalid="ignore", divide="ignore"):
        slant: Floats = np.arctan(about.radius_change / around)
    return np.where(about.radius_change == 0.0, 0.0, slant)


def _solve(about: Polar, sweep: Floats, target: Floats) -> Floats:
    """(n,): the fraction at which the slanted angle is `target`, by Newton's method."""
    t: Floats = (target - about.angle) / sweep
    uneven = np.flatnonzero(about.radius_change)
    if not len(uneven):
        return t
    some = Polar(*(column[uneven] for column in about))
    turn, goal = sweep[uneven], target[uneven]
    change = some.radius_change**2
    guess = np.clip(t[uneven], 0.0, 1.0)
    for _ in range(_NEWTON_STEPS):
        around = (some.radius + some.radius_change * guess) * turn
        slope = turn * (1.0 + change / (around**2 + change))
        guess = np.clip(guess + (goal - _slanted(some, turn, guess)) / slope, 0.0, 1.0)
    t[uneven] = guess
    return t
