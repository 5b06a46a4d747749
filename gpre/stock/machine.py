"""Runs moves on a height field, and keeps what each of them took off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import DUST, POINT
from gpre.motion.motion import Motion
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field
from gpre.stock.piece import SweptCells, most_together
from gpre.stock.sides import ChipLog, Watch
from gpre.stock.sweep import sweep, sweep_straight

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
# a move, its field, and what it passes over there: () where it meets no metal
Passing = tuple[int, Field, Iterable[SweptCells]]

SPREAD = 4  # cells of the way over which a bite is taken: a single row of cells is a chance
DENSE = 16  # cells of the way for each cell cut: with more, few of them take anything
SHORT = 2.0  # mm; straight moves no longer than that are swept together
_NONE: Floats = np.zeros(0)
_FARTHEST = 2.0**52  # cells; no number beyond it has a fraction


@dataclass(frozen=True)
class Taken:
    """What each move of a program took off; n moves, one row each.

    depth: (n,) mm, the thickest metal along the tool's axis. width: (n,) mm, how wide the metal
    lay square to the way; 0 for a move straight down. volume: (n,) mm³, and of it what stood on
    the right of the way: right, (n,) mm³. bite: (n,) mm², the most for each mm of the way, over
    SPREAD cells of it. place: (n, 2) mm, where it was thickest.
    """

    depth: Floats
    width: Floats
    volume: Floats
    right: Floats
    bite: Floats
    place: Floats

    @classmethod
    def nothing(cls, count: int) -> Taken:
        """Return the record before anything was cut."""
        depth, width, volume, right, bite = np.zeros((5, count))
        return cls(depth, width, volume, right, bite, np.full((count, 2), np.nan))


@dataclass(frozen=True)
class Bench:
    """What a program is run on.

    fields: by the number of the frame (work system and origin) in which they lie. frame: (n,), of
    each move. cutters: by the number of the tool. taken: the record of what its moves took off, or
    None: nothing is recorded, which is quicker. watch: what else is noted, with a record only.
    """

    fields: Mapping[int, Field]
    frame: NDArray[np.int64]
    cutters: Mapping[int, Cutter]
    taken: Taken | None
    watch: Watch | None = None


def machine(motion: Motion, rows: Ints, bench: Bench) -> None:
    """Cut with some moves, in order; the fields and the record are brought up to date."""
    way = None if bench.taken is None else SweptWay(bench.taken)
    feed = motion.at_feed
    for row, field, pieces in _swept(motion, rows, bench):
        if way is None:
            for piece in pieces:
                top = field.top[piece.window]
                np.minimum(top, piece.height, out=top)
            continue
        if pieces == () or not feed[row]:
            way.leave()
        watch = bench.watch
        if watch is not None and watch.beside is not None and watch.beside.asked[row] and pieces:
            watch.beside.look(motion, row, field, bench.cutters[int(motion.state_of(row).tool)])
        _cut(row, field, pieces, way, _noting(bench, row))
    if way is not None:
        way.leave()


def _swept(motion: Motion, rows: Ints, bench: Bench) -> Iterator[Passing]:
    """Return each move, in order."""
    tool = np.array([state.tool for state in motion.states], np.int64)[motion.state]
    highest = {number: float(field.top.max()) for number, field in bench.fields.items()}
    top = np.array([highest[number] for number in bench.frame[rows].tolist()])
    drop = np.array([bench.cutters[number].drop for number in tool[rows].tolist()])
    low = np.minimum(motion.start[rows, 2], motion.end[rows, 2]) - drop
    arc = motion.sweep[rows] != 0.0
    meets = (low < top) | (arc & (motion.plane[rows] != 17))  # such an arc may dip below its ends
    travel = np.abs(motion.end[rows] - motion.start[rows])[:, :2].max(axis=1, initial=0.0)
    short = meets & ~arc & (travel > DUST) & (travel <= SHORT)
    # moves of one kind with one tool in one frame go together
    kinds = np.column_stack((short, meets, tool[rows], bench.frame[rows]))
    breaks = np.flatnonzero((kinds[1:] != kinds[:-1]).any(axis=1)) + 1
    for group in np.split(np.arange(len(rows)), breaks):
        if not len(group):
            continue
        field = bench.fields[int(bench.frame[rows[group[0]]])]
        cutter = bench.cutters[int(tool[rows[group[0]]])]
        if not meets[group[0]]:
            yield int(rows[group[0]]), field, ()
        elif short[group[0]]:
            yield from _together(motion, rows[group], field, cutter)
        else:
            for row in rows[group].tolist():
                yield row, field, sweep(field, motion, row, cutter)


def _together(motion: Motion, rows: Ints, field: Field, cutter: Cutter) -> Iterator[Passing]:
    """Return short straight moves of one tool, many swept at once."""
    count = most_together(field, motion.start[rows], motion.end[rows], cutter)
    for first in range(0, len(rows), count):
        some = rows[first : first + count]
        swept = sweep_straight(field, motion.start[some], motion.end[some], cutter)
        for row, piece in zip(some.tolist(), swept, strict=True):
            yield row, field, [piece]


class SweptWay:
    """Keeps how much was taken where along the way, as long as the tool stays in the metal."""

    def __init__(self, taken: Taken) -> None:
        self.taken = taken
        self._rows: list[tuple[int, int, int]] = []  # row, first and last place
        self._much: list[tuple[Ints, Floats]] = []  # places, and how thick in all
        self._cell = 1.0
        self._at = 0.0

    def go(self, row: int, length: float, cell: float, first: Floats, thick: Floats) -> None:
        """Note what a piece of a move took: (k,) mm along it, (k,) mm thick."""
        self._cell = cell
        begin = self._place()
        if len(first):
            along = (self._at + np.minimum(first, length)) / cell
            places = np.minimum(along, _FARTHEST).astype(np.intp) - begin
            self._much.append(_by_place(places, thick, begin))
        self._at += length
        self._rows.append((row, begin, self._place()))

    def _place(self) -> int:
        return int(min(self._at / self._cell, _FARTHEST))

    def leave(self) -> None:
        """Count the bites of all moves since the tool came into the metal."""
        if self._much:
            place, much = (np.concatenate(each) for each in zip(*self._much, strict=True))
            order = np.argsort(place, kind="stable")
            place = place[order]
            # a cell of the way took so many cells, each so thick: mm² for each mm
            total = np.concatenate(([0.0], np.cumsum(much[order] * self._cell)))
            begin, last = np.array([each[1:] for each in self._rows], np.intp).T
            # the fullest stretch of SPREAD cells begins where something was taken, or at the end
            most = total[np.searchsorted(place, place + SPREAD)] - total[:-1]
            low = np.searchsorted(place, begin - SPREAD + 1)
            high = np.searchsorted(place, last, side="right")
            at_end = total[np.searchsorted(place, last + SPREAD)]
            at_end -= total[np.searchsorted(place, last)]
            for at, (row, _, _) in enumerate(self._rows):
                bite = float(most[low[at] : high[at]].max(initial=at_end[at])) / SPREAD
                self.taken.bite[row] = max(self.taken.bite[row], bite)
        self._rows, self._much, self._at = [], [], 0.0


def _by_place(places: Ints, thick: Floats, begin: int) -> tuple[Ints, Floats]:
    """(j,) each: the places of a piece, once each, counted on from `begin`, and the sums there."""
    if int(places.max()) > DENSE * len(places):  # far apart: a long way on which little is met
        place, which = np.unique(places, return_inverse=True)
        return place + begin, np.bincount(which, weights=thick).astype(np.float64)
    much = np.bincount(places, weights=thick).astype(np.float64)
    place = np.flatnonzero(much)
    return place + begin, much[place]


def _noting(bench: Bench, row: int) -> tuple[Watch, ChipLog] | None:
    if bench.watch is None:
        return None
    return bench.watch, bench.watch.logs[int(bench.frame[row])]


def _cut(
    row: int,
    field: Field,
    pieces: Iterable[SweptCells],
    way: SweptWay,
    noting: tuple[Watch, ChipLog] | None,
) -> None:
    taken, cell = way.taken, field.grid.cell
    left, right, gone = np.inf, -np.inf, 0.0
    for piece in pieces:
        gone += piece.length
        top = field.top[piece.window]
        chip = top - piece.height
        most = float(chip.max(initial=0.0))
        if not most > POINT:
            way.go(row, piece.length, cell, _NONE, _NONE)
            continue
        cut = chip > POINT
        np.copyto(top, piece.height, where=cut)
        np.copyto(field.by[piece.window], row, where=cut)
        aside, first = piece.seen(cut)
        thick = chip[cut]
        way.go(row, piece.length, cell, first, thick)
        if noting is not None:
            seen = aside, gone - np.maximum(piece.length - first, 0.0)
            chips = noting[0].chips(row, piece.height[cut], thick, seen)
            noting[1].note(field, piece.window, cut, chips)
        taken.volume[row] += float(thick.sum()) * cell * cell
        taken.right[row] += float(thick @ (aside < 0.0)) * cell * cell
        left, right = min(left, float(aside.min())), max(right, float(aside.max()))
        if most > taken.depth[row]:
            taken.depth[row] = most
            at = np.unravel_index(int(chip.argmax()), chip.shape)
            rows, columns = piece.window
            taken.place[row] = field.x[columns][at[1]], field.y[rows][at[0]]
    if right > left:
        taken.width[row] = right - left + cell
