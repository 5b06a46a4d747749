"""How long programs take that are run block by block: seconds of process time a megabyte of text.

Run it as `python tests/bench/block_by_block.py [names of families]`; it prints figures, not
verdicts. Each family repeats a few short blocks that the columns do not take; reading, tracing and
the count of the reversals are timed apart. A family of plain moves stands first, to compare with.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from functools import partial
from typing import TypeVar

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

T = TypeVar("T")
SIZE = 300_000  # bytes of a program
ROUNDS = 2
HEAD = b"G21 G90 G17 F100\nG0 X0 Y0 Z5\n"
SUB = b"M30\nO1\nG0 X1\nX0\nM99\n"

# (head, what is repeated, tail)
FAMILIES: dict[str, tuple[bytes, bytes, bytes]] = {
    "plain moves": (HEAD, b"G1 X1.5 Y2.25\nX0 Y1\n", b""),
    "calls": (HEAD, b"M98 P1\n", SUB),
    "calls with repeats": (HEAD, b"M98 P1 L3\n", SUB),
    "calls of nothing": (HEAD, b"M98 P1\n", b"M30\nO1\nM99\n"),
    "calls of eight blocks": (HEAD, b"M98 P1\n", b"M30\nO1\n" + b"G1 X1 Y2\nX0\n" * 4 + b"M99\n"),
    "calls and moves": (HEAD, b"M98 P1\nG1 X2 Y3\n", SUB),
    "calls out of the file": (HEAD, b"M98 P7\n", b""),
    "units": (HEAD, b"G20\nG21\n", b""),
    "units and moves": (HEAD, b"G20\nG1 X1 F5\nG21\nX0\n", b""),
    "counting": (HEAD + b"#1=0\n", b"#1=[#1+1]\nG0 X#1\n", b""),
    "counting alone": (b"#1=0\n", b"#1=[#1+1]\n", b""),
    "expressions": (HEAD + b"#1=30\n", b"G1 X[5*COS[#1]] Y[5*SIN[#1]]\n", b""),
    "settings": (HEAD, b"#1=5\n", b""),
    "never set": (HEAD, b"X#7\n", b""),
    "distance": (HEAD, b"G90\nG91\n", b""),
    "distance and moves": (HEAD, b"G90 X1\nG91 X1\n", b""),
    "systems": (HEAD, b"G54\nG55\n", b""),
    "systems and moves": (HEAD, b"G54\nG0 X1\nG55\nX2\n", b""),
    "offsets": (HEAD, b"G92 X0\n", b""),
    "offsets and moves": (HEAD, b"G92 X1\nG1 X2\n", b""),
    "offsets off": (HEAD, b"G92.1\n", b""),
    "origins": (HEAD, b"G10 L2 P1 X1\n", b""),
    "feeds in brackets": (HEAD, b"F[100]\n", b""),
    "feed modes": (HEAD, b"G94\nG95\n", b""),
    "inverse time": (HEAD + b"G93\n", b"G1 X1 F2\nX2 F3\n", b""),
    "tools": (HEAD, b"T1 M6\n", b""),
    "tools and moves": (HEAD, b"T1 M6\nG0 X1\n", b""),
    "single holes": (HEAD, b"G81 X1 Y1 Z-2 R1\nG80\n", b""),
    "rows of holes": (HEAD, b"G81 X1 Y1 Z-2 R1\nX2\n", b"G80\n"),
    "holes in pecks": (HEAD, b"G83 X1 Z-2 R1 Q.5\nX2\n", b"G80\n"),
    "home": (HEAD, b"G28\n", b""),
    "home in Z": (HEAD, b"G91 G28 Z0\nG90 G0 Z5\n", b""),
    "machine moves": (HEAD, b"G53 G0 Z0\n", b""),
    "probes": (HEAD, b"G38.2 Z-9\nG92 Z0\n", b""),
    "spindle": (HEAD, b"M3 S100\n", b""),
    "spindle to and fro": (HEAD, b"M3 S100\nM4 S200\n", b""),
    "coolant": (HEAD, b"M8\nM9\n", b""),
    "dwells": (HEAD, b"G4 P0\n", b""),
    "stops": (HEAD, b"M0\n", b""),
    "path modes": (HEAD, b"G61\nG64\n", b""),
    "planes": (HEAD, b"G17\nG18\n", b""),
    "lengths": (HEAD, b"G43 H1\nG49\n", b""),
    "compensation": (HEAD, b"G41 D1\nG40\n", b""),
    "rotary": (HEAD, b"G0 A1\nA2\n", b""),
    "no feed": (b"G21 G90\n", b"G1 X1\nX2\n", b""),
    "bare letters": (HEAD, b"X\n", b""),
    "tiny words": (HEAD, b"X1\n", b""),
    "blanks in words": (HEAD, b"X 1\n", b""),
    "a letter twice": (HEAD, b"X1 X2\n", b""),
    "unknown codes": (HEAD, b"G999\n", b""),
    "unknown codes and axes": (HEAD, b"G999 X1\nX2\n", b""),
    "two of one group": (HEAD, b"G0 G1 X1\n", b""),
    "centres without arc": (HEAD, b"G1 X5 I3\n", b""),
    "unused words": (HEAD, b"P1\n", b""),
    "odd bytes": (HEAD, b"@@\n", b""),
    "control bytes": (HEAD, b"G0 X1 \x01\n", b""),
    "comments": (HEAD, b"(x)\n", b""),
    "messages": (HEAD, b"(MSG, x)\n", b""),
    "block delete": (HEAD, b"/X1\n", b""),
    "block numbers": (HEAD, b"N5\n", b""),
    "block numbers odd": (HEAD, b"N 5 X1\n", b""),
    "program numbers": (HEAD, b"O12\n", b""),
    "o-words": (HEAD, b"O1 SUB\n", b""),
    "flow": (HEAD, b"IF [#1 GT 2] GOTO 5\n", b""),
    "macros": (HEAD, b"G65 P1\n", b""),
    "names": (HEAD, b"#<rim>=1\n", b""),
    "full circles": (HEAD, b"G2 I5\n", b""),
    "faulty arcs": (HEAD, b"G2 X1 I5\n", b""),
    "arcs of turns": (HEAD, b"G2 I5 P2\n", b""),
    "blank lines": (HEAD, b"\n", b""),
    "percents": (HEAD, b"%\n", b""),
    "m words": (HEAD, b"M1 M2 M3 M4 M5\n", b""),
    "lathe": (HEAD, b"G96 S200\nU1\n", b""),
}


def family(name: str, size: int) -> bytes:
    """Return a program of about `size` bytes."""
    head, unit, tail = FAMILIES[name]
    return head + unit * max(1, (size - len(head) - len(tail)) // len(unit)) + tail


def timed(action: Callable[[], T]) -> tuple[T, float]:
    """Run an action; give what it gives, and the seconds of process time."""
    start = time.process_time()
    result = action()
    return result, time.process_time() - start


def figures(data: bytes) -> tuple[float, float, float]:
    """Return the seconds a megabyte of reading, tracing and counting, the best of some rounds."""
    best = [float("inf")] * 3
    for _ in range(ROUNDS):
        gc.collect()
        program, reading = timed(partial(read, data))
        motion, tracing = timed(partial(trace, program))
        _, counting = timed(partial(find_reversals, motion))
        best = [min(pair) for pair in zip(best, (reading, tracing, counting), strict=True)]
    return best[0] / len(data) * 1e6, best[1] / len(data) * 1e6, best[2] / len(data) * 1e6


def main() -> None:
    """Print a line a family."""
    read(b"#1=1\n")  # the grammar is made once
    print(f"{'s/MB':24}  {'read':>6} {'trace':>6} {'count':>6} {'all':>7}")
    for name in sys.argv[1:] or FAMILIES:
        each = figures(family(name, SIZE))
        print(f"{name:24}  " + " ".join(f"{part:6.2f}" for part in each) + f" {sum(each):7.2f}")


if __name__ == "__main__":
    main()
