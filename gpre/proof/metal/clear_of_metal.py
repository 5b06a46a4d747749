"""Rapids that are new, or run when more metal stands, keep clear of it: beside them and below.

Whatever lies within the clearance of the tool is led along the rapid as if it were the tool; no
metal may stand in it that stands at that time. Straight up a tool comes no nearer to anything than
it stood. Where the original runs at rapid on the same stretch, as low, with as much metal about,
the new program may do so too. (Common practice, no source.)
"""

from __future__ import annotations

from functools import cached_property
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.region import BoxIndex
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.programmed import first_in_z
from gpre.proof.metal.local import Before, grid_round
from gpre.proof.metal.own_rapids import OwnRapids, RapidPiece
from gpre.proof.metal.raw import Raw
from gpre.proof.metal.stock_pair import allowance
from gpre.proof.side import Pair
from gpre.stock.cutter import Cutter
from gpre.stock.field import FINEST, Grid
from gpre.stock.sweep import sweep

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

FINE = 8  # cells to the clearance: a wall that comes nearer by two of them is seen for certain
MOST_CELLS = 400_000  # of a stretch of a rapid that is looked at in one go
MOST_STRETCHES = 1_000
_HALVINGS = 14


class TooNear(NamedTuple):
    """A rapid of `after` that comes too near: how near, mm; to what, and where, (2,) mm.

    Where that cannot be told the distance is NaN, and `what` says why.
    """

    row: int
    distance: float
    what: str
    place: Floats


class ClearOfMetal:
    """Looks at the rapids of `after`, in order."""

    def __init__(self, pair: Pair) -> None:
        """All tools that cut must be named."""
        self.pair, self.raw = pair, Raw.of(pair)
        self.clearance = pair.mill.limits.rapid_clearance
        self._allowed = allowance(pair)
        self._cell = max(self.clearance / FINE, FINEST)
        self._cutters = {number: Cutter.of(tool) for number, tool in pair.job.tools.items()}
        self._own = OwnRapids(pair)

    @cached_property
    def rows(self) -> Ints:
        """(k,): the rapids to look at."""
        return self._touched(self._low)

    @cached_property
    def _new(self) -> Before:
        return Before(self.pair.after, self.pair, self.raw, self._cutters)

    @cached_property
    def _old(self) -> Before:
        """The original, with tools as much less as a path may be off: that leaves no less metal."""
        less = {number: each.grown(-self._allowed) for number, each in self._cutters.items()}
        return Before(self.pair.before, self.pair, self.raw, less)

    @cached_property
    def _ends(self) -> tuple[Floats, Floats]:
        """(m, 3) mm each: where moves of `after` start and end; the first in Z goes level.

        Where it comes from is only assumed.
        """
        motion = self.pair.after.motion
        start, first = motion.start.copy(), first_in_z(motion)
        if first < len(motion):
            start[first, 2] = motion.end[first, 2]
        return start, motion.end

    @cached_property
    def _low(self) -> Ints:
        """(k,): the rapids that come low enough to be near metal, but not straight up."""
        pair, rows = self.pair, self.pair.after.rapids
        sides = pair.before, pair.after
        start, end = (each[rows] for each in self._ends)
        up = (np.hypot(*(end - start)[:, :2].T) <= RESOLUTION) & (end[:, 2] >= start[:, 2])
        top = np.array([self.raw.tops[n] for n in pair.frames[1][rows].tolist()], np.float64)
        # where no stock is named the original's own travel shows what is clear
        need = self.clearance - self._allowed if self.raw.box is not None else -RESOLUTION
        low = np.minimum(start[:, 2], end[:, 2]) < top + need
        unsaid = first_in_z(pair.after.motion)
        if bool((pair.before.rapids < first_in_z(pair.before.motion)).any()):
            low &= rows >= unsaid  # it travels where the operator left it, as the original does
        cutting = np.concatenate(
            [frame[side.feeding] for frame, side in zip(pair.frames, sides, strict=True)]
        )
        low &= np.isin(pair.frames[1][rows], cutting)  # elsewhere nothing tells what stands there
        result: Ints = rows[low & ~up]
        return result

    def _touched(self, rows: Ints) -> Ints:
        """(k,): those of some rapids that are new or moved, or have other cuts round them."""
        pair = self.pair
        steady = pair.steady
        same = rows[steady[1][rows]]
        near: list[Ints] = []
        if len(same):
            ends = np.stack([each[same] for each in self._ends])
            index = BoxIndex(ends.min(axis=0), ends.max(axis=0))
            for side, kept in zip((pair.before, pair.after), steady, strict=True):
                cuts = side.feeding[~kept[side.feeding]]
                if len(cuts):
                    least, greatest = paths.bounds(paths.take(side.motion, cuts))
                    near.append(index.touched(least, greatest, self._widest))
        changed = rows[~steady[1][rows]]
        result: Ints = np.unique(np.concatenate([changed, *(same[each] for each in near)]))
        return result

    @cached_property
    def _widest(self) -> float:
        """How far apart two tools may stand that come near each other's walls, mm."""
        return 2.0 * max(each.radius for each in self._cutters.values()) + self.clearance

    def first(self) -> TooNear | None:
        """Return the first rapid that comes too near to metal, None where none does."""
        return next((each for row in self.rows.tolist() if (each := self._look(row))), None)

    def _look(self, row: int) -> TooNear | None:
        pair = self.pair
        cutter = self._cutters.get(int(pair.after.tool[row]))
        start, end = (each[row] for each in self._ends)
        if cutter is None:
            why = f"tool {int(pair.after.tool[row])} is not named: how near a rapid comes to metal"
            return TooNear(row, np.nan, f"{why} is not known", end[:2])
        stretches = self._stretches(start, end, self._kept(cutter, start, end).radius)
        if len(stretches) > MOST_STRETCHES:
            why = "a new rapid goes too far among the metal to be looked at"
            return TooNear(row, np.nan, why, end[:2])
        for piece in stretches:
            found = self._near(row, piece, cutter)
            if found is not None:
                return found
        return None

    def _kept(self, cutter: Cutter, start: Floats, end: Floats, share: float = 1.0) -> Cutter:
        """Return what must be clear round a tool, or as much of it as a share of the clearance."""
        delta = np.abs(end - start)
        slants = bool(delta[2] > RESOLUTION and np.hypot(delta[0], delta[1]) > RESOLUTION)
        by = max(share * (self.clearance - self._allowed), RESOLUTION)
        return cutter.kept_off(by, slants=slants)

    def _stretches(self, start: Floats, end: Floats, radius: float) -> list[tuple[Floats, Floats]]:
        """Return a way in stretches, (3,) mm from and to, each over not too many cells.

        Of a way that leaves the stock only what is near it.
        """
        first, last = self._near_stock(start, end, radius)
        if first >= last:
            return []
        start, end = start + first * (end - start), start + last * (end - start)
        across = np.abs(end - start)[:2] + 2.0 * radius
        count = ceil(float(across.prod()) / self._cell**2 / MOST_CELLS)
        count = min(count, ceil(float(across.max()) / (2.0 * radius)))
        points = start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)
        points[-1] = end
        return list(zip(points[:-1], points[1:], strict=True))

    def _near_stock(self, start: Floats, end: Floats, radius: float) -> tuple[float, float]:
        """Return from which share of a way to which it runs near the stock; none: 1 to 0."""
        first, last, box = 0.0, 1.0, self.raw.box
        for axis in range(2):
            if box is None:
                break
            low, high = box.min[axis] - radius - RESOLUTION, box.max[axis] + radius + RESOLUTION
            goes = float(end[axis] - start[axis])
            if abs(goes) <= RESOLUTION:
                if not low <= start[axis] <= high:
                    return 1.0, 0.0
                continue
            enter, leave = sorted(float(each - start[axis]) / goes for each in (low, high))
            first, last = max(first, enter), min(last, leave)
        return first, last

    def _near(self, row: int, way: tuple[Floats, Floats], cutter: Cutter) -> TooNear | None:
        """Look at one stretch; what the original has near it too at rapid is let pass."""
        pair, frame = self.pair, int(self.pair.frames[1][row])
        radius = self._kept(cutter, *way).radius
        grid = grid_round(np.minimum(*way)[:2] - radius, np.maximum(*way)[:2] + radius, self._cell)
        zone = self._swept(grid, cutter, *way)
        metal = self._new.metal(row, frame, grid, zone)
        if not (metal.top > zone).any():
            return None
        for piece in self._own.pieces(row, *way):
            part = self._swept(grid, cutter, piece.start, piece.end)
            too_near = metal.top > part
            if too_near.any() and piece.own >= 0:
                own = int(pair.frames[0][piece.own])
                stood = self._old.metal(piece.own, own, grid, np.full_like(part, -np.inf))
                too_near &= metal.top > stood.top + RESOLUTION
            if too_near.any():
                return self._how_near(
                    row, piece, cutter, grid, np.where(too_near, metal.top, -np.inf)
                )
        return None

    def _swept(
        self, grid: Grid, cutter: Cutter, start: Floats, end: Floats, share: float = 1.0
    ) -> Floats:
        """(rows, columns) mm: down to where all must be clear along a stretch."""
        field = self.raw.field(grid, next(iter(self.raw.tops)))
        none = np.zeros(1)
        path = paths.Moves(start[None], end[None], start[None], none, np.array([17], np.uint8))
        zone = np.full(grid.shape, np.inf)
        for piece in sweep(field, path, 0, self._kept(cutter, start, end, share)):
            part = zone[piece.window]
            np.minimum(part, piece.height, out=part)
        return zone

    def _how_near(
        self, row: int, piece: RapidPiece, cutter: Cutter, grid: Grid, top: Floats
    ) -> TooNear:
        """Measure how near a stretch comes to metal, `top` (rows, columns) mm, by halving."""
        low, high = 0.0, 1.0
        near = top > self._swept(grid, cutter, piece.start, piece.end)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            found = top > self._swept(grid, cutter, piece.start, piece.end, middle)
            low, high = (low, middle) if found.any() else (middle, high)
            near = found if found.any() else near
        at = np.unravel_index(int(np.argmax(np.where(near, top, -np.inf))), top.shape)
        x, y = (each[index] for each, index in zip(grid.centres(), at[::-1], strict=True))
        tip = min(float(piece.start[2]), float(piece.end[2])) - cutter.drop
        what = "a wall" if top[at] > tip + RESOLUTION else "a floor"
        if self.raw.box is None and top[at] >= self.raw.tops[int(self.pair.frames[1][row])]:
            what = "a place where nothing is cut yet"
        return TooNear(row, high * (self.clearance - self._allowed), what, np.array([x, y]))
