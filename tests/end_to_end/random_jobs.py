"""Whole jobs by chance: facing, pockets there and back, outlines, holes, in many manners."""

from __future__ import annotations

import math
from random import Random

from other_manners import Written, text_of

from gpre.mill.job import Box, Job, Tool


def random_job(seed: int) -> Written:
    """Return a program of one to four operations on one block of stock, with its job."""
    random = Random(seed)
    width, depth = random.choice([40, 60, 90]), random.choice([30, 50, 70])
    stock = Box((0.0, 0.0, -12.0), (float(width), float(depth), 0.0))
    tools = {1: Tool(5.0, "drill"), 2: Tool(12.0), 3: Tool(6.0)}
    high, low = random.choice([(25, 2), (10, 3), (5, 5), (15, 1)])
    lines = ["G21 G17 G90 G94 G40 G49 G80", f"G0 Z{high}"]
    operations = [_facing, _pocket, _outline, _holes]
    for _ in range(random.randint(1, 4)):
        lines += random.choice(operations)(random, stock, high, low)
    lines += [f"G0 Z{high}", "M9", "M5", "M30"]
    return Written(f"job {seed}", _manner(random, lines), Job(tools, stock, _cut(random)))


def _cut(random: Random) -> str:
    return random.choice(["as-is", "as-is", "climb", "conventional"])


def _manner(random: Random, lines: list[str]) -> bytes:
    if random.random() < 0.3:
        lines = [text.replace(" ", "") for text in lines]
    if random.random() < 0.3:
        lines = [text.lower() for text in lines]
    if random.random() < 0.4:
        lines = [f"N{10 * at} {text}" for at, text in enumerate(lines, start=1)]
    return text_of(lines, random.choice(["\n", "\r\n"]))


def _tool(random: Random, number: int, high: int) -> list[str]:
    height = random.choice([f"G0 Z{high}", f"G0 G43 H{number} Z{high}", f"G0 Z{high}", ""])
    spindle = f"S{random.choice([1500, 2400])} {random.choice(['M3', 'M3', 'M4'])}"
    return [f"T{number} M6", spindle] + ([height] if height else [])


def _down(x: float, y: float, high: int, low: int, z: float) -> list[str]:
    there = [f"G0 X{x:g} Y{y:g}"] + ([f"G0 Z{low}"] if low != high else [])
    return [*there, f"G1 Z{z:g} F80"]


def _facing(random: Random, stock: Box, high: int, low: int) -> list[str]:
    over = random.choice([7, 8, 10, 5, 0, -8])  # beyond the edges; below 6 the tool stays on
    along = random.choice("XY")
    ends = stock.max if along == "X" else (stock.max[1], stock.max[0])
    step = random.choice([5, 8, 10])
    long, wide = [-over, ends[0] + over], ends[1]
    if random.random() < 0.5:
        long.reverse()
    places = [step * at for at in range(int(wide // step) + 1)]
    if random.random() < 0.3:
        places.reverse()
    lines = _tool(random, 2, high)
    for level in range(random.choice([1, 1, 2])):
        first = (long[0], places[0]) if along == "X" else (places[0], long[0])
        lines += _down(*first, high, low, -0.4 * (level + 1))
        for row, place in enumerate(places):
            if row:
                lines.append(f"G1 {'Y' if along == 'X' else 'X'}{place:g}")
            lines.append(f"G1 {along}{long[1 - row % 2]:g}" + ("" if row else " F250"))
        lines.append(f"G0 Z{high}")
    return lines


def _pocket(random: Random, stock: Box, high: int, low: int) -> list[str]:
    x0, x1 = 10.0, stock.max[0] - 10
    y = 8.0
    lines = [*_tool(random, 3, high), *_down(x0, y, high, low, -1.5)]
    for row in range(random.randint(2, 4)):
        if row:
            y += 3.5
            lines.append(f"G1 Y{y:g}")
        lines.append(f"G1 X{x0 if row % 2 else x1:g}" + ("" if row else " F180"))
    if random.random() < 0.4:
        lines += [f"G1 X{x0:g} Y8"]
    return [*lines, f"G0 Z{high}"]


def _outline(random: Random, stock: Box, high: int, low: int) -> list[str]:
    """A closed outline round a middle: a polygon with or without a round in the middle of sides."""
    middle = stock.max[0] / 2, stock.max[1] / 2
    count = random.randint(3, 7)
    turn = random.uniform(0, 2 * math.pi)
    reach = min(middle) - random.choice([4, 6, -5])
    way = random.choice([1, -1])
    corners = []
    for at in range(count):
        angle = turn + way * 2 * math.pi * at / count
        far = reach * random.uniform(0.75, 1.0)
        corners.append(
            (
                round(middle[0] + far * math.cos(angle), 3),
                round(middle[1] + far * math.sin(angle), 3),
            )
        )
    first, second = corners[0], corners[1]
    start = round((first[0] + second[0]) / 2, 3), round((first[1] + second[1]) / 2, 3)
    path = [*corners[1:], first, start]
    lines = _tool(random, 3, high)
    lifted = random.random() < 0.6
    for level in range(random.choice([1, 2, 3])):
        z = -1.2 * (level + 1)
        lines += _down(*start, high, low, z) if lifted or not level else [f"G1 Z{z:g} F80"]
        for at, (x, y) in enumerate(path):
            lines.append(f"G1 X{x:g} Y{y:g}" + ("" if at else " F160"))
        if lifted:
            lines.append(f"G0 Z{random.choice([low, high])}")
    return [*lines, f"G0 Z{high}"]


def _holes(random: Random, stock: Box, high: int, low: int) -> list[str]:
    spots = [
        (float(x), float(y))
        for x in range(8, int(stock.max[0]) - 5, 14)
        for y in range(8, int(stock.max[1]) - 5, 12)
    ][:9]
    if random.random() < 0.5:
        random.shuffle(spots)
    lines = _tool(random, 1, high)
    way = random.randrange(3)
    x, y = spots[0]
    if way == 0:
        lines += [f"G0 X{x:g} Y{y:g}", f"{random.choice(['G98', 'G99'])} G81 Z-4 R{low} F90"]
        lines += [f"X{x:g} Y{y:g}" for x, y in spots[1:]]
        lines.append("G80")
    elif way == 1:
        lines += [f"G0 X{x:g} Y{y:g}", f"G99 G83 X{x:g} Y{y:g} Z-5 R{low} Q2 F90"]
        for (x0, y0), (x1, y1) in zip(spots, spots[1:], strict=False):
            lines.append(" ".join([f"X{x1:g}"] * (x1 != x0) + [f"Y{y1:g}"] * (y1 != y0)))
        lines.append("G80")
    else:
        for x, y in spots:
            lines += [*_down(x, y, low, low, -4), f"G0 Z{low}"]
    return [*lines, f"G0 Z{high}"]
