"""How much backlash an axis has where it stands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.mill.mill import Axis

Floats = NDArray[np.float64]


def backlash_at(axis: Axis, position: Floats) -> Floats:
    """(n,) mm: the backlash of an axis at screw positions (n,), mm, machine coordinates.

    A backlash table is read on straight lines between its rows, and runs on evenly beyond its ends.
    """
    if not isinstance(axis.lost_motion, tuple):
        return np.full(len(position), axis.lost_motion)
    places, amounts = np.array(axis.lost_motion, np.float64).T
    result: Floats = np.interp(position, places, amounts)
    return result


def half_backlash(axis: Axis, position: Floats, change: float = 0.0) -> Floats:
    """(n,) mm: half the backlash of an axis at screw positions (n,), mm, machine coordinates.

    change: mm, added to the backlash everywhere, which never falls below 0. Zero for a
    gravity-loaded axis. NaN positions have the backlash of none of them: NaN where it is a table.
    """
    if axis.gravity_loaded:
        return np.zeros(len(position))
    result: Floats = np.maximum(backlash_at(axis, position) + change, 0.0) / 2.0
    return result
