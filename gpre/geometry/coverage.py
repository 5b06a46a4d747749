"""Whether one path lies on another, within a tolerance, everywhere: not only at samples.

A tool is a shape of revolution that runs on upwards. Standing at (x, y, z) it removes all that it
would remove at (x, y, z') with z' >= z. So a point p is *covered* by a path where some q of it has
hypot(|q.xy - p.xy|, max(0, q.z - p.z)) within the tolerance; and two paths remove the same metal,
whatever the tool, where each covers the other.

The distance of a point from a straight segment, in this sense as in the plain one, is a convex
function of the point. A piece of a path whose two ends lie within the tolerance of one segment
therefore lies within it throughout. Pieces of which this is not known are cut: first where the
ends of the other path's segments fall on them, then in halves, until it is known or a point is
found that is not covered. So a gap is found however short it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.arc_coverage import covered_arcs
from gpre.geometry.matching import keys_of, numbered, undirected
from gpre.geometry.path import Path
from gpre.geometry.region import BoxIndex, SegmentIndex
from gpre.geometry.segments import Segments, distance, distance_below, fraction_at, segments_of
from gpre.geometry.tolerance import LAST_DIGIT, POINT, SIDE_CHORD

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

CHORD_SHARE = 0.05  # of the tolerance: how far the chords of arcs may leave them
SHORTEST_SHARE = 1.0 / 32.0  # of the tolerance: a piece this short is decided by its ends
REACH = 10.0  # mm; a distance beyond this is only called `more`
_CHUNK = 20_000  # pieces looked at in one go
_MOST_MEASURED = 400  # failing points whose distance is measured, for the figure
_ROUNDS = 60
_CLOSE_SHARE = 0.1


@dataclass(frozen=True)
class Coverage:
    """How one path lies on another.

    greatest: mm, no point of the path lies farther from the other; `inf` where it is farther than
    REACH. row, point: the move and (3,) mm the place of the worst point; row -1 where the path is
    matched move by move. failed: (k,) rows that leave the tolerance, in order.
    """

    greatest: float
    row: int
    point: Floats
    failed: Ints

    @property
    def holds(self) -> bool:
        """True where every point is covered within the tolerance."""
        return not len(self.failed)


def coverage(
    of: Path,
    by: Path,
    tolerance: float,
    *,
    of_group: Ints | None = None,
    by_group: Ints | None = None,
    below: bool = True,
) -> Coverage:
    """Return how far the path `of` leaves what the path `by` covers.

    of_group, by_group: (n,) and (m,), a point counts as covered only by a move of its own group.
    below: a deeper move covers what lies above it; False: plain distance in space. All positions
    must be finite.
    """
    of_group = np.zeros(len(of.sweep), np.intp) if of_group is None else of_group
    by_group = np.zeros(len(by.sweep), np.intp) if by_group is None else by_group
    rest, once = _unmatched(of, by, of_group, by_group)
    none = np.zeros(0, np.intp)
    if not len(rest):
        return Coverage(0.0, -1, np.full(3, np.nan), none)
    by, by_group = paths.take(by, once), by_group[once]  # a second pass covers nothing more
    worst = _Worst()
    on_arcs, bound = covered_arcs(
        of, rest, by, tolerance, of_group=of_group, by_group=by_group, below=below
    )
    worst.note(bound[on_arcs], rest[on_arcs], of.start[rest[on_arcs]])
    rest = rest[~on_arcs]
    other = _Other.near(of, rest, by, by_group, tolerance, below=below)
    pieces = segments_of(of, rest, tolerance * CHORD_SHARE)
    for first in range(0, len(pieces.row), _CHUNK):
        _cover(
            pieces.take(np.arange(first, min(first + _CHUNK, len(pieces.row)))),
            of_group,
            other,
            tolerance,
            worst,
        )
    failed = np.unique(np.concatenate(worst.failed)) if worst.failed else none
    if len(failed):
        _measure(of, by, failed, worst, of_group=of_group, by_group=by_group, below=below)
    return Coverage(worst.greatest, worst.row, worst.point, failed)


def _unmatched(of: Path, by: Path, of_group: Ints, by_group: Ints) -> tuple[Ints, Ints]:
    """Find moves of `of` that no move of `by` equals, (k,), and the moves of `by` once each, (l,).

    Equal are moves of one group, either way round.
    """
    left, right = numbered(undirected(keys_of(of, of_group)), undirected(keys_of(by, by_group)))
    return np.flatnonzero(~np.isin(left, right)), np.sort(np.unique(right, return_index=True)[1])


class _Worst:
    """The worst point found so far."""

    def __init__(self) -> None:
        self.greatest = 0.0
        self.row = -1
        self.point: Floats = np.full(3, np.nan)
        self.failed: list[Ints] = []

    def note(self, value: Floats, row: Ints, point: Floats) -> None:
        """Keep the greatest of some values with its move and place."""
        if len(value) and (at := int(np.argmax(value))) >= 0 and value[at] >= self.greatest:
            self.greatest = float(value[at])
            self.row, self.point = int(row[at]), point[at]


class _Other:
    """The path that covers, cut into chords and indexed."""

    def __init__(self, segments: Segments, group: Ints, *, below: bool) -> None:
        self.segments = segments
        self.group = group
        self.measure = distance_below if below else distance
        self.index = SegmentIndex(segments.start, segments.end)

    @classmethod
    def near(
        cls, of: Path, rest: Ints, by: Path, by_group: Ints, tolerance: float, *, below: bool
    ) -> _Other:
        """Take only the moves that come near the moves in question."""
        rows = (
            BoxIndex(*paths.bounds(by)).touched(
                *paths.bounds(paths.take(of, rest)), 4.0 * tolerance
            )
            if len(by.sweep)
            else np.zeros(0, np.intp)
        )
        segments = segments_of(by, rows, tolerance * CHORD_SHARE)
        return cls(segments, by_group[segments.row], below=below)

    def pairs(self, pieces: Segments, group: Ints, tolerance: float) -> tuple[Ints, Ints]:
        """Pairs of a piece and a segment of its group that come within the tolerance in XY."""
        piece, segment = self.index.near(pieces.start, pieces.end, tolerance)
        same = group[pieces.row[piece]] == self.group[segment]
        return piece[same], segment[same]

    def distances(self, points: Floats, segment: Ints) -> Floats:
        """Return the distance of each point from its segment."""
        return self.measure(points, self.segments.start[segment], self.segments.end[segment])


def _cover(pieces: Segments, group: Ints, other: _Other, tolerance: float, worst: _Worst) -> None:
    """Decide about some pieces; note the worst points and the moves that fail."""
    for turn in range(_ROUNDS):
        if not len(pieces.row):
            return
        piece, segment = other.pairs(pieces, group, tolerance)
        at_start = other.distances(pieces.start[piece], segment)
        at_end = other.distances(pieces.end[piece], segment)
        count = len(pieces.row)
        throughout = _least(np.maximum(at_start, at_end), piece, count)
        first, last = _least(at_start, piece, count), _least(at_end, piece, count)
        # what is barely covered as a whole is often well covered part by part
        covered = throughout <= (tolerance if turn else tolerance * _CLOSE_SHARE) + POINT
        length = np.linalg.norm(pieces.end - pieces.start, axis=1)
        ends_lie_on = np.maximum(first, last) <= tolerance + POINT
        short = ~covered & ends_lie_on & (length <= tolerance * SHORTEST_SHARE)
        bound = np.where(covered, throughout, np.maximum(first, last) + length / 2.0)
        settled = covered | short
        worst.note(bound[settled], pieces.row[settled], pieces.start[settled])
        fails = ~settled & ~ends_lie_on
        if fails.any():
            worst.failed.append(np.unique(pieces.row[fails]))
        again = ~settled & ~fails
        # one failing piece condemns its move; no need to look at its other pieces
        if worst.failed and again.any():
            again &= ~np.isin(pieces.row, worst.failed[-1])
        pieces = _cut(pieces, np.flatnonzero(again), piece, segment, other, halve=turn > 0)
    worst.failed.append(np.unique(pieces.row))  # never decided: not covered


def _cut(
    pieces: Segments, again: Ints, piece: Ints, segment: Ints, other: _Other, *, halve: bool
) -> Segments:
    """Cut pieces in halves, or where the ends of the segments near them fall on them."""
    rank = np.full(len(pieces.row), -1, np.intp)
    rank[again] = np.arange(len(again))
    rest = pieces.take(again)
    owner = [np.arange(len(again))] * 2
    places: list[Floats] = [np.zeros(len(again)), np.ones(len(again))]
    if halve:
        owner.append(owner[0])
        places.append(np.full(len(again), 0.5))
    else:
        mine = rank[piece] >= 0
        mine_piece, mine_segment = rank[piece[mine]], segment[mine]
        for end in (other.segments.start, other.segments.end):
            owner.append(mine_piece)
            places.append(
                fraction_at(end[mine_segment], rest.start[mine_piece], rest.end[mine_piece])
            )
    who, t = np.concatenate(owner), np.concatenate(places)
    order = np.lexsort((t, who))
    who, t = who[order], t[order]
    inner = np.flatnonzero((who[1:] == who[:-1]) & (t[1:] - t[:-1] > LAST_DIGIT))
    who, low, high = who[inner], t[inner], t[inner + 1]
    along = (rest.end - rest.start)[who]
    start = rest.start[who] + low[:, None] * along
    end = rest.start[who] + high[:, None] * along
    share = (rest.last - rest.first)[who]
    first = rest.first[who]
    return Segments(start, end, rest.row[who], first + low * share, first + high * share)


def _least(values: Floats, owner: Ints, count: int) -> Floats:
    result = np.full(count, np.inf)
    np.minimum.at(result, owner, values)
    return result


def _measure(
    of: Path,
    by: Path,
    failed: Ints,
    worst: _Worst,
    *,
    of_group: Ints,
    by_group: Ints,
    below: bool,
) -> None:
    """Measure how far the failing moves leave the other path, at points along them."""
    rows = failed[np.linspace(0, len(failed) - 1, min(len(failed), _MOST_MEASURED)).astype(int)]
    each = max(3, _MOST_MEASURED // len(rows))
    t = np.tile(np.linspace(0.0, 1.0, each), len(rows))
    rows = np.repeat(rows, each)
    point = paths.points(paths.take(of, rows), t)
    far = distances(point, by, group=of_group[rows], by_group=by_group, below=below)
    worst.note(far, rows, point)


def _few(radius: float) -> int:
    """Return how many points are asked about in one go: the wider, the fewer."""
    return 1000 if radius < 1.0 else 50


def distances(
    point: Floats,
    by: Path,
    *,
    group: Ints | None = None,
    by_group: Ints | None = None,
    below: bool = True,
    reach: float = REACH,
) -> Floats:
    """(n,) mm: how far points (n, 3) lie from a path; `inf` beyond `reach`.

    group, by_group: as for `coverage`.
    """
    result = np.full(len(point), np.inf)
    if not len(by.sweep) or not len(point):
        return result
    group = np.zeros(len(point), np.intp) if group is None else group
    by_group = np.zeros(len(by.sweep), np.intp) if by_group is None else by_group
    segments = segments_of(by, np.arange(len(by.sweep)), SIDE_CHORD)
    index = SegmentIndex(segments.start, segments.end)
    measure = distance_below if below else distance
    radius = reach / 4.0**6
    open_points = np.arange(len(point))
    while len(open_points):
        for part in np.array_split(open_points, max(1, len(open_points) // _few(radius))):
            near, segment = index.near(point[part], point[part], radius)
            same = group[part[near]] == by_group[segments.row[segment]]
            near, segment = near[same], segment[same]
            far = measure(point[part[near]], segments.start[segment], segments.end[segment])
            result[part] = np.minimum(result[part], _least(far, near, len(part)))
        # what was not looked at lies farther than the radius in XY alone
        open_points = open_points[result[open_points] > radius]
        if radius >= reach:
            break
        radius = min(radius * 4.0, reach)
    result[result > reach] = np.inf
    return result
