"""What `gpre count` takes in memory, by the shape of a large program.

    python tests/bench/memory.py [megabytes]

Each shape is counted in a process of its own. Its peak of resident memory, beyond that of a tiny
program, is shown per byte of the text and per block. Where each line needs a finding or the grammar
there is an object for each, which takes much more than columns do: such texts are made smaller.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HEAD = b"G21 G90 G17 G94\nG0 X0 Y0 Z5\nG1 Z0 F300\n"
TINY = b"G21\nG0 X1\n"
PIECE = 20_000  # lines
_OBJECTS = 20  # such texts are so many times smaller

# The peak of a process since it began to run this program; what the system's own call tells may be
# that of the process which started it, where that was larger.
_CHILD = """
import sys
from gpre.cli.bridge import run
from gpre.cli.main import gpre

status = run(gpre, ["count", sys.argv[1]])
try:
    with open("/proc/self/status") as lines:
        peak = next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) * 1024
except (OSError, StopIteration):
    import resource

    unit = 1 if sys.platform == "darwin" else 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit
sys.stdout.flush()
print(f"peak {peak} status {status}", file=sys.stderr)
"""


def surface() -> bytes:
    """Straight moves at feed at random, four words a line; nearly each turns two axes round."""
    dice = random.Random(1)
    lines = []
    for _ in range(PIECE):
        x, y, z = dice.uniform(-100, 100), dice.uniform(-100, 100), dice.uniform(-20, 0)
        if dice.random() < 0.5:
            lines.append(f"X{x:.4f} Y{y:.4f} Z{z:.2f}")
        else:
            lines.append(f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f} F600")
    return "\n".join(lines).encode() + b"\n"


def finishing() -> bytes:
    """Straight moves along a wavy line: few reversals."""
    lines = []
    for at in range(PIECE):
        x, y = at % 2000 * 0.1, at // 2000 * 0.5
        x = x if at // 2000 % 2 == 0 else 200.0 - x
        lines.append(f"X{x:.4f} Y{y:.4f} Z{-(at % 300) / 100:.4f}")
    return "\n".join(lines).encode() + b"\n"


def tools() -> bytes:
    """Straight moves with a change of tool after each 5,000."""
    lines = surface().splitlines()
    for at in range(0, len(lines), 5000):
        lines[at] = b"G0 Z50\nT%d M6\nG43 H%d\nM3 S3000\nG1 Z1 F300" % (at % 7, at % 7)
    return b"\n".join(lines) + b"\n"


def arcs() -> bytes:
    """Half circles there and back."""
    dice = random.Random(2)
    lines = []
    for _ in range(PIECE // 2):
        radius, code = dice.uniform(1.0, 5.0), dice.choice((2, 3))
        lines.append(f"G{code} X{2 * radius:.4f} Y0.0000 I{radius:.5f} J0.0000")
        lines.append(f"G{code} X0.0000 Y0.0000 I{-radius:.5f} J0.0000")
    return "\n".join(lines).encode() + b"\n"


def short() -> bytes:
    """One word a line, which turns the axis round."""
    return b"X1\nX2\n" * (PIECE // 2)


def comments() -> bytes:
    """Lines of comment alone."""
    return b"(roughing of the clamp ring)\n" * PIECE


def blank() -> bytes:
    """Empty lines."""
    return b"\n" * PIECE


def letters() -> bytes:
    """A letter without a number on each line: a finding for each."""
    return b"X\n" * PIECE


def parameters() -> bytes:
    """An expression on each line, for the grammar."""
    return b"#1=[#1+1]\n" * PIECE


def one_line() -> bytes:
    """All words on one line; longer than any block, it is not read."""
    return b"X1.5Y2.5" * PIECE


SHAPES: dict[str, Callable[[], bytes]] = {
    each.__name__: each
    for each in (
        *(surface, finishing, tools, arcs, short),
        *(comments, blank, one_line, letters, parameters),
    )
}
OF_OBJECTS = frozenset(("letters", "parameters"))


def write(shape: str, size: int, file: Path) -> int:
    """Write a program of about `size` bytes; give the number of its lines."""
    piece = SHAPES[shape]()
    times = max(size // len(piece), 1)
    with file.open("wb") as out:
        out.write(b"" if shape == "one_line" else HEAD)
        for _ in range(times):
            out.write(piece)
    return times * piece.count(b"\n") + (0 if shape == "one_line" else HEAD.count(b"\n"))


def peak(file: Path) -> tuple[int, int]:
    """Count a program in a process of its own; give its peak in bytes, and the exit status."""
    path = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, str(file)],
        capture_output=True,
        check=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": path},
    )
    words = done.stderr.split()
    return int(words[-3]), int(words[-1])


def main(megabytes: float = 20.0) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "program.nc"
        file.write_bytes(TINY)
        base, _ = peak(file)
        print(f"a tiny program: {base / 1e6:.0f} MB")
        for shape in SHAPES:
            share = _OBJECTS if shape in OF_OBJECTS else 1
            blocks = write(shape, int(megabytes * 1e6) // share, file)
            size = file.stat().st_size
            most, status = peak(file)
            print(
                f"{shape:12} {size / 1e6:6.1f} MB {blocks:>10,} blocks   peak {most / 1e6:7.0f} MB"
                f"   {(most - base) / size:7.2f} a byte  {(most - base) / max(blocks, 1):10.0f}"
                f" a block   status {status}"
            )


if __name__ == "__main__":
    main(*(float(word) for word in sys.argv[1:2]))
