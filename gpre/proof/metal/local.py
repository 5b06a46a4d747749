"""The metal round a place at the time of a move, on fine cells of its own.

The cells of the whole stock are as coarse as a sixteenth of a tool: too coarse to tell how near a
tool comes to a wall. Here only the moves count that came near before.
"""

from __future__ import annotations

from math import ceil

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.proof.metal.raw import Raw, rows_of
from gpre.proof.side import Pair, Side
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field, Grid
from gpre.stock.machine import Bench, machine

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

_FIRST, _MORE = 16, 4  # moves run before it is asked whether that will do; and how many times that


class Before:
    """What one program has left of the metal before each of its moves.

    cutters: by the number of the tool, all that cut among them.
    """

    def __init__(self, side: Side, pair: Pair, raw: Raw, cutters: dict[int, Cutter]) -> None:
        """Note where each move goes; the frames are those of this side."""
        self._side, self._raw, self._cutters = side, raw, cutters
        self._frame = pair.frames[0 if side is pair.before else 1]
        self._rows = rows_of(side, pair)
        moves = paths.take(side.motion, self._rows)
        self._least, self._greatest = paths.bounds(moves)
        used = [cutters[tool] for tool in side.tool[self._rows].tolist()]
        self._reach = np.array([each.radius for each in used], np.float64)
        self._low = self._least[:, 2] - np.array([each.drop for each in used], np.float64)

    def metal(self, row: int, frame: int, grid: Grid, near: Floats) -> Field:
        """Return the metal in a frame before a move, as far as it stands above `near`.

        near: (rows, columns) mm, of the cells of the grid; where no metal stands above it any more
        the heights may be too great.
        """
        field = self._raw.field(grid, frame)
        if not (field.top > near).any():
            return field
        low, high = np.array(grid.low), np.array(grid.low) + grid.cell * np.array(grid.shape)[::-1]
        last = int(np.searchsorted(self._rows, row))
        reach = self._reach[:last, None]
        close = (self._least[:last, :2] - reach <= high) & (
            self._greatest[:last, :2] + reach >= low
        )
        some = close.all(axis=1) & (self._low[:last] < self._raw.tops[frame])
        rows = self._rows[:last][some & (self._frame[self._rows[:last]] == frame)]
        bench = Bench({frame: field}, self._frame, self._cutters, None)
        count = _FIRST
        while len(rows) and (field.top > near).any():  # what was cut last mostly lies nearest
            machine(self._side.motion, rows[-count:], bench)
            rows, count = rows[:-count], count * _MORE
        return field


def grid_round(least: Floats, greatest: Floats, cell: float) -> Grid:
    """Return a grid of cells of a size over an area, (2,) mm each, and a cell round it."""
    columns, rows = (ceil(float(each) / cell) + 2 for each in greatest - least)
    return Grid((float(least[0]) - cell, float(least[1]) - cell), cell, (rows, columns))
