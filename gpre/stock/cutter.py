"""The lower side of a turning tool, by its distance from the axis; and how it sweeps.

Each shape is a convex curve that rises with the distance, so the lowest point that a straight
sweep leaves over a place has a closed form (for `bull` on a slope it is found by halving).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt, tan

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import LAST_DIGIT, POINT
from gpre.mill.job import Tool

Floats = NDArray[np.float64]

_HALVINGS = 40


@dataclass(frozen=True)
class Cutter:
    """radius: mm. corner: mm, the radius of its corner; the radius itself for a ball, 0 for flat.

    rise: mm of height for each mm off the axis, of a pointed tool; else 0. drop: mm, how far its
    lowest point lies below the tip that the program leads.
    """

    radius: float
    corner: float = 0.0
    rise: float = 0.0
    drop: float = 0.0

    @classmethod
    def of(cls, tool: Tool) -> Cutter:
        """Return the cutter of a tool of the job."""
        radius = tool.diameter / 2.0
        if tool.point_in_use is not None:
            return cls(radius, rise=1.0 / tan(tool.point_in_use / 2.0))
        return cls(radius, corner=tool.corner_in_use)

    def grown(self, by: float) -> Cutter:
        """Return the same tool, greater all round by so much, mm; less where `by` is negative."""
        radius = max(self.radius + by, POINT)
        if self.rise:
            slant = sqrt(1.0 + self.rise**2)  # the side moves out by `by` square to itself
            return Cutter(radius, 0.0, self.rise, self.drop + by * slant)
        corner = max(self.corner + by, 0.0) if self.corner else 0.0
        return Cutter(radius, min(corner, radius), 0.0, self.drop + by)

    def kept_off(self, by: float, *, slants: bool = False) -> Cutter:
        """Return what lies within `by` mm of the tool, by > 0, as a tool led along the same way.

        slants: the way goes level and up or down at once; for a pointed tool it is then a little
        greater than that round the point and the rim.
        """
        if self.rise:
            if slants:
                return self.grown(by)
            sharp = self.grown(by)
            return Rounded(sharp.radius, 0.0, self.rise, sharp.drop, self.radius, by)
        return Cutter(self.radius + by, self.corner + by, 0.0, self.drop + by)

    @property
    def flat(self) -> bool:
        """True where its lower side is a plane."""
        return not self.corner and not self.rise

    def height(self, square: Floats) -> Floats:
        """Return how far its lower side lies above its lowest point, by the squared distance, mm².

        inf beyond its radius.
        """
        inside = square <= self.radius**2
        if self.flat:
            return np.where(inside, 0.0, np.inf)
        distance = np.sqrt(square)
        if self.rise:
            return np.where(inside, self.rise * distance, np.inf)
        beyond = np.maximum(distance - (self.radius - self.corner), 0.0)
        curve = self.corner - np.sqrt(np.maximum(self.corner**2 - beyond**2, 0.0))
        return np.where(inside, curve, np.inf)

    def lowest(
        self, along: Floats, aside: Floats, length: float | Floats, slope: float | Floats
    ) -> Floats:
        """Return the least height over each place while the tool runs straight, mm.

        along, aside: mm, the place in the direction of the way in XY, from its start, and square
        to it, squared (mm²). length: mm, in XY. slope: mm of Z for each mm of it; both as arrays
        for many ways at once. Counted from the lowest point of the tool at the start; inf where
        the tool does not pass.
        """
        room = np.maximum(self.radius**2 - aside, 0.0)
        half = np.sqrt(room)
        first, last = np.maximum(along - half, 0.0), np.minimum(along + half, length)
        covered = (first <= last) & (aside <= self.radius**2)
        if self.flat:
            at = np.where(np.asarray(slope) > 0.0, first, last)
            return np.where(covered, slope * at, np.inf)
        at = np.clip(along + self._shift(aside, half, slope), first, last)
        distance = np.minimum(aside + (along - at) ** 2, self.radius**2)
        return np.where(covered, slope * at + self.height(distance), np.inf)

    def _shift(self, aside: Floats, half: Floats, slope: float | Floats) -> Floats:
        """Return how far ahead of a place the tool stands when it is lowest over it, mm."""
        steep = np.asarray(slope, np.float64)
        if not steep.any():
            return np.zeros_like(half)
        if self.rise:
            room = np.maximum(self.rise**2 - steep**2, 0.0)
            with np.errstate(divide="ignore", invalid="ignore"):
                ahead = np.minimum(np.abs(steep) * np.sqrt(aside / room), half)
            result: Floats = np.where(room > 0.0, -np.sign(steep) * ahead, -np.sign(steep) * half)
            return result
        if self.corner == self.radius:
            return half * (-steep / np.sqrt(1.0 + steep**2))
        return self._halved(aside, half, steep)

    def _halved(self, aside: Floats, half: Floats, slope: Floats) -> Floats:
        """Find it for a bull-nose tool: where its curve rises as steeply as the way falls."""
        low, high = -half, half.copy()
        inner = self.radius - self.corner
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            distance = np.sqrt(aside + middle**2)
            beyond = np.clip(distance - inner, 0.0, self.corner * (1.0 - LAST_DIGIT))
            steep = beyond / np.sqrt(self.corner**2 - beyond**2)
            with np.errstate(invalid="ignore", divide="ignore"):
                rise = slope + np.where(distance > 0.0, steep * middle / distance, 0.0)
            low, high = np.where(rise < 0.0, middle, low), np.where(rise < 0.0, high, middle)
        return (low + high) / 2.0


@dataclass(frozen=True)
class Rounded(Cutter):
    """What lies within `by` mm of a pointed tool: a ball round its point and one round its rim.

    tool: mm, the radius of the tool itself. Seen so where the tool goes level, up or down.
    """

    tool: float = 0.0
    by: float = 0.0

    def height(self, square: Floats) -> Floats:
        """See `Cutter.height`; counted from the lowest point of the sharp cone."""
        slant = sqrt(1.0 + self.rise**2)
        out = self.by * self.rise / slant  # where the balls touch the side of the cone
        distance = np.sqrt(square)
        point = -np.sqrt(np.maximum(self.by**2 - square, 0.0))
        rim = self.rise * self.tool - np.sqrt(
            np.maximum(self.by**2 - (distance - self.tool) ** 2, 0.0)
        )
        side = self.rise * distance - self.by * slant
        level = np.where(distance <= out, point, np.where(distance <= self.tool + out, side, rim))
        inside = square <= self.radius**2
        return np.where(inside, level + self.by * slant, np.inf)
