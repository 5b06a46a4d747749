"""Reading and counting a plain program against one bare tokenisation of the same text.

    python tests/bench/count.py [blocks] [rounds]

The yardstick is one pass of `re.finditer` over the text, matches thrown away. The rounds are
interleaved, so that a busy machine slows both alike; medians are shown, as seconds and as shares
of the yardstick. Reading and counting should stay below 0.7.
"""

from __future__ import annotations

import gc
import math
import random
import re
import statistics
import sys
import time
from collections.abc import Callable

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

TOKEN = re.compile(
    rb"\([^)\r\n]*\)|;[^\r\n]*|[A-Za-z][ \t]*[-+]?[ \t]*(?:\d+\.?\d*|\.\d+)|[\r\n]+|[^\s]"
)
LIMIT = 0.7


def program(blocks: int, seed: int = 7) -> bytes:
    """A program such as a post-processor writes: finishing with some arcs, 33 bytes a line."""
    dice = random.Random(seed)
    lines = [
        "%",
        "(focuser plate, finishing: invented demo data)",
        "G21 G90 G17 G94 G40 G49 G80",
        "T1 M6",
        "G54",
        "S6000 M3",
        "G0 X0. Y0.",
        "G0 Z5.",
        "G1 Z-0.5 F120.",
    ]
    x, y, heading, bend, way, straight = 0.0, 0.0, 0.0, 0.0, 0.0, ""
    number = 10
    while len(lines) < blocks - 3:
        number = number % 99990 + 10
        step = dice.uniform(0.3, 2.0)
        bend = 0.9 * bend + dice.gauss(0.0, 0.02)
        heading += bend * step
        way += step
        nx, ny = x + step * math.cos(heading), y + step * math.sin(heading)
        if abs(nx) > 90.0 or abs(ny) > 60.0:
            heading += math.pi
            continue
        kind = dice.random()
        if kind < 0.06:
            i, j = (nx - x) / 2 - (ny - y) * 0.8, (ny - y) / 2 + (nx - x) * 0.8
            lines.append(f"N{number} G3 X{nx:.4f} Y{ny:.4f} I{i:.5f} J{j:.5f}")
            straight = "G1 "
        elif kind < 0.1:
            lines.append(f"N{number} G1 X{nx:.4f} Y{ny:.4f} F{dice.randint(200, 900)}.")
            straight = ""
        else:
            z = -0.5 + 0.4 * math.sin(way / 7.0)
            lines.append(f"N{number} {straight}X{nx:.4f} Y{ny:.4f} Z{z:.4f}")
            straight = ""
        x, y = round(nx, 4), round(ny, 4)
    lines += ["G0 Z5.", "M30", "%"]
    return ("\n".join(lines) + "\n").encode()


def tokens(data: bytes) -> None:
    """Tokenise, matches thrown away."""
    for _ in TOKEN.finditer(data):
        pass


def seconds(work: Callable[[], object]) -> float:
    """Time one run."""
    gc.collect()
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def main(blocks: int = 200_000, rounds: int = 7) -> None:
    """Measure and print."""
    data = program(blocks)
    parsed = read(data)
    motion = trace(parsed)
    found = find_reversals(motion)
    parts: dict[str, Callable[[], object]] = {
        "re.finditer": lambda: tokens(data),
        "read": lambda: read(data),
        "trace": lambda: trace(parsed),
        "find_reversals": lambda: find_reversals(motion),
        "read and count": lambda: find_reversals(trace(read(data))),
    }
    times: dict[str, list[float]] = {name: [] for name in parts}
    for _ in range(rounds):
        for name, work in parts.items():
            times[name].append(seconds(work))
    lines = len(parsed)
    print(
        f"{lines} blocks, {len(data) / lines:.1f} bytes a line, {len(motion)} moves,"
        f" {len(found)} reversals, medians of {rounds} rounds"
    )
    base = statistics.median(times["re.finditer"])
    for name, some in times.items():
        middle = statistics.median(some)
        shares = [a / b for a, b in zip(some, times["re.finditer"], strict=True)]
        share = statistics.median(shares)
        print(f"{name:16} {middle:8.4f} s   {share:6.3f} of re.finditer")
    whole = statistics.median(
        a / b for a, b in zip(times["read and count"], times["re.finditer"], strict=True)
    )
    print(f"ratio {whole:.3f} (limit {LIMIT}): {'kept' if whole <= LIMIT else 'NOT KEPT'}")
    print(f"yardstick: {lines / base / 1e6:.2f} million lines a second")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
