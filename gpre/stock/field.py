"""A height field: the top of the metal over square cells, seen at their centres."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, sqrt

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import ROUNDED

Floats = NDArray[np.float64]

MOST_CELLS = 1_500_000
SHARE = 1.0 / 16.0  # of the smallest tool's diameter: the cell
FINEST = 0.02  # mm
NOBODY = -1


@dataclass(frozen=True)
class Grid:
    """low: (2,) mm, the corner. cell: mm. shape: cells in Y and in X."""

    low: tuple[float, float]
    cell: float
    shape: tuple[int, int]

    @classmethod
    def over(cls, least: Floats, greatest: Floats, smallest: float) -> Grid:
        """Choose a grid over an area, (2,) mm each, for a smallest tool, mm in diameter."""
        width, height = (max(float(each), ROUNDED) for each in greatest - least)
        cell = max(SHARE * smallest, FINEST, sqrt(width * height / MOST_CELLS))
        shape = ceil(height / cell) + 1, ceil(width / cell) + 1
        return cls((float(least[0]), float(least[1])), cell, shape)

    def centres(self) -> tuple[Floats, Floats]:
        """(columns,) and (rows,) mm: X and Y of the cells' centres."""
        rows, columns = self.shape
        x: Floats = self.low[0] + (np.arange(columns, dtype=np.float64) + 0.5) * self.cell
        y: Floats = self.low[1] + (np.arange(rows, dtype=np.float64) + 0.5) * self.cell
        return x, y


@dataclass
class Field:
    """top: (rows, columns) mm, the height of the metal. by: the move that made it, or NOBODY."""

    grid: Grid
    top: Floats
    by: NDArray[np.int32]
    x: Floats = field(init=False)
    y: Floats = field(init=False)

    def __post_init__(self) -> None:
        """Lay out the centres of the cells."""
        self.x, self.y = self.grid.centres()

    @classmethod
    def level(cls, grid: Grid, top: float) -> Field:
        """Return metal up to one height everywhere."""
        return cls(
            grid, np.full(grid.shape, top, np.float64), np.full(grid.shape, NOBODY, np.int32)
        )

    def copy(self) -> Field:
        """Return the same metal, to be cut by itself."""
        return Field(self.grid, self.top.copy(), self.by.copy())

    def window(
        self, least: tuple[float, float], greatest: tuple[float, float]
    ) -> tuple[slice, slice]:
        """Return the rows and the columns of an area, mm."""
        cell, (low_x, low_y) = self.grid.cell, self.grid.low
        rows, columns = self.grid.shape
        first_x = max(int((least[0] - low_x) / cell) - 1, 0)
        first_y = max(int((least[1] - low_y) / cell) - 1, 0)
        last_x = min(max(int((greatest[0] - low_x) / cell) + 2, first_x), columns)
        last_y = min(max(int((greatest[1] - low_y) / cell) + 2, first_y), rows)
        return slice(first_y, last_y), slice(first_x, last_x)
