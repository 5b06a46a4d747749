"""Change one token at a time in modules of gpre, in a copy, and see whether a test notices.

    .venv/bin/python tests/mutation/mutation_run.py                     # all core modules
    .venv/bin/python tests/mutation/mutation_run.py gpre/proof          # a package
    .venv/bin/python tests/mutation/mutation_run.py gpre/proof/feeds.py --count 40 --seed 7
    .venv/bin/python tests/mutation/mutation_run.py gpre/proof --again  # the survivors once more
    .venv/bin/python tests/mutation/mutation_run.py --table --seed 7    # what was found so far

What was found is kept below --state, so a run that was broken off goes on where it ended. A line is
tried with the tests that reach it, as a run with coverage found: those of the matching files first,
the quick ones first, then those of the wider files (`tests_that_matter.py`), up to --most seconds
of each.
"""

from __future__ import annotations

import argparse
import hashlib
import multiprocessing
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from findings import Found, Records, is_explained, read_explained, survivors, table
from mutant_maker import Mutant, mutants_of, sample
from tests_run import ROOT, Copy, Reached
from tests_that_matter import matching, modules, wider


def main() -> int:
    wanted = _arguments()
    every = modules(ROOT, wanted.modules)
    seed = random.randrange(10**6) if wanted.seed is None else wanted.seed
    print(f"seed {seed}, {len(every)} modules", flush=True)
    wanted.seed = seed
    if not wanted.table:
        parts = [every[at :: wanted.jobs] for at in range(wanted.jobs)]
        workers = [
            multiprocessing.Process(target=_work, args=(wanted, part, at))
            for at, part in enumerate(parts)
        ]
        for each in workers:
            each.start()
        for each in workers:
            each.join()
    here = set(every)
    now = {module: _digest((ROOT / module).read_bytes()) for module in every}
    found = [
        one
        for one in Records(wanted.state / "found.jsonl").read()
        if one.module in here and one.seed == seed and one.digest == now[one.module]
    ]
    explained = read_explained()
    print(table(found, explained))
    print(survivors(found, explained))
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("modules", nargs="*", help="files, folders or patterns; none: the core")
    parser.add_argument("--count", type=int, default=15, help="mutants a module")
    parser.add_argument("--seed", type=int, help="of the sample; drawn and printed where not named")
    parser.add_argument("--jobs", type=int, default=1, help="processes, one a core at the most")
    parser.add_argument("--most", type=float, default=40.0, help="seconds of tests for a survivor")
    parser.add_argument("--near", action="store_true", help="only the matching test files")
    parser.add_argument("--again", action="store_true", help="only survivors of before, once more")
    parser.add_argument("--table", action="store_true", help="only what was found so far")
    parser.add_argument(
        "--state", type=Path, default=Path(tempfile.gettempdir()) / "gpre-mutation",
        help="a folder for the copies and for what was found",
    )  # fmt: skip
    return parser.parse_args()


def _digest(source: bytes) -> str:
    return hashlib.sha256(source).hexdigest()[:12]


def _work(wanted: argparse.Namespace, every: list[str], number: int) -> None:
    copy = Copy(wanted.state / f"worker-{number}")
    copy.make()
    records = Records(wanted.state / "found.jsonl")
    for module in every:
        source = (copy.tree / module).read_bytes()
        digest = _digest(source)
        before = {one.key: one for one in records.read() if one.seed == wanted.seed}
        for mutant in sample(source, mutants_of(module, source), wanted.count, wanted.seed):
            key = module, digest, mutant.start, mutant.end, mutant.text
            known = before.get(key)
            if known is not None and (known.by or not wanted.again):
                continue
            found = _try(copy, wanted, mutant, source)
            records.add(found)
            if not found.by and not is_explained(found, read_explained()):
                print(f"{module}:{found.line}\n- {found.before}\n+ {found.after}", flush=True)
        print(f"{time.strftime('%H:%M')} {module}", flush=True)


def _try(copy: Copy, wanted: argparse.Namespace, mutant: Mutant, source: bytes) -> Found:
    """Run the tests that reach a mutant until one notices it."""
    begun = time.monotonic()
    by, asked = None, 0
    steps = [matching(copy.tree, mutant.module)]
    steps += [] if wanted.near else [wider(copy.tree, mutant.module)]
    for files in steps:
        tests: dict[str, float] = {}
        for file in files:
            tests |= reaching(copy.reached(file, wanted.state / "reached"), mutant)
        tests = quickest(tests, wanted.most)
        asked += len(tests)
        if tests:
            with copy.changed(mutant.module, mutant.apply(source)):
                by = copy.first_failure(tests)
        if by is not None:
            break
    before, after = mutant.shown(source)
    return Found(
        module=mutant.module, digest=_digest(source), seed=wanted.seed, start=mutant.start,
        end=mutant.end, text=mutant.text, line=mutant.line(source), before=before, after=after,
        by=by or "", reached=asked, seconds=round(time.monotonic() - begun, 1),
    )  # fmt: skip


def reaching(reached: Reached, mutant: Mutant) -> dict[str, float]:
    """Return the tests that run the statement of a mutant, with their seconds.

    What runs at import, as the default of a record does, all may meet.
    """
    first, last = mutant.lines
    found = {}
    for name, seconds in reached.seconds.items():
        lines = reached.lines.get(name, {}).get(mutant.module, [])
        if mutant.at_import or any(first <= line <= last for line in lines):
            found[name] = seconds
    return {name: each for name, each in found.items() if name not in reached.failed}


def quickest(tests: dict[str, float], most: float) -> dict[str, float]:
    """Return the quick tests first, so many as take `most` seconds, but one at least."""
    chosen: dict[str, float] = {}
    total = 0.0
    for name, seconds in sorted(tests.items(), key=lambda item: item[1]):
        total += seconds
        if chosen and total > most:
            break
        chosen[name] = seconds
    return chosen


if __name__ == "__main__":
    sys.exit(main())
