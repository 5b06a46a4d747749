"""An independent count of reversals: the path sampled finely, a counter with hysteresis.

Nothing of the finder is used. Slow, and right to the step of the samples only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gpre.motion.motion import Kind, Motion

FRAMES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}  # NISTIR 6556, 4.3.6.1
STEP = 2e-3  # radians
# how far a sample may miss the extreme of a 30 mm radius: r STEP^2 / 8
MISS = 30.0 * STEP**2 / 8.0 * 1.5


@dataclass
class Turn:
    """One reversal: the axis, the move of the first sample behind the extreme, the coordinate."""

    axis: int
    move: int
    coordinate: float
    direction: int
    run: float


def samples(motion: Motion, row: int) -> np.ndarray:
    """(m, 3): points along one move, the start not among them."""
    start, end = motion.start[row], motion.end[row]
    sweep = float(motion.sweep[row])
    if motion.kind[row] != Kind.ARC:
        t = np.linspace(0.0, 1.0, 4)[1:, None]
        return start + (end - start) * t
    first, second, normal = FRAMES[int(motion.plane[row])]
    centre = motion.centre[row]
    u, v = start[first] - centre[first], start[second] - centre[second]
    r0 = math.hypot(u, v)
    r1 = math.hypot(end[first] - centre[first], end[second] - centre[second])
    t = np.linspace(0.0, 1.0, max(int(abs(sweep) / STEP), 4))[1:]
    angle = math.atan2(v, u) + sweep * t
    result = np.empty((len(t), 3))
    result[:, first] = centre[first] + (r0 + (r1 - r0) * t) * np.cos(angle)
    result[:, second] = centre[second] + (r0 + (r1 - r0) * t) * np.sin(angle)
    result[:, normal] = start[normal] + (end[normal] - start[normal]) * t
    result[-1] = end
    return result


def count(motion: Motion, resolution: float) -> list[Turn]:
    """All reversals, axis by axis."""
    turns: list[Turn] = []
    for axis in range(3):
        turns += _count_axis(motion, axis, resolution)
    return turns


class _Counter:
    """Follows one coordinate; the extremes since the last turn, and who moves away from them."""

    def __init__(self, resolution: float) -> None:
        self.resolution = resolution
        self.forget()

    def forget(self) -> None:
        self.way = 0
        self.high = self.low = None
        self.high_move = self.low_move = -1

    def step(self, value: float, coordinate: float, move: int) -> tuple | None:
        """Take one sample; give a turn (direction, coordinate, move, run) if it completes one."""
        if self.high is None:
            self.high = self.low = (value, coordinate)
            return None
        if value >= self.high[0]:
            self.high, self.high_move = (value, coordinate), -1
        elif self.high_move < 0:
            self.high_move = move
        if value <= self.low[0]:
            self.low, self.low_move = (value, coordinate), -1
        elif self.low_move < 0:
            self.low_move = move
        found = None
        if self.way >= 0 and self.high[0] - value > self.resolution:
            if self.way > 0:
                found = (-1, self.high[1], self.high_move, self.high[0] - self.floor)
            self.way, self.ceiling = -1, self.high[0]
            self.low, self.low_move = (value, coordinate), -1
        elif self.way <= 0 and value - self.low[0] > self.resolution:
            if self.way < 0:
                found = (1, self.low[1], self.low_move, self.ceiling - self.low[0])
            self.way, self.floor = 1, self.low[0]
            self.high, self.high_move = (value, coordinate), -1
        return found


def _telling(values: np.ndarray) -> list[float]:
    """Leave out samples on the way: those behind the first two, between neighbours either side."""
    step = np.diff(values)
    keep = np.ones(len(values), bool)
    keep[1:-1] = step[:-1] * step[1:] <= 0.0
    keep[1:] |= keep[:-1]
    return values[keep].tolist()[1:]


def _count_axis(motion: Motion, axis: int, resolution: float) -> list[Turn]:
    counter = _Counter(resolution)
    turns: list[Turn] = []
    value = 0.0  # travel so far; renumbered coordinates are no travel
    for row in range(len(motion)):
        start, end = motion.start[row, axis], motion.end[row, axis]
        if math.isnan(start) or math.isnan(end):
            counter.forget()
            continue
        counter.step(value, start, row)
        base = value
        for point in _telling(np.append(start, samples(motion, row)[:, axis])):
            value = base + (point - start)
            found = counter.step(value, point, row)
            if found:
                direction, coordinate, move, run = found
                turns.append(Turn(axis, move, coordinate, direction, run))
    return turns
