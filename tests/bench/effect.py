"""What rewriting gains on parts that backlash spoils, in each way of taking it up, before and
after.

    python tests/bench/effect.py [--markdown] [--reasons] [words of part names]

Prints a table; `--markdown` prints the README's, `--reasons` says why what stays was left alone.

The error is the greatest deviation that `gpre predict` gives for moves at feed, of leads and holes
too. Before, with `program`, nobody takes the backlash up: the controller's own is off and the
program carries nothing yet. After, the table path is compared with the original's path. Where a
rewrite changes the path on purpose (a helix of fewer turns, passes all one way, loops off the
wall), it is compared with the rewritten path as it is without take-ups; that this path makes the
same part is what the proof holds.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.append(str(Path(__file__).parent))

from effect_parts import MODES, PARTS, UNSURE, Part

from gpre.driver.counting import Counted
from gpre.driver.predicting import Predicted, predict_program
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.mill import Mill
from gpre.source.text import SourceText

OTHER_PATH = frozenset(
    ("helix", "one-way", "lift-over", "corner-loop", "turn-round", "start-point", "order")
)
TAKE_UP = "take-up"
MARGIN = " " * 13


@dataclass(frozen=True)
class Figures:
    """in_cut: reversals. marks: places where the tool stands while cutting; standing: s, together.

    error, unsure: mm, the greatest error with the backlash as the profile has it, and at worst with
    that of each axis off by its uncertainty. spread: mm, of holes. seconds: cycle time; without:
    that of the same path where nothing takes backlash up.
    """

    in_cut: int
    marks: int
    standing: float
    error: float
    unsure: float
    spread: float
    seconds: float
    without: float


@dataclass(frozen=True)
class Effect:
    """One part with one way of taking the backlash up."""

    part: Part
    by: str
    rewritten: Rewritten
    before: Figures
    after: Figures

    @property
    def rewrites(self) -> tuple[str, ...]:
        """The rewrites that did something."""
        return tuple(dict.fromkeys(each.rewrite for each in self.rewritten.plan.chosen))

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why places were left alone, each reason once."""
        refused = self.rewritten.plan.refused
        return tuple(dict.fromkeys(f"{each.rewrite}: {each.reason}" for each in refused))


def effect(part: Part, by: str) -> Effect:
    """Rewrite a part's program with tool and stock given, and predict both programs."""
    mill = part.on(by)
    source = SourceText.of(part.text, part.name)
    done = rewrite(source, mill, part.job)
    before = predict_program(done.before, mill, part.job)
    after = predict_program(done.after, mill, part.job, intended(part, mill, done))
    return Effect(part, by, done, figures(before), figures(after))


def intended(part: Part, mill: Mill, done: Rewritten) -> Counted | None:
    """Return the program whose path the table is meant to follow; None: the rewritten one's own."""
    names = {each.rewrite for each in done.plan.chosen}
    if not names & OTHER_PATH:
        return done.before
    if TAKE_UP not in names:
        return None
    source = SourceText.of(part.text, part.name)
    return rewrite(source, mill, part.job, Options(skip=(TAKE_UP,))).after


def figures(found: Predicted) -> Figures:
    """Gather what the table shows."""
    prediction, stands = found.prediction, found.standing
    worst = prediction.sensitivity.worst if prediction.sensitivity else None
    # a path that goes straight back stops where the table stands: that is one place
    stops = ~(prediction.marks.row[:, None] == stands.row).any(axis=1)
    return Figures(
        in_cut=found.counted.in_cut,
        marks=len(stands) + int(stops.sum()),
        standing=prediction.marks.lost_in_cut + float(stands.seconds.sum()),
        error=prediction.greatest,
        unsure=worst.greatest if worst else prediction.greatest,
        spread=prediction.holes.spread,
        seconds=found.time.total,
        without=found.without.total,
    )


def effects(words: tuple[str, ...] = ()) -> Iterator[Effect]:
    """Go through the parts whose names hold one of the words; all for none."""
    for make in PARTS:
        part = make()
        if not words or any(word in part.name for word in words):
            for by in MODES:
                yield effect(part, by)


def duration(seconds: float) -> str:
    """Return minutes and seconds."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def cells(one: Figures) -> tuple[str, ...]:
    """Return the figures of one program as the table has them."""
    return (
        str(one.in_cut),
        str(one.marks),
        f"{one.standing:.1f}",
        f"{one.error:.3f}",
        f"{one.unsure:.3f}",
        duration(one.seconds),
    )


def table(found: list[Effect], *, reasons: bool = False) -> Iterator[str]:
    """Return the lines of the table for a terminal of 80 columns."""
    off = f"{UNSURE:.0%} off"
    yield f"{'':24}reversals   marks  standing     error  {off:>9}    time"
    yield f"{'':24}in the cut               s        mm        mm   min:s"
    for number, each in enumerate(found):
        if number == 0 or found[number - 1].part.name != each.part.name:
            yield f"{each.part.name}: {each.part.what}"
        for name, one in (("before", each.before), ("after", each.after)):
            head = f"  {each.by if name == 'before' else '':11}{name:11}"
            widths = (10, 8, 10, 10, 10, 8)
            yield head + "".join(f"{a:>{w}}" for a, w in zip(cells(one), widths, strict=True))
        if each.before.spread or each.after.spread:
            yield f"{MARGIN}holes {each.before.spread:.3f} mm apart, {each.after.spread:.3f} after"
        yield f"{MARGIN}by {', '.join(each.rewrites) or 'nothing'}"
        if reasons:
            for reason in each.reasons:
                yield textwrap.fill(
                    f"- {reason}", 80, initial_indent=MARGIN, subsequent_indent=MARGIN
                )


def markdown(found: list[Effect]) -> Iterator[str]:
    """Return the lines of the README's table."""
    yield (
        "| part | backlash taken up by | reversals while cutting | marks | standing, s "
        f"| worst error, mm | backlash {UNSURE:.0%} off, mm | cycle time | done by |"
    )
    yield "| --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    for number, each in enumerate(found):
        new = number == 0 or found[number - 1].part.name != each.part.name
        pairs = zip(cells(each.before), cells(each.after), strict=True)
        figures = " | ".join(f"{a} → {b}" for a, b in pairs)
        names = ", ".join(f"`{name}`" for name in each.rewrites) or "nothing"
        if each.before.spread or each.after.spread:
            names += f"; holes {each.before.spread:.3f} → {each.after.spread:.3f} mm apart"
        yield f"| {each.part.name if new else ''} | {each.by} | {figures} | {names} |"


def main(*words: str) -> None:
    """Measure and print."""
    names = tuple(word for word in words if not word.startswith("--"))
    found = list(effects(names))
    lines = markdown(found) if "--markdown" in words else table(found, reasons="--reasons" in words)
    for line in lines:
        print(line)


if __name__ == "__main__":
    main(*sys.argv[1:])
