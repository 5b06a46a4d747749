"""What must hold of every program that is rewritten, whoever wrote it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import walked_text
from known_mill import changed_by_hand, known_mill
from other_manners import Written

from gpre import load_mill
from gpre.comparison.diff import diff
from gpre.driver.proving import prove_programs
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.source.text import SourceText

MILL = changed_by_hand(load_mill(Path(__file__).resolve().parents[2] / "samples" / "mill.toml"))
CARRYING = known_mill(  # its programs carry the take-ups
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, gravity_loaded=True),
    compensation=Compensation("program"),
)
BACKLASH = (0.09, 0.06, 0.0)  # Z is gravity-loaded
TAKE_UP = Options(only=("take-up",))
# rewrites that enter elsewhere, or leave the part and come back: only what they must cut is asked
OFF_THE_PATH = frozenset(("corner-loop", "helix", "lift-over", "one-way", "start-point"))
CHORD = 1e-3  # mm, what the pieces of arcs and the rounding of places add to a distance


@dataclass(frozen=True)
class Facts:
    """The two programs as the independent mill walks them."""

    before: walked_text.Walk
    after: walked_text.Walk


Place = tuple[float, float, float]
OfTheMill = tuple[Mapping[int, Place], Mapping[int, float]]  # its zeros, the lengths of its tools


def walks(written: Written, data: bytes, of_the_mill: OfTheMill | None) -> Facts:
    origins, lengths = of_the_mill or (written.job.origins, written.job.lengths)
    before, after = (
        walked_text.walk(text, origins=origins, lengths=lengths) for text in (written.text, data)
    )
    return Facts(before, after)


def complaints(
    written: Written,
    mill: Mill,
    options: Options | None = None,
    backlash: tuple[float, float, float] | None = None,
    of_the_mill: OfTheMill | None = None,
) -> tuple[Rewritten, list[str]]:
    """Rewrite a program; give the result and what is wrong about it.

    backlash: mm on X, Y, Z, where the take-ups shall be in the program. of_the_mill: what the
    judging mill has where the job does not tell it.
    """
    options = options or Options()
    source = SourceText.of(written.text, written.name)
    result = rewrite(source, mill, written.job, options)
    said = [] if result.proof.holds else ["the proof does not hold"]
    again = rewrite(SourceText.of(result.data, written.name), mill, written.job, options)
    said += ["a second run changes it"] if again.data != result.data else []
    said += _untouched(written.text, result)
    if not result.changed:
        return result, said
    proved = prove_programs(source, SourceText.of(result.data, "after"), mill, written.job)
    said += [] if proved.holds else ["proved afresh it does not hold"]
    facts = walks(written, result.data, of_the_mill)
    if backlash is None:
        said += _same_cuts(facts, written, result, mill)
        said += _no_more_turns(facts)
    else:
        said += carried(facts, backlash, mill.limits.tolerance)
    return result, said


def _untouched(text: bytes, result: Rewritten) -> list[str]:
    """Blocks that no change names stand in the new text as they were, in order."""
    if not result.plan.chosen:
        return [] if result.data == text else ["nothing was done, and the text is another"]
    touched = {
        block
        for each in result.plan.chosen
        for block in range(each.first_block, each.last_block + 1)
    }
    rest = iter(result.data.splitlines(keepends=True))
    lines = text.splitlines(keepends=True)
    kept = [line for block, line in enumerate(lines) if block not in touched]
    lost = [line for line in kept if line not in rest]
    return [f"a block that nothing names is gone: {lost[0]!r}"] if lost else []


def _same_cuts(facts: Facts, written: Written, result: Rewritten, mill: Mill) -> list[str]:
    """By the independent mill, and by gpre's comparison."""
    near = mill.limits.tolerance
    free = bool(OFF_THE_PATH.intersection(each.rewrite for each in result.plan.chosen))
    far = walked_text.apart(facts.before, facts.after, sideways=free)
    said = [f"{far:.4f} mm of cuts are left out"] if far > near + CHORD else []
    if facts.after.feed.max() > facts.before.feed.max() * (1.0 + 1e-6):
        said.append("a feed is higher than any before")
    if free:
        return said
    far = walked_text.apart(facts.after, facts.before)
    said += [f"{far:.4f} mm of cuts are added"] if far > near + CHORD else []
    found = diff(
        SourceText.of(written.text, "before"),
        SourceText.of(result.data, "after"),
        mill.set_up_for(written.job),
    )
    for what, far in (("left out", found.left_out), ("added", found.added)):
        said += [f"compared, {far:.4f} mm of cuts are {what}"] if far > near + 1e-9 else []
    return said


def _no_more_turns(facts: Facts) -> list[str]:
    _, before = walked_text.reversals(facts.before)
    _, after = walked_text.reversals(facts.after)
    return [f"turns at feed: {after} after {before}"] if sum(after) > sum(before) else []


def carried(facts: Facts, backlash: tuple[float, float, float], tolerance: float) -> list[str]:
    """The table leaves the intended cuts by the tolerance at the most, whichever way the play."""
    said = []
    for side in (-1.0, 1.0):
        table = walked_text.table(facts.after, backlash, side)
        for what, far in (
            ("beyond", walked_text.apart(table, facts.before)),
            ("short of", walked_text.apart(facts.before, table)),
        ):
            if far > tolerance + CHORD / 4.0:
                said.append(f"the table goes {far:.4f} mm {what} the path")
    if facts.after.feed.max() > facts.before.feed.max() * (1.0 + 1e-6):
        said.append("a feed is higher than any before")
    ends = np.abs(facts.after.end[-1] - facts.before.end[-1]).max()
    said += [f"it ends {ends:.4f} mm away"] if ends > CHORD else []
    return said
