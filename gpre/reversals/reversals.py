"""Reversals in columns: where an axis starts to travel against its last direction."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

AXES = ("x", "y", "z")


class ReversalKind(IntEnum):
    """Where on the path the axis turns."""

    CORNER = 0  # straight to straight
    QUADRANT = 1  # inside a plane arc
    HELIX = 2  # inside a helical arc
    JOIN = 3  # where an arc meets another move
    LINK = 4  # the new direction starts with an air move


@dataclass(frozen=True)
class Reversals:
    """n reversals, one row each, in order of the motion (axis order within one place).

    axis: (n,) uint8, 0 X, 1 Y, 2 Z. move: (n,) int32, row of Motion that starts the new
    direction. block: (n,) int32. along: (n,) float64, 0 to 1, the fraction of the move's length
    where the axis turns. position: (n, 3) float64, mm. direction: (n,) int8, the new direction.
    kind: (n,) uint8 of ReversalKind. in_cut: (n,) bool, the move is a cutting move.
    run: (n,) float64, mm, how far the axis had travelled its old way.
    """

    axis: NDArray[np.uint8]
    move: NDArray[np.int32]
    block: NDArray[np.int32]
    along: NDArray[np.float64]
    position: NDArray[np.float64]
    direction: NDArray[np.int8]
    kind: NDArray[np.uint8]
    in_cut: NDArray[np.bool_]
    run: NDArray[np.float64]

    def __len__(self) -> int:
        """Return the number of reversals."""
        return len(self.axis)
