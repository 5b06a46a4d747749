"""An arc in the XY plane whose two radii are made equal by a small shift of its centre."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import sweeps_about
from gpre.geometry.tolerance import PATH

Floats = NDArray[np.float64]


def evened(start: Floats, end: Floats, centre: Floats, sweep: float) -> tuple[Floats, float]:
    """(3,) mm and radians: the nearest centre as far from both ends, and the sweep about it.

    An arc written in round numbers has radii that differ a little. In two parts each of them must
    still be true, so the difference goes into the centre, along the chord. Where that would move
    it too far, or start and end are one place, all stays as it is.
    """
    chord = (end - start)[:2]
    square = float(chord @ chord)
    if not square > 0.0 or not sweep:
        return centre, sweep
    aside = float((centre[:2] - (start + end)[:2] / 2.0) @ chord) / square * chord
    if float(np.hypot(*aside)) > PATH:
        return centre, sweep
    moved = centre.copy()
    moved[:2] -= aside
    turn = sweeps_about(start[None, :2], end[None, :2], moved[:2], np.array([sweep]))
    return moved, float(turn[0])
