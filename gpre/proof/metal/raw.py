"""The metal before anything is cut: the stock box, or metal everywhere up to the travel plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.mill.job import Box
from gpre.proof.boxed import boxed
from gpre.proof.planes import travel_planes
from gpre.proof.side import Pair, Side
from gpre.stock.field import Field, Grid

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

AIR = -1e9  # mm; the top of the metal where there is none


@dataclass(frozen=True)
class Raw:
    """tops: mm, the top of the metal of each frame. box: the stock; None: metal is everywhere."""

    tops: dict[int, float]
    box: Box | None

    @classmethod
    def of(cls, pair: Pair) -> Raw:
        """Look at what the job says; the box holds where all is cut from one zero."""
        box = pair.job.stock if boxed(pair) else None
        planes = travel_planes(pair.before, pair.job)
        used = np.unique(np.concatenate(pair.frames)).tolist()
        tops = {n: _top(pair, n, planes) if box is None else box.max[2] for n in used}
        return cls(tops, box)

    def field(self, grid: Grid, frame: int) -> Field:
        """Lay out the metal of a frame on a grid."""
        field = Field.level(grid, self.tops[frame])
        if self.box is not None:
            field.top[:] = AIR
            low, high = self.box.min, self.box.max
            inside_x = (field.x >= low[0]) & (field.x <= high[0])
            inside_y = (field.y >= low[1]) & (field.y <= high[1])
            field.top[np.ix_(inside_y, inside_x)] = high[2]
        return field


def rows_of(side: Side, pair: Pair) -> Ints:
    """(k,): the moves to run, in order; rapids of tools that never cut are left out."""
    rows = np.flatnonzero(side.ordinary & side.moves)
    return rows[np.isin(side.tool[rows], np.array([*pair.job.tools, -1]))]


def _top(pair: Pair, number: int, planes: Floats) -> float:
    """Return how high metal may stand in a frame, mm: up to where the original travels at rapid."""
    side, frame = pair.before, pair.frames[0]
    setups = np.unique(side.setup[frame == number])
    lowest = planes[setups].min(initial=np.inf) if len(setups) else np.inf
    if np.isfinite(lowest):
        return float(lowest)
    rows = side.feeding[frame[side.feeding] == number]
    motion = side.motion
    return float(np.maximum(motion.start[rows, 2], motion.end[rows, 2]).max(initial=0.0))
