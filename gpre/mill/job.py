"""What is known of the job: the tools, the stock, which way to cut. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi

CORNER = 0.25  # of the radius: the corner of a bull-nose tool of which the job tells none
POINTS = {"vee": pi / 2.0, "drill": pi * 118.0 / 180.0}  # rad; common practice, no source


@dataclass(frozen=True)
class Tool:
    """A tool: diameter, mm; flutes; steepest ramp, rad.

    shape: `flat`, `ball`, `bull`, `vee` or `drill`. corner_radius: mm, of a `bull`. point_angle:
    rad, the whole angle of the point of a `vee` or `drill`.
    """

    diameter: float
    shape: str = "flat"
    flutes: int | None = None
    max_ramp_angle: float | None = None
    corner_radius: float | None = None
    point_angle: float | None = None

    @property
    def corner_in_use(self) -> float:
        """The radius of its corner, mm: a guess for a bull-nose tool of which none is told."""
        radius = self.diameter / 2.0
        bull = CORNER * radius if self.corner_radius is None else min(self.corner_radius, radius)
        return {"ball": radius, "bull": bull}.get(self.shape, 0.0)

    @property
    def point_in_use(self) -> float | None:
        """The whole angle of its point, rad: the usual one where none is told."""
        return POINTS.get(self.shape) if self.point_angle is None else self.point_angle


@dataclass(frozen=True)
class Box:
    """A box in program coordinates, mm."""

    min: tuple[float, float, float]
    max: tuple[float, float, float]


@dataclass(frozen=True)
class Job:
    """Tools by number, the stock box, the way to cut (`climb`, `conventional`, `as-is`).

    origins: machine coordinates of work systems 1 to 9, mm. lengths: of tools by H number, mm.
    """

    tools: Mapping[int, Tool] = field(default_factory=dict)
    stock: Box | None = None
    cut: str = "as-is"
    origins: Mapping[int, tuple[float, float, float]] = field(default_factory=dict)
    lengths: Mapping[int, float] = field(default_factory=dict)
