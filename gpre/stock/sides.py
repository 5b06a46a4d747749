"""On which side of the cutter's way metal is cut, chip by chip, and what stands beside it.

With the spindle turning clockwise (M3) and metal on the right of the travel the cutter climbs:
its teeth move there against the travel. With M4 the sides change places.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import POINT
from gpre.geometry.too_dense import CrowdedError
from gpre.motion.motion import Motion
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field
from gpre.stock.piece import Window
from gpre.stock.sweep import sweep

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

REACH = 2.5  # cells: a wall so near the cutter is one that it may cut, too thinly for the cells
MOST_CHIPS = 10_000_000  # of one program; more would not fit into the memory
_HIGH = 5e3  # mm; metal stands no higher, nor lower
_FAR = 2e4  # mm; more than that, so that the cells lie one above the other


class Chips(NamedTuple):
    """k chips, each over one cell of a field, one row each.

    cell: (k,) its number. low, high: (k,) mm, from where to where it reached. climbs: (k,), it was
    cut climbing. row: (k,), the move. part: (k,), which stretch of it, each as long as the tool is
    wide.
    """

    cell: NDArray[np.int32]
    low: NDArray[np.float32]
    high: NDArray[np.float32]
    climbs: Bools
    row: NDArray[np.int32]
    part: NDArray[np.int32]

    def take(self, some: Bools) -> Chips:
        """Return some of them."""
        return Chips(
            self.cell[some],
            self.low[some],
            self.high[some],
            self.climbs[some],
            self.row[some],
            self.part[some],
        )


@dataclass
class ChipLog:
    """The chips that are cut from one field, in order; only those that climb, or all of them."""

    every: bool
    _parts: list[Chips] = field(default_factory=list)
    _count: int = 0

    def note(self, cells: Field, window: Window, cut: Bools, chips: Chips) -> None:
        """Note a piece of a move. cut: k cells of the window. chips: without their cells."""
        rows, columns = np.nonzero(cut)
        rows += window[0].start
        columns += window[1].start
        cell = (rows * cells.grid.shape[1] + columns).astype(np.int32)
        if not self.every:
            cell, chips = cell[chips.climbs], chips.take(chips.climbs)
        self._count += len(cell)
        if self._count > MOST_CHIPS:
            raise CrowdedError
        self._parts.append(chips._replace(cell=cell))

    def chips(self) -> Chips:
        """Return what was noted."""
        if not self._parts:
            none = np.zeros(0, np.int32)
            flat = np.zeros(0, np.float32)
            return Chips(none, flat, flat, none > 0, none, none)
        return Chips(*(np.concatenate(column) for column in zip(*self._parts, strict=True)))


class Climbed:
    """What of the metal over each cell was cut climbing, to be asked for any part of it."""

    def __init__(self, chips: Chips) -> None:
        """Sort chips that climb: over each cell no two overlap."""
        low = chips.low.astype(np.float64)
        key = chips.cell * _FAR + low
        order = np.argsort(key, kind="stable")
        self._key = key[order]
        self._thick = (chips.high - chips.low).astype(np.float64)[order]
        self._below = np.concatenate(([0.0], np.cumsum(self._thick)))

    def within(self, chips: Chips) -> Floats:
        """(k,) mm: how much of each chip's room was cut climbing."""
        if not len(self._key):
            return np.zeros(len(chips.cell))
        result: Floats = self._up_to(chips, chips.high) - self._up_to(chips, chips.low)
        return result

    def _up_to(self, chips: Chips, height: NDArray[np.float32]) -> Floats:
        """(k,) mm: how much was cut climbing below a height, over all cells up to the chip's."""
        key = chips.cell * _FAR + height.astype(np.float64)
        last = np.searchsorted(self._key, key, side="right") - 1
        reached = np.maximum(last, 0)
        part = np.clip(key - self._key[reached], 0.0, self._thick[reached])
        return np.where(last < 0, 0.0, self._below[reached] + part)


@dataclass
class MetalAtSides:
    """What stands within REACH cells beside the cutter, or is cut, on moves that are asked for.

    asked: (n,) bool. right, left: (n,) mm³, of each side of the way, seen along it.
    """

    asked: Bools
    right: Floats = field(init=False)
    left: Floats = field(init=False)

    def __post_init__(self) -> None:
        """Nothing has been seen yet."""
        self.right, self.left = np.zeros((2, len(self.asked)))

    def look(self, motion: Motion, row: int, cells: Field, cutter: Cutter) -> None:
        """Look at a move before it is cut."""
        cell = cells.grid.cell
        wider = replace(cutter, radius=cutter.radius + REACH * cell)
        for piece in sweep(cells, motion, row, wider):
            chip = cells.top[piece.window] - piece.height
            met = chip > POINT
            if met.any():
                aside, _ = piece.seen(met)
                thick = chip[met] * cell * cell
                self.right[row] += float(thick @ (aside < 0.0))
                self.left[row] += float(thick @ (aside > 0.0))


@dataclass(frozen=True)
class Watch:
    """What is noted of sides while a program is run.

    logs: by frame. spindle: (n,), the way in which the spindle turns at each move: 1, -1 or 0.
    wide: (n,) mm, the diameter of the tool at each move.
    margin: mm; cells so near the middle of the way count as climbing, with a negative one as not.
    beside: what is looked at beside the cutter.
    """

    logs: dict[int, ChipLog]
    spindle: NDArray[np.int64]
    wide: Floats
    margin: float
    beside: MetalAtSides | None = None

    def chips(self, row: int, low: Floats, thick: Floats, seen: tuple[Floats, Floats]) -> Chips:
        """Return the chips of a piece of a move, (k,) each, without their cells.

        seen: mm, how far to the left of the way they lie, and how far along the move.
        """
        aside, along = seen
        way = int(self.spindle[row])
        climbs = aside * way < self.margin if way else np.zeros(len(aside), bool)
        rows = np.full(len(low), row, np.int32)
        ends = [np.clip(z, -_HIGH, _HIGH).astype(np.float32) for z in (low, low + thick)]
        part = (along / float(self.wide[row])).astype(np.int32)
        return Chips(rows, ends[0], ends[1], climbs, rows, part)
