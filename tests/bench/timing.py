"""The cycle time of a plain program against one bare tokenisation of the same text.

    python tests/bench/timing.py [blocks] [rounds]

The yardstick and the program are those of tests/bench/count.py: one pass of `re.finditer`, matches
thrown away. The rounds are interleaved, so that a busy machine slows both alike; medians are shown.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from count import program, seconds, tokens

from gpre.mill.mill import Compensation, Mill
from gpre.mill.timing import cycle_time
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals


def main(blocks: int = 200_000, rounds: int = 7) -> None:
    """Measure and print."""
    data = program(blocks)
    motion = trace(read(data))
    found = find_reversals(motion)
    plain = Mill()
    stopping = replace(plain, compensation=Compensation(by="controller"))
    parts: dict[str, Callable[[], object]] = {
        "re.finditer": lambda: tokens(data),
        "no compensation": lambda: cycle_time(motion, found, plain),
        "controller": lambda: cycle_time(motion, found, stopping),
    }
    times: dict[str, list[float]] = {name: [] for name in parts}
    for _ in range(rounds):
        for name, work in parts.items():
            times[name].append(seconds(work))
    print(f"{len(motion)} moves, {len(found)} reversals, medians of {rounds} rounds")
    for name, some in times.items():
        shares = [a / b for a, b in zip(some, times["re.finditer"], strict=True)]
        print(
            f"{name:16} {statistics.median(some):8.4f} s"
            f"   {statistics.median(shares):6.3f} of re.finditer"
        )
    for mill in (plain, stopping):
        cycle = cycle_time(motion, found, mill)
        print(
            f"compensation {mill.compensation.by:10}: {cycle.total / 60.0:7.1f} min,"
            f" of them {cycle.take_up / 60.0:.1f} taking up"
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
