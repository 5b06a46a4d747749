"""Where the moves of one program differ when it runs under two settings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Kind, Motion

_COLUMNS = ("kind", "start", "end", "centre", "sweep", "feed")


def differing(one: Motion, other: Motion) -> NDArray[np.bool_]:
    """(k,) bool: which of the first moves differ, k the length of the shorter motion.

    What is not known in both is the same; the plane counts for arcs alone.
    """
    count = min(len(one), len(other))
    result = np.zeros(count, np.bool_)
    for name in _COLUMNS:
        old, new = getattr(one, name)[:count], getattr(other, name)[:count]
        unequal = (old != new) & ~((old != old) & (new != new))  # noqa: PLR0124
        result |= unequal if unequal.ndim == 1 else unequal.any(axis=1)
    result |= (one.plane[:count] != other.plane[:count]) & (one.kind[:count] == Kind.ARC)
    return result
