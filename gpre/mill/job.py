"""What is known of the job: the tools, the stock, which way to cut. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Tool:
    """A tool: diameter, mm; flutes; steepest ramp, rad.

    shape: `flat`, `ball`, `bull`, `vee` or `drill`. corner: mm, the radius of the corner of a
    `bull`. point: rad, the whole angle of the point of a `vee` or `drill`.
    """

    diameter: float
    shape: str = "flat"
    flutes: int | None = None
    steepest_ramp: float | None = None
    corner: float | None = None
    point: float | None = None


@dataclass(frozen=True)
class Box:
    """A box in program coordinates, mm."""

    least: tuple[float, float, float]
    greatest: tuple[float, float, float]


@dataclass(frozen=True)
class Job:
    """Tools by number, the stock box, the way to cut (`climb`, `conventional`, `as-is`)."""

    tools: Mapping[int, Tool] = field(default_factory=dict)
    stock: Box | None = None
    cut: str = "as-is"
