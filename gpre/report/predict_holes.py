"""Holes and full circles under backlash, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gpre.driver.predicting import Predicted
from gpre.prediction.circles import Circle
from gpre.report.quantities import Scale, lines_text
from gpre.report.wording import counted, visible

_SHOWN = 6


def hole_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Return how far holes lie off their places, and how far apart the errors are."""
    holes, motion = found.prediction.holes, found.counted.motion
    if not len(holes):
        return
    most = np.maximum(np.abs(holes.low), np.abs(holes.high))
    away = np.hypot(most[:, 0], most[:, 1])
    number = counted(len(holes), "hole")
    if scale.nothing(float(away.max())):
        yield f"{number}: no place is predicted to be off by {scale.length(scale.least)} or more"
        return
    if len(holes) > 1:
        spread = scale.length(holes.spread)
        axes = f"X {scale.figure(holes.spread_x)}, Y {scale.figure(holes.spread_y)}"
        yield (
            f"{spread}  spread, the most by which {number} are out from one another ({axes}); "
            "an error that all share only moves the pattern"
        )
    errors: dict[str, list[int]] = {}
    for hole in np.argsort(-away, kind="stable").tolist():
        low, high = holes.low[hole], holes.high[hole]
        parts = [
            f"{axis} {_between(float(low[at]), float(high[at]), scale)}"
            for at, axis in enumerate("XY")
        ]
        text = f"{scale.length(float(away[hole]))}  off: {', '.join(parts)}"
        errors.setdefault(text, []).append(int(motion.block[holes.row[hole]]) + 1)
    for text, lines in list(errors.items())[:_SHOWN]:
        yield f"{text}; {lines_text((line, line) for line in lines)}"
    if len(errors) > _SHOWN:
        yield "and holes that are off by less; --json has more"


def _between(low: float, high: float, scale: Scale) -> str:
    if scale.nothing(high - low):
        return scale.signed((low + high) / 2.0)
    return f"{scale.signed(low)} to {scale.signed(high)}"


def circle_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Return how far full circles are out of round, in the terms of ISO 230-4."""
    circles = sorted(found.prediction.circles, key=lambda each: -each.g)
    if not circles:
        return
    if scale.nothing(circles[0].g) and scale.nothing(max(abs(each.f_max) for each in circles)):
        number, least = counted(len(circles), "full circle"), scale.length(scale.least)
        yield f"{number}: none is predicted to be out of round by {least} or more"
        return
    source = (found.counted if found.intended is None else found.intended).motion
    groups: dict[str, dict[str, list[int]]] = {}
    for each in circles:
        alike = groups.setdefault(_figures(each, scale), {})
        alike.setdefault(_circle(each, scale), []).append(int(source.block[each.first]) + 1)
    for text, alike in list(groups.items())[:_SHOWN]:
        names = [
            f"{name}, {lines_text((line, line) for line in lines)}"
            for name, lines in list(alike.items())[:_SHOWN]
        ]
        more = len(alike) - _SHOWN
        names += [f"and {more:,} more"] if more > 0 else []
        yield f"{text}\n{'; '.join(names)}"
    if len(groups) > _SHOWN:
        yield "and circles that are out by less; --json has more"
    if found.intended is not None:
        yield f"lines here are those of {visible(found.intended.program.source.name)}"
    yield (
        "of the tool's centre; G circular deviation, about the least squares centre; F radial "
        "deviation, least and greatest; H circular hysteresis (ISO 230-4)"
    )


def _figures(each: Circle, scale: Scale) -> str:
    hysteresis = "" if each.h is None else f", H {scale.figure(each.h)}"
    radial = f"F {scale.signed(each.f_min)} to {scale.signed(each.f_max)}"
    return f"{scale.length(each.g)}  out of round (G), {radial}{hysteresis}"


def _circle(each: Circle, scale: Scale) -> str:
    way = "G3" if each.counter_clockwise else "G2"
    plane = "" if each.plane == 17 else f" in G{each.plane}"
    return f"{way}{plane} of radius {scale.size(each.radius)}"
