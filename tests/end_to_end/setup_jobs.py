"""Jobs on several parts: work offsets, tool changes, length offsets. All invented.

Two or three parts in vises of their own (G54 to G56), each operation done on all of them before the
tool is changed, or part by part; with G43 H, safe heights in G53 or of the program, mm or inch.
"""

from __future__ import annotations

from random import Random

from bore_jobs import Manner, Scribe
from other_manners import Written

from gpre.mill.job import Box, Job, Tool

ORIGINS = {1: (60.0, 40.0, -150.0), 2: (160.0, 40.0, -150.0), 3: (260.0, 42.5, -148.0)}
LENGTHS = {1: 90.0, 2: 75.0, 3: 82.5}
TOOLS = {1: Tool(4.0, "drill"), 2: Tool(8.0, flutes=3), 3: Tool(5.0, flutes=2)}


def setup_job(seed: int, *, known: bool = True) -> Written:
    """known: the job file gives zeros and lengths; else the axes are unknown behind them."""
    random = Random(f"setups {seed}")
    manner = Manner.of(random)
    manner.steps = manner.centres = False
    scribe = Scribe(manner)
    scribe.say(f"{'G20' if manner.inch else 'G21'} G17 G90 G94 G40 G49 G80")
    parts = random.sample([1, 2, 3], random.choice([2, 2, 3]))
    parts.sort()
    work = random.sample([_holes, _cycle, _outline, _ring], random.choice([2, 3]))
    if random.random() < 0.6:  # tool by tool, on all parts
        for operation in work:
            number = _tool_of(operation)
            _change(random, scribe, number)
            for part in parts:
                _over(random, scribe, part, number)
                operation(random, scribe)
                scribe.block("G0", Z=50.8)
    else:
        for part in parts:
            for operation in work:
                number = _tool_of(operation)
                _change(random, scribe, number)
                _over(random, scribe, part, number)
                operation(random, scribe)
                scribe.block("G0", Z=50.8)
    scribe.say("M9")
    scribe.say("M5")
    scribe.say("G49")
    scribe.say("M30")
    stock = Box((-2.0, -2.0, -14.0), (72.0, 52.0, 0.0)) if random.random() < 0.5 else None
    facts = {"origins": ORIGINS, "lengths": LENGTHS} if known else {}
    return Written(f"setups {seed}", scribe.text(), Job(TOOLS, stock, "as-is", **facts))


def _tool_of(operation: object) -> int:
    return {_holes: 1, _cycle: 1, _outline: 2, _ring: 3}[operation]  # type: ignore[index]


def _change(random: Random, scribe: Scribe, number: int) -> None:
    scribe.say("M5")
    if random.random() < 0.4:
        scribe.say("G53 G0 Z0")
    scribe.say(f"T{number} M6")
    scribe.say(f"S{random.choice([1500, 2400])} M3")


def _over(random: Random, scribe: Scribe, part: int, number: int) -> None:
    """To a part; X and Y first, then down to a safe height with the tool's length."""
    scribe.say(f"G{53 + part}")
    scribe.block("G0", X=-5.0, Y=-5.0)
    scribe.block(f"G0 G43 H{number}", Z=50.8)
    if random.random() < 0.3:
        scribe.say("M8")


def _spots(random: Random) -> list[tuple[float, float]]:
    spots = [(8.0 + 18.0 * x, 8.0 + 16.0 * y) for y in range(2) for x in range(3)]
    random.shuffle(spots)
    return spots


def _holes(random: Random, scribe: Scribe) -> None:
    for x, y in _spots(random):
        scribe.block("G0", X=x, Y=y)
        scribe.block("G0", Z=2.0)
        scribe.block("G1", Z=-5.0, feed=80.0)
        scribe.block("G0", Z=2.0)


def _cycle(random: Random, scribe: Scribe) -> None:
    spots = _spots(random)
    number, (x, y) = scribe.number, spots[0]
    first = f"{scribe.place('X', x)} {scribe.place('Y', y)} Z{number(-6.0)} R{number(2.0)}"
    scribe.say(f"{random.choice(['G98', 'G99'])} G81 {first} F{number(90, feed=True)}")
    for x, y in spots[1:]:
        scribe.say(f"{scribe.place('X', x)} {scribe.place('Y', y)}")
    scribe.say("G80")


def _outline(random: Random, scribe: Scribe) -> None:
    corners = [(-4.5, -4.5), (74.5, -4.5), (74.5, 54.5), (-4.5, 54.5)]
    if random.random() < 0.5:
        corners.reverse()
    (ax, ay), (bx, by) = corners[:2]
    start = (ax + bx) / 2.0, (ay + by) / 2.0
    scribe.block("G0", X=start[0], Y=start[1])
    scribe.block("G0", Z=2.0)
    for z in (-2.0, -4.0)[: random.choice([1, 2])]:
        scribe.block("G1", Z=z, feed=90.0)
        for at, (x, y) in enumerate([*corners[1:], corners[0], start]):
            scribe.block("G1", X=x, Y=y, feed=0.0 if at else 200.0)


def _ring(random: Random, scribe: Scribe) -> None:
    centre, radius = (35.0, 25.0), random.choice([4.0, 9.0])
    code = random.choice(["G2", "G3"])
    scribe.block("G0", X=centre[0] + radius, Y=centre[1])
    scribe.block("G0", Z=2.0)
    scribe.block("G1", Z=-1.5, feed=90.0)
    for _ in range(random.choice([1, 2])):
        to = {"X": centre[0] + radius, "Y": centre[1]}
        scribe.arc(code, centre, to, by="IJ")
    scribe.block("G1", X=centre[0], feed=150.0)
