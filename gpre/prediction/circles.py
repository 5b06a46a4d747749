"""Full circles and the figures of ISO 230-4 that their table paths would be given in a test.

F, radial deviation: greatest and least distance of the path from the nominal circle, about the
nominal centre, plus outside. G, circular deviation: the distance of two circles about one centre
between which the path lies; the centre is that of the least squares circle (LSC), not that of the
minimum zone, which may give a slightly smaller figure. H, circular hysteresis: the greatest radial
difference of a clockwise and a counter-clockwise path at one polar angle, about the LSC centre of
both; only where the program cuts the circle both ways. (ISO 230-4:1996, definitions from memory.)
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import ARC_ANGLE, DUST, ROUNDED
from gpre.motion.motion import Motion
from gpre.prediction.deviation import Deviation

_WHOLE = 2.0 * np.pi - ARC_ANGLE  # rad; ends of arcs are rounded


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle in one plane and its figures, mm; see the head of the module.

    first, last: rows of the intended motion, half open. centre: mm, program coordinates.
    h: None where the circle is cut one way only. known: the state of the backlash is known all
    along.
    """

    first: int
    last: int
    block: int
    plane: int
    centre: tuple[float, float, float]
    radius: float
    counter_clockwise: bool
    f_max: float
    f_min: float
    g: float
    h: float | None
    known: bool


class _Trace(NamedTuple):
    """(k,) each, mm: a table path in the plane of a circle, about its nominal centre."""

    u: Floats
    v: Floats


def circles_of(motion: Motion, found: Deviation) -> tuple[Circle, ...]:
    """Find the full circles of the intended motion, in order, and give their figures.

    A circle may be made of several arcs one after another. Helices are none.
    """
    groups = _groups(motion)
    if not groups or not len(found):
        return ()
    order = np.argsort(found.of, kind="stable")
    of = found.of[order]
    traces: dict[int, _Trace] = {}
    result: list[Circle] = []
    for first, last in groups:
        at = order[np.searchsorted(of, first) : np.searchsorted(of, last)]
        at = at[np.isfinite(found.point[at, 0])]
        if len(at) < 3:
            continue
        circle, trace = _measure(motion, found, at, first, last)
        traces[first] = trace
        result.append(circle)
    return _with_hysteresis(result, traces)


def _groups(motion: Motion) -> list[tuple[int, int]]:
    """Return the rows, half open, of each full circle."""
    rows, arcs = paths.arcs_of(motion)
    if not len(rows):
        return []
    about = arc.polar(arcs)
    first, second, normal = arc.axes_of(arcs.plane)
    which = np.arange(len(rows))
    centre = np.column_stack((arcs.centre[which, first], arcs.centre[which, second]))
    level = arcs.start[which, normal]
    flat = np.abs(arc.rises(arcs)) <= DUST
    ones = np.column_stack((centre, about.radius, level))
    joined = (np.diff(rows) == 1) & (np.abs(np.diff(ones, axis=0)) <= ROUNDED).all(axis=1)
    joined &= (np.diff(arcs.plane.astype(np.int16)) == 0) & flat[1:] & flat[:-1]
    joined &= np.sign(arcs.sweep[1:]) == np.sign(arcs.sweep[:-1])
    heads = np.flatnonzero(np.append(True, ~joined))
    turn = np.abs(arcs.sweep) * (flat & np.isfinite(about.radius))
    full = np.add.reduceat(turn, heads) >= _WHOLE
    tails = np.append(heads[1:], len(rows))
    result: list[tuple[int, int]] = []
    for head, tail in zip(heads[full].tolist(), tails[full].tolist(), strict=True):
        begin, so_far = head, 0.0
        for each in range(head, tail):
            so_far += turn[each]
            if so_far >= _WHOLE:
                result.append((int(rows[begin]), int(rows[each]) + 1))
                begin, so_far = each + 1, 0.0
    return result


def _measure(
    motion: Motion, found: Deviation, at: Ints, first: int, last: int
) -> tuple[Circle, _Trace]:
    plane = int(motion.plane[first])
    u, v, _ = arc.PLANE_AXES[plane - 17].tolist()
    centre = motion.centre[first]
    start = motion.start[first]
    radius = float(np.hypot(start[u] - centre[u], start[v] - centre[v]))
    known = bool(found.known[at].all())
    traces = [_trace(found.point[at] + found.offset_low[at], centre, (u, v))]
    if not known:
        traces.append(_trace(found.point[at] + found.offset_high[at], centre, (u, v)))
    away = [_extremes(trace, 0.0, 0.0) for trace in traces]
    lsc = [_extremes(trace, *least_squares_centre(trace)) for trace in traces]
    x, y, z = centre.tolist()
    circle = Circle(
        first=first,
        last=last,
        block=motion.block_of(first),
        plane=plane,
        centre=(x, y, z),
        radius=radius,
        counter_clockwise=bool(motion.sweep[first] > 0.0),
        f_max=max(most for _, most in away) - radius,
        f_min=min(least for least, _ in away) - radius,
        g=max(most - least for least, most in lsc),
        h=None,
        known=known,
    )
    return circle, traces[0]


def _trace(point: Floats, centre: Floats, axes: tuple[int, int]) -> _Trace:
    return _Trace(point[:, axes[0]] - centre[axes[0]], point[:, axes[1]] - centre[axes[1]])


def _extremes(trace: _Trace, u0: float, v0: float) -> tuple[float, float]:
    """Return the least and the greatest distance from a centre, mm.

    While one axis stands the path is straight, and nearest at a place between samples.
    """
    u, v = trace.u - u0, trace.v - v0
    away = np.hypot(u, v)
    least = float(away.min())
    for along, across in ((u, v), (v, u)):
        stands = np.abs(np.diff(across)) <= DUST
        passes = stands & (np.sign(along[1:]) * np.sign(along[:-1]) < 0.0)
        if passes.any():
            least = min(least, float(np.abs(across[:-1][passes]).min()))
    return least, float(away.max())


def least_squares_centre(*traces: tuple[Floats, Floats]) -> tuple[float, float]:
    """Return the centre of the least squares circle of full rounds, mm, even in their angle.

    traces: (u, v), (k,) each, mm, one for each round. The radius is fitted too. Three steps of
    Gauss and Newton; each squares what is left.
    """
    u, v = (np.concatenate([trace[at] for trace in traces]) for at in (0, 1))
    weight = np.sqrt(np.concatenate([_weights(*trace) for trace in traces]))
    u0 = v0 = 0.0
    for _ in range(3):
        away = np.maximum(np.hypot(u - u0, v - v0), DUST)  # backlash may lead through the centre
        slope = np.column_stack(((u - u0) / away, (v - v0) / away, np.ones(len(u))))
        found, *_ = np.linalg.lstsq(slope * weight[:, None], away * weight, rcond=None)
        u0, v0 = u0 + float(found[0]), v0 + float(found[1])
    return u0, v0


def _weights(u: Floats, v: Floats) -> Floats:
    """(k,) rad: how much of the whole round each place of one round stands for, 2 pi together.

    By the angles to its neighbours, whichever order they come in: at the seam of two rounds some
    places of the one may be told of the other.
    """
    angle = np.arctan2(v, u)
    order = np.argsort(angle, kind="stable")
    step = np.diff(angle[order], append=angle[order[0]] + 2.0 * np.pi)
    weight = np.empty(len(angle))
    weight[order] = (step + np.roll(step, 1)) / 2.0
    return weight


def _with_hysteresis(circles: list[Circle], traces: dict[int, _Trace]) -> tuple[Circle, ...]:
    """Pair each circle with the nearest one in the program that runs the other way round."""
    alike: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for number, circle in enumerate(circles):
        u, v, _ = arc.PLANE_AXES[circle.plane - 17].tolist()
        numbers = (circle.centre[u], circle.centre[v], circle.radius)
        alike[circle.plane, *(round(each / ROUNDED / 10.0) for each in numbers)].append(number)
    result = list(circles)
    for group in alike.values():
        ways = np.array([circles[number].counter_clockwise for number in group])
        if ways.all() or not ways.any():
            continue
        for place, number in enumerate(group):
            others = np.flatnonzero(ways != ways[place])
            other = group[int(others[np.abs(others - place).argmin()])]
            pair = traces[circles[number].first], traces[circles[other].first]
            result[number] = replace(result[number], h=hysteresis(*pair))
    return tuple(result)


def hysteresis(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> float:
    """Return the greatest radial difference of two paths at one polar angle, mm."""
    u0, v0 = least_squares_centre(one, other)
    polar = [_by_angle(each[0] - u0, each[1] - v0) for each in (one, other)]
    angle = np.concatenate((polar[0][0], polar[1][0]))
    radius = [np.interp(angle, *each, period=2.0 * np.pi) for each in polar]
    return float(np.abs(radius[0] - radius[1]).max())


def _by_angle(u: Floats, v: Floats) -> tuple[NDArray[np.float64], Floats]:
    return np.arctan2(v, u), np.hypot(u, v)
