"""No metal is cut climbing that the original cut conventionally, unless climb is asked for.

With backlash a climbing cutter pulls the work into itself (shop course of Fox Valley Technical
College: the feed "should always be against the spindle rotation"). So the cut is compared place by
place, not only in total: a place is a stretch of a cut about as long as the tool is wide. What is
cut climbing there now and was not before, less what no longer is, must not come to more than the
cells can round: one and a half rows of them, or half of a thin cut. Where the stock is not known
metal may be missing on either side, and nothing is set off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import DUST, VOLUME
from gpre.proof.columns import chains
from gpre.proof.directions import CLIMB, Directions, sideways
from gpre.proof.metal.stock_pair import Sides, Twins
from gpre.proof.proof import Obligation
from gpre.proof.side import Floats, Ints, Pair, Side, sub
from gpre.stock.machine import Taken
from gpre.stock.sides import Climbed

NAME = "climb share"
ROWS = 1.5  # rows of cells along the way: what rounding makes of the same cut
HALF = 0.5  # of what a place takes: so much of a cut as thin as the cells is no rounding
FEW = 4  # cells
COARSE = 8.0  # cells across the tool; with fewer the sides of a slot cannot be told apart
BOTH = 0.25  # of a move's metal on its lesser side: then it is cut on both sides
ONE_SIDED = 1.6  # walls on both sides differ by no more: two or three rows of cells on each
ALONE = 0.1  # the same where the stock is not known: nearly nothing on the climbing side


@dataclass(frozen=True)
class ClimbPlace:
    """Where most metal changed to climb. row, before: the moves of both programs, -1 for none.

    much: mm³, 0 where so little is cut that only the wall beside it tells.
    """

    row: int
    before: int
    x: float
    y: float
    much: float

    def told(self, *, boxed: bool) -> str:
        """Say what is wrong there, for people."""
        what = f"cutting turns to climb, {self.much:.3g} mm³ in total"
        if not self.much:
            what = "the cut is thin and runs against the original's: its wall is on the climb side"
        if not boxed:
            what += "; without the stock it is not known on which side metal is missing"
        return f"at X{self.x:.3f} Y{self.y:.3f} {what}; nobody asked for climb"


def watched(pair: Pair, directions: Directions) -> bool:
    """Return whether the sides must be noted: cuts run otherwise, and climb is not asked for."""
    if pair.job.cut == CLIMB:
        return False
    return bool(directions.against.any() or directions.new.any() or not directions.in_order)


def climb_share(pair: Pair, twins: Twins) -> Obligation:
    """Show how much metal is cut which way, and that no more of it climbs than before."""
    figure = _figure(pair, twins)
    if pair.job.cut == CLIMB:
        return Obligation(NAME, holds=True, figure=f"{figure}; climb is asked for")
    if twins.sides is None:
        return Obligation(NAME, holds=True, figure=f"{figure}; all is cut as before")
    place = _ClimbPlaces(pair, twins, twins.sides).worst()
    if place is None:
        return Obligation(NAME, holds=True, figure=figure)
    return Obligation(
        NAME,
        holds=False,
        figure=f"{place.told(boxed=twins.boxed)}; {figure}",
        value=place.much,
        limit=0.0,
        before=pair.before.block_of(place.before),
        after=pair.after.block_of(place.row),
    )


class _ClimbPlaces:
    """The stretches of the new program's cuts, and what changed to climb at each.

    Of a long move every stretch as long as the tool is wide is one, else as many moves of a cut as
    come to that length.
    """

    def __init__(self, pair: Pair, twins: Twins, sides: Sides) -> None:
        self.pair, self.twins, self.sides = pair, twins, sides
        self.rows: Ints = pair.after.feeding
        self.wide = pair.widths(pair.after, unknown=0.0)
        self.length: Floats = paths.lengths(sub(pair.after, self.rows))
        self.against = sides.beside.asked[self.rows]
        self.group, self.count = self._grouped()

    def worst(self) -> ClimbPlace | None:
        """Return the worst place that fails, or None."""
        found = [self._changed(number) for number in self.sides.after]
        worst = max((each for each in found if each is not None), key=_much, default=None)
        return self._beside() if worst is None else worst

    def _grouped(self) -> tuple[Ints, int]:
        """(n,): the number of what each move at feed belongs to, -1 for others; how many."""
        after = self.pair.after
        wide = self.wide[self.rows]
        long = self.length >= wide
        reached = np.floor(np.cumsum(self.length) / np.maximum(wide, DUST))
        part = np.where(long, np.arange(len(self.rows)), reached)
        keys = np.column_stack((chains(after)[self.rows], long, part, self.against))
        _, group = np.unique(keys, axis=0, return_inverse=True)
        result = np.full(len(after.motion), -1, np.intp)
        result[self.rows] = group.reshape(-1)
        return result, int(result.max(initial=-1)) + 1

    def _changed(self, number: int) -> ClimbPlace | None:
        """Return the worst place of one field, or None."""
        sides = self.sides
        cell = sides.cells[number][1].grid.cell
        chips = sides.after[number].chips()
        chips = chips.take(self.group[chips.row] >= 0)
        was = [Climbed(each[number].chips()).within(chips) for each in (sides.most, sides.least)]
        thick = (chips.high - chips.low).astype(np.float64)
        more = np.where(chips.climbs, thick - np.maximum(*was), 0.0)
        less = np.where(chips.climbs | (not self.twins.boxed), 0.0, np.minimum(*was))
        backlash = 2.0 * self.twins.grown
        more[more <= backlash] = less[less <= backlash] = 0.0
        if not more.any():
            return None
        parts = int(chips.part.max()) + 1
        _, place = np.unique(self.group[chips.row] * parts + chips.part, return_inverse=True)
        place = place.reshape(-1)
        change = np.bincount(place, more - less) * cell**2
        taken = np.bincount(place, thick) * cell**2
        deep, wide = np.zeros((2, len(change)))
        np.maximum.at(deep, place, thick)
        np.maximum.at(wide, place, self.wide[chips.row])
        strip, few = cell * wide * deep, FEW * cell**2 * deep
        bad = change > ROWS * strip + few
        bad |= (wide >= COARSE * cell) & (change > HALF * taken) & (change > few)
        if self.twins.boxed:
            room = strip[change != 0.0].sum()
            bad |= (change.sum() > max(room, 0.01 * taken.sum())) & (change > few)
        if not bad.any():
            return None
        worst = int(np.argmax(np.where(bad, change, -np.inf)))
        at = int(np.argmax(np.where(place == worst, more, -np.inf)))
        return self._at(number, int(chips.cell[at]), int(chips.row[at]), float(change[bad].sum()))

    def _at(self, number: int, cell: int, row: int, much: float) -> ClimbPlace:
        old, new = self.sides.cells[number]
        at = divmod(cell, new.grid.shape[1])
        before = int(self.pair.partner[row])
        before = int(old.by[at]) if before < 0 else before
        return ClimbPlace(row, before, float(new.x[at[1]]), float(new.y[at[0]]), much)

    def _beside(self) -> ClimbPlace | None:
        """Look where the wall is beside what runs against the original.

        A cut may be so thin that hardly a cell of it is seen.
        """
        after, beside = self.pair.after, self.sides.beside
        way = after.spindle_way[self.rows]
        right, left = beside.right[self.rows], beside.left[self.rows]
        group = self.group[self.rows]
        climbing, rest = (
            np.bincount(group, np.where(way > 0, *each) * np.abs(way), self.count)
            for each in ((right, left), (left, right))
        )
        bad = climbing > (ONE_SIDED if self.twins.boxed else ALONE) * rest + VOLUME
        if not bad.any():
            return None
        rows = self.rows[group == int(np.argmax(np.where(bad, climbing, -np.inf)))]
        row = int(rows[int(np.argmax(paths.lengths(sub(after, rows))))])
        x, y, _ = after.motion.start[row].tolist()
        return ClimbPlace(row, int(self.pair.partner[row]), x, y, 0.0)


def _much(place: ClimbPlace) -> float:
    return place.much


def _figure(pair: Pair, twins: Twins) -> str:
    """Say what is cut which way, before and after."""
    parts = [_volumes(pair.before, twins.before), _volumes(pair.after, twins.after)]
    climb, against, both, unknown = zip(*parts, strict=True)
    text = f"climb {_two(climb)}, conventional {_two(against)}, on both sides {_two(both)} mm³"
    if any(unknown):
        text += f", spindle not turning {_two(unknown)} mm³"
    shares = (_share(side, taken) for side, taken in _sides(pair, twins))
    return "{} of the metal cut climbing before, {} after: ".format(*shares) + text


def _two(values: tuple[float, ...]) -> str:
    was, now = (abs(round(value)) for value in values)
    return f"{was:,} to {now:,}"


def _sides(pair: Pair, twins: Twins) -> tuple[tuple[Side, Taken], tuple[Side, Taken]]:
    return (pair.before, twins.before), (pair.after, twins.after)


def _climbing(side: Side, taken: Taken) -> tuple[Ints, Floats, Floats]:
    """(k,) each: moves that cut aside, what they take, and what of it they take climbing, mm³.

    The last is NaN where the spindle does not turn.
    """
    rows = side.feeding[taken.volume[side.feeding] > 0.0]
    rows = rows[sideways(side, rows)]
    way = side.spindle_way[rows]
    whole, right = taken.volume[rows], taken.right[rows]
    climbing = np.where(way > 0, right, np.where(way < 0, whole - right, np.nan))
    return rows, whole, climbing


def _share(side: Side, taken: Taken) -> str:
    _, whole, climbing = _climbing(side, taken)
    known = ~np.isnan(climbing)
    total = float(whole[known].sum())
    return f"{100.0 * float(climbing[known].sum()) / total:.0f} %" if total > 0.0 else "nothing"


def _volumes(side: Side, taken: Taken) -> tuple[float, float, float, float]:
    """Return what is cut climbing, conventionally, on both sides, and unknown how, mm³."""
    _, whole, climbing = _climbing(side, taken)
    unknown = np.isnan(climbing)
    lesser = np.minimum(climbing, whole - climbing)
    both = ~unknown & (lesser > BOTH * whole)
    one = ~unknown & ~both
    return (
        float(climbing[one].sum()),
        float((whole - climbing)[one].sum()),
        float(whole[both].sum()),
        float(whole[unknown].sum()),
    )
