"""What one reversal and some way in the air cost on a mill, before anything is written.

A single reversal is taken at the greatest backlash of its axis: where on the axis it lies does not
matter here. The true cycle time of a program is the business of `timing`.
"""

from __future__ import annotations

from math import sqrt

import numpy as np

from gpre.geometry.arc import Floats
from gpre.mill.mill import Mill

_ANYWHERE = 100.0  # mm from the pivot of a twist, where nothing is known


def backlash_at_turns(mill: Mill) -> tuple[float, float, float]:
    """Return the backlash that X, Y and Z cross where they turn, mm; 0 where gravity-loaded."""
    x, y, z = (0.0 if axis.gravity_loaded else axis.greatest_lost_motion for axis in mill.axes)
    return x, y, z


def error_from_wrong_side(mill: Mill, axis: int, place: Floats) -> float:
    """Return how far a position is out where X (0) or Y (1) arrives from the wrong side, mm.

    By the backlash, unless the controller takes it up; and by what the table twists meanwhile,
    which no controller takes up. What is not known for certain of the backlash is not counted: that
    is for measuring. place: (2,) mm, machine coordinates; where it is not known, the corner of the
    travel that is farthest from the pivot counts, or 100 mm.
    """
    backlash = 0.0 if mill.compensation.by == "controller" else backlash_at_turns(mill)[axis]
    full = (mill.twist.x, mill.twist.y)[axis]
    if full == 0.0:
        return backlash
    aside = np.abs(place - np.array(mill.twist.pivot))
    for each, travel in enumerate((mill.x.travel, mill.y.travel)):
        if not np.isfinite(aside[each]):
            ends = (_ANYWHERE, 0.0) if travel is None else np.array(travel) - mill.twist.pivot[each]
            aside[each] = np.abs(ends).max()
    return backlash + abs(full) * float(np.hypot(*aside))


def take_up_costs(mill: Mill) -> tuple[float, float, float]:
    """Return what one take-up of the controller takes on X, Y and Z, s: b / take-up feed + pause.

    0 unless the controller compensates, and on an axis without backlash.
    """
    by = mill.compensation
    if by.by != "controller":
        return 0.0, 0.0, 0.0
    feed = by.take_up_feed / 60.0
    x, y, z = (
        backlash / feed + by.pause if backlash > 0.0 else 0.0
        for backlash in backlash_at_turns(mill)
    )
    return x, y, z


def air_seconds(mill: Mill, longer: float) -> float:
    """Return how long a way of `longer` mm at rapid takes, s, out and back, from rest to rest.

    The slower of X and Y counts. Below 0 for a way that got shorter: moves that go on as they
    were only shrink, so that no ramp is saved.
    """
    speed = min(mill.x.top_speed, mill.y.top_speed) / 60.0
    acceleration = min(mill.x.acceleration, mill.y.acceleration)
    if longer <= 0.0:
        return longer / speed
    half = longer / 2.0
    ramp = speed * speed / acceleration  # mm, to gain and lose the top speed
    one = 2.0 * sqrt(half / acceleration) if half <= ramp else half / speed + speed / acceleration
    return 2.0 * one
