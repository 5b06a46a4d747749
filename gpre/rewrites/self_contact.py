"""Whether a contour touches or crosses itself: then its start decides how wide the tool cuts."""

from __future__ import annotations

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.region import SegmentIndex
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Motion

_CHORD = 1e-2  # mm; touching is touching, near misses are none


def touches_itself(motion: Motion, first: int, last: int) -> bool:
    """Tell whether a closed run of moves, rows half open, meets itself in XY but at its ends.

    A pocket cut ring by ring is such a run: begun at another ring, the tool would cut that ring
    out of the solid, over its full width.
    """
    row, _, points = paths.sample(paths.take(motion, slice(first, last)), _CHORD)
    start, end = points[:-1, :2], points[1:, :2]
    real = (row[:-1] == row[1:]) & (np.abs(end - start).max(axis=1) > RESOLUTION)
    start, end = start[real], end[real]
    left, right = SegmentIndex(start, end).near(start, end, RESOLUTION)
    apart = np.abs(left - right)
    return bool(((apart > 1) & (apart < len(start) - 1)).any())
