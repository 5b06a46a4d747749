"""Coverage-guided fuzzing of the proof and the comparison, with two programs. Run by hand:

    pip install atheris && python tests/fuzz/fuzz_proving.py [folder] [-max_total_time=600]

The bytes up to the first NUL are one program, those behind it the other; without one, both halves
are the same program, of which a block has gone. Neither may raise, whatever the two are.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

with atheris.instrument_imports(include=["gpre"]):
    from gpre.comparison.diff import diff
    from gpre.mill.job import Box, Job, Tool
    from gpre.mill.mill import Mill
    from gpre.proof.prove import prove
    from gpre.source.text import SourceText

JOB = Job({1: Tool(6.0), 2: Tool(3.0, "ball")}, Box((0.0, 0.0, -10.0), (40.0, 30.0, 0.0)))


def check(data: bytes) -> None:
    """Prove and compare; raise what they raise."""
    one, separator, other = data.partition(b"\0")
    if not separator:
        lines = data.splitlines(keepends=True)
        other = b"".join(lines[: len(lines) // 2] + lines[len(lines) // 2 + 1 :])
    before, after = SourceText.of(one, "one"), SourceText.of(other, "other")
    prove(before, after, Mill(), JOB)
    diff(before, after, Mill())


def main() -> None:
    """Fuzz until told to stop."""
    arguments = sys.argv if len(sys.argv) > 1 else [sys.argv[0], "-max_total_time=300"]
    if not any(not each.startswith("-") for each in arguments[1:]):
        seeds = Path(tempfile.mkdtemp(prefix="gpre-fuzz-"))
        for path in sorted((ROOT / "samples").glob("*.ngc")):
            head = b"".join(path.read_bytes().splitlines(keepends=True)[:40])
            (seeds / path.stem).write_bytes(head)
        arguments = [*arguments, str(seeds)]
    atheris.Setup(arguments, check)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
