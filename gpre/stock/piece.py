"""What one piece of a move passes over, and how the cells there lie to its way.

Heights and lengths mm; `inf` where the tool does not pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import DUST
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field

Floats = NDArray[np.float64]
Window = tuple[slice, slice]

MOST_TOGETHER = 25_000  # cells of boxes


@dataclass(frozen=True, slots=True)
class SweptCells:
    """What one piece of a move passes over.

    window: rows and columns of the field. height: (rows, columns) mm. length: mm, of the piece.
    way: how its cells lie to it.
    """

    window: Window
    height: Floats
    length: float
    way: Straight | RoundPiece | TurnedPiece | None

    def seen(self, cut: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """(k,) mm each: how far cells lie to the left of the way, and where it meets them first.

        cut: (rows, columns), k of them. The place is counted along the piece from its start.
        Straight down there is no left, and all is met evenly.
        """
        if self.way is not None:
            return self.way.seen(cut)
        count = int(np.count_nonzero(cut))
        return np.zeros(count), np.linspace(0.0, self.length, count)


@dataclass(frozen=True, slots=True)
class Straight:
    """along: (rows, columns) mm in XY; aside: the same, to the left. steep: mm of way for each."""

    along: Floats
    aside: Floats
    radius: float
    steep: float

    def seen(self, cut: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """See `Swept.seen`."""
        aside = self.aside[cut]
        half = np.sqrt(np.maximum(self.radius**2 - aside * aside, 0.0))
        return aside, np.maximum(self.along[cut] - half, 0.0) * self.steep


@dataclass(frozen=True, slots=True)
class RoundPiece:
    """x, y: (columns,) and (rows, 1) mm from the centre. distance: (rows, columns) mm from it."""

    x: Floats
    y: Floats
    distance: Floats
    radius: float
    tool: float
    begin: float
    turn: float

    @property
    def way(self) -> float:
        """+1 against the clock, -1 with it."""
        return 1.0 if self.turn > 0.0 else -1.0

    @property
    def length(self) -> float:
        """The length of the piece in XY, mm."""
        return self.radius * abs(self.turn)

    def seen(self, cut: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """See `Swept.seen`; left is left of the tangent where the tool meets the cell first."""
        far, past, first = self.met(cut)
        aside = (self.radius - far * np.cos(past - first)) * self.way
        return np.clip(aside, -self.tool, self.tool), first * self.radius

    def met(self, cut: NDArray[np.bool_]) -> tuple[Floats, Floats, Floats]:
        """(k,) each: how far from the centre cells lie, mm; how far round, from the start; radians.

        The last is how far round the tool meets them first.
        """
        rows, columns = np.nonzero(cut)
        far = np.maximum(self.distance[cut], DUST)
        angle = np.arctan2(self.y[rows, 0], self.x[columns])
        past = np.mod(self.way * (angle - self.begin), 2.0 * pi)
        # the tool meets a place as soon as its axis is as near as its radius: law of cosines
        share = (self.radius**2 + far**2 - self.tool**2) / (2.0 * self.radius * far)
        reach = np.arccos(np.clip(share, -1.0, 1.0))
        first = np.where(past + reach >= 2.0 * pi, 0.0, np.maximum(past - reach, 0.0))
        return far, past, np.minimum(first, abs(self.turn))


@dataclass(frozen=True, slots=True)
class TurnedPiece:
    """A short piece of a helix. level: the same as XY sees it. steep: mm of way for each mm there.

    What lies under the tool at its start sinks evenly all along it.
    """

    level: RoundPiece
    steep: float

    def seen(self, cut: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """See `Swept.seen`; left is left of the tangent."""
        level = self.level
        far, past, first = level.met(cut)
        under = first <= 0.0
        first[under] = np.linspace(0.0, abs(level.turn), np.count_nonzero(under), endpoint=False)
        aside = (level.radius - far * np.cos(past - first)) * level.way
        return np.clip(aside, -level.tool, level.tool), first * level.radius * self.steep


@dataclass(frozen=True, slots=True)
class Boxes:
    """Boxes of one size that hold what short moves pass over.

    window: of each of k. x: (k, 1, columns) mm; y: (k, rows, 1) mm.
    """

    window: list[Window]
    x: Floats
    y: Floats

    @classmethod
    def over(cls, field: Field, start: Floats, end: Floats, cutter: Cutter) -> Boxes:
        """Lay them round k moves from start to end, (k, 3) mm, with a cell to spare."""
        rows, columns = _box_of(field, start, end, cutter)
        least = np.minimum(start, end)[:, :2] - cutter.radius
        corner = ((least - field.grid.low) / field.grid.cell).astype(np.intp) - 1
        limit = np.array(field.grid.shape)[::-1] - (columns, rows)
        corner = np.clip(corner, 0, limit)
        x = field.x[corner[:, :1] + np.arange(columns)][:, None, :]
        y = field.y[corner[:, 1:] + np.arange(rows)][:, :, None]
        window = [(slice(b, b + rows), slice(a, a + columns)) for a, b in corner.tolist()]
        return cls(window, x, y)


def most_together(field: Field, start: Floats, end: Floats, cutter: Cutter) -> int:
    """Return how many short moves like these, (k, 3) mm, fill no more cells than go together."""
    rows, columns = _box_of(field, start, end, cutter)
    return max(MOST_TOGETHER // (rows * columns), 1)


def _box_of(field: Field, start: Floats, end: Floats, cutter: Cutter) -> tuple[int, int]:
    """Return the rows and columns of a box that holds each of some straight moves."""
    far = np.abs(end - start)[:, :2].max(axis=0) + 2.0 * cutter.radius
    columns, rows = (int(each) + 4 for each in (far / field.grid.cell).tolist())
    return min(rows, field.grid.shape[0]), min(columns, field.grid.shape[1])
