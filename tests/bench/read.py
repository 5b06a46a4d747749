"""How long reading takes, as a share of one bare `re.finditer` tokenisation of the same text.

Run it as `python tests/bench/read.py`; it prints shares, not verdicts. The text is what a
milling program looks like when a program wrote it: 200,000 plain blocks.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable

from gpre.program.read import read
from gpre.source.text import SourceText

BLOCKS = 200_000
ROUNDS = 7
TOKEN = re.compile(rb"[A-Za-z][ \t]*[-+]?(?:\d+\.?\d*|\.\d+)|\([^)\n]*\)|;[^\n]*|\r?\n|[%/]")


def milling_program(blocks: int, seed: int = 1) -> bytes:
    """Make a program of lines and arcs with a few other blocks between, about 33 bytes each."""
    draw = random.Random(seed)
    lines = []
    for _ in range(blocks):
        x, y, z = draw.uniform(-200, 200), draw.uniform(-200, 200), draw.uniform(-20, 5)
        kind = draw.random()
        if kind < 0.70:
            lines.append(f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f} F{draw.choice((300, 600, 1200))}")
        elif kind < 0.80:
            lines.append(f"X{x:.4f} Y{y:.4f}")
        elif kind < 0.93:
            i, j = draw.uniform(-20, 20), draw.uniform(-20, 20)
            lines.append(f"G{draw.choice((2, 3))} X{x:.4f} Y{y:.4f} I{i:.4f} J{j:.4f}")
        elif kind < 0.98:
            lines.append(f"G0 Z{draw.uniform(1, 5):.1f}")
        elif kind < 0.99:
            lines.append(f"G1 Z{z:.4f} F{draw.choice((80, 150))}")
        else:
            lines.append(f"(PASS {draw.randrange(100)})")
    return ("\n".join(lines) + "\n").encode()


def numbered(data: bytes) -> bytes:
    """Return every block a number."""
    lines = data.splitlines()
    return b"".join(b"N%d %s\n" % (10 * at % 100_000, line) for at, line in enumerate(lines))


def fastest(action: Callable[[], object]) -> float:
    """Return the seconds of the fastest of some rounds."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        action()
        best = min(best, time.perf_counter() - start)
    return best


def bare(data: bytes) -> None:
    """Tokenise, and throw the matches away."""
    for _ in TOKEN.finditer(data):
        pass


def main() -> None:
    """Print the shares."""
    plain = milling_program(BLOCKS)
    odd = b"G1 X 5 Y-2.5\n" * (BLOCKS // 10)
    macro = b"#1=[#1+2.5] X[#1*COS[30]]\n" * (BLOCKS // 100)
    print(f"{BLOCKS} blocks, {len(plain) / BLOCKS:.1f} bytes each")
    for name, data in (
        ("plain", plain),
        ("with block numbers", numbered(plain)),
        ("CR LF", plain.replace(b"\n", b"\r\n")),
        ("each with a comment", plain.replace(b"\n", b" (FINISH)\n")),
        ("one-line scanner", odd),
        ("grammar", macro),
    ):
        base = fastest(lambda data=data: bare(data))
        lines = fastest(lambda data=data: SourceText.of(data))
        whole = fastest(lambda data=data: read(data))
        count = data.count(b"\n")
        print(
            f"{name:20}  finditer {base * 1e3:7.1f} ms   lines {lines / base:5.3f}"
            f"   read {whole / base:6.3f}   {count / whole / 1e6:6.3f} million blocks/s"
        )


if __name__ == "__main__":
    main()
