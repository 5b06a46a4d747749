"""A height field that a flat tool cuts down, step by step: knows nothing of the proof."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.mill.job import Box
from gpre.motion.motion import Kind, Motion

CELL = 1.0  # mm
STEP = 0.5  # mm, along each move
DUST = 0.005  # mm; what is taken off below this is rounding


@dataclass
class Outcome:
    """What a program does to the stock.

    height: what is left. by_rapid: how many steps at rapid took metal off. deepest: mm, the most
    that one step at feed took off downwards.
    """

    height: NDArray[np.float64]
    by_rapid: int
    deepest: float


def cut(motion: Motion, stock: Box, radius: float) -> Outcome:
    """Run a motion with one tool of `radius` mm through a block of metal."""
    x, y = (np.arange(stock.min[axis] + CELL / 2, stock.max[axis], CELL) for axis in (0, 1))
    height = np.full((len(x), len(y)), stock.max[2])
    by_rapid, deepest = 0, 0.0
    lengths = paths.lengths(motion)
    for row in np.flatnonzero(np.isfinite(lengths)).tolist():  # from a known place
        count = max(int(np.ceil(lengths[row] / STEP)), 1)
        part = paths.take(motion, np.full(count + 1, row))
        for place in paths.points(part, np.linspace(0.0, 1.0, count + 1)):
            near = (x[:, None] - place[0]) ** 2 + (y[None, :] - place[1]) ** 2 <= radius**2
            taken = float((height[near] - place[2]).max(initial=0.0))
            if taken > DUST:
                if motion.kind[row] == Kind.RAPID:
                    by_rapid += 1
                else:
                    deepest = max(deepest, taken)
            height[near] = np.minimum(height[near], place[2])
    return Outcome(height, by_rapid, deepest)
