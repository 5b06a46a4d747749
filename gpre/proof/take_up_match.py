"""Finds the moves of the original that pieces of a table's path run along, and its vertices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import atan2, floor, pi

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES, Floats
from gpre.motion.motion import Kind
from gpre.proof.side import Side

Cell = tuple[int, int, int]
_AROUND = tuple(product((-1, 0, 1), repeat=3))


@dataclass(frozen=True)
class Piece:
    """One move of the table, in the columns of Motion. row: of the program that makes it."""

    row: int
    kind: int
    start: Floats
    end: Floats
    centre: Floats
    sweep: float
    plane: int
    feed: float

    @property
    def middle(self) -> Floats:
        """(3,) mm: half way along."""
        moves = paths.Moves(
            self.start[None], self.end[None], self.centre[None],
            np.array([self.sweep]), np.array([self.plane], np.uint8),
        )  # fmt: skip
        point: Floats = paths.points(moves, np.array([0.5]))[0]
        return point


class Matcher:
    """The original's moves and vertices, to be found by place.

    greatest: mm, how far pieces have left the moves that they stand for. worst: the row where.
    """

    def __init__(self, before: Side, tolerance: float) -> None:
        """Index the moves at feed by their starts, and all ends of moves."""
        motion = before.motion
        self.motion, self.tolerance = motion, tolerance
        self._fine = 2.0 * tolerance
        self._starts: dict[Cell, list[int]] = {}
        for row in before.feeding.tolist():
            self._starts.setdefault(_cell(motion.start[row], self._fine), []).append(row)
        self._coarse = 0.25
        points = np.concatenate((motion.start, motion.end))
        points = np.unique(points[np.isfinite(points).all(axis=1)], axis=0)
        self._points = points
        self._vertices: dict[Cell, list[int]] = {}
        for at, point in enumerate(points):
            self._vertices.setdefault(_cell(point, self._coarse), []).append(at)
        self._last = -1
        self.greatest, self.worst = 0.0, -1

    def vertex(self, place: Floats, reach: Floats) -> Floats:
        """Give the nearest vertex no farther than `reach` (3,) mm on each axis, or the place."""
        if not np.isfinite(place).all():
            return place
        near = [at for cell in _around(place, self._coarse) for at in self._vertices.get(cell, ())]
        if not near:
            return place
        gap = np.abs(self._points[near] - place)
        far = np.where((gap <= reach).all(axis=1), np.linalg.norm(gap, axis=1), np.inf)
        best = int(np.argmin(far))
        return self._points[near[best]] if np.isfinite(far[best]) else place

    def whole(
        self, pieces: Sequence[Piece], at: int, place: Floats, walls: set[int]
    ) -> tuple[Piece, int] | None:
        """Find a move of the original that the pieces from `at` on run along as a whole.

        Give it, at the greatest of their feeds, and the piece behind the last of them.
        """
        start = pieces[at].start
        cells = _around(start, self._fine)
        found = {row for cell in cells for row in self._starts.get(cell, ())}
        following = sorted(found, key=lambda row: (row <= self._last, row))
        for row in following:
            if float(np.linalg.norm(self.motion.start[row] - place)) > self.tolerance:
                continue
            end = self._runs_along(pieces, at, row, walls)
            if end:
                self._last = row
                return self._row(row, pieces[at:end]), end
        return None

    def _row(self, row: int, pieces: Sequence[Piece]) -> Piece:
        motion = self.motion
        return Piece(
            pieces[0].row, int(motion.kind[row]), motion.start[row], motion.end[row],
            motion.centre[row], float(motion.sweep[row]), int(motion.plane[row]),
            max(piece.feed for piece in pieces),
        )  # fmt: skip

    def _runs_along(self, pieces: Sequence[Piece], at: int, row: int, walls: set[int]) -> int:
        """Give the piece behind those that run along a move, from its start to its end, or 0."""
        t, most, worst = 0.0, 0.0, -1
        for number in range(at, len(pieces)):
            piece = pieces[number]
            if number > at and any(
                wall in walls for wall in range(pieces[number - 1].row + 1, piece.row + 1)
            ):
                return 0
            middle, end = self._along(row, piece.middle, t), self._along(row, piece.end, t)
            if not t - 1e-6 <= middle <= end + 1e-6:
                return 0
            for point, share in ((piece.middle, middle), (piece.end, end)):
                off = float(np.linalg.norm(self._point(row, share) - point))
                if off > self.tolerance:
                    return 0
                if off > most:
                    most, worst = off, piece.row
            t = end
            left = float(np.linalg.norm(self.motion.end[row] - piece.end))
            if left <= self.tolerance and t > 0.5:
                if most > self.greatest:
                    self.greatest, self.worst = most, worst
                return number + 1
        return 0

    def _point(self, row: int, t: float) -> Floats:
        some = slice(row, row + 1)
        point: Floats = paths.points(paths.take(self.motion, some), np.array([t]))[0]
        return point

    def _along(self, row: int, point: Floats, t: float) -> float:
        """Give where a move passes nearest to a point, not before `t` by more than half a turn."""
        motion = self.motion
        start, end = motion.start[row], motion.end[row]
        if motion.kind[row] != Kind.ARC:
            way = end - start
            return float(np.clip((point - start) @ way / (way @ way), 0.0, 1.0))
        first, second, _ = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
        centre, sweep = motion.centre[row], float(motion.sweep[row])
        begin = atan2(float(start[second] - centre[second]), float(start[first] - centre[first]))
        angle = atan2(float(point[second] - centre[second]), float(point[first] - centre[first]))
        turn = angle - (begin + sweep * t)
        turn -= 2.0 * pi * round(turn / (2.0 * pi))
        if turn * sweep < 0.0 and abs(turn) > 0.5 * pi:
            turn += 2.0 * pi if sweep > 0.0 else -2.0 * pi
        return float(np.clip(t + turn / sweep, 0.0, 1.0))


def _cell(point: Floats, size: float) -> Cell:
    x, y, z = (floor(float(each) / size) for each in point)
    return x, y, z


def _around(point: Floats, size: float) -> Iterator[Cell]:
    x, y, z = _cell(point, size)
    return ((x + i, y + j, z + k) for i, j, k in _AROUND)
