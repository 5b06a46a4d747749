"""A block of stock in square cells that a flat tool mills away; it shares no code with gpre.

Works from what the second reading makes of a text (`own_machine`).

The tool is taken half a cell's diagonal smaller than it is where it must not touch, so that the
cells' steps raise no false alarm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from own_paths import in_program, moves, samples
from own_reading import program_place
from own_steps import Move, Step

from gpre.mill.job import Job

CELL = 0.5  # mm
SLIVER = 0.01  # mm; less height than this is none
ROOM = 0.5  # mm; what a rapid keeps from metal (common practice, no source)


@dataclass
class Milled:
    """What is left, and what happened. Lines count from 1.

    height: (m, n) mm. crashes: lines of rapids through metal. plunges: line and deepest metal, mm,
    of straight ways down at feed. slotted: mm of path at which the tool cuts more than seven
    tenths of its width, deeper than a sliver. close: lines of rapids, with their ways, that are
    nearer to metal than `ROOM`, beside the tool or below it. climb, conventional: mm³ that were cut
    on the right and on the left of the travel (the other way about with M4).
    """

    height: NDArray[np.float64]
    crashes: list[int] = field(default_factory=list)
    plunges: list[tuple[int, float]] = field(default_factory=list)
    slotted: float = 0.0
    close: list[tuple[int, tuple[float, ...]]] = field(default_factory=list)
    climb: float = 0.0
    conventional: float = 0.0


def mill_away(steps: Sequence[Step], job: Job) -> Milled:
    """Run all moves of a program through its stock."""
    assert job.stock is not None
    least, greatest = np.array(job.stock.min), np.array(job.stock.max)
    count = np.ceil((greatest - least)[:2] / CELL).astype(int)
    x = least[0] + CELL * (np.arange(count[0]) + 0.5)
    y = least[1] + CELL * (np.arange(count[1]) + 0.5)
    result = Milled(np.full((count[0], count[1]), greatest[2]))
    stated = False
    for move in moves(steps):
        start, end = program_place(move, 0), program_place(move, -1)
        stated = stated or start[2] != end[2]
        tool = job.tools.get(int(move.force.tool))
        unknown = np.isnan(start).any() or np.isnan(end).any()  # `own_judge` has mills for that
        if tool is None or not stated or unknown:
            continue
        radius = tool.diameter / 2
        upright = bool(np.abs(start[:2] - end[:2]).max() < 1e-9) and move.arc is None
        if move.rapid:
            for point in _walk(move):
                near = point - (0.0, 0.0, 0.9 * ROOM)
                if not upright and _metal(result.height, x, y, near, radius + ROOM - CELL) > SLIVER:
                    way = tuple(np.concatenate((start, end)).round(4).tolist())
                    result.close.append((move.line, way))
                    break
            for point in _walk(move):
                if _metal(result.height, x, y, point, radius - CELL) > SLIVER:
                    result.crashes.append(move.line)
                    break
        elif upright:
            deep = _metal(result.height, x, y, end, radius - CELL)
            if end[2] < start[2] and deep > SLIVER:
                result.plunges.append((move.line, deep))
            _cut(result.height, x, y, end, radius)
        else:
            points = _walk(move)
            for before, here in zip(points[:-1], points[1:], strict=True):
                sides = _sides(result.height, x, y, (before, here), radius)
                right, left = sides if move.force.way != 4 else sides[::-1]
                result.climb += right
                result.conventional += left
                area = _cut(result.height, x, y, here, radius)
                step = float(np.linalg.norm(here[:2] - before[:2]))
                if step and area / step > 0.7 * tool.diameter:
                    result.slotted += step
    return result


def _walk(move: Move) -> NDArray[np.float64]:
    """(k, 3) program positions along a move, no further apart than two cells."""
    points = in_program(move, samples(move))
    length = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate(([0.0], np.cumsum(length)))
    if along[-1] == 0.0:
        return points[:1]
    places = np.linspace(0.0, along[-1], max(2, int(np.ceil(along[-1] / (2 * CELL))) + 1))
    return np.stack([np.interp(places, along, points[:, axis]) for axis in range(3)], axis=1)


def _window(
    x: NDArray[np.float64], y: NDArray[np.float64], point: NDArray[np.float64], radius: float
) -> tuple[slice, slice, NDArray[np.bool_]]:
    first, last = np.searchsorted(x, [point[0] - radius, point[0] + radius])
    low, high = np.searchsorted(y, [point[1] - radius, point[1] + radius])
    inside = (x[first:last, None] - point[0]) ** 2 + (y[None, low:high] - point[1]) ** 2
    return slice(first, last), slice(low, high), inside <= radius**2


def _metal(
    height: NDArray[np.float64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    point: NDArray[np.float64],
    radius: float,
) -> float:
    """How far metal stands above the tool's end, mm; 0 where it is clear."""
    across, along, inside = _window(x, y, point, radius)
    over = np.where(inside, height[across, along] - point[2], 0.0)
    return float(over.max(initial=0.0))


def _cut(
    height: NDArray[np.float64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    point: NDArray[np.float64],
    radius: float,
) -> float:
    """Take away what the tool covers; give the area that was cut, mm²."""
    across, along, inside = _window(x, y, point, radius)
    part = height[across, along]
    metal = inside & (part > point[2] + SLIVER)
    part[metal] = point[2]
    return float(metal.sum()) * CELL**2


def _sides(
    height: NDArray[np.float64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    step: tuple[NDArray[np.float64], NDArray[np.float64]],
    radius: float,
) -> tuple[float, float]:
    """Return what a step will cut on the right and on the left of its travel, mm³."""
    before, here = step
    across, along, inside = _window(x, y, here, radius)
    deep = np.where(inside, np.maximum(height[across, along] - here[2], 0.0), 0.0)
    way = (here - before)[:2]
    side = way[0] * (y[None, along] - here[1]) - way[1] * (x[across, None] - here[0])
    return tuple(float(deep[each].sum()) * CELL**2 for each in (side < 0.0, side > 0.0))  # type: ignore[return-value]


def climbs(before: Sequence[Step], after: Sequence[Step], job: Job) -> str:
    """Say where a larger share is cut climb, and nobody asked for it; or ""."""
    shares = []
    for steps in (before, after):
        milled = mill_away(steps, job)
        both = milled.climb + milled.conventional
        shares.append(milled.climb / both if both else 0.0)
    if job.cut == "climb" or shares[1] <= shares[0] + 0.1:
        return ""
    return f"{shares[1]:.0%} cut climb, before {shares[0]:.0%}"


def complaints(before: Sequence[Step], after: Sequence[Step], job: Job) -> list[str]:
    """Return sentences about what the second program does to the stock that the first did not."""
    old, new = mill_away(before, job), mill_away(after, job)
    said = []
    if len(new.crashes) > len(old.crashes):
        said.append(f"rapids through metal at lines {new.crashes}, before {old.crashes}")
    if len(new.plunges) > len(old.plunges):
        said.append(f"plunges into metal at {new.plunges}, before {old.plunges}")
    deepest = [max((deep for _, deep in each.plunges), default=0.0) for each in (old, new)]
    if deepest[1] > deepest[0] + SLIVER:
        said.append(f"a plunge through {deepest[1]:.2f} mm of metal, before {deepest[0]:.2f}")
    greatest = max(tool.diameter for tool in job.tools.values())
    if new.slotted > old.slotted * 1.05 + greatest:
        said.append(f"{new.slotted:.0f} mm cut at full width, before {old.slotted:.0f}")
    known = {way for _, way in old.close}
    close = [line for line, way in new.close if way not in known]
    if close:
        said.append(f"rapids closer to metal than {ROOM} mm at lines {close}")
    different = np.abs(old.height - new.height) > SLIVER
    if different.sum() > 0.002 * different.size:
        said.append(f"{int(different.sum())} of {different.size} cells are left otherwise")
    return said
