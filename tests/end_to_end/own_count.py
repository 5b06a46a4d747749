"""A second way to look at motion, by dense samples; it shares no code with the finder."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Kind, Motion

STEP = 1e-4  # mm; travel up to it is none
DUST = 1e-9  # mm; rounding of float64
CHORDS_A_TURN = 720


@dataclass(frozen=True)
class Turn:
    """A reversal: axis 0 to 2, the row of Motion that starts the new direction, the direction."""

    axis: int
    row: int
    way: int


def samples(motion: Motion, row: int) -> NDArray[np.float64]:
    """(k, 3) machine positions along one move, start and end included, mm."""
    start, end = motion.start[row], motion.end[row]
    origin = np.array(motion.state_of(row).origin)
    unknown = np.isnan(start).any() or np.isnan(end).any()
    if motion.kind[row] != Kind.ARC or unknown:
        return np.array([start, end]) + origin
    first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[int(motion.plane[row])]
    sweep = float(motion.sweep[row])
    count = max(8, math.ceil(abs(sweep) / (2 * math.pi) * CHORDS_A_TURN))
    part = np.linspace(0.0, 1.0, count + 1)
    centre = motion.centre[row]
    out_first, out_second = start[first] - centre[first], start[second] - centre[second]
    angle = math.atan2(out_second, out_first) + sweep * part
    last = math.hypot(end[first] - centre[first], end[second] - centre[second])
    radius = math.hypot(out_first, out_second) * (1 - part) + last * part
    points = np.empty((count + 1, 3))
    points[:, first] = centre[first] + radius * np.cos(angle)
    points[:, second] = centre[second] + radius * np.sin(angle)
    points[:, normal] = start[normal] + (end[normal] - start[normal]) * part
    points[0], points[-1] = start, end
    return points + origin


def turns(motion: Motion) -> list[Turn]:
    """All reversals, axis by axis, found by walking over the samples."""
    found: list[Turn] = []
    walks = [samples(motion, row) for row in range(len(motion))]
    for axis in range(3):
        way, extreme, row_of_extreme, fresh = 0, None, 0, False
        for row, walk in enumerate(walks):
            for before, here in zip(walk[:-1, axis], walk[1:, axis], strict=True):
                if here == before:
                    continue
                if math.isnan(here) or math.isnan(before):  # the direction is not known behind it
                    way, extreme, fresh = 0, None, False
                    continue
                if extreme is None:
                    extreme, row_of_extreme = before, row
                moved = here - extreme
                if way and moved * way >= -DUST:  # at the extreme, or past it
                    extreme, fresh = (here if moved * way > 0 else extreme), True
                    continue
                if fresh:  # the first step back from the extreme
                    row_of_extreme, fresh = row, False
                if abs(moved) > STEP + DUST:
                    if way:
                        found.append(Turn(axis, row_of_extreme, -way))
                    way, extreme, fresh = (1 if moved > 0 else -1), here, True
    return found


def in_cut(motion: Motion) -> tuple[int, int, int]:
    """How many reversals of X, Y and Z start with a move at feed."""
    fed = [turn for turn in turns(motion) if motion.kind[turn.row] != Kind.RAPID]
    return tuple(sum(turn.axis == axis for turn in fed) for axis in range(3))  # type: ignore[return-value]


@dataclass(frozen=True)
class Reached:
    """A hole: where it is, which way X and Y last moved before the feed down, and how far."""

    x: float
    y: float
    way: tuple[int, int]
    run: tuple[float, float]


def holes(motion: Motion) -> list[Reached]:
    """Feed moves straight down that follow an air move, each with how it was reached.

    The way and the length of the last travel of X and Y are found by walking back over the moves.
    """
    found = []
    for row in range(1, len(motion)):
        delta = motion.end[row] - motion.start[row]
        straight = motion.kind[row] == Kind.LINE and delta[2] < 0 and not delta[:2].any()
        above = motion.kind[row - 1] == Kind.RAPID
        if not (straight and above):
            continue
        if found and (found[-1].x, found[-1].y) == (motion.end[row, 0], motion.end[row, 1]):
            continue  # a further peck
        ways, runs = [], []
        for axis in range(2):
            way, run = 0, 0.0
            for earlier in range(row - 1, -1, -1):
                walk = np.diff(samples(motion, earlier)[:, axis])[::-1]
                for step in walk:
                    if step == 0 or (way and step * way > 0) or not way:
                        way = way or int(np.sign(step))
                        run += abs(step)
                    else:
                        break
                else:
                    continue
                break
            ways.append(way)
            runs.append(run)
        found.append(
            Reached(
                float(motion.end[row, 0]),
                float(motion.end[row, 1]),
                (ways[0], ways[1]),
                (runs[0], runs[1]),
            )
        )
    return found
