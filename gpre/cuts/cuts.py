"""Cuts: stretches of moves at feed between two air moves, with the shape of each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Shape(Enum):
    """What a cut is."""

    HOLE = "hole"  # straight down the spindle's axis and out again
    CLOSED = "closed contour"  # its body ends where it starts, in one plane
    OPEN = "open contour"
    PASS = "raster pass"  # one straight run # noqa: S105
    RASTER = "raster"  # straight runs there and back, joined by short step-overs at feed
    HELIX = "helix"
    SURFACE = "surface"  # Z changes along the way


@dataclass(frozen=True, slots=True)
class Cut:
    """Rows of Motion, half open: `first` to `last` all, `body_first` to `body_last` the body.

    What lies before the body is the lead-in (the plunge and the way to the contour), what lies
    behind it the lead-out. Levels of one shape with plunges between them are one cut of that shape,
    its body from the first level's to the last one's; `gpre.cuts.levels` splits it.
    """

    first: int
    last: int
    body_first: int
    body_last: int
    shape: Shape
