"""How the work grows with the program: lines of Python that run, and time of the processor.

    python tests/bench/growth.py [names of families]

Each family is worked at in two sizes, the larger one four times the smaller, in one process and in
turns. The tests hold the lines of Python to their bounds; what numpy, shapely and re do is in no
line, so it shows in the time alone. Both are ratios of one run, so that a slow machine is as good
as a quick one: 4 grows with the program, 16 with its square. Ratios above 6 are marked. It is a
report and no verdict: on a busy machine caches are cold, and a ratio comes out high by chance.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS), str(TESTS / "bench")]

import block_by_block  # noqa: E402
import numpy as np  # noqa: E402
import prove as surfaces  # noqa: E402
import rewrite as cam  # noqa: E402
from count import program as milling_program  # noqa: E402
from steps import steps  # noqa: E402

from gpre.comparison.diff import diff  # noqa: E402
from gpre.driver.counting import count  # noqa: E402
from gpre.driver.predicting import predict_program  # noqa: E402
from gpre.driver.rewrite import Options, rewrite  # noqa: E402
from gpre.mill.job import Job  # noqa: E402
from gpre.mill.mill import Mill  # noqa: E402
from gpre.motion.trace import trace  # noqa: E402
from gpre.program.read import read  # noqa: E402
from gpre.proof.blocks import compare_blocks  # noqa: E402
from gpre.proof.prove import prove  # noqa: E402
from gpre.reversals.find import find_reversals  # noqa: E402
from gpre.reversals.play import play  # noqa: E402
from gpre.source.text import SourceText  # noqa: E402

Action = Callable[[], object]
TIMES, ROUNDS = 4, 2
MARKED = 6.0  # a ratio above this grows faster than the size by more than its power 1.3
MILL = Mill()


def counted(make: Callable[[int], bytes]) -> Callable[[int], Action]:
    """Return what reads, follows and counts a program of a size."""

    def action(size: int) -> Action:
        data = make(size)
        return lambda: find_reversals(trace(read(data)))

    return action


def predicted(size: int) -> Action:
    source = SourceText.of(milling_program(size), "growth")
    return lambda: predict_program(count(source, MILL), MILL, Job())


def compared(size: int) -> Action:
    one, other = milling_program(size), milling_program(size, seed=8)
    half = one[: len(one) // 2] + other[len(other) // 2 :]
    return lambda: diff(SourceText.of(one, "one"), SourceText.of(half, "other"), MILL)


def proved(size: int) -> Action:
    """Return a proof with the metal, of a surface that was straightened."""
    before = SourceText.of(surfaces.surface(size), "growth")
    done = rewrite(before, MILL, surfaces.JOB, Options(only=("straighten",)))
    after = SourceText.of(done.data, "growth")
    return lambda: prove(before, after, MILL, surfaces.JOB)


def rewritten(name: str) -> Callable[[int], Action]:
    """Return what rewrites, with all rewrites, a family of tests/bench/rewrite.py."""

    def action(size: int) -> Action:
        text = cam.HEAD + "\n".join(cam.FAMILIES[name][0](size)) + "\n" + cam.TAIL
        source = SourceText.of(text.encode(), name)
        return lambda: rewrite(source, cam.MILLS["program"], cam.JOB)

    return action


def played(size: int) -> Action:
    screw = np.random.default_rng(7).uniform(-0.01, 0.01, size)
    return lambda: play(screw, 0.1)


def matched(size: int) -> Action:
    before = [b"X1", b"Y1", b"X-1", b"Y-1"] * size
    after = list(before)
    for at in range(500, size * 4 - 500, 700):
        after[at:at] = [b"X0.5", b"X0.5"]
    return lambda: compare_blocks(before, after)


def odd(name: str) -> Callable[[int], Action]:
    return counted(lambda size: block_by_block.family(name, size))


FAMILIES: dict[str, tuple[Callable[[int], Action], int]] = {
    "count, plain moves": (counted(milling_program), 20_000),
    **{
        f"count, {name}": (odd(name), 10_000)
        for name in ("calls", "expressions", "units and moves", "rows of holes", "offsets")
    },
    "predict": (predicted, 2_000),
    "diff": (compared, 3_000),
    "prove": (proved, 1_000),
    **{
        f"rewrite, {name}": (rewritten(name), max(size // 10, 3))
        for name, (_, size) in cam.FAMILIES.items()
    },
    "play of the backlash": (played, 200_000),
    "blocks matched": (matched, 10_000),
}


def seconds(action: Action) -> float:
    """Return the processor's seconds of one run."""
    gc.collect()
    begin = time.process_time()
    action()
    return time.process_time() - begin


def main() -> None:
    """Print a line for each family."""
    print(f"{'family':<24} {'s':>8} {'s of 4x':>8} {'ratio':>6}  {'lines':>10} {'ratio':>6}")
    for name in sys.argv[1:] or FAMILIES:
        make, size = FAMILIES[name]
        small, large = make(size), make(TIMES * size)
        small()  # what is made once is made
        took = [(seconds(small), seconds(large)) for _ in range(ROUNDS)]
        few, many = (min(each) for each in zip(*took, strict=True))
        lines, more = steps(small), steps(large)
        ratios = many / few, more / lines
        mark = "  !" if max(ratios) > MARKED else ""
        times = f"{few:8.3f} {many:8.3f} {ratios[0]:6.2f}"
        print(f"{name:<24} {times}  {lines:10,} {ratios[1]:6.2f}{mark}", flush=True)


if __name__ == "__main__":
    main()
