"""A circular test in the manner of ISO 230-4, followed step by step; it shares no code with gpre.

The slides go round a circle that scales and squareness have bent, and the table follows the screws
through their play, w = max(u - r, min(u + r, w)). The figures are read off the steps. (ISO
230-4:1996, definitions from memory.) Lengths mm, angles rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Trace = NDArray[np.float64]  # (n, 2) mm, about the nominal centre


@dataclass(frozen=True)
class Faults:
    """backlash: mm on X and Y. scale: what an axis moves too far, of 1. lean: Y towards X, rad."""

    backlash: tuple[float, float] = (0.0, 0.0)
    scale: tuple[float, float] = (0.0, 0.0)
    lean: float = 0.0


def commanded(radius: float, faults: Faults, ways: tuple[int, ...], steps: int) -> list[Trace]:
    """Where the screws go, one round after another from (R, 0); ways: 1 counter-clockwise."""
    angle = np.linspace(0.0, 2.0 * math.pi, steps + 1)
    rounds = []
    for way in ways:
        x, y = radius * np.cos(angle), way * radius * np.sin(angle)
        x, y = x * (1.0 + faults.scale[0]), y * (1.0 + faults.scale[1])
        rounds.append(np.column_stack((x + faults.lean * y, y)))
    return rounds


def followed(rounds: list[Trace], faults: Faults, start: tuple[float, float]) -> list[Trace]:
    """Where the table goes; start: on which side the play stands before, -1 to 1 for each axis."""
    half = [each / 2.0 for each in faults.backlash]
    table = [rounds[0][0, axis] + start[axis] * half[axis] for axis in (0, 1)]
    result = []
    for path in rounds:
        made = np.empty_like(path)
        for axis in (0, 1):
            reach, at = half[axis], table[axis]
            for number, screw in enumerate(path[:, axis].tolist()):
                at = max(screw - reach, min(screw + reach, at))
                made[number, axis] = at
            table[axis] = at
        result.append(made)
    return result


def centre(*traces: Trace) -> Trace:
    """Centre of the least squares circle, even in the angle: c = mean(p) - r mean(unit)."""
    points, weights = [], []
    for trace in traces:
        away = np.abs(np.diff(np.unwrap(np.arctan2(trace[:, 1], trace[:, 0]))))
        weights.append((np.append(away, 0.0) + np.append(0.0, away)) / 2.0)
        points.append(trace)
    every, weight = np.concatenate(points), np.concatenate(weights)
    weight /= weight.sum()
    found = np.zeros(2)
    for _ in range(80):
        spoke = every - found
        length = np.hypot(*spoke.T)
        found = weight @ every - (weight @ length) * (weight @ (spoke / length[:, None]))
    return found


def radial(trace: Trace, radius: float) -> tuple[float, float]:
    """F: the least and the greatest deviation from the nominal circle, about its centre."""
    away = np.hypot(*trace.T) - radius
    return float(away.min()), float(away.max())


def circular(trace: Trace) -> float:
    """G: the distance of two circles about the LSC centre that hold the path."""
    return float(np.ptp(np.hypot(*(trace - centre(trace)).T)))


def hysteresis(one: Trace, other: Trace) -> float:
    """H: the greatest difference of two paths at one polar angle, about the LSC centre of both."""
    middle = centre(one, other)
    grid = np.linspace(-math.pi, math.pi, 50_001)
    found = []
    for trace in (one, other):
        spoke = trace - middle
        angle, length = np.arctan2(spoke[:, 1], spoke[:, 0]), np.hypot(*spoke.T)
        found.append(np.interp(grid, angle, length, period=2.0 * math.pi))
    return float(np.abs(found[0] - found[1]).max())
