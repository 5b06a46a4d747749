"""What the axes allow each move of a motion: its greatest speed, and how fast it may gain speed.

Along a straight move an axis has a fixed share of the speed, the cosine of its direction. Along an
arc the greatest share anywhere on it counts, so that the limit holds over the whole arc. The pull
towards the centre, v²/R, is held by the axes too: v <= sqrt(a R), for a helix with the radius of
its bend. The two accelerations are held one by one, not added. Feeds are those of the program:
overrides stand at 100 %. Cutter radius compensation is not followed: lengths are as programmed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry import arc
from gpre.geometry.arc import Arcs, Floats, Ints
from gpre.geometry.path import arcs_of
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion


class Allowed(NamedTuple):
    """n moves. length: (n,) mm. speed: (n,) mm/s, the greatest. acceleration: (n,) mm/s², along it.

    first, last: (3, n) unit vectors, the directions at the start and at the end; NaN for a rest.
    A move with NaN in its length or its speed has no known time, unless it is a rest.
    """

    length: Floats
    speed: Floats
    acceleration: Floats
    first: Floats
    last: Floats


# a share of zero limits nothing, and lengths beyond all measure are not known
@np.errstate(invalid="ignore", divide="ignore", over="ignore")
def allowed(motion: Motion, mill: Mill) -> Allowed:
    """Find what the axes of a mill allow each move; rapids go straight, all axes together."""
    first = np.empty((3, len(motion)))
    for axis in range(3):
        np.subtract(motion.end[:, axis], motion.start[:, axis], out=first[axis])
    length = np.sqrt(np.einsum("ij,ij->j", first, first))
    first /= length
    share, last = np.abs(first), first
    # a feed of zero or none at all gives no time
    feed = np.where(motion.feed > 0.0, motion.feed / 60.0, np.nan)
    speed = np.where(motion.kind == Kind.RAPID, np.inf, feed)
    rows, arcs = arcs_of(motion)
    if len(rows):
        bows = _bows(arcs, mill)
        last = first.copy()
        length[rows], first[:, rows], last[:, rows] = bows.length, bows.first, bows.last
        share[:, rows] = bows.share
        speed[rows] = np.minimum(speed[rows], bows.speed)
    acceleration = np.full(len(motion), np.inf)
    for axis, limits in enumerate(mill.axes):
        np.minimum(speed, limits.top_speed / 60.0 / share[axis], out=speed)
        np.minimum(acceleration, limits.acceleration / share[axis], out=acceleration)
    return Allowed(length, speed, acceleration, first, last)


class _Bows(NamedTuple):
    """k arcs: as `Allowed`, with the greatest share (3, k) of each axis in the travel."""

    length: Floats
    speed: Floats
    first: Floats
    last: Floats
    share: Floats


def _bows(arcs: Arcs, mill: Mill) -> _Bows:
    """Find what the pull towards the centre allows, and the shares of the axes."""
    about = arc.polar(arcs)
    one, two, normal = arc.axes_of(arcs.plane)
    row = np.arange(len(one))
    length = arc.lengths(arcs)
    cosine = _greatest_cosine(about.angle, arcs.sweep)
    sine = _greatest_cosine(about.angle - np.pi / 2.0, arcs.sweep)
    pull = np.array([axis.acceleration for axis in mill.axes])
    least = np.minimum(about.radius, about.radius + about.radius_change)
    share = np.empty((3, len(row)))
    steep = np.abs(arc.rises(arcs)) / length
    flat = np.sqrt(np.maximum(1.0 - steep**2, 0.0))
    greatest = np.minimum(pull[one] / cosine, pull[two] / sine)
    speed = np.sqrt(greatest * least) / flat
    # the travel stands across the radius: its share on the first axis is the radius's on the second
    share[one, row], share[two, row], share[normal, row] = flat * sine, flat * cosine, steep
    first = arc.tangents(arcs, np.zeros(len(row))).T
    last = arc.tangents(arcs, np.ones(len(row))).T
    return _Bows(length, speed, first, last, share)


def _greatest_cosine(angle: Floats, sweep: Floats) -> Floats:
    """(n,): the greatest |cos| between an angle and the angle a sweep later, both (n,) radians."""
    end = angle + sweep
    low, high = np.minimum(angle, end) / np.pi, np.maximum(angle, end) / np.pi
    through = np.floor(high) >= np.ceil(low)
    ends = np.maximum(np.abs(np.cos(angle)), np.abs(np.cos(end)))
    result: Floats = np.where(through, 1.0, ends)
    return result


def rests(motion: Motion, length: Floats) -> Ints:
    """(k,) rows: the moves that go nowhere, on no axis, rotary ones included."""
    still = length == 0.0
    if len(motion.rotary):
        still &= (motion.rotary[:, :3] == motion.rotary[:, 3:]).all(axis=1)
    return np.flatnonzero(still)
