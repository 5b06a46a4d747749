"""What the table does under a program that carries take-ups, as moves, to be proved like any other.

The command of such a program is not the intended path, the table's path is. It is predicted, cut
where a take-up begins and ends, and put together again: where pieces in a row run along one move of
the original within the tolerance, from its start to its end, they are that move. What they leave
of it is measured elsewhere, piece by piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import hypot

import numpy as np

from gpre.geometry.arc import PLANE_AXES, Floats
from gpre.geometry.tolerance import DUST, HALF_DECIMAL, POINT, ROUNDED
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion, Role
from gpre.prediction.table_path import TablePath
from gpre.proof.side import Bools, Side
from gpre.proof.take_up.match import Matcher, Piece
from gpre.reversals.twist import twists

_POINTS = ("start", "end", "centre")


@dataclass(frozen=True)
class Seen:
    """side: the rewritten program with the moves that its table makes.

    greatest: mm, how far pieces leave the moves of the original that they stand for; worst: the
    move of the rewritten program where, -1 for none. whole: nothing else is made at feed. was:
    mm/min, by moves of the rewritten program: the feed of the original's that they stand for.
    """

    side: Side
    greatest: float
    worst: int
    whole: bool
    was: Mapping[int, float]


def seen_by_table(before: Side, after: Side, path: TablePath, mill: Mill) -> Seen:
    """Put together what the table does."""
    table = _Table(before, after, path, mill)
    side = Side(after.program, table.motion(), after.begins)
    matcher = table.matcher
    return Seen(side, matcher.greatest, matcher.worst, table.whole, matcher.was)


def steps_of_table(after: Side, path: TablePath) -> Side:
    """Return the rewritten program with each step between two samples of its table as a move.

    What it stands for is not asked here: where the original has noise within the tolerance, the
    moves of `seen_by_table` have that noise, and those of the table do not.
    """
    new, row = after.motion, path.samples.row
    at = np.flatnonzero(path.samples.inner)
    rows = row[at]
    place = np.where(np.isfinite(path.middle), path.middle, path.samples.point)
    kind = np.where(new.kind[rows] == Kind.ARC, Kind.LINE, new.kind[rows])
    first = np.searchsorted(rows, np.arange(len(new) + 1))
    motion = replace(
        new,
        kind=kind.astype(np.uint8),
        start=place[at],
        end=place[at + 1],
        centre=np.full((len(at), 3), np.nan),
        sweep=np.zeros(len(at)),
        plane=new.plane[rows],
        feed=new.feed[rows],
        rotary=new.rotary[rows] if len(new.rotary) else new.rotary,
        role=new.role[rows],
        block=new.block[rows],
        state=new.state[rows],
        called=new.called[rows],
        events=tuple(replace(each, move=int(first[each.move])) for each in new.events),
    )
    return Side(after.program, motion, after.begins)


class _Table:
    """Collects the moves of the table, in order."""

    def __init__(self, before: Side, after: Side, path: TablePath, mill: Mill) -> None:
        self.before, self.after, self.path = before, after, path
        self.old, self.new = before.motion, after.motion
        self.tolerance = mill.limits.tolerance
        self.matcher = Matcher(before, self.tolerance)
        self.reach = np.array(
            [
                axis.greatest_lost_motion / 2.0 + axis.uncertainty + self.tolerance
                for axis in mill.axes
            ]
        )
        # Z of a canned cycle is shifted for the way down, so on the way up it stops short
        self.deep = self.reach + np.array([0.0, 0.0, mill.z.greatest_lost_motion / 2.0])
        self.middle = path.middle
        known: Bools = np.all(path.high - path.low <= self.tolerance, axis=1)
        # where the backlash is not known the command is all there is
        self.place = np.where(known[:, None], self.middle, path.samples.point)
        self.first = np.searchsorted(path.samples.row, np.arange(len(self.new) + 1))
        self._yaw = sum(abs(angle) for _, angle in twists(mill.twist))
        self.walls = {event.move for event in self.new.events}
        self.pieces: list[Piece] = []
        self.whole = True

    def motion(self) -> Motion:
        """Make all moves."""
        ordinary, feed = self.after.ordinary, self.new.at_feed
        row, count = 0, len(self.new)
        here: Floats | None = None
        while row < count:
            if not ordinary[row]:
                here = self._copy(row)
                row += 1
            elif not feed[row]:
                here = self._rapid(row, here)
                row += 1
            else:
                last = row + 1
                while last < count and feed[last] and ordinary[last]:
                    last += 1
                here = self._cut(row, last, here)
                row = last
        return self._made()

    def _start(self, row: int, here: Floats | None) -> Floats:
        """Return where the table stands when a row starts, in the coordinates in force there."""
        new = self.new
        if here is not None and row and np.allclose(new.start[row], new.end[row - 1], 0.0, DUST):
            return here
        place = new.start[row] if here is None else self.place[self.first[row]]
        return self.matcher.vertex(place, self.reach)

    def _copy(self, row: int) -> Floats | None:
        new = self.new
        self._add(
            Piece(row, int(new.kind[row]), new.start[row], new.end[row], new.centre[row],
                  float(new.sweep[row]), int(new.plane[row]), float(new.feed[row]))
        )  # fmt: skip
        return None if np.isnan(new.end[row]).any() else new.end[row]

    def _rapid(self, row: int, here: Floats | None) -> Floats:
        new = self.new
        start = self._start(row, here)
        reach = self.reach if new.role[row] == Role.NONE else self.deep
        end = self.matcher.vertex(self.place[self.first[row + 1] - 1], reach)
        end = np.where(np.abs(end - start) <= self.tolerance, start, end)  # else it is rounding
        centre = np.full(3, np.nan)
        self._add(
            Piece(
                row,
                int(Kind.RAPID),
                start,
                end,
                centre,
                0.0,
                int(new.plane[row]),
                float(new.feed[row]),
            )
        )
        return end

    def _cut(self, first: int, last: int, here: Floats | None) -> Floats:
        """Put the pieces of a run together to moves of the original, where they are such."""
        pieces = [piece for row in range(first, last) for piece in self._row(row)]
        pieces = [each for each in pieces if each.sweep or _reach(np.stack(each.ends)) > POINT]
        place = self._start(first, here)
        if pieces:
            pieces[0] = replace(pieces[0], start=place)
        at = 0
        while at < len(pieces):
            found = self.matcher.whole(pieces, at, place, self.walls)
            if found is None:
                self.whole = False
                piece = replace(pieces[at], start=place, end=self._near(pieces[at]))
                at += 1
            else:
                piece, at = found
            self._add(piece)
            place = piece.end
        return place

    def _near(self, piece: Piece) -> Floats:
        """Put the end of a straight piece on a vertex of the original that is very near."""
        if piece.sweep:
            return piece.end
        return self.matcher.vertex(piece.end, np.full(3, self.tolerance))

    def _row(self, row: int) -> Iterator[Piece]:
        """Cut what the table does during one move at feed."""
        new, place = self.new, self.place[self.first[row] : self.first[row + 1]]
        feed, plane = float(new.feed[row]), int(new.plane[row])
        nowhere = np.full(3, np.nan)
        if new.kind[row] == Kind.ARC:
            lag = place - self.path.samples.point[self.first[row] : self.first[row + 1]]
            spread = float((lag.max(axis=0) - lag.min(axis=0)).max())
            if spread <= HALF_DECIMAL + self._yaw * _reach(place):
                centre = _true_centre(new, row, place[0], place[-1], (lag[0] + lag[-1]) / 2.0)
                sweep = float(new.sweep[row])
                yield Piece(row, int(Kind.ARC), place[0], place[-1], centre, sweep, plane, feed)
                return
        corner = _corners(place)
        for one, other in zip(corner, corner[1:], strict=False):
            yield Piece(row, int(Kind.LINE), place[one], place[other], nowhere, 0.0, plane, feed)

    def _add(self, piece: Piece) -> None:
        self.pieces.append(piece)

    def _made(self) -> Motion:
        new, pieces = self.new, self.pieces
        rows = np.array([piece.row for piece in pieces], np.intp)
        count = np.searchsorted(rows, np.arange(len(new) + 1))
        points = [
            np.array([getattr(piece, name) for piece in pieces], np.float64) for name in _POINTS
        ]
        start, end, centre = (each.reshape(-1, 3) for each in points)
        return replace(
            new,
            kind=np.array([piece.kind for piece in pieces], np.uint8),
            start=start,
            end=end,
            centre=centre,
            sweep=np.array([piece.sweep for piece in pieces], np.float64),
            plane=np.array([piece.plane for piece in pieces], np.uint8),
            feed=np.array([piece.feed for piece in pieces], np.float64),
            rotary=new.rotary[rows] if len(new.rotary) else new.rotary,
            role=new.role[rows],
            block=new.block[rows],
            state=new.state[rows],
            called=new.called[rows],
            events=tuple(replace(each, move=int(count[each.move])) for each in new.events),
        )


def _corners(place: Floats) -> list[int]:
    """Return the ends of the straight pieces of a polyline."""
    result = [0]
    for at in range(1, len(place) - 1):
        one, other = place[at] - place[result[-1]], place[at + 1] - place[at]
        across = np.cross(one, other)
        length = float(np.linalg.norm(other))
        if float(np.linalg.norm(across)) > POINT * max(length, POINT) or one @ other < 0.0:
            result.append(at)
    return [*result, len(place) - 1]


def _reach(place: Floats) -> float:
    """Return how far apart places on an arc lie, mm: the yaw turns them about by that."""
    return float((place.max(axis=0) - place.min(axis=0)).max())


def _true_centre(motion: Motion, row: int, start: Floats, end: Floats, lag: Floats) -> Floats:
    """Return the centre of an arc that is moved as a whole, at the same distance from both ends."""
    first, second, _ = PLANE_AXES[int(motion.plane[row]) - 17].tolist()
    centre: Floats = motion.centre[row] + lag
    chord = float(end[first] - start[first]), float(end[second] - start[second])
    length = hypot(*chord)
    if length < ROUNDED:
        return centre
    across = -chord[1] / length, chord[0] / length
    middle = start[first] + chord[0] / 2.0, start[second] + chord[1] / 2.0
    off = (centre[first] - middle[0]) * across[0] + (centre[second] - middle[1]) * across[1]
    centre[first], centre[second] = middle[0] + across[0] * off, middle[1] + across[1] * off
    return centre
