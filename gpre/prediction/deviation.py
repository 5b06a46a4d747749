"""How far the table path leaves the intended path, at a right angle to it, on moves at feed.

An error along the path does not change the part, except where a cut starts or ends: there it
makes the cut too long or too short, a hole too deep or not deep enough. Where the state of the
backlash is not known yet, the worst of what it can be counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion
from gpre.prediction.curves import Across, Curves
from gpre.prediction.match import REACH, Match, MatchedLine, line_of, match
from gpre.prediction.runs import runs_of
from gpre.prediction.table_path import TablePath


@dataclass(frozen=True)
class Deviation:
    """k samples of the moves at feed whose place is known, in order.

    at: (k,) the sample of the table path. row: (k,) the move that the tool makes. of, along: (k,)
    the intended move, and the place on it, that the sample belongs to. point: (k, 3) mm, that
    place; NaN where the table path is nowhere near. offset_low, offset_high: (k, 3) mm, from that
    place to the table path. aside_low, aside_high: (k,) mm, the part beside the path: plus outside
    an arc (away from its centre, measured on the radius) and to the right of a straight move.
    size: (k,) mm, how far the table path leaves the intended one at the most. known: (k,) bool,
    the state of the backlash is known.
    """

    at: Ints
    row: Ints
    of: Ints
    along: Floats
    point: Floats
    offset_low: Floats
    offset_high: Floats
    aside_low: Floats
    aside_high: Floats
    size: Floats
    known: NDArray[np.bool_]

    def __len__(self) -> int:
        """Return the number of samples."""
        return len(self.row)

    @property
    def greatest(self) -> float:
        """The greatest deviation anywhere, mm."""
        return float(self.size.max()) if len(self) else 0.0


@dataclass(frozen=True)
class Ends:
    """e ends of runs at feed. at: (e,) row of Deviation. last: (e,) bool, the end, not the start.

    over_low, over_high: (e,) mm, how much longer the cut is there than intended; minus: shorter.
    """

    at: Ints
    last: NDArray[np.bool_]
    over_low: Floats
    over_high: Floats

    @property
    def size(self) -> Floats:
        """(e,) mm: the greatest error at each end."""
        result: Floats = np.maximum(np.abs(self.over_low), np.abs(self.over_high))
        return result


@dataclass(frozen=True, slots=True)
class Worst:
    """The worst place of one block. point: mm, program coordinates, on the intended path.

    size: mm. aside: mm, the signed part beside the path (at the end of a cut: how much too long).
    known: the state of the backlash is known there; else it is the worst case.
    """

    block: int
    row: int
    point: tuple[float, float, float]
    size: float
    aside: float
    known: bool


class Aim(NamedTuple):
    """What samples are compared with: at (k,) samples at feed, their places, what lies across."""

    at: Ints
    places: Match
    across: Across


def aim_of(motion: Motion, path: TablePath) -> Aim:
    """Aim at what the program itself commands; one aim does for all paths of the same samples."""
    at = _at_feed(motion, path)
    samples = path.samples
    row, along, point = samples.row[at], samples.along[at], samples.point[at]
    places = Match(row, along, point, np.zeros(len(at)))
    return Aim(at, places, samples.curves.across(row, along))


def deviation(motion: Motion, path: TablePath, aim: Aim | None = None) -> Deviation:
    """Hold the table path against what the program itself commands."""
    return _held(path, aim_of(motion, path) if aim is None else aim)


def deviation_from(motion: Motion, path: TablePath, intended: Motion, window: float) -> Deviation:
    """Hold the table path against another path; `window` as `gpre.prediction.match.match` has it.

    The places of the intended path are then the nearest ones, and the size is the distance, but for
    what a run is too long at its ends.
    """
    at = _at_feed(motion, path)
    line = _table_line(motion, path, at)
    found = match(line, line_of(intended, path.samples.chord), window)
    curves = Curves(intended)
    exact = curves.points(found.row, found.along)
    exact[np.isnan(found.point)] = np.nan
    places = found._replace(point=exact)
    aim = Aim(at, places, curves.across(places.row, places.along))
    result = _held(path, aim)
    # beside a corner the distance is more than either wall is out by
    whole = result.known & ~_at_an_end(intended, places)
    offset = result.offset_low[whole]
    result.size[whole] = np.sqrt(np.einsum("ij,ij->i", offset, offset))
    return result


def missed(motion: Motion, path: TablePath, intended: Motion, window: float) -> Match:
    """Find how far the table path stays away from each place of the intended path.

    Give the places of the intended path, and the distances.
    """
    line = line_of(intended, path.samples.chord)
    found = match(line, _table_line(motion, path, _at_feed(motion, path)), window)
    return Match(line.row, line.along, line.point, found.distance)


def ends_of(motion: Motion, found: Deviation, intended: Motion | None = None) -> Ends:
    """Find the errors along the path where runs at feed start and end.

    intended: the path that the deviation is compared with, where it is not that of the program.
    """
    if not len(found):
        return Ends(np.zeros(0, np.intp), np.zeros(0, np.bool_), np.zeros(0), np.zeros(0))
    run = runs_of(motion).of[found.row]
    change = np.flatnonzero(np.diff(run)) + 1
    at = np.column_stack((np.append(0, change), np.append(change, len(run)) - 1)).ravel()
    last = np.tile([False, True], len(change) + 1)
    curves = Curves(motion if intended is None else intended)
    outward = curves.across(found.of[at], found.along[at]).normals.along
    outward[~last] *= -1.0
    low, high = _parts(np.nan_to_num(outward), found.offset_low[at], found.offset_high[at])
    return Ends(at, last, low, high)


def worst_places(motion: Motion, found: Deviation, count: int) -> tuple[Worst, ...]:
    """Return the worst place of each of the `count` worst blocks, worst first."""
    low, high = found.aside_low, found.aside_high
    every = np.arange(len(found))
    return _worst(motion, found, every, (found.size, np.where(-low > high, low, high)), count)


def worst_ends(motion: Motion, found: Deviation, ends: Ends, count: int) -> tuple[Worst, ...]:
    """Return the worst ends of cuts, one a block, worst first."""
    over = np.where(-ends.over_low > ends.over_high, ends.over_low, ends.over_high)
    return _worst(motion, found, ends.at, (ends.size, over), count)


def _worst(
    motion: Motion, found: Deviation, at: Ints, errors: tuple[Floats, Floats], count: int
) -> tuple[Worst, ...]:
    """Return the greatest of each block; at: (e,) rows of Deviation, errors: size and aside."""
    size, aside = errors
    if not len(at):
        return ()
    block = motion.block[found.row[at]]
    order = np.lexsort((np.arange(len(at)), -size, block))
    best = order[np.append(True, np.diff(block[order]) != 0)]
    best = best[np.argsort(-size[best], kind="stable")][:count]
    result: list[Worst] = []
    for each in best.tolist():
        row = int(at[each])
        x, y, z = found.point[row].tolist()
        result.append(
            Worst(
                block=int(block[each]),
                row=int(found.row[row]),
                point=(x, y, z),
                size=float(size[each]),
                aside=float(aside[each]),
                known=bool(found.known[row]),
            )
        )
    return tuple(result)


def _at_feed(motion: Motion, path: TablePath) -> Ints:
    """(k,): the samples of moves at feed whose place is known."""
    known = np.isfinite(path.low).all(axis=1) & np.isfinite(path.high).all(axis=1)
    return np.flatnonzero((runs_of(motion).of >= 0)[path.samples.row] & known)


def _table_line(motion: Motion, path: TablePath, at: Ints) -> MatchedLine:
    row = path.samples.row[at]
    middle = (path.low[at] + path.high[at]) / 2.0
    return MatchedLine(middle, runs_of(motion).of[row], row, path.samples.along[at])


def _held(path: TablePath, aim: Aim) -> Deviation:
    at, places, across = aim
    normals = across.normals
    offset_low, offset_high = path.low[at] - places.point, path.high[at] - places.point
    known = np.asarray((offset_high - offset_low <= DUST).all(axis=1))
    aside_low, aside_high = _parts(normals.aside, offset_low, offset_high)
    # an error along an arc counts squared: what lies outside it is measured on the radius
    plus = normals.aside >= 0.0
    on_arc, outside = across.outside(places.point + np.where(plus, offset_low, offset_high))
    aside_low[on_arc] = aside_high[on_arc] = outside
    if not known.all():
        _, outside = across.outside(places.point + np.where(plus, offset_high, offset_low))
        aside_high[on_arc] = outside
    up_low, up_high = _parts(normals.upward, offset_low, offset_high)
    size: Floats = np.hypot(
        np.maximum(np.abs(aside_low), np.abs(aside_high)),
        np.maximum(np.abs(up_low), np.abs(up_high)),
    )
    # a move of no length has no side
    size = np.where(np.isnan(size), np.where(np.isnan(places.point[:, 0]), REACH, 0.0), size)
    return Deviation(
        at=at,
        row=path.samples.row[at],
        of=places.row,
        along=places.along,
        point=places.point,
        offset_low=offset_low,
        offset_high=offset_high,
        aside_low=np.nan_to_num(aside_low),
        aside_high=np.nan_to_num(aside_high),
        size=size,
        known=known,
    )


def _at_an_end(motion: Motion, places: Match) -> NDArray[np.bool_]:
    """(k,) bool: the places where a run starts or ends; an error along it is told apart there."""
    runs = runs_of(motion)
    head, last = np.zeros(len(motion), np.bool_), np.zeros(len(motion), np.bool_)
    head[runs.head], last[runs.tail - 1] = True, True
    starts = head[places.row] & (places.along == 0.0)
    ends: NDArray[np.bool_] = starts | (last[places.row] & (places.along == 1.0))
    return ends


def _parts(unit: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """(k,) each: the least and the greatest part along `unit` of all offsets within the bounds."""
    plus, minus = np.maximum(unit, 0.0), np.minimum(unit, 0.0)
    least = np.einsum("ij,ij->i", plus, low) + np.einsum("ij,ij->i", minus, high)
    greatest = np.einsum("ij,ij->i", plus, high) + np.einsum("ij,ij->i", minus, low)
    return least, greatest
