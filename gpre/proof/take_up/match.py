"""Finds the moves of the original that pieces of a table's path run along, and its vertices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import atan2, floor

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.arc import PLANE_AXES, TURN, Floats
from gpre.geometry.tolerance import SHARE
from gpre.motion.motion import Kind
from gpre.proof.side import Side

Cell = tuple[int, int, int]
_PLACES = np.linspace(0.0, 1.0, 9)[1:]  # along a piece, which is straight or one arc
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
    def ends(self) -> tuple[Floats, Floats]:
        """Its start and its end."""
        return self.start, self.end

    @property
    def length(self) -> float:
        """From its start to its end, mm."""
        return float(np.linalg.norm(self.end - self.start))

    @property
    def points(self) -> Floats:
        """(k, 3) mm: places along it, its start left out."""
        moves = paths.Moves(
            self.start[None], self.end[None], self.centre[None],
            np.array([self.sweep]), np.array([self.plane], np.uint8),
        )  # fmt: skip
        every = np.zeros(len(_PLACES), np.intp)
        return paths.points(paths.take(moves, every), _PLACES)


class Matcher:
    """The original's moves and vertices, to be found by place.

    greatest: mm, how far pieces have left the moves that they stand for. worst: the row where.
    was: mm/min, by the rows of pieces: the feed of the slowest move that they stand for.
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
        self._ends = points
        self._vertices: dict[Cell, list[int]] = {}
        for at, point in enumerate(points):
            self._vertices.setdefault(_cell(point, self._coarse), []).append(at)
        self._last = -1
        self.greatest, self.worst = 0.0, -1
        self.was: dict[int, float] = {}

    def vertex(self, place: Floats, reach: Floats) -> Floats:
        """Return the nearest vertex no farther than `reach` (3,) mm on each axis, or the place."""
        if not np.isfinite(place).all():
            return place
        near = [at for cell in _around(place, self._coarse) for at in self._vertices.get(cell, ())]
        if not near:
            return place
        gap = np.abs(self._ends[near] - place)
        far = np.where((gap <= reach).all(axis=1), np.linalg.norm(gap, axis=1), np.inf)
        best = int(np.argmin(far))
        return self._ends[near[best]] if np.isfinite(far[best]) else place

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
                feed = float(self.motion.feed[row])
                for piece in pieces[at:end]:
                    self.was[piece.row] = min(feed, self.was.get(piece.row, feed))
                return self._row(row, pieces[at:end]), end
        return None

    def _row(self, row: int, pieces: Sequence[Piece]) -> Piece:
        motion = self.motion
        # what is shorter than the tolerance is rounding of a take-up, at its own feed
        real = [each for each in pieces if each.sweep or each.length > self.tolerance]
        return Piece(
            pieces[0].row, int(motion.kind[row]), motion.start[row], motion.end[row],
            motion.centre[row], float(motion.sweep[row]), int(motion.plane[row]),
            max(piece.feed for piece in real or pieces),
        )  # fmt: skip

    def _runs_along(self, pieces: Sequence[Piece], at: int, row: int, walls: set[int]) -> int:
        """Return the piece behind those that run along a move, from its start to its end, or 0."""
        if self._is_line(pieces, at, row):
            return at + 1
        t, most, worst = 0.0, 0.0, -1
        for number in range(at, len(pieces)):
            piece = pieces[number]
            if number > at and any(
                wall in walls for wall in range(pieces[number - 1].row + 1, piece.row + 1)
            ):
                return 0
            points = piece.points
            shares = self._along(row, points, t)
            off = np.linalg.norm(self._points(row, shares) - points, axis=1)
            if float(np.diff(shares, prepend=t).min()) < -SHARE or off.max() > self.tolerance:
                return 0
            if off.max() > most:
                most, worst = float(off.max()), piece.row
            t = float(shares[-1])
            left = float(np.linalg.norm(self.motion.end[row] - piece.end))
            rest = number + 1 < len(pieces) and pieces[number + 1].row == piece.row
            if left <= self.tolerance and t > 0.5 and not rest:
                if most > self.greatest:
                    self.greatest, self.worst = most, worst
                return number + 1
        return 0

    def _is_line(self, pieces: Sequence[Piece], at: int, row: int) -> bool:
        """Return whether one straight piece is one straight move: both ends tell it all."""
        motion, piece = self.motion, pieces[at]
        if piece.sweep or motion.kind[row] == Kind.ARC:
            return False
        if at + 1 < len(pieces) and pieces[at + 1].row == piece.row:
            return False
        ends = (piece.start, motion.start[row]), (piece.end, motion.end[row])
        off = max(float(np.linalg.norm(one - other)) for one, other in ends)
        if off > self.tolerance:
            return False
        if off > self.greatest:
            self.greatest, self.worst = off, piece.row
        return True

    def _points(self, row: int, t: Floats) -> Floats:
        return paths.points(paths.take(self.motion, np.full(len(t), row, np.intp)), t)

    def _along(self, row: int, points: Floats, t: float) -> Floats:
        """(k,): where a move passes nearest to points, from `t` on; half a turn ahead at the most.

        What lies behind `t` by less than half a turn is behind it.
        """
        motion = self.motion
        start, end = motion.start[row], motion.end[row]
        if motion.kind[row] != Kind.ARC:
            way = end - start
            straight: Floats = np.clip((points - start) @ way / (way @ way), 0.0, 1.0)
            return straight
        first, second, _ = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
        centre, sweep = motion.centre[row], float(motion.sweep[row])
        begin = atan2(float(start[second] - centre[second]), float(start[first] - centre[first]))
        spoke = points - centre
        turn = np.arctan2(spoke[:, second], spoke[:, first]) - (begin + sweep * t)
        turn -= TURN * np.round(turn / TURN)
        behind = (turn * sweep < 0.0) & (np.abs(turn) > TURN / 4.0)
        turn += np.where(behind, TURN if sweep > 0.0 else -TURN, 0.0)
        result: Floats = np.clip(t + turn / sweep, 0.0, 1.0)
        return result


def _cell(point: Floats, size: float) -> Cell:
    x, y, z = (floor(float(each) / size) for each in point)
    return x, y, z


def _around(point: Floats, size: float) -> Iterator[Cell]:
    x, y, z = _cell(point, size)
    return ((x + i, y + j, z + k) for i, j, k in _AROUND)
