"""Rows taken several times over, each time with its rank: 0, 0, 1 and 0, 1, 0."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.intp]


def repeated(count: Ints) -> tuple[Ints, Ints]:
    """(m,) each: row `i` of n so many times as `count[i]` says, (n,), and which time it is."""
    row = np.repeat(np.arange(len(count)), count)
    rank = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    return row, rank


def evenly(steps: Ints) -> tuple[Ints, NDArray[np.float64]]:
    """(m,) each: rows of n and fractions, so many steps along each, (n,), both ends included."""
    row, rank = repeated(steps + 1)
    return row, rank / steps[row]
