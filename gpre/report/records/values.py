"""Kinds of values that the records share, with what a schema says of them, and their rounding."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from gpre.reversals.reversals import AXES


@dataclass(frozen=True)
class Rule:
    """What a value must keep to; `one_of` of the keys of a dict: it has them all and no others."""

    one_of: tuple[str | int, ...] = ()
    minimum: float | None = None
    pattern: str = ""


Line = Annotated[int, Rule(minimum=1), "counted from 1"]
Lines = Annotated[tuple[Line, Line], "the first line and the last one"]
Count = Annotated[int, Rule(minimum=0)]
AxisName = Annotated[str, Rule(one_of=AXES)]
Mm = Annotated[float, "mm"]
Seconds = Annotated[float, "s"]
Radians = Annotated[float, "radians"]
MmPerMinute = Annotated[float, "mm/min"]
Place = Annotated[tuple[Mm | None, Mm | None, Mm | None], "X, Y and Z; null: not known"]
PlaceXY = Annotated[tuple[Mm | None, Mm | None], "X and Y; null: not known"]

_PLACES = 6  # digits behind the point
_PLACES_OF_SECONDS = 3


def figure(value: float, places: int = _PLACES) -> float | None:
    """Round a figure; None where it is not finite, which JSON cannot write, and never -0."""
    return rounded(value, places) if math.isfinite(value) else None


def rounded(value: float, places: int = _PLACES) -> float:
    """Round a finite figure, never to -0."""
    return round(float(value), places) + 0.0


def seconds(value: float) -> float:
    """Round a time to 0.001 s."""
    return rounded(value, _PLACES_OF_SECONDS)


def place(point: Iterable[float]) -> tuple[float | None, float | None, float | None]:
    """Round the coordinates of a point."""
    x, y, z = (figure(float(each)) for each in point)
    return x, y, z


def place_xy(point: Iterable[float]) -> tuple[float | None, float | None]:
    """Round the coordinates of a point of the XY plane, or any two figures."""
    x, y = (figure(float(each)) for each in point)
    return x, y


def line_of(block: int) -> int:
    """Return the line of a block."""
    return int(block) + 1


def line_if_any(block: int | None) -> int | None:
    """Return the line of a block; None where there is none."""
    return None if block is None else line_of(block)
