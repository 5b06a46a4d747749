"""Clamps that no program names, and what else holes and bores must keep; shares no code with gpre.

A clamp is taken to stand wherever the original does not show that none does: under its highest
way, but for the places where its tool went lower in the same setup.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray
from own_count import samples
from own_stock import SLIVER, _walk, _window

from gpre.mill.job import Job
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind, Motion

CELL = 0.5  # mm
BESIDE = 2.5  # mm; how far from the original's way a loop may lead
_HARMLESS = {EventKind.MESSAGE, EventKind.MODE, EventKind.PARAMETER, EventKind.CALL, EventKind.END}
_HARMLESS |= {EventKind.DWELL, EventKind.SPINDLE, EventKind.COOLANT}


def _setups(motion: Motion) -> list[int]:
    at = [event.move for event in motion.events if event.kind not in _HARMLESS]
    return [sum(move <= row for move in at) for row in range(len(motion))]


def _points(motion: Motion, row: int) -> NDArray[np.float64]:
    walk = samples(motion, row) - np.array(motion.state_of(row).origin)
    walk = np.where(np.isnan(walk), walk[-1], walk)  # where it comes from is not known
    out = [walk[:1]]
    for first, last in zip(walk[:-1], walk[1:], strict=True):
        count = max(1, int(np.ceil(np.linalg.norm(last - first) / CELL)))
        out.append(first + (last - first) * (np.arange(1, count + 1) / count)[:, None])
    return np.concatenate(out)


def complaints(before: Motion, after: Motion) -> list[str]:
    """Give sentences about new rapids where a clamp may stand; lines count from 1."""
    old, new = _setups(before), _setups(after)
    first = next(
        (row for row in range(len(before)) if before.start[row, 2] != before.end[row, 2]), 0
    )
    known = {
        (number, *np.round((before.start[row], before.end[row]), 5).ravel().tolist())
        for row, number in enumerate(old)
    }
    said = []
    for number in sorted(set(new)):
        fresh = [
            row
            for row, each in enumerate(new)
            if each == number
            and after.kind[row] == Kind.RAPID
            and np.abs(after.end[row] - after.start[row])[:2].max() > 1e-6
            and (number, *np.round((after.start[row], after.end[row]), 5).ravel().tolist())
            not in known
        ]
        rows = [row for row, each in enumerate(old) if each == number and row >= first]
        if not fresh or not rows:
            continue
        highest, gone, low = -np.inf, [], []
        for row in rows:
            sideways = np.abs(before.end[row] - before.start[row])[:2].max() > 1e-6
            if before.kind[row] == Kind.RAPID and sideways:
                highest = max(highest, before.start[row, 2], before.end[row, 2])
            points = _points(before, row)
            gone.append(points[:, :2])
            low.append(points[:, 2])
        place, height = np.concatenate(gone), np.concatenate(low)
        for row in fresh:
            for point in _points(after, row):
                as_low = height <= point[2] + 1e-3
                near = np.hypot(*(place[as_low] - point[:2]).T) <= BESIDE
                if point[2] < highest - 1e-3 and not near.any():
                    said.append(
                        f"line {after.block[row] + 1}: a clamp may stand at {point.round(2)}"
                    )
                    break
    return said


def holes(motion: Motion) -> Counter[tuple[float, ...]]:
    """Count all straight ways down or up at feed: tool, cycle, feed, X, Y, from and to."""
    found: Counter[tuple[float, ...]] = Counter()
    for row in range(len(motion)):
        start, end = motion.start[row], motion.end[row]
        if motion.kind[row] != Kind.LINE or np.abs(end - start)[:2].max() > 1e-4:
            continue
        if abs(end[2] - start[2]) < 1e-4:
            continue
        state = motion.state_of(row)
        cycle = state.motion if state.motion >= 730 else 0
        key = (state.tool, cycle, motion.feed[row], *end[:2], start[2], end[2])
        found[tuple(round(float(each), 3) + 0.0 for each in key)] += 1
    return found


def steepest(motion: Motion) -> dict[int, float]:
    """Give the steepest way down along an arc, rad, by tool."""
    found: dict[int, float] = {}
    for row in np.flatnonzero(motion.kind == Kind.ARC).tolist():
        walk = samples(motion, row)
        aside = float(np.hypot(*np.diff(walk[:, :2], axis=0).T).sum())
        down = np.arctan2(walk[0, 2] - walk[-1, 2], aside)
        tool = motion.state_of(row).tool
        found[tool] = max(found.get(tool, 0.0), float(down))
    return found


def removed(motion: Motion, job: Job) -> tuple[float, float, dict[int, float]]:
    """Volumes, mm³, that moves along X and Y take on the climb and on the other side of the tool.

    With M3 the material that is climbed into lies on the right of the travel. Third, by tool, the
    most metal, mm, that a helix finds above it.
    """
    assert job.stock is not None
    least, greatest = np.array(job.stock.least), np.array(job.stock.greatest)
    count = np.ceil((greatest - least)[:2] / CELL).astype(int)
    x, y = (least[axis] + CELL * (np.arange(count[axis]) + 0.5) for axis in (0, 1))
    height = np.full((count[0], count[1]), greatest[2])
    climbed = other = 0.0
    deepest: dict[int, float] = {}
    for row in range(len(motion)):
        state = motion.state_of(row)
        tool = job.tools.get(state.tool)
        if tool is None or motion.kind[row] == Kind.RAPID:
            continue
        points = _walk(motion, row)
        if len(points) == 1:
            points = np.concatenate((points, points))
        down = motion.kind[row] == Kind.ARC and motion.start[row, 2] > motion.end[row, 2] + 1e-6
        for before, here in zip(points[:-1], points[1:], strict=True):
            across, along, inside = _window(x, y, here, tool.diameter / 2)
            part = height[across, along]
            metal = inside & (part > here[2] + SLIVER)
            if not metal.any():
                continue
            taken = np.where(metal, part - here[2], 0.0)
            if down:
                deepest[state.tool] = max(deepest.get(state.tool, 0.0), float(taken.max()))
            way = (here - before)[:2]
            side = way[0] * (y[None, along] - here[1]) - way[1] * (x[across, None] - here[0])
            left, right = taken[side > 0].sum() * CELL**2, taken[side < 0].sum() * CELL**2
            turns = state.spindle_way
            climbed += right if turns > 0 else left
            other += left if turns > 0 else right
            part[metal] = here[2]
    return float(climbed), float(other), deepest
