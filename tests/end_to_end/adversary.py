"""Damages rewritten programs in ways that matter, and tells which damage the proof does not find.

    python tests/end_to_end/adversary.py [mutants of each kind for each program, 1 unless given]
        [names of rewrites, `sample` and `setup`; all unless given]

The programs with several setups are tried in each state of knowledge (`knowledge`): no profile,
one that knows the origin of G54, one that knows all; each with the tools and the stock named or
not. A mutant is *found* where the proof does not hold. The others are looked at by judges that
share no code with the proof. First by several mills that differ in all that is not known
(`own_judge`): what is the same on each of them is "idle", what is harmless on each "harmless", and
what harms on another mill alone than the one with all its zeros at machine zero is a survivor. What
harms on that one, too, or cannot be followed there, is looked at by `own_safety` and `own_stock`:
"harmless" where they have nothing to say, else it is a survivor. A command that carries take-ups is
judged by the table, walked step by step (`take_up_bench`). Harmless as well: a lower feed; a rapid
made at feed; a way at rapid where the original cuts as low all along, or as high as it ever goes;
full width where the original cuts at full width, too.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

HERE = Path(__file__).resolve().parent
sys.path += [str(HERE), str(HERE.parent), str(HERE.parent / "rewrites")]

import numpy as np  # noqa: E402
import own_safety  # noqa: E402
import own_stock  # noqa: E402
import take_up_bench  # noqa: E402
import test_cases  # noqa: E402
from damages import DAMAGES  # noqa: E402
from every_word import writes_points  # noqa: E402
from knowledge import Knowledge, of_mill, states, stock_of  # noqa: E402
from own_blocks import NotFollowedError  # noqa: E402
from own_judge import SAME, SLOWEST, judge  # noqa: E402
from own_mills import machines, plain_machine  # noqa: E402
from own_paths import moves  # noqa: E402
from own_reading import program_place, read_on  # noqa: E402
from own_steps import Move, Step  # noqa: E402
from setup_damages import SETUP_DAMAGES  # noqa: E402

from gpre import load_mill  # noqa: E402
from gpre.driver.rewrite import Options, rewrite  # noqa: E402
from gpre.mill.job import Job  # noqa: E402
from gpre.mill.job_file import find_job  # noqa: E402
from gpre.mill.mill import Mill  # noqa: E402
from gpre.motion.events import EventKind  # noqa: E402
from gpre.motion.motion import Motion  # noqa: E402
from gpre.motion.trace import trace  # noqa: E402
from gpre.program.read import read  # noqa: E402
from gpre.proof.prove import prove  # noqa: E402
from gpre.source.text import SourceText  # noqa: E402

EVERY_DAMAGE = {**DAMAGES, **SETUP_DAMAGES}
MILLS = 6
LOOP = 1.8  # mm; as far as an approach with both axes leaves the way of the original


@dataclass(frozen=True)
class Rewrite:
    """A program, what came of it, and what it was rewritten for. state: what its mill tells."""

    name: str
    rewrite: str
    before: bytes
    after: bytes
    state: Knowledge
    job: Job

    @property
    def mill(self) -> Mill:
        return self.state.mill


@dataclass(frozen=True)
class Mutant:
    of: Rewrite
    damage: str
    line: int  # from 1
    text: bytes


def rewrites(names: Collection[str] = ()) -> Iterator[Rewrite]:
    """Return every program of the fixtures and samples that a rewrite, or one of those, changes."""
    for file, case in test_cases.EVERY:
        if names and file.rewrite not in names:
            continue
        mill, job = test_cases.mill_of(case), test_cases.job_of(case)
        # where the tool stands at first no judge knows
        mill = replace(mill, controller=replace(mill.controller, start_known=False))
        text = case.before.encode()
        options = Options(only=(file.rewrite,))
        after = rewrite(SourceText.of(text, case.name), mill, job, options).data
        if after != text:
            name = f"{file.path.stem}: {case.name}"
            yield Rewrite(name, file.rewrite, text, after, of_mill(mill), job)
    mill = load_mill(HERE.parents[1] / "samples" / "mill.toml")
    if not names or "sample" in names:
        yield from _samples(mill)
    if not names or "setup" in names:
        yield from setups(mill)


def _samples(mill: Mill) -> Iterator[Rewrite]:
    root = HERE.parents[1] / "samples"
    for path in sorted(root.glob("*.ngc")):
        if path.stem == "knob_rib":
            continue
        text, job = path.read_bytes(), find_job(None, str(path)).job
        after = rewrite(SourceText.of(text, path.name), mill, job).data
        if after != text:
            yield Rewrite(path.stem, "sample", text, after, of_mill(mill), job)


def setups(mill: Mill, share: int = 1) -> Iterator[Rewrite]:
    """Return the programs with several setups, rewritten, in each state of knowledge.

    share: one in so many of them; 7 is each program once, and each state once.
    """
    number = -1
    for path in sorted((HERE / "setups").glob("*.ngc")):
        text, named = path.read_bytes(), find_job(None, str(path)).job
        for state in states(mill):
            for job in (Job(), named):
                number += 1
                if number % share:
                    continue
                after = rewrite(SourceText.of(text, path.name), state.mill, job).data
                told = "tools and stock named" if job.tools else "no job"
                yield Rewrite(
                    f"{path.stem}, {state.name}, {told}", "setup", text, after, state, job
                )


def mutants(of: Rewrite, count: int, random: Random) -> Iterator[Mutant]:
    """Return up to `count` mutants of each kind of damage."""
    newline = b"\r\n" if b"\r\n" in of.after else b"\n"
    lines = of.after.split(newline)
    for name, damage in EVERY_DAMAGE.items():
        places = list(range(len(lines)))
        random.shuffle(places)
        made = 0
        for at in places:
            if made == count:
                break
            found = damage(list(lines), at, random)
            if found is None or found == lines:
                continue
            made += 1
            yield Mutant(of, name, at + 1, newline.join(found))


def verdict(mutant: Mutant) -> str:
    """Return `found`, `idle`, `harmless`, or what the checkers say of a survivor."""
    of = mutant.of
    name = "mutant"
    proof = prove(SourceText.of(of.before, name), SourceText.of(mutant.text, name), of.mill, of.job)
    if not proof.holds:
        return "found"
    told = _on_mills(mutant)
    if told is not None:
        return told
    sound, damaged, original = (
        _motion(text, of.mill) for text in (of.after, mutant.text, of.before)
    )
    if _does(sound) == _does(damaged):
        return "idle"
    carried = of.mill.compensation.by == "program" and of.rewrite == "take-up"
    own_safety.PATH = of.mill.limits.tolerance + 0.0005
    good, bad, first = (read_on(text, of.mill) for text in (of.after, mutant.text, of.before))
    said = own_safety.complaints(good if carried else first, bad, of.job)
    if _happens(original) != _happens(damaged):
        said.append("what happens besides motion is another thing")
    if any("is gone, or is cut otherwise" in each for each in said):
        old, new = own_safety.pieces_at_feed(good), own_safety.pieces_at_feed(bad)
        if not own_safety.uncovered(old, new, feed=0):  # it is cut at a lower feed
            said = [each for each in said if "is gone, or is cut otherwise" not in each]
    of_path = [each for each in said if "is gone, or" in each or "where the original" in each]
    if carried and of_path and _table_keeps_to_path(mutant):
        said = [each for each in said if each not in of_path]
    if told := _stands_still(original, damaged):
        return told
    said = [
        each
        for each in said
        if not _in_the_air(each, good, bad) and not _gone_over(each, first, bad)
    ]
    if of.job.stock is not None and of.job.tools and not carried:
        said += own_stock.complaints(first, bad, of.job)
        if climb := own_stock.climbs(good, bad, of.job):
            said.append(climb)
        if own_stock.mill_away(first, of.job).slotted:  # the tool cut so in the original, too
            said = [each for each in said if "cut at full width" not in each]
    return said[0] if said else "harmless"


def _on_mills(mutant: Mutant) -> str | None:
    """Return what mills of many kinds say; None where one with its zeros at machine zero must tell.

    The rewritten program is sound: the mutant is compared with that one.
    """
    of = mutant.of
    points = writes_points(of.after)
    stock = stock_of(of.job)
    everywhere = machines(of.state.known, MILLS, points=points)
    try:
        said = judge(of.after, mutant.text, everywhere, stock, of.before)
        at_zero = judge(of.after, mutant.text, [plain_machine()], stock, of.before)
    except NotFollowedError:
        return None
    if said.harmless:
        return "idle" if said.harmless == SAME else "harmless"
    unseen = stock is None and "rapid" in at_zero.damage  # nobody knows what stands there
    return said.damage if at_zero.harmless or unseen else None


def _stands_still(original: Motion, damaged: Motion) -> str:
    """Say where the tool is fed by less than a hundredth of what the original feeds at all."""
    least = np.nanmin(original.feed[original.at_feed], initial=np.inf)
    slow = np.flatnonzero(damaged.at_feed & (damaged.feed < SLOWEST * least))
    return f"line {damaged.block[slow[0]] + 1}: a feed that stops the tool" if len(slow) else ""


def _happens(motion: Motion) -> list[tuple[EventKind, str]]:
    said = {EventKind.MESSAGE}
    return [(each.kind, each.value) for each in motion.events if each.kind not in said]


def _table_keeps_to_path(mutant: Mutant) -> bool:
    """Return whether the table of a mill with this backlash runs where the original is to cut."""
    mill = mutant.of.mill
    axes = mill.x, mill.y, mill.z
    if mill.twist.x or mill.twist.y or any(isinstance(each.lost_motion, tuple) for each in axes):
        return False  # the walk knows one backlash for each axis, and no yaw
    if not all(
        np.isfinite(_motion(text, mill).end).all() for text in (mutant.text, mutant.of.before)
    ):
        return False
    backlash = [0.0 if each.gravity_loaded else each.greatest_lost_motion for each in axes]
    off = take_up_bench.worst_error(mutant.of.before, mutant.text, backlash, mill)
    return off <= mill.limits.tolerance + 0.0005  # the steps of the walk, too


def _in_the_air(said: str, sound: list[Step], damaged: list[Step]) -> bool:
    """Return whether a complaint is of a rapid of the sound program that is made at feed."""
    if "cuts at feed where" not in said:
        return False
    way = np.array(_ends(_named(said, damaged)))
    return any(
        np.abs(np.array(_ends(each)) - way).max() < 1e-6 for each in moves(sound) if each.rapid
    )


def _gone_over(said: str, original: list[Step], damaged: list[Step]) -> bool:
    """Return whether a low rapid runs where the original cuts as low or lower all along.

    Or whether it, or a move at feed, runs as high as the original ever goes.
    """
    if "a rapid sideways at" not in said and "cuts at feed where" not in said:
        return False
    move = _named(said, damaged)
    start, end = _ends(move)
    rapids = [program_place(each, -1)[2] for each in moves(original) if each.rapid]
    if min(start[2], end[2]) >= max(rapids) - 1e-6:
        return True
    if not move.rapid:
        return False
    row = next(at for at, each in enumerate(moves(damaged)) if each is move)
    if row < _first_in_z(damaged) and _first_in_z(original) > 0:
        return True  # both go somewhere before they say at what height
    cut = own_safety.pieces_at_feed(original)
    origin = np.array(next(moves(original)).zero)
    low = np.maximum(cut.start[:, 2], cut.end[:, 2]) - origin[2] <= min(start[2], end[2]) + 1e-6
    flat = np.array((1.0, 1.0, 0.0))
    by = own_safety.Pieces(
        (cut.start - origin)[low] * flat,
        (cut.end - origin)[low] * flat,
        [],
        cut.feed[low],
        cut.line[low],
        cut.row[low],
    )
    way = start + (end - start) * np.linspace(0.0, 1.0, 50)[:, None]
    return all((own_safety.distance(each * flat, by) <= LOOP).any() for each in way)


def _ends(move: Move) -> tuple[np.ndarray, np.ndarray]:
    return program_place(move, 0), program_place(move, -1)


def _first_in_z(steps: list[Step]) -> int:
    count = 0
    for count, move in enumerate(moves(steps)):
        if move.path[0][2] != move.path[-1][2]:
            return count
    return count + 1


def _named(said: str, steps: list[Step]) -> Move:
    """Return the first move of the line that a complaint names."""
    number = re.search(r"line (\d+)", said)
    assert number is not None
    return next(each for each in moves(steps) if each.line == int(number[1]))


def _motion(text: bytes, mill: Mill) -> Motion:
    return trace(read(SourceText.of(text, "mutant")), mill.controller)


def _does(motion: Motion) -> list[tuple[object, ...]]:
    """Return all that the mill does, in order, without where it is written."""
    events = Counter((each.move, each.kind, each.value) for each in motion.events)
    moves = [
        (
            int(motion.kind[row]),
            motion.start[row].round(6).tobytes(),
            motion.end[row].round(6).tobytes(),
            round(float(motion.sweep[row]), 7),
            str(motion.feed[row]) if motion.kind[row] else "",
            _force(motion, row),
        )
        for row in range(len(motion))
    ]
    return [*moves, tuple(sorted(map(str, events.items())))]


def _force(motion: Motion, row: int) -> tuple[object, ...]:
    state = motion.state_of(row)
    return state.tool, state.spindle, state.spindle_way, state.mist, state.flood, state.origin


def score(
    programs: Iterable[Rewrite], count: int, seed: int = 1
) -> tuple[Counter[tuple[str, str]], list[tuple[Mutant, str]]]:
    """Count verdicts by damage; give the survivors with what is said of them."""
    random = Random(seed)
    counts: Counter[tuple[str, str]] = Counter()
    survivors = []
    for of in programs:
        for mutant in mutants(of, count, random):
            said = verdict(mutant)
            kind = said if said in {"found", "idle", "harmless"} else "survivor"
            counts[mutant.damage, kind] += 1
            counts[f"({of.rewrite})", kind] += 1
            if of.rewrite == "setup":
                told = "tools and stock named" if of.job.tools else "no job"
                counts[f"({of.state.name}, {told})", kind] += 1
            if kind == "survivor":
                survivors.append((mutant, said))
    return counts, survivors


def main() -> None:
    """Print the score."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    counts, survivors = score(rewrites(sys.argv[2:]), count)
    kinds = ("found", "survivor", "harmless", "idle")
    print(f"{'damage':<44}" + "".join(f"{kind:>10}" for kind in kinds))
    for damage in dict.fromkeys(damage for damage, _ in counts):
        print(f"{damage:<44}" + "".join(f"{counts[damage, kind]:>10}" for kind in kinds))
    found, alive = (
        sum(counts[damage, kind] for damage in EVERY_DAMAGE) for kind in ("found", "survivor")
    )
    print(f"\nscore: {found} of {found + alive} mutants that matter found")
    for mutant, said in survivors:
        print(
            f"  {mutant.of.rewrite}, {mutant.of.name}, {mutant.damage}, line {mutant.line}: {said}"
        )


if __name__ == "__main__":
    main()
