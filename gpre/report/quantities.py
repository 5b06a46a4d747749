"""Predicted figures in words: no finer than they are good for, in the units of the program."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from gpre.motion.state import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Scale:
    """Writes lengths (mm) and speeds (mm/min) in the units of a program, 20 inch or 21 mm."""

    units: int

    @property
    def unit(self) -> str:
        """The name of the unit of length."""
        return "in" if self.units == 20 else "mm"

    @property
    def least(self) -> float:
        """The least length that is told, mm: 0.001 mm or 0.0001 in."""
        return MM_PER_INCH * 1e-4 if self.units == 20 else 1e-3

    def nothing(self, value: float) -> bool:
        """Return whether a length (mm) is too small to be told."""
        return abs(value) < self.least / 2.0

    def figure(self, value: float) -> str:
        """Return a length without its unit: to 0.001 mm or 0.0001 in."""
        if not math.isfinite(value):
            return "?"
        text = f"{value / MM_PER_INCH:.4f}" if self.units == 20 else f"{value:.3f}"
        return text.lstrip("-") if float(text) == 0 else text

    def length(self, value: float) -> str:
        """Return a length with its unit."""
        return f"{self.figure(value)} {self.unit}"

    def signed(self, value: float) -> str:
        """Return a length with its sign, without its unit."""
        text = self.figure(value)
        return text if text.startswith("-") or not float(text) else f"+{text}"

    def size(self, value: float) -> str:
        """Return a nominal size, such as a diameter, without needless zeros."""
        text = f"{value / MM_PER_INCH:.4f}" if self.units == 20 else f"{value:.3f}"
        return f"{text.rstrip('0').rstrip('.')} {self.unit}"

    def speed(self, value: float) -> str:
        """Return a speed with its unit."""
        if self.units == 20:
            return f"{value / MM_PER_INCH:.1f} in/min"
        return f"{value:.0f} mm/min"


def duration(seconds: float) -> str:
    """Return `3.4 s`, `2 min 03.4 s`, `1 h 02 min 03.4 s`."""
    tenths = round(seconds * 10.0)
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours:,} h {minutes:02} min {rest / 10:04.1f} s"
    return f"{minutes} min {rest / 10:04.1f} s" if minutes else f"{rest / 10:.1f} s"


def span(values: Iterable[float], places: int) -> str:
    """Return `0.17`, or `0.14 to 0.17` where the values differ."""
    texts = sorted({round(value, places) for value in values})
    if len(texts) == 1:
        return f"{texts[0]:.{places}f}"
    return f"{texts[0]:.{places}f} to {texts[-1]:.{places}f}"


def lines_text(lines: Iterable[tuple[int, int]], most: int = 4) -> str:
    """Return `line 4`, `lines 4-9, 20-25 and 3 more`; first and last lines, from 1."""
    every = sorted(set(lines))
    shown = [str(first) if first == last else f"{first}-{last}" for first, last in every[:most]]
    word = "line" if len(every) == 1 and "-" not in shown[0] else "lines"
    more = f" and {len(every) - most:,} more" if len(every) > most else ""
    return f"{word} {', '.join(shown)}{more}"
