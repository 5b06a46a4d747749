"""Takes a program by chance through the whole pipeline. Run by hand for many:

    python tests/end_to_end/hostile_programs.py [how many] [first seed] [seconds at most]

Each program is read, counted, predicted, rewritten, compared and proved as the commands do it; so
is what damage makes of the new one, of which only is asked that it ends as a command should.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from random import Random

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from damages import DAMAGES  # noqa: E402
from hostile_maker import hostile_program  # noqa: E402

from gpre.cli.bridge import run  # noqa: E402
from gpre.cli.main import gpre  # noqa: E402
from gpre.program.read import read  # noqa: E402

MILL = ["--mill", str(ROOT / "samples" / "mill.toml")]
KNOWN = ["--tool", "1=5", "--tool", "2=12", "--tool", "3=6", "--stock", "0,0,-12,60,50,0"]
DAMAGED = 2  # programs made by damage of each new one
SLOW = 10.0  # seconds of the processor that one command may take for a program of some kilobytes


def through(seed: int, folder: Path) -> tuple[Counter[str], list[str]]:
    """Take program `seed` through all commands; give how they ended, and what is wrong."""
    text = hostile_program(seed)
    source, out, again = (folder / name for name in ("hostile.ngc", "out.ngc", "again.ngc"))
    for path in (out, again):
        path.unlink(missing_ok=True)
    source.write_bytes(text)
    ends: Counter[str] = Counter()
    wrong: list[str] = []
    if read(text).text != text:
        wrong.append("read does not print the bytes back")
    random = Random(seed)
    mill, known = random.choice([MILL, MILL, []]), random.choice([KNOWN, []])
    cut = random.choice([[], [], ["--cut", "climb"]])

    def gives(*arguments: str | Path, by: Iterable[int]) -> int:
        status, said, took = _run([*map(str, arguments), *mill])
        name = str(arguments[0])
        ends[f"{name} {status}"] += 1
        if status not in by:
            wrong.append(f"{name} ends with {status}: {said}")
        if took > SLOW:
            wrong.append(f"{name} takes {took:.0f} s")
        return status

    gives("count", source, *random.choice([[], ["--list"], ["--json"]]), by=(0, 3))
    gives("predict", source, *known, *random.choice([[], ["--json"]]), by=(0, 3))
    status = gives("rewrite", source, "--output", out, *known, *cut, by=(0, 3))
    if out.exists() != (status == 0):
        wrong.append(
            f"rewrite ends with {status}, and out.ngc {'is' if out.exists() else 'is not'} there"
        )
    if status == 0:
        gives("diff", source, out, by=(0,) if out.read_bytes() == text else (0, 1))
        gives("prove", source, out, *known, by=(0,))
        gives("rewrite", out, "--output", again, *known, *cut, by=(0,))
        if again.exists() and again.read_bytes() != out.read_bytes():
            wrong.append("rewriting again changes the program")
        ends["changed" if out.read_bytes() != text else "left as it is"] += 1
        for damaged in _damaged(out.read_bytes(), random):
            again.write_bytes(damaged)
            gives("prove", source, again, *known, by=(0, 3, 4))
            gives("diff", source, again, by=(0, 1, 3))
    else:
        gives("diff", source, source, by=(0, 3))
        gives("prove", source, source, by=(0, 3))
    other = folder / "other.ngc"
    if other.exists():  # two programs that have nothing to do with each other
        gives("diff", other, source, by=(0, 1, 3))
        gives("prove", other, source, by=(0, 3, 4))
    other.write_bytes(text)
    if source.read_bytes() != text:
        wrong.append("the input was written to")
    here = {path.name for path in folder.iterdir()} - {
        source.name,
        out.name,
        again.name,
        other.name,
    }
    if here:
        wrong.append(f"left over: {sorted(here)}")
    return ends, wrong


def _damaged(text: bytes, random: Random) -> Iterator[bytes]:
    lines = text.split(b"\n")
    for name in random.choices(list(DAMAGES), k=DAMAGED):
        for at in random.sample(range(len(lines)), len(lines)):
            found = DAMAGES[name](list(lines), at, random)
            if found is not None and found != lines:
                yield b"\n".join(found)
                break


def _run(arguments: list[str]) -> tuple[int, str, float]:
    """Run a command within this process; give its status, what it said at last, and the time."""
    told, talk = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    before = time.process_time()
    with redirect_stdout(told), redirect_stderr(talk):
        status = run(gpre, arguments)
    took = time.process_time() - before
    said = talk.buffer.getvalue().decode("utf-8") + told.buffer.getvalue().decode("utf-8")
    if "Traceback" in said:
        status = -1
    if status not in (0, 1, 3):
        said = " | ".join(line.strip() for line in said.splitlines() if line.strip())[-600:]
    else:
        said = said[:300]
    return status, said, took


def main() -> int:
    """Run many; print what went wrong and how the commands ended."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    until = time.monotonic() + float(sys.argv[3] if len(sys.argv) > 3 else "inf")
    ends: Counter[str] = Counter()
    faulty = done = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            if time.monotonic() > until:
                break
            done += 1
            if done % 500 == 0:
                print(f"at program {seed}", file=sys.stderr, flush=True)
            these, wrong = through(seed, Path(folder))
            ends += these
            faulty += bool(wrong)
            for each in wrong:
                print(f"program {seed}: {each}", flush=True)
    print(f"{done:,} programs, {faulty:,} with something wrong")
    for name, number in sorted(ends.items()):
        print(f"  {name:16} {number:,}")
    return 1 if faulty else 0


if __name__ == "__main__":
    sys.exit(main())
