"""Twist: the table yaws a little when an axis turns round, and the part with it.

A table on one screw is held off its middle. As the axis takes up its backlash, the yaw swings from
one side to the other, in proportion to how much of the backlash is crossed. It turns the part about
the pivot, so that the error grows with the distance from it (common practice, no source).

The sign: while the axis travels in plus, the tool's path over the part is turned counter-clockwise
by half the twist, seen from above; in minus, clockwise. Angles rad, lengths mm, machine
coordinates.
"""

from __future__ import annotations

import numpy as np

from gpre.mill.mill import Twist
from gpre.reversals.play import Bounds, Floats


def yaw(screw: Floats, table: Floats, reach: Floats, full: float) -> Floats:
    """(n,) rad: the yaw that one axis gives the table.

    screw, table, reach: (n,) mm, reach (half the backlash) above 0. full: rad, from side to side.
    """
    result: Floats = np.clip((screw - table) / reach, -1.0, 1.0) * (full / 2.0)
    return result


def yaw_bounds(screw: Floats, table: Bounds, reach: Floats, full: float) -> Bounds:
    """Return the least and the greatest yaw where the table's place is known within bounds."""
    one, other = yaw(screw, table.high, reach, full), yaw(screw, table.low, reach, full)
    return Bounds(np.minimum(one, other), np.maximum(one, other))


def shift(point: Floats, angle: Floats, pivot: tuple[float, float]) -> Floats:
    """(n, 2) mm: how far a yaw (n,) moves each point (n, 2 or 3), machine coordinates, in XY."""
    x, y = point[:, 0] - pivot[0], point[:, 1] - pivot[1]
    sine, less = np.sin(angle), -2.0 * np.sin(angle / 2.0) ** 2  # cos - 1, without its rounding
    return np.column_stack((less * x - sine * y, sine * x + less * y))


def shift_bounds(point: Floats, angle: Bounds, pivot: tuple[float, float]) -> tuple[Floats, Floats]:
    """(n, 2) each, mm: the least and the greatest shift on X and on Y."""
    one, other = shift(point, angle.low, pivot), shift(point, angle.high, pivot)
    return np.minimum(one, other), np.maximum(one, other)


def twists(twist: Twist) -> tuple[tuple[int, float], ...]:
    """Return the axes that twist the table, 0 X, 1 Y, each with its full angle."""
    return tuple((axis, full) for axis, full in ((0, twist.x), (1, twist.y)) if full != 0.0)
