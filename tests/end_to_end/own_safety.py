"""A second look at whether a rewritten program is safe; it shares no code with gpre.

Works from what the second reading makes of two texts (`own_machine`), and the job. Gives sentences
about what it does not like, none where all is well. It is simpler and in places stricter than the
proof: cuts point by point against the straight pieces of the other program, rapids against where
the original went.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from own_paths import moves, samples
from own_reading import program_place
from own_steps import Event, Move, Step

from gpre.mill.job import Job

PATH = 0.0025  # mm; the tolerance of the profile and the chords of the samples
SPACING = 0.5  # mm, between the points of a straight piece


@dataclass(frozen=True)
class Pieces:
    """Straight pieces at feed: start and end (n, 3) machine mm, and what is in force."""

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    force: list[tuple[object, ...]]
    feed: NDArray[np.float64]
    line: NDArray[np.int64]
    row: NDArray[np.int64]

    @cached_property
    def tool(self) -> NDArray[np.int64]:
        return np.array([each[0] for each in self.force], np.int64)

    @cached_property
    def level(self) -> NDArray[np.bool_]:
        result: NDArray[np.bool_] = np.abs(self.end[:, 2] - self.start[:, 2]) <= 1e-6
        return result

    @cached_property
    def level_of_force(self) -> dict[tuple[object, ...], NDArray[np.intp]]:
        return {force: np.flatnonzero(mask & self.level) for force, mask in self.of_force.items()}

    @cached_property
    def of_force(self) -> dict[tuple[object, ...], NDArray[np.bool_]]:
        return {each: np.array([one == each for one in self.force]) for each in set(self.force)}


def pieces_at_feed(steps: Sequence[Step]) -> Pieces:
    start, end, force, feed, line, rows = [], [], [], [], [], []
    for row, move in enumerate(moves(steps)):
        if move.rapid:
            continue
        walk = samples(move)
        of = move.force
        in_force = (
            *(int(of.tool), of.speed, of.way, of.mist, of.flood),
            *(move.setting.length_number, *of.modes),
        )
        for first, last in zip(walk[:-1], walk[1:], strict=True):
            start.append(first)
            end.append(last)
            force.append(in_force)
            feed.append(np.nan_to_num(move.feed, nan=-1.0))  # none is set
            line.append(move.line)
            rows.append(row)
    return Pieces(
        np.array(start).reshape(-1, 3),
        np.array(end).reshape(-1, 3),
        force,
        np.array(feed),
        np.array(line, dtype=np.int64),
        np.array(rows, dtype=np.int64),
    )


def points_of(pieces: Pieces) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """(m, 3) points along the pieces, both ends included, and the piece of each."""
    points, owner = [], []
    for row, (first, last) in enumerate(zip(pieces.start, pieces.end, strict=True)):
        if np.isnan(first).any() or np.isnan(last).any() or np.abs(last - first).max() < 1e-6:
            continue
        count = max(1, int(np.ceil(np.linalg.norm(last - first) / SPACING)))
        part = np.linspace(0.0, 1.0, count + 1)[:, None]
        points.append(first + (last - first) * part)
        owner.append(np.full(count + 1, row))
    if not points:
        return np.zeros((0, 3)), np.zeros(0, np.int64)
    return np.concatenate(points), np.concatenate(owner)


def distance(point: NDArray[np.float64], pieces: Pieces) -> NDArray[np.float64]:
    """(n,) distances of one point from all pieces, mm."""
    along = pieces.end - pieces.start
    length = np.maximum((along**2).sum(axis=1), 1e-18)
    part = np.clip(((point - pieces.start) * along).sum(axis=1) / length, 0.0, 1.0)
    result: NDArray[np.float64] = np.linalg.norm(
        pieces.start + along * part[:, None] - point, axis=1
    )
    return result


def _close(of: Pieces, by: Pieces) -> dict[int, NDArray[np.intp]]:
    """By the rows of `of`, the rows of `by` whose boxes, seen from above, meet theirs."""
    if not len(of.start) or not len(by.start):
        return {}
    boxes = []
    for each, wider in ((by, PATH), (of, 0.0)):
        low, high = (
            np.minimum(each.start, each.end) - wider,
            np.maximum(each.start, each.end) + wider,
        )
        low, high = (np.nan_to_num(side[:, :2], nan=1e12) for side in (low, high))
        boxes.append(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    one, other = shapely.STRtree(boxes[0]).query(boxes[1])
    order = np.lexsort((other, one))
    one, other = one[order], other[order]
    rows, first = np.unique(one, return_index=True)
    return dict(zip(rows.tolist(), np.split(other, first[1:]), strict=True))


def uncovered(of: Pieces, by: Pieces, *, feed: int) -> list[int]:
    """Rows of `of` with a point that no piece of `by` covers in the same state.

    feed: +1, the covering piece must be at least as fast; -1, at most; 0, not looked at.
    """
    known: dict[tuple[object, ...], float] = {}
    for row in range(len(by.start)):
        key = (_key(by.start[row], by.end[row]), by.force[row])
        known[key] = max(known.get(key, -np.inf), feed * float(by.feed[row]))
    points, owner = points_of(of)
    same = {
        row
        for row in range(len(of.start))
        if (key := (_key(of.start[row], of.end[row]), of.force[row])) in known
        and (not feed or known[key] >= feed * of.feed[row] - 1e-6)
    }
    missing: list[int] = []
    nowhere = np.zeros(len(by.start), bool)
    near_by = _close(of, by)
    for row in np.unique(owner).tolist():
        if row in same:
            continue
        first, last = np.searchsorted(owner, (row, row + 1))  # they come in order
        mine = points[first:last] if len(by.start) else points[:0]
        near = near_by.get(row, np.zeros(0, np.intp))
        near = near[by.of_force.get(of.force[row], nowhere)[near]]
        if feed:
            near = near[(by.feed[near] - of.feed[row]) * feed >= -1e-6]
        some = Pieces(by.start[near], by.end[near], [], by.feed[near], near, near)
        if not len(mine) or not all((distance(each, some) <= PATH).any() for each in mine):
            missing.append(row)
    return missing


def complaints(before: Sequence[Step], after: Sequence[Step], job: Job) -> list[str]:
    """Return sentences about what looks unsafe in the second program; lines count from 1."""
    old, new = pieces_at_feed(before), pieces_at_feed(after)
    origin = _origin(before)
    said = [
        f"the cut of line {old.line[row]} is gone, or is cut otherwise"
        for row in uncovered(old, new, feed=-1)
        if not _plunge_into(old.start[row], old.end[row], new)
        and not _turn_of_helix(old, row, new, job, as_fast=False)
    ]
    said += [
        f"line {new.line[row]} cuts at feed where the original did not"
        for row in uncovered(new, old, feed=1)
        if not _clear_way_down(new.start[row], new.end[row], new.force[row], old, job)
        and not (_turn_of_helix(new, row, old, job) and _turn_of_helix(new, row, new, job))
        and not all(
            _stays_within(place, new.force[row][0], old, job, origin)
            for place in (new.start[row], (new.start[row] + new.end[row]) / 2, new.end[row])
        )
    ]
    said += _rapids(before, after, new, job)
    return said


def _turn_of_helix(of: Pieces, row: int, by: Pieces, job: Job, *, as_fast: bool = True) -> bool:
    """A piece no steeper than its tool may go down, above a level cut of the other program.

    That cut is as fast (unless it need not be), as deep or deeper, and in the same state; so it
    takes all that the piece takes, and one turn more or less above it is the same bore.
    """
    tool = job.tools.get(of.force[row][0])
    start, end = of.start[row], of.end[row]
    drop, length = start[2] - end[2], float(np.linalg.norm(end - start))
    if tool is None or tool.max_ramp_angle is None or not drop > 0.0:
        return False
    if drop > length * (np.sin(tool.max_ramp_angle) + 1e-3):
        return False
    if of.force[row] not in by.of_force:
        return False
    rows = by.level_of_force[of.force[row]]
    rows = rows[by.start[rows, 2] <= end[2] + 1e-6]
    if as_fast:
        rows = rows[by.feed[rows] >= of.feed[row] - 1e-6]
    middle = (start + end)[:2] / 2
    reach = np.abs(end - start)[:2].max() + PATH
    for axis in range(2):
        one, other = by.start[rows, axis], by.end[rows, axis]
        rows = rows[
            (np.minimum(one, other) <= middle[axis] + reach)
            & (np.maximum(one, other) >= middle[axis] - reach)
        ]
    if not len(rows):
        return False
    along = (by.end - by.start)[rows, :2]
    size = np.maximum((along**2).sum(axis=1), 1e-18)
    for place in (start, (start + end) / 2, end):
        to_place = place[:2] - by.start[rows, :2]
        part = np.clip((to_place * along).sum(axis=1) / size, 0.0, 1.0)
        if np.linalg.norm(to_place - part[:, None] * along, axis=1).min() > PATH:
            return False
    return True


def _clear_way_down(
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    force: tuple[object, ...],
    old: Pieces,
    job: Job,
) -> bool:
    """A straight way down at feed: beside the stock, or to a place where the original cuts."""
    if np.abs(start[:2] - end[:2]).max() > 1e-6:
        return False
    if _beside_stock(end, force[0], job):
        return True
    flat = np.array((1.0, 1.0, 0.0))
    as_deep = Pieces(old.start * flat, old.end * flat, [], old.feed, old.line, old.row)
    deep = np.minimum(old.start[:, 2], old.end[:, 2]) <= end[2] + PATH
    return bool((deep & (distance(end * flat, as_deep) <= PATH)).any())


def _origin(steps: Sequence[Step]) -> NDArray[np.float64] | None:
    """(3,) machine mm: the zero of all moves at feed; None where there are several."""
    found = {(*move.zero[:2], 0.0) for move in moves(steps) if not move.rapid}
    return np.array(found.pop()) if len(found) == 1 else None


def _stays_within(
    point: NDArray[np.float64],
    tool: object,
    old: Pieces,
    job: Job,
    origin: NDArray[np.float64] | None,
    deeper: float = 0.0,
    before: float = np.inf,
) -> bool:
    """The whole rim of a flat tool lies where it cuts, before a move, as deep; or off the stock.

    Off the stock no farther than a millimetre from where it runs anyway: there may be clamps.
    """
    known = job.tools.get(tool) if isinstance(tool, int) else None
    if known is None or known.shape != "flat":
        return False
    radius = known.diameter / 2
    deep = np.maximum(old.start[:, 2], old.end[:, 2]) <= point[2] - deeper + 1e-6
    least = np.minimum(old.start, old.end)[:, :2] - 2.0 * radius - 1.0
    greatest = np.maximum(old.start, old.end)[:, :2] + 2.0 * radius + 1.0
    near = ((least <= point[:2]) & (point[:2] <= greatest)).all(axis=1)
    rows = np.flatnonzero(deep & near & (old.tool == tool) & (old.row < before))
    if not len(rows):
        return False
    start, along = old.start[rows, :2], (old.end - old.start)[rows, :2]
    angle = np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False)
    rim = point[:2] + (radius - 0.01) * np.column_stack((np.cos(angle), np.sin(angle)))
    to_rim = rim[:, None] - start
    length = np.maximum((along**2).sum(axis=1), 1e-18)
    part = np.clip((to_rim * along).sum(axis=2) / length, 0.0, 1.0)
    far = np.linalg.norm(to_rim - part[..., None] * along, axis=2).min(axis=1)
    open_rim, far = rim[far > radius], far[far > radius]
    if not len(far):
        return True
    stock = job.stock
    if stock is None or origin is None or far.max() > radius + 1.0:
        return False
    open_rim = open_rim - origin[:2]
    inside = (open_rim >= stock.min[:2]) & (open_rim <= stock.max[:2])
    return not inside.all(axis=1).any()


def _plunge_into(start: NDArray[np.float64], end: NDArray[np.float64], other: Pieces) -> bool:
    """A straight way down whose end the other program cuts as well: a start that moved."""
    down = np.abs(start[:2] - end[:2]).max() <= 1e-6 and end[2] < start[2]
    return bool(down and (distance(end, other) <= PATH).any())


def _beside_stock(point: NDArray[np.float64], tool: object, job: Job) -> bool:
    known = job.tools.get(tool) if isinstance(tool, int) else None
    if job.stock is None or known is None:
        return False
    reach = known.diameter / 2
    least, greatest = np.array(job.stock.min[:2]), np.array(job.stock.max[:2])
    away = np.maximum(np.maximum(least - point[:2], point[:2] - greatest), 0.0)
    return float(np.hypot(*away)) > reach  # a round tool, also at the stock's corners


def _rapids(before: Sequence[Step], after: Sequence[Step], cut: Pieces, job: Job) -> list[str]:
    """New rapids: sideways no lower than the original, down no deeper than it went there."""
    said = []
    made, new = list(moves(before)), list(moves(after))
    # before Z is stated it is only assumed
    first = next((row for row, each in enumerate(made) if each.path[0][2] != each.path[-1][2]), 0)
    old = [(*_ends(move), move.force.tool) for move in made if move.rapid]
    assumed = sum(move.rapid for move in made[:first])
    same = {_key(start, end) for start, end, _ in old}
    top = job.stock.max[2] if job.stock else np.inf
    for row, move in enumerate(new):
        start, end = _ends(move)
        if not move.rapid or _key(start, end) in same:
            continue
        if np.isnan(start).any() or np.isnan(end).any():
            continue
        tool = move.force.tool
        sideways = np.abs(start[:2] - end[:2]).max() > 1e-6
        low = min(start[2], end[2])
        if low == 0.0 and row <= first:  # where the operator left the tool
            continue
        if sideways:
            heights = [
                min(first[2], last[2])
                for first, last, by in old[assumed:]
                if by == tool and np.abs(first[:2] - last[:2]).max() > 1e-6
            ]
            # a tool that the original never moves sideways at rapid: above the stock, where known
            lowest = min(heights, default=top)
            # a loop of a few millimetres may lie lower, above a stock that is known
            loop = low >= top and np.abs(start[:2] - end[:2]).max() < 3.0
            if low < lowest - 1e-6 and not loop:
                said.append(f"line {move.line}: a rapid sideways at Z{low:g}")
        elif end[2] < start[2]:
            there = [
                last[2]
                for first, last, by in old
                if by == tool and np.abs(last[:2] - end[:2]).max() < 1e-6
            ]
            deep = bool(there) and end[2] >= min(there) - 1e-6
            heights = [last[2] for first, last, by in old if by == tool and last[2] < first[2]]
            as_low = bool(heights) and end[2] >= min(heights) - 1e-6
            over = end[2] >= top + 0.5 or (as_low and (end[2] >= top - 1e-6 or job.stock is None))
            place = np.array(move.path[-1])
            within = _stays_within(place, int(tool), cut, job, _origin(before), 0.5, row)
            swept = deep or over or within or _stood_there(place, int(tool), cut, row)
            if not swept and not _beside_stock(end, int(tool), job):
                said.append(f"line {move.line}: a rapid down to Z{end[2]:g}")
    return said


def _stood_there(place: NDArray[np.float64], tool: int, cut: Pieces, before: int) -> bool:
    """Whether the same tool has cut at that very place, as deep or deeper, before a move."""
    flat = np.array((1.0, 1.0, 0.0))
    deep = np.maximum(cut.start[:, 2], cut.end[:, 2]) <= place[2] + 1e-6
    there = deep & (cut.tool == tool) & (cut.row < before)
    as_flat = Pieces(cut.start * flat, cut.end * flat, [], cut.feed, cut.line, cut.row)
    return bool((there & (distance(place * flat, as_flat) <= PATH)).any())


def _ends(move: Move) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return program_place(move, 0), program_place(move, -1)


def faults(steps: Sequence[Step]) -> list[str]:
    """Say where a controller would stop, or what cannot be followed."""
    return [
        f"line {each.line}: {each.what}, {each.text}"
        for each in steps
        if isinstance(each, Event) and each.what in {"fault", "not followed"}
    ]


def _key(start: NDArray[np.float64], end: NDArray[np.float64]) -> tuple[float, ...]:
    return tuple(np.round(np.concatenate((start, end)), 6).tolist())
