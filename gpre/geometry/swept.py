"""Whether a flat tool, moved anew, stays where it has been before: there it can meet nothing.

A flat tool that has passed over a place in XY has left nothing there above its Z, neither metal
nor clamp. Whether one that stands no lower keeps within that is a question about areas in the
plane.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.path import Path

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SHAVE = 0.005  # mm; what a tool may stick out of the swath and still be within it: rounding
BESIDE = 1.0  # mm; no clamp stands so near to where the tool runs, common practice, no source
RIM = 90  # points round a tool
_AT_ONCE = 32  # lines
_FIRST_MOVES = 16  # looked at, then twice as many
_SPIRAL = 1e-3  # mm; radii at the ends of an arc that differ by no more are one
_CHORD = 5e-4  # mm
_LEVEL = 1e-4  # mm; as deep as that is as deep


def near(path: Path, rows: Ints, place: Floats, reach: float, height: float) -> Ints:
    """(k,): those of the moves that come within `reach` mm of `place` and nowhere above `height`.

    place: (2,) mm; the reach is that in XY. height: Z, mm.
    """
    least, greatest = paths.bounds(paths.take(path, rows))
    close = (least[:, :2] - reach <= place) & (place <= greatest[:, :2] + reach)
    return rows[close.all(axis=1) & (greatest[:, 2] <= height + _LEVEL)]


def centre_lines(moves: Path) -> list[Floats]:
    """(k, 2) mm each: the ways of moves as XY sees them."""
    if not len(moves.sweep):
        return []
    row, _, point = paths.sample(moves, _CHORD)
    return np.split(point[:, :2], np.flatnonzero(np.diff(row)) + 1)


def close_by(lines: Sequence[Floats], place: Floats, reach: float) -> list[Floats]:
    """(k, 2) mm each: the stretches of lines that come within `reach` mm of `place`, (2,) mm.

    Whole pieces between two points of a line are kept or left out.
    """
    if not lines:
        return []
    gaps, joined = _gaps_of(lines, place[None])
    near_by = (gaps[0] <= reach) & joined
    ends = np.flatnonzero(np.diff(near_by, prepend=False, append=False))
    points = np.concatenate(lines)
    return [points[first : last + 1] for first, last in ends.reshape(-1, 2).tolist()]


def rim(place: Floats, radius: float, clear: float) -> Floats:
    """(k, 2) mm: points round a tool at `place`, `clear` mm off its edge, `RIM` to the turn."""
    turn = np.linspace(0.0, 2.0 * np.pi, RIM, endpoint=False)
    return place + (radius + clear) * np.column_stack((np.cos(turn), np.sin(turn)))


def left_by(lines: Sequence[Floats], points: Floats, radius: float) -> Floats:
    """(j, 2) mm: those of the points, (k, 2), that no tool has swept along the lines."""
    for first in range(0, len(lines), _AT_ONCE):
        if not len(points):
            break
        gaps, joined = _gaps_of(lines[first : first + _AT_ONCE], points)
        points = points[~(gaps[:, joined] <= radius + SHAVE).any(axis=1)]
    return points


def left_by_moves(moves: Path, points: Floats, radius: float) -> Floats:
    """(j, 2) mm: those of the points, (k, 2), that no tool has swept on the moves; see `plain`.

    The moves are looked at from the last to the first: those just made cover the most.
    """
    if not len(points):
        return points
    middle = points.mean(axis=0)
    reach = float(np.hypot(*(points - middle).T).max()) + radius + SHAVE
    rows = np.flatnonzero(_gaps_to(moves, middle[None])[0] <= reach)[::-1]
    first, size = 0, _FIRST_MOVES
    while first < len(rows) and len(points):
        some = paths.take(moves, rows[first : first + size])
        points = points[~(_gaps_to(some, points) <= radius + SHAVE).any(axis=1)]
        first, size = first + size, size * 2
    return points


def plain(moves: Path) -> NDArray[np.bool_]:
    """(n,): moves that XY sees as a straight line or as an arc of one radius."""
    rows, arcs = paths.arcs_of(moves)
    result = np.ones(len(moves.sweep), bool)
    if len(rows):
        result[rows] = (arcs.plane == 17) & (np.abs(arc.polar(arcs).radius_change) <= _SPIRAL)
    return result


def onward(path: Path, rows: Ints, place: Floats, length: float) -> list[Floats]:
    """(k, 2) mm: the way from `place` on, so far along it; nothing where the way is no longer.

    rows: moves that follow one another, the first of them through `place`, (2,) mm.
    """
    found: list[Floats] = []
    left = length
    for row in rows.tolist():
        lines = centre_lines(paths.take(path, slice(row, row + 1)))
        line = lines[0]
        if not found:
            at = _nearest(line, place)
            line = np.concatenate((place[None], line[at:]))
        step = np.hypot(*np.diff(line, axis=0).T)
        reached = np.cumsum(step)
        stop = int(np.searchsorted(reached, left))
        if stop < len(step):
            share = (left - (float(reached[stop - 1]) if stop else 0.0)) / float(step[stop])
            end = line[stop] + share * (line[stop + 1] - line[stop])
            return [*found, np.concatenate((line[: stop + 1], end[None]))]
        found.append(line)
        left -= float(reached[-1]) if len(reached) else 0.0
    return found


def _nearest(line: Floats, place: Floats) -> int:
    """Give the first vertex of a line that lies behind the place nearest to a point."""
    return int(np.argmin(_gaps(line, place[None])[0])) + 1


def _gaps_of(lines: Sequence[Floats], points: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """(n, m) mm, (m,): the gaps from points to all lines in a row, and which pieces are of one."""
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return _gaps(np.concatenate(lines), points), owner[1:] == owner[:-1]


def _gaps_to(moves: Path, points: Floats) -> Floats:
    """(k, n) mm: how far plain moves are from points, (k, 2), as XY sees both."""
    gap = np.empty((len(points), len(moves.sweep)))
    straight = np.flatnonzero(moves.sweep == 0.0)
    lines = paths.take(moves, straight)
    gap[:, straight] = _gaps_between(lines.start[:, :2], lines.end[:, :2], points)
    rows, arcs = paths.arcs_of(moves)
    if not len(rows):
        return gap
    about = arc.polar(arcs)
    off = points[:, None] - arcs.centre[:, :2]
    angle = np.arctan2(off[..., 1], off[..., 0]) - about.angle
    within = np.mod(angle * np.sign(arcs.sweep), 2.0 * np.pi) <= np.abs(arcs.sweep)
    ends = (points[:, None] - each[:, :2] for each in (arcs.start, arcs.end))
    nearer = np.minimum(*(np.hypot(each[..., 0], each[..., 1]) for each in ends))
    across = np.abs(np.hypot(off[..., 0], off[..., 1]) - about.radius)
    gap[:, rows] = np.where(within, across, nearer)
    return gap


def _gaps(line: Floats, points: Floats) -> Floats:
    """(n, k - 1) mm: how far each piece between two points of a line is from each point."""
    return _gaps_between(line[:-1], line[1:], points)


def _gaps_between(start: Floats, end: Floats, points: Floats) -> Floats:
    """(k, n) mm: how far straight pieces are from points."""
    along = end - start
    square = np.maximum(np.einsum("ij,ij->i", along, along), 1e-18)
    off = points[:, None] - start
    share = np.clip(np.einsum("nij,ij->ni", off, along) / square, 0.0, 1.0)
    off -= share[..., None] * along
    gap: Floats = np.hypot(off[..., 0], off[..., 1])
    return gap
