"""Clamps that no program names, and what else holes and bores must keep; shares no code with gpre.

A clamp is taken to stand wherever the original does not show that none does: under its highest
way, but for the places where its tool went lower in the same setup.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from own_paths import in_program, moves, samples
from own_reading import program_place
from own_steps import Event, Move, Step
from own_stock import SLIVER, _walk, _window

from gpre.mill.job import Job

CELL = 0.5  # mm
BESIDE = 2.5  # mm; how far from the original's way a loop may lead
_SETUPS = ("tool change", "stop", "home")


def _setups(steps: Sequence[Step]) -> list[int]:
    """Return the number of the setup of each move: a new one after what lets a hand to the work.

    Or where the zero moves.
    """
    numbers: list[int] = []
    number, zero, after_home = 0, None, False
    for step in steps:
        if isinstance(step, Event):
            number += step.what.startswith(_SETUPS)
            continue
        number += (zero is not None and step.zero != zero) or (after_home and not step.home)
        zero, after_home = step.zero, step.home
        numbers += [number for _ in moves([step])]
    return numbers


def _points(move: Move) -> NDArray[np.float64]:
    walk = in_program(move, samples(move))
    walk = np.where(np.isnan(walk), walk[-1], walk)  # where it comes from is not known
    out = [walk[:1]]
    for first, last in zip(walk[:-1], walk[1:], strict=True):
        count = max(1, int(np.ceil(np.linalg.norm(last - first) / CELL)))
        out.append(first + (last - first) * (np.arange(1, count + 1) / count)[:, None])
    return np.concatenate(out)


def _key(number: int, move: Move) -> tuple[float, ...]:
    ends = np.array((program_place(move, 0), program_place(move, -1)))
    return (number, *np.round(ends, 5).ravel().tolist())


def _aside(move: Move) -> bool:
    return bool(np.abs(np.subtract(move.path[-1], move.path[0]))[:2].max() > 1e-6)


def complaints(before: Sequence[Step], after: Sequence[Step]) -> list[str]:
    """Return sentences about new rapids where a clamp may stand; lines count from 1."""
    old, new = list(moves(before)), list(moves(after))
    setups, others = _setups(before), _setups(after)
    first = next((row for row, move in enumerate(old) if move.path[0][2] != move.path[-1][2]), 0)
    known = {_key(number, move) for number, move in zip(setups, old, strict=True)}
    said = []
    for number in sorted(set(others)):
        fresh = [
            move
            for each, move in zip(others, new, strict=True)
            if each == number and move.rapid and _aside(move) and _key(number, move) not in known
        ]
        rows = [row for row, each in enumerate(setups) if each == number and row >= first]
        if not fresh or not rows:
            continue
        highest, gone, low = -np.inf, [], []
        for row in rows:
            ends = program_place(old[row], 0)[2], program_place(old[row], -1)[2]
            if old[row].rapid and _aside(old[row]):
                highest = max(highest, *ends)
            points = _points(old[row])
            gone.append(points[:, :2])
            low.append(points[:, 2])
        place, height = np.concatenate(gone), np.concatenate(low)
        for move in fresh:
            for point in _points(move):
                as_low = height <= point[2] + 1e-3
                near = np.hypot(*(place[as_low] - point[:2]).T) <= BESIDE
                if point[2] < highest - 1e-3 and not near.any():
                    said.append(f"line {move.line}: a clamp may stand at {point.round(2)}")
                    break
    return said


def holes(steps: Sequence[Step]) -> Counter[tuple[float, ...]]:
    """Count all straight ways down or up at feed: tool, cycle, feed, X, Y, from and to."""
    found: Counter[tuple[float, ...]] = Counter()
    for move in moves(steps):
        start, end = program_place(move, 0), program_place(move, -1)
        if move.arc is not None or move.rapid or np.abs(end - start)[:2].max() > 1e-4:
            continue
        if abs(end[2] - start[2]) < 1e-4:
            continue
        cycle = move.setting.motion if move.cycle else 0
        key = (move.force.tool, cycle, move.feed, *end[:2], start[2], end[2])
        found[tuple(round(float(each), 3) + 0.0 for each in key)] += 1
    return found


def steepest(steps: Sequence[Step]) -> dict[int, float]:
    """Return the steepest way down along an arc, rad, by tool."""
    found: dict[int, float] = {}
    for move in moves(steps):
        if move.arc is None:
            continue
        walk = samples(move)
        aside = float(np.hypot(*np.diff(walk[:, :2], axis=0).T).sum())
        down = np.arctan2(walk[0, 2] - walk[-1, 2], aside)
        tool = int(move.force.tool)
        found[tool] = max(found.get(tool, 0.0), float(down))
    return found


def removed(steps: Sequence[Step], job: Job) -> tuple[float, float, dict[int, float]]:
    """Volumes, mm³, that moves along X and Y take on the climb and on the other side of the tool.

    With M3 the material that is climbed into lies on the right of the travel. Third, by tool, the
    most metal, mm, that a helix finds above it.
    """
    assert job.stock is not None
    least, greatest = np.array(job.stock.min), np.array(job.stock.max)
    count = np.ceil((greatest - least)[:2] / CELL).astype(int)
    x, y = (least[axis] + CELL * (np.arange(count[axis]) + 0.5) for axis in (0, 1))
    height = np.full((count[0], count[1]), greatest[2])
    climbed = other = 0.0
    deepest: dict[int, float] = {}
    for move in moves(steps):
        number = int(move.force.tool)
        tool = job.tools.get(number)
        if tool is None or move.rapid:
            continue
        points = _walk(move)
        if len(points) == 1:
            points = np.concatenate((points, points))
        down = move.arc is not None and move.path[0][2] > move.path[-1][2] + 1e-6
        for before, here in zip(points[:-1], points[1:], strict=True):
            across, along, inside = _window(x, y, here, tool.diameter / 2)
            part = height[across, along]
            metal = inside & (part > here[2] + SLIVER)
            if not metal.any():
                continue
            taken = np.where(metal, part - here[2], 0.0)
            if down:
                deepest[number] = max(deepest.get(number, 0.0), float(taken.max()))
            way = (here - before)[:2]
            side = way[0] * (y[None, along] - here[1]) - way[1] * (x[across, None] - here[0])
            left, right = taken[side > 0].sum() * CELL**2, taken[side < 0].sum() * CELL**2
            turns = move.force.way == 3
            climbed += right if turns else left
            other += left if turns else right
            part[metal] = here[2]
    return float(climbed), float(other), deepest
