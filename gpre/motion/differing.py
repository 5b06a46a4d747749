"""Where the moves of one motion differ from those of another, and where they are the same."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Kind, Motion

_COLUMNS = ("kind", "start", "end", "centre", "sweep", "feed")


def same_values(one: NDArray[Any], other: NDArray[Any]) -> NDArray[np.bool_]:
    """(n,) bool: which rows of two columns, (n,) or (n, k), are equal; NaN equals NaN."""
    same = one == other
    if one.dtype.kind == "f":
        same |= np.isnan(one) & np.isnan(other)
    result: NDArray[np.bool_] = same if same.ndim == 1 else same.all(axis=1)
    return result


def differing(one: Motion, other: Motion) -> NDArray[np.bool_]:
    """(k,) bool: which of the first moves differ, k the length of the shorter motion.

    What is not known in both is the same; the plane counts for arcs alone.
    """
    count = min(len(one), len(other))
    result = np.zeros(count, np.bool_)
    for name in _COLUMNS:
        result |= ~same_values(getattr(one, name)[:count], getattr(other, name)[:count])
    result |= (one.plane[:count] != other.plane[:count]) & (one.kind[:count] == Kind.ARC)
    return result
