"""Whether a flat tool, moved anew, stays where it has been before: there it can meet nothing.

A flat tool that has passed over a place in XY has left nothing there above its Z, neither metal
nor clamp. Whether one that stands no lower keeps within that is a question about areas in the
plane.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry import path as paths
from gpre.geometry.path import Moves, Path
from gpre.geometry.segments import gaps_between
from gpre.geometry.tolerance import GRAZE, RESOLUTION, SWATH_CHORD

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

BESIDE = 1.0  # mm; no clamp stands so near to where the tool runs, common practice, no source
RIM = 90  # points round a tool
_AT_ONCE = 32  # lines


def near(
    least: Floats, greatest: Floats, place: Floats, reach: float, height: float
) -> NDArray[np.bool_]:
    """(n,): which moves come within `reach` mm of `place` in XY and nowhere above `height`.

    least, greatest: (n, 3) mm, the bounds of the moves. place: (2,) mm. height: Z, mm.
    """
    close = (least[:, :2] - reach <= place) & (place <= greatest[:, :2] + reach)
    result: NDArray[np.bool_] = close.all(axis=1) & (greatest[:, 2] <= height + RESOLUTION)
    return result


def centre_lines(moves: Path) -> list[Floats]:
    """(k, 2) mm each: the ways of moves as XY sees them, a circle run many times but twice."""
    if not len(moves.sweep):
        return []
    row, _, point = paths.sample(_unwound(moves), SWATH_CHORD)
    return np.split(point[:, :2], np.flatnonzero(np.diff(row)) + 1)


def _unwound(moves: Path) -> Moves:
    """Return the same moves with fewer turns, where XY sees none the less."""
    few = paths.with_few_turns(moves)
    rows, arcs = paths.arcs_of(moves)
    if len(rows):
        winds = ~arc.level_circles(arcs, RESOLUTION)
        few.sweep[rows[winds]] = arcs.sweep[winds]
    return few


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
        points = points[~(gaps[:, joined] <= radius + GRAZE).any(axis=1)]
    return points


def onward(lines: Iterable[Floats], place: Floats, length: float) -> list[Floats]:
    """(k, 2) mm: the way from `place` on, so far along it; nothing where the way is no longer.

    lines: the centre lines of moves that follow one another, the first through `place`, (2,) mm.
    No more of them are asked for than the way needs.
    """
    found: list[Floats] = []
    left = length
    for line in lines:
        way = line if found else np.concatenate((place[None], line[_nearest(line, place) :]))
        step = np.hypot(*np.diff(way, axis=0).T)
        reached = np.cumsum(step)
        stop = int(np.searchsorted(reached, left))
        if stop < len(step):
            share = (left - (float(reached[stop - 1]) if stop else 0.0)) / float(step[stop])
            end = way[stop] + share * (way[stop + 1] - way[stop])
            return [*found, np.concatenate((way[: stop + 1], end[None]))]
        found.append(way)
        left -= float(reached[-1]) if len(reached) else 0.0
    return found


def _nearest(line: Floats, place: Floats) -> int:
    """Return the first vertex of a line that lies behind the place nearest to a point."""
    return int(np.argmin(_gaps(line, place[None])[0])) + 1


def _gaps_of(lines: Sequence[Floats], points: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """(n, m) mm, (m,): the gaps from points to all lines in a row, and which pieces are of one."""
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    return _gaps(np.concatenate(lines), points), owner[1:] == owner[:-1]


def _gaps(line: Floats, points: Floats) -> Floats:
    """(n, k - 1) mm: how far each piece between two points of a line is from each point."""
    return gaps_between(line[:-1], line[1:], points)
