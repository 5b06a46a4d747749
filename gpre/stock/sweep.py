"""How low a tool passes over each cell while it makes a move.

Straight moves, arcs that lie level in XY and, with a flat tool, helices about Z are exact at the
centres of the cells; other helices and arcs in other planes are run in chords. Heights mm, `inf`
where the tool does not pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, hypot, pi

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.path import Path
from gpre.geometry.tolerance import DUST, HELIX_CHORD
from gpre.stock.coil import coil
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field
from gpre.stock.piece import Boxes, RoundPiece, Straight, SweptCells, most_together

Floats = NDArray[np.float64]

LONG = 6.0  # radii of the tool: a slanting way is cut in pieces so long, to keep its box small
SLANT = 0.05  # a way that leaves its axis by less of its length has a narrow box anyway


def sweep(field: Field, path: Path, row: int, cutter: Cutter) -> Iterator[SweptCells]:
    """Return what a move passes over, in pieces, in order."""
    start, end, turn = path.start[row].tolist(), path.end[row].tolist(), float(path.sweep[row])
    if turn and path.plane[row] == 17 and abs(end[2] - start[2]) <= DUST:
        yield _arc(field, start, path.centre[row].tolist(), turn, cutter)
        return
    if turn:
        winds = coil(field, path, row, cutter) if cutter.flat and path.plane[row] == 17 else None
        yield from winds or _chords(field, path, row, cutter)
        return
    across, up = abs(end[0] - start[0]), abs(end[1] - start[1])
    most = LONG * cutter.radius
    if min(across, up) <= SLANT * max(across, up) or hypot(across, up) <= 2.0 * most:
        yield _line(field, start, end, cutter)
        return
    count = int(hypot(across, up) / most) + 1
    points = np.linspace(start, end, count + 1).tolist()
    for one, other in zip(points, points[1:], strict=False):
        yield _line(field, one, other, cutter)


def _chords(field: Field, path: Path, row: int, cutter: Cutter) -> Iterator[SweptCells]:
    points = paths.sample(paths.take(path, slice(row, row + 1)), HELIX_CHORD)[2]
    if path.plane[row] != 17:  # some chords may go straight up
        for one, other in zip(points.tolist(), points[1:].tolist(), strict=False):
            yield _line(field, one, other, cutter)
        return
    count = most_together(field, points[:-1], points[1:], cutter)
    for first in range(0, len(points) - 1, count):
        some = points[first : first + count + 1]
        yield from sweep_straight(field, some[:-1], some[1:], cutter)


def sweep_straight(
    field: Field, start: Floats, end: Floats, cutter: Cutter
) -> Iterator[SweptCells]:
    """Return what k straight moves pass over, a piece each, in order; start, end: (k, 3) mm.

    For many short moves that all go somewhere in XY: their boxes are of one size.
    """
    if not len(start):
        return
    boxes = Boxes.over(field, start, end, cutter)
    dx, dy = boxes.x - start[:, 0, None, None], boxes.y - start[:, 1, None, None]
    way = end - start
    length = np.hypot(way[:, 0], way[:, 1])
    ux, uy = (way[:, axis, None, None] / length[:, None, None] for axis in range(2))
    along, aside = dx * ux + dy * uy, dy * ux - dx * uy
    slope = (way[:, 2] / length)[:, None, None]
    height = cutter.lowest(along, aside * aside, length[:, None, None], slope)
    height += (start[:, 2] - cutter.drop)[:, None, None]
    steep = np.hypot(length, way[:, 2]) / length
    for at, window in enumerate(boxes.window):
        lies = Straight(along[at], aside[at], cutter.radius, float(steep[at]))
        yield SweptCells(window, height[at], float(steep[at] * length[at]), lies)


def _line(field: Field, start: list[float], end: list[float], cutter: Cutter) -> SweptCells:
    x0, y0, z0 = start
    x1, y1, z1 = end
    r = cutter.radius
    window = field.window((min(x0, x1) - r, min(y0, y1) - r), (max(x0, x1) + r, max(y0, y1) + r))
    dx = field.x[window[1]] - x0
    dy = (field.y[window[0]] - y0)[:, None]
    ux, uy = x1 - x0, y1 - y0
    length = hypot(ux, uy)
    tip = z0 - cutter.drop
    if length <= DUST:
        height = cutter.height(dx * dx + dy * dy) + (min(z0, z1) - cutter.drop)
        return SweptCells(window, height, abs(z1 - z0), None)
    ux, uy = ux / length, uy / length
    along, aside = dx * ux + dy * uy, dy * ux - dx * uy
    steep = hypot(length, z1 - z0) / length
    way = Straight(along, aside, r, steep)
    if cutter.flat and z0 == z1:  # by far the most moves: nothing but inside or outside
        beyond = along - np.minimum(np.maximum(along, 0.0), length)
        inside = aside * aside + beyond * beyond <= r * r
        return SweptCells(window, np.where(inside, tip, np.inf), length, way)
    height = tip + cutter.lowest(along, aside * aside, length, (z1 - z0) / length)
    return SweptCells(window, height, length * steep, way)


def _arc(
    field: Field, start: list[float], centre: list[float], turn: float, cutter: Cutter
) -> SweptCells:
    cx, cy = centre[0], centre[1]
    radius, r = hypot(start[0] - cx, start[1] - cy), cutter.radius
    begin = atan2(start[1] - cy, start[0] - cx)
    least, greatest = _bounds(cx, cy, radius, begin, turn)
    window = field.window((least[0] - r, least[1] - r), (greatest[0] + r, greatest[1] + r))
    dx = field.x[window[1]] - cx
    dy = (field.y[window[0]] - cy)[:, None]
    distance = np.hypot(dx, dy)
    off = distance - radius
    square = off * off
    if abs(turn) < 2.0 * pi:
        way = 1.0 if turn > 0.0 else -1.0
        past = np.mod(way * (np.arctan2(dy, dx) - begin), 2.0 * pi)
        outside = past > abs(turn)
        ends = []
        for angle in (begin, begin + turn):
            px, py = radius * np.cos(angle), radius * np.sin(angle)
            ends.append((dx - px) ** 2 + (dy - py) ** 2)
        square = np.where(outside, np.minimum(ends[0], ends[1]), square)
    height = cutter.height(square) + (start[2] - cutter.drop)
    way_round = RoundPiece(dx, dy, distance, radius, r, begin, turn)
    return SweptCells(window, height, radius * abs(turn), way_round)


def _bounds(
    cx: float, cy: float, radius: float, begin: float, turn: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the box of an arc in XY, mm."""
    low, high = sorted((begin, begin + turn))
    if high - low >= 2.0 * pi:
        return (cx - radius, cy - radius), (cx + radius, cy + radius)
    quarter = np.arange(np.ceil(low / (pi / 2.0)), np.floor(high / (pi / 2.0)) + 1.0) * (pi / 2.0)
    angle = np.concatenate(([low, high], quarter))
    x, y = cx + radius * np.cos(angle), cy + radius * np.sin(angle)
    return (float(x.min()), float(y.min())), (float(x.max()), float(y.max()))
