"""A writer that remembers its moves, so that reversals can be counted before they are printed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.editing.writer import BlockWriter, Point
from gpre.geometry import path
from gpre.geometry.tolerance import RESOLUTION, SIDE_CHORD
from gpre.mill.mill import Mill
from gpre.mill.timing import cycle_time
from gpre.motion.motion import Kind, Motion
from gpre.reversals.find import find_reversals

_AROUND = 200  # moves on either side that are rehearsed with an edit
_COARSE = SIDE_CHORD  # fine enough to see which way an axis travels


@dataclass
class Track:
    """Keeps the moves that are written, and follows moves of the program in between.

    position: (3,) mm, where the tool stands. heading: (3,), the last way of each axis. The writer
    may be changed for another on the way.
    """

    position: NDArray[np.float64]
    heading: NDArray[np.int8]
    writer: BlockWriter
    kind: list[int] = field(default_factory=list)
    start: list[NDArray[np.float64]] = field(default_factory=list)
    end: list[NDArray[np.float64]] = field(default_factory=list)
    centre: list[NDArray[np.float64]] = field(default_factory=list)
    sweep: list[float] = field(default_factory=list)
    feed: list[float] = field(default_factory=list)

    @classmethod
    def of(cls, writer: BlockWriter, heading: NDArray[np.int8]) -> Track:
        """Start where the writer stands."""
        return cls(np.array(writer.position), heading, writer)

    def rapid(self, end: Point, comment: str = "") -> None:
        """Go to `end` at rapid."""
        self.writer.rapid(end, comment)
        self._straight(Kind.RAPID, np.array(self.writer.position))

    def line(self, end: Point, feed: float, comment: str = "") -> None:
        """Go straight to `end` at `feed`."""
        self.writer.line(end, feed, comment)
        self._straight(Kind.LINE, np.array(self.writer.position))

    def arc(
        self,
        end: Sequence[float],
        centre: Sequence[float],
        sweep: float,
        feed: float,
        comment: str = "",
    ) -> None:
        """Go along an arc in the XY plane at `feed`."""
        self.writer.arc(end, centre, sweep, feed=feed, comment=comment)
        middle = np.array([centre[0], centre[1], self.position[2]])
        self._note(Kind.ARC, np.array(self.writer.position), middle, sweep)
        self._head(_last_ways(_last_move(self)))

    def cut(
        self,
        motion: Motion,
        row: int,
        goal: NDArray[np.float64],
        *,
        share: float = 1.0,
        feed: float | None = None,
        comment: str = "",
    ) -> None:
        """Cut along a move of the program, or part of it, to `goal`, (3,) mm.

        share: of its turn; below 0 backwards. feed: mm/min; None: its own.
        """
        speed = float(motion.feed[row]) if feed is None else feed
        if motion.kind[row] == Kind.ARC:
            sweep = float(motion.sweep[row]) * share
            self.arc(goal.tolist(), motion.centre[row].tolist(), sweep, speed, comment)
        else:
            self.line((goal[0], goal[1], goal[2]), speed, comment)

    def follow(self, kind: Kind, height: float, feed: float) -> None:
        """Make an upright move of the program, to the height and at the feed that it gives."""
        self._straight(kind, np.array([self.position[0], self.position[1], height]), feed)

    def _straight(self, kind: Kind, end: NDArray[np.float64], feed: float | None = None) -> None:
        travel = end - self.position
        if travel.any():
            self._note(kind, end, np.full(3, np.nan), 0.0)
            self.feed[-1] = self.feed[-1] if feed is None else feed
            self._head(np.sign(travel))

    def _head(self, ways: NDArray[np.float64]) -> None:
        known = np.nan_to_num(ways, nan=0.0)  # from a place that is not known, none is
        self.heading = np.where(ways == 0, self.heading, known).astype(np.int8)

    def _note(
        self, kind: Kind, end: NDArray[np.float64], centre: NDArray[np.float64], sweep: float
    ) -> None:
        self.kind.append(int(kind))
        self.start.append(self.position)
        self.end.append(end)
        self.centre.append(centre)
        self.sweep.append(sweep)
        self.feed.append(self.writer.modes.feed)
        self.position = end


def _last_ways(move: path.Moves) -> NDArray[np.float64]:
    """(3,): the way in which each axis comes to the end of a move, 0 where it does not travel."""
    points = path.sample(move, _COARSE)[2]
    ways = np.zeros(3)
    for axis in range(3):
        to_end = points[-1, axis] - points[:, axis]
        away = np.flatnonzero(np.abs(to_end) > RESOLUTION)
        if len(away):
            ways[axis] = np.sign(to_end[away[-1]])
    return ways


def _last_move(track: Track) -> path.Moves:
    return path.Moves(
        track.start[-1][None],
        track.end[-1][None],
        track.centre[-1][None],
        np.array(track.sweep[-1:]),
        np.full(1, 17, np.uint8),
    )


@dataclass(frozen=True)
class Change:
    """Rows `first` to `last` of Motion, half open, give way to the moves of a track."""

    first: int
    last: int
    track: Track


@dataclass(frozen=True, slots=True)
class Previewed:
    """What changes bring.

    gained_by_axis: reversals while cutting that go, of X and of Y; Z is left out, 0. longer: mm of
    way at rapid added. seconds: s of cycle time added, the controller's take-ups included.
    """

    gained_by_axis: tuple[int, int, int]
    longer: float
    seconds: float

    @property
    def gained(self) -> int:
        """The reversals of X and Y while cutting that go."""
        return sum(self.gained_by_axis)


def rehearse(mill: Mill, motion: Motion, changes: Iterable[Change]) -> Previewed:
    """Count reversals of X and Y while cutting, before and after, around the changes; time both."""
    changes = list(changes)
    first = max(changes[0].first - _AROUND, 0)
    last = min(changes[-1].last + _AROUND, len(motion))
    before = _motion_of(motion, [_rows(motion, first, last)])
    pieces: list[_Columns] = []
    at = first
    for change in changes:
        pieces += [_rows(motion, at, change.first), _track(change.track, motion, change.first)]
        at = change.last
    after = _motion_of(motion, [*pieces, _rows(motion, at, last)])
    resolution = (mill.x.resolution, mill.y.resolution, mill.z.resolution)
    counts, seconds = [], []
    for each in (before, after):
        found = find_reversals(each, resolution)
        counts.append([int((found.in_cut & (found.axis == axis)).sum()) for axis in (0, 1)])
        seconds.append(cycle_time(each, found, mill).total)
    gained = (counts[0][0] - counts[1][0], counts[0][1] - counts[1][1], 0)
    longer = _rapid_length(after) - _rapid_length(before)
    return Previewed(gained, longer, seconds[1] - seconds[0])


class _Columns(NamedTuple):
    """The columns of Motion that reversals and times follow from."""

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    sweep: NDArray[np.float64]
    plane: NDArray[np.uint8]
    block: NDArray[np.int32]
    feed: NDArray[np.float64]
    role: NDArray[np.uint8]
    state: NDArray[np.int32]


def _rows(motion: Motion, first: int, last: int) -> _Columns:
    return _Columns(*(getattr(motion, name)[first:last] for name in _Columns._fields))


def _track(track: Track, motion: Motion, row: int) -> _Columns:
    count = len(track.kind)
    row = min(row, len(motion) - 1)
    return _Columns(
        np.array(track.kind, np.uint8),
        np.array(track.start, np.float64).reshape(count, 3),
        np.array(track.end, np.float64).reshape(count, 3),
        np.array(track.centre, np.float64).reshape(count, 3),
        np.array(track.sweep, np.float64),
        np.full(count, 17, np.uint8),
        np.full(count, motion.block[row], np.int32),
        np.array(track.feed, np.float64),
        np.zeros(count, np.uint8),
        np.full(count, motion.state[row], np.int32),
    )


def _motion_of(motion: Motion, pieces: Sequence[_Columns]) -> Motion:
    """Join pieces; a straight move behind a joint starts where the piece before ended."""
    joined = _Columns(*(np.concatenate(columns) for columns in zip(*pieces, strict=True)))
    start = joined.start.copy()
    joints = np.cumsum([len(piece.kind) for piece in pieces[:-1]], dtype=np.intp)
    for row in joints[(joints > 0) & (joints < len(start))]:
        if joined.sweep[row] == 0.0:
            start[row] = np.where(np.isfinite(joined.end[row - 1]), joined.end[row - 1], start[row])
    count = len(start)
    return replace(
        motion,
        **{**joined._asdict(), "start": start},
        rotary=np.zeros((0, 6)),
        called=np.zeros(count, bool),
        events=(),
        findings=(),
    )


def _rapid_length(motion: Motion) -> float:
    rapid = motion.kind == Kind.RAPID
    return float(np.nansum(np.linalg.norm(motion.travel(rapid), axis=1)))
