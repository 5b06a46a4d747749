"""How long a rewrite takes for what CAM writes: seconds, and how they grow with the program.

Run it as `python tests/bench/rewrite.py [names of families]`; it prints figures, not verdicts. Each
family is rewritten at one size and at twice that size: a ratio near 2 says that the time grows with
the program, near 4 that it grows with the square.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from math import cos, sin
from random import Random

from gpre.driver.rewrite import rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT1 M6\nS3000 M3\nG0 Z5\n"
TAIL = "G0 Z5\nM5\nM2\n"
AXES = {"x": Axis(lost_motion=0.09), "y": Axis(lost_motion=0.06)}
MILLS = {name: Mill(**AXES, compensation=Compensation(name)) for name in ("controller", "program")}
JOB = Job({1: Tool(4.0)}, Box((-90.0, -90.0, -15.0), (250.0, 250.0, 0.0)))


def trochoids(count: int) -> Iterator[str]:
    """Loops of two half circles along a slot."""
    yield "G0 X0 Y0\nG1 Z-2 F200\nF500"
    for at in range(count):
        x = 0.1 * at
        yield f"G3 X{x:.1f} Y8 I0 J4\nG3 X{x:.1f} Y0 I0 J-4\nG1 X{x + 0.1:.1f}"


def zigzag(count: int) -> Iterator[str]:
    """Chords of a wavy spiral, one uninterrupted cut."""
    yield "G0 X20 Y0\nG1 Z-1 F200\nF300"
    for at in range(count):
        angle, radius = 0.02 * at, 20.0 + 5.0 * sin(0.7 * at)
        yield f"G1 X{radius * cos(angle) + 0.01 * at:.3f} Y{radius * sin(angle):.3f}"


def depths(count: int) -> Iterator[str]:
    """A rounded rectangle, depth below depth: each has two loops off the wall."""
    yield "G0 X0 Y-10"
    for at in range(1, count + 1):
        yield f"G1 Z{-0.05 * at:.2f} F100\nF400\nG1 X40\nG3 X50 Y0 I0 J10\nG1 Y30"
        yield "G3 X40 Y40 I-10 J0\nG1 X0\nG3 X-10 Y30 I0 J-10\nG1 Y0\nG3 X0 Y-10 I10 J0"


def bores(count: int) -> Iterator[str]:
    """Helices of ten turns."""
    for at in range(count):
        x, y = at % 10 * 14, at // 10 * 14
        yield f"G0 X{x} Y{y}\nG0 Z1\nG1 Z0 F100"
        yield from (f"G3 X{x} Y{y} Z{-0.5 * turn:.1f} I3 J0 F200" for turn in range(1, 11))
        yield f"G3 X{x} Y{y} I3 J0\nG0 Z5"


def holes(count: int) -> Iterator[str]:
    """One cycle over places by chance."""
    chance = Random(4)
    yield "G0 X0 Y0\nG99 G81 X0 Y0 Z-5 R2 F100"
    for _ in range(count):
        yield f"X{chance.uniform(0, 200):.2f} Y{chance.uniform(0, 150):.2f}"
    yield "G80"


def strokes(count: int) -> Iterator[str]:
    """Engraving: twelve short chords to a stroke."""
    chance = Random(4)
    for _ in range(count):
        x, y = chance.uniform(0, 100), chance.uniform(0, 80)
        yield f"G0 X{x:.3f} Y{y:.3f}\nG0 Z1\nG1 Z-0.2 F100\nF300"
        for _ in range(12):
            x, y = x + chance.uniform(-0.8, 0.8), y + chance.uniform(-0.8, 0.8)
            yield f"G1 X{x:.3f} Y{y:.3f}"
        yield "G0 Z5"


FAMILIES: dict[str, tuple[Callable[[int], Iterator[str]], int]] = {
    "trochoids": (trochoids, 250),
    "zigzag": (zigzag, 1_500),
    "depths": (depths, 40),
    "bores": (bores, 8),
    "holes": (holes, 1_000),
    "strokes": (strokes, 100),
}


def main() -> None:
    """Print a line for each family and each way to take backlash up."""
    print(f"{'family':<12} {'backlash by':<11} {'kB':>5} {'s':>7} {'kB':>5} {'s':>7} {'ratio':>6}")
    for name in sys.argv[1:] or FAMILIES:
        lines, count = FAMILIES[name]
        for by, mill in MILLS.items():
            took = []
            for size in (count, 2 * count):
                text = (HEAD + "\n".join(lines(size)) + "\n" + TAIL).encode()
                before = time.process_time()
                rewrite(SourceText.of(text), mill, JOB)
                took.append((len(text) / 1e3, time.process_time() - before))
            figures = " ".join(f"{size:5.0f} {seconds:7.2f}" for size, seconds in took)
            print(f"{name:<12} {by:<11} {figures} {took[1][1] / took[0][1]:6.2f}", flush=True)


if __name__ == "__main__":
    main()
