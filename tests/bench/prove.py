"""How long the proof of a large surface program takes, and how much memory.

    python tests/bench/prove.py [moves, 100000 unless given]

The program is invented: a dished former for a mirror blank, cut in passes with a ball end mill,
with wavering below the tolerance. It is straightened, and that is proved against the original,
the metal too. Prints seconds, the share of reading and following both programs, and the peak.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from random import Random
from typing import TypeVar

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.prove import prove
from gpre.source.text import SourceText

Result = TypeVar("Result")
STEP = 0.5  # mm
JOB = Job(
    tools={5: Tool(6.0, "ball", flutes=2)}, stock=Box((-5.0, -5.0, -12.0), (105.0, 260.0, 0.0))
)


def surface(moves: int) -> bytes:
    """Return a surface in passes along X, with waverings of less than the tolerance."""
    random = Random(1)
    lines = ["G21 G17 G90 G94", "T5 M6", "S8000 M3", "G0 X0 Y0", "G0 Z5", "G1 Z-1 F200"]
    made, row = 0, 0
    while made < moves:
        places = range(201) if row % 2 == 0 else range(200, -1, -1)
        for place in places:
            x, y = place * STEP, row * STEP
            z = -2.0 + 1.5 * math.sin(x / 15.0) * math.cos(y / 40.0) + random.uniform(-5e-4, 5e-4)
            lines.append(f"G1 X{x:.4f} Y{y + random.uniform(-4e-4, 4e-4):.4f} Z{z:.4f} F1200")
            made += 1
        row += 1
    return "\n".join([*lines, "G0 Z20", "M30", ""]).encode()


def timed(action: Callable[[], Result]) -> tuple[float, Result]:
    """Run an action once; give its seconds and what it gives."""
    begin = time.perf_counter()
    result = action()
    return time.perf_counter() - begin, result


def main() -> None:
    """Print the figures."""
    import resource  # not on all systems

    moves = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    mill = Mill()
    before = SourceText.of(surface(moves), "surface")
    whole, done = timed(lambda: rewrite(before, mill, JOB, Options(only=("straighten",))))
    after = SourceText.of(done.data, "surface")
    followed, _ = timed(lambda: [trace(read(each), mill.controller) for each in (before, after)])
    paths, _ = timed(lambda: prove(before, after, mill, JOB, stock=False))
    full, proof = timed(lambda: prove(before, after, mill, JOB))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{moves:,} moves: {'proved' if proof.holds else 'NOT PROVED'}")
    print(f"read and followed, both      {followed:7.2f} s")
    print(f"proof of the paths           {paths:7.2f} s  {paths / followed:6.1f} times that")
    print(f"proof with the metal         {full:7.2f} s  {full / followed:6.1f} times that")
    print(f"rewrite, proofs and all      {whole:7.2f} s  {whole / followed:6.1f} times that")
    print(f"greatest memory              {peak:7.2f} GB")


if __name__ == "__main__":
    main()
