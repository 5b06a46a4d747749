"""Every changed case is judged by the second reading alone; and that judge bites.

Cutting path, what is in force at each cut, what happens besides motion, low rapids, metal, and
reversals, from the two texts through `own_machine`; take-ups by the table of a mill with backlash.
"""

from __future__ import annotations

import math
import os
import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import own_count
import own_verdict
import pytest
from case_files import Case, CaseFile, read_case_file
from own_paths import box_length, moves
from own_reading import read_on
from own_steps import Move
from test_cases import job_of, mill_of

TESTS = Path(__file__).resolve().parents[1]
sys.path.append(str(TESTS / "rewrites"))

FILES = [read_case_file(path) for path in sorted((TESTS / "cases").glob("*/*.case"))]
CHANGED = [(file, case) for file in FILES for case in file.cases if case.after is not None]
# gpre counts no reversal of an axis whose place it does not know
UNKNOWN = {"another work system, its origin is not known"}


def said(file: CaseFile, case: Case, after: str) -> list[str]:
    return own_verdict.complaints(file.rewrite, case.before, after, mill_of(case), job_of(case))


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.rewrite}/{file.path.stem}")
def test_each_changed_case_earns_its_text(file: CaseFile) -> None:
    for case in file.cases:
        if case.after is not None:
            assert said(file, case, case.after) == [], case.name


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.rewrite}/{file.path.stem}")
def test_the_reversals_that_a_case_states_are_those_of_its_texts(file: CaseFile) -> None:
    counted = 0
    for case in file.cases:
        steps = [read_on(text, mill_of(case)) for text in {case.before, case.after or case.before}]
        stopped = any(each[-1].what in {"fault", "not followed"} for each in steps)
        if stopped or case.name in UNKNOWN:
            continue
        counted += 1
        stated = [tuple(map(int, each)) for each in re.findall(r"(\d+) -> (\d+)", case.summary)]
        counts = [
            own_count.in_cut(read_on(text, mill_of(case)))
            for text in (case.before, case.after or case.before)
        ]
        assert list(zip(*counts, strict=True)) == stated, case.name
    assert 2 * counted >= len(file.cases)


# --- the judge bites ----------------------------------------------------------------------------


class Damage:
    """Damage to one text; each is a text, or "" where there is no place for it."""

    def __init__(self, text: str, case: Case) -> None:
        self.lines = text.split("\n")
        fed = [
            move
            for move in moves(read_on(text, mill_of(case)))
            if not move.rapid and not any(map(math.isnan, (*move.path[0], *move.path[-1])))
        ]
        self.fed = sorted(fed, key=lambda move: -box_length(move.path))

    def with_line(self, at: int, line: str | None) -> str:
        lines = list(self.lines)
        lines[at : at + 1] = [] if line is None else [line]
        return "\n".join(lines)

    def sub(self, pattern: str, new: str) -> str:
        text = "\n".join(self.lines)
        changed = re.sub(pattern, new, text, count=1)
        return changed if changed != text else ""

    def shifted(self, letters: str, by: float) -> str:
        """A number of the longest cut that has one of these words."""
        for move in self.fed:
            line = self.lines[move.line - 1]
            word = re.search(rf"([{letters}])(-?\d*\.?\d+)", line)
            if word and "(" not in line[: word.start()]:
                told = f"{word[1]}{float(word[2]) + by:.4f}"
                return self.with_line(
                    move.line - 1, line[: word.start()] + told + line[word.end() :]
                )
        return ""

    def faster(self) -> str:
        return re.sub(
            r"F(\d+\.?\d*|\.\d+)", lambda f: f"F{3 * float(f[1]):g}", "\n".join(self.lines)
        )

    def aside(self) -> str:
        return self.shifted("XY", 0.05)

    def deeper(self) -> str:
        return self.shifted("Z", -0.2)

    def gone(self) -> str:
        return self.with_line(self.fed[0].line - 1, None)

    def at_rapid(self) -> str:
        line = self.lines[self.fed[0].line - 1]
        if re.search(r"G0?[123]\b", line):
            return self.with_line(self.fed[0].line - 1, re.sub(r"G0?[123]\b", "G0", line, count=1))
        code, mark, comment = line.partition("(")
        if "G8" in code:
            return ""
        return self.with_line(self.fed[0].line - 1, f"{code} G0 {mark}{comment}")

    def other_way(self) -> str:
        arc = next((move for move in self.fed if move.arc is not None), None)
        if arc is None:
            return ""
        line = self.lines[arc.line - 1]
        new = re.sub(r"G(0?)([23])\b", lambda g: f"G{g[1]}{5 - int(g[2])}", line, count=1)
        return self.with_line(arc.line - 1, new) if new != line else ""

    def turned_round(self) -> str:
        return self.sub(r"M0?3\b", "M4")

    def slower_spindle(self) -> str:
        return self.sub(r"S(\d)", r"S1\1")

    def dry(self) -> str:
        return self.sub(r"M0?[78]\b", "")

    def stop(self) -> str:
        """One stop more, in the middle of the longest cut."""
        at = self.fed[0].line - 1
        return "\n".join([*self.lines[:at], "M0", *self.lines[at:]])

    def low(self) -> str:
        """A rapid a little lower than the program goes, between two holes or cuts."""
        return self.shifted("R", -1.9) or self.sub(r"(G0 ?Z|\nZ)(\d+)", r"\g<1>-0.7 (\2)")


DAMAGES = (
    "faster", "aside", "deeper", "gone", "at_rapid", "other_way", "turned_round",
    "slower_spindle", "dry", "stop", "low",
)  # fmt: skip
EVERY = os.environ.get("HYPOTHESIS_PROFILE") == "soak"


def planted(share: int) -> Iterator[tuple[str, CaseFile, Case, str]]:
    """Return damaged texts: of one in so many cases one damage, in turn; all of them where 0."""
    for at, (file, case) in enumerate(CHANGED):
        damage = Damage(case.after, case)
        names = (
            DAMAGES if not share else [DAMAGES[(at // share + k) % len(DAMAGES)] for k in range(3)]
        )
        if share and at % share:
            continue
        for name in names:
            text = getattr(damage, name)() if damage.fed else ""
            if text and _does(text, case) != _does(case.after, case):
                yield name, file, case, text
                if share:
                    break


def _does(text: str, case: Case) -> list[object]:
    """What a program does, without where it is written."""
    return [
        (step.rapid, str(step.path), step.feed, step.force)
        if isinstance(step, Move)
        else (step.what, step.text)
        for step in read_on(text, mill_of(case))
    ]


def test_planted_damage_to_the_texts_of_cases_is_refused() -> None:
    found, missed = Counter(), []
    for name, file, case, text in planted(0 if EVERY else 3):
        if said(file, case, text):
            found[name] += 1
        else:
            missed.append((name, file.path.stem, case.name))
    assert missed == []
    assert len(found) >= len(DAMAGES) - 2
    assert found.total() >= len(CHANGED) // 4
