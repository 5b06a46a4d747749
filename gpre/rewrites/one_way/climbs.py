"""Tells which passes of a raster would climb more if they were cut from their other end.

Where the passes lie farther apart than the tool's radius, or the last one lies at the edge of the
stock, metal is left on the side that was cut already: such a pass climbs in the direction in which
the others are conventional.
"""

from __future__ import annotations

import numpy as np

from gpre.cuts.passes import Pass, Raster
from gpre.geometry.tolerance import NEAR
from gpre.motion.motion import Motion
from gpre.room.entries import Air

SAME = NEAR  # so much more metal on one side is rounding


def climbs_turned(motion: Motion, raster: Raster, each: Pass, air: Air) -> bool:
    """Return whether a pass climbs more once it runs the other way."""
    at = raster.passes.index(each)
    places = [float(motion.start[one.first, :2] @ raster.step) for one in raster.passes]
    low, high = _edges(raster, air)
    place, radius = places[at], air.radius
    low = max(low, place - radius, places[at - 1] + radius if at else -np.inf)
    high = min(high, place + radius)
    behind, ahead = max(min(place, high) - low, 0.0), max(high - max(place, low), 0.0)
    right = np.array([raster.along[1], -raster.along[0]]) * -each.way
    spindle = motion.state_of(each.first).spindle_way
    climbing, other = (ahead, behind) if right @ raster.step * spindle > 0 else (behind, ahead)
    return climbing > other + SAME


def _edges(raster: Raster, air: Air) -> tuple[float, float]:
    """Return where the stock begins and ends in the direction of the steps, mm."""
    (x0, y0, _), (x1, y1, _) = air.stock.min, air.stock.max
    corners = np.array([(x0, y0), (x1, y0), (x0, y1), (x1, y1)]) @ raster.step
    return float(corners.min()), float(corners.max())
