"""Coverage-guided fuzzing of the reader, the interpreter and the finder. Run by hand:

    pip install atheris && python tests/fuzz/fuzz_reading.py [folder of seeds] [-max_total_time=600]

Whatever the bytes are: they are printed back, nothing raises, and what is found keeps its shape.
atheris (coverage-guided fuzzing for Python, libFuzzer's options) is no dependency of the tests.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

with atheris.instrument_imports(include=["gpre"]):
    from reading import check


def main() -> None:
    """Fuzz until told to stop; the corpus of programs that must come back is the seed."""
    seeds = Path(__file__).resolve().parents[1] / "identity"
    arguments = sys.argv if len(sys.argv) > 1 else [sys.argv[0], "-max_total_time=300"]
    if not any(not each.startswith("-") for each in arguments[1:]):
        # what it finds goes into the first folder, which must not be that of the tests
        arguments = [*arguments, tempfile.mkdtemp(prefix="gpre-fuzz-"), str(seeds)]
    atheris.Setup(arguments, check)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
