"""What was found of each mutant, the survivors that are explained, and the tables."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

EXPLAINED = Path(__file__).parent / "explained.txt"
REASONS = ("equal:", "speed:", "wording:", "rounding:")


@dataclass(frozen=True)
class Found:
    """One mutant and what became of it.

    digest: of the module's text. before, after: its line without blanks at the ends. by: the test
    that noticed it, "" where none did. reached: how many tests run that line. asked: a mark of the
    tests that were asked.
    """

    module: str
    digest: str
    seed: int
    start: int
    end: int
    text: str
    line: int
    before: str
    after: str
    by: str
    reached: int
    seconds: float

    @property
    def key(self) -> tuple[str, str, int, int, str]:
        """What a mutant is told by."""
        return self.module, self.digest, self.start, self.end, self.text


class Records:
    """What was found so far, a line of JSON each; several processes may write."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> list[Found]:
        """Return all, the last word on each mutant."""
        if not self.path.exists():
            return []
        lines = self.path.read_text("utf-8").splitlines()
        every = [Found(**json.loads(line)) for line in lines]
        return list({(one.key, one.seed): one for one in every}.values())

    def add(self, found: Found) -> None:
        """Write one down."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(found)) + "\n")


def read_explained(path: Path = EXPLAINED) -> dict[tuple[str, str, str], str]:
    """Return the reason for each survivor that is explained, by module, line before, line after."""
    found: dict[tuple[str, str, str], str] = {}
    text = "\n".join(
        line for line in path.read_text("utf-8").splitlines() if not line.startswith("#")
    )
    for part in text.split("\n\n"):
        lines = part.strip("\n").split("\n")
        if not part.strip():
            continue
        if len(lines) != 4 or lines[1][:2] != "- " or lines[2][:2] != "+ ":
            raise ValueError(f"not a module, a line before, a line after and a reason: {part!r}")
        if not lines[3].startswith(REASONS):
            raise ValueError(f"the reason begins with one of {', '.join(REASONS)}: {lines[3]!r}")
        found[lines[0], lines[1][2:], lines[2][2:]] = lines[3]
    return found


def is_explained(found: Found, explained: dict[tuple[str, str, str], str]) -> bool:
    """Return whether a survivor stands in the list."""
    return (found.module, found.before, found.after) in explained


def table(every: Iterable[Found], explained: dict[tuple[str, str, str], str]) -> str:
    """Return the table by module, with a line for each folder."""
    rows: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for one in every:
        names = one.module, one.module.rsplit("/", 1)[0] + "/", "total"
        for name in names:
            rows[name][0] += 1
            rows[name][1] += bool(one.by)
            rows[name][2] += not one.by and is_explained(one, explained)
    lines = [
        "| module | mutants | noticed | explained | survivors | share |",
        "| --- | ---: | ---: | ---: | ---: | ---: |",
    ]
    total = rows.pop("total", [0, 0, 0])
    for name, row in [*sorted(rows.items()), ("total", total)]:
        mutants, noticed, said = row
        share = 100.0 * noticed / max(mutants - said, 1)
        left = mutants - noticed - said
        lines.append(f"| {name} | {mutants} | {noticed} | {said} | {left} | {share:.0f} % |")
    return "\n".join(lines) + "\n"


def survivors(every: Iterable[Found], explained: dict[tuple[str, str, str], str]) -> str:
    """Return the survivors that nothing explains, written as `explained.txt` has them."""
    parts = []
    for one in sorted(every, key=lambda found: (found.module, found.start)):
        if one.by or is_explained(one, explained):
            continue
        told = f"# line {one.line}, reached by {one.reached} tests"
        parts.append(f"{told}\n{one.module}\n- {one.before}\n+ {one.after}\n")
    return "\n".join(parts)
