"""Damages short programs word by word and block by block, and asks the proof about each.

    python tests/end_to_end/every_word.py [names of programs; all unless given] [--every N]

Every word of every block is lost, doubled, moved to the block before and after, loses or changes
its sign, its point, or swaps two digits; every comment is lost, changed or left open; every block
is lost, doubled, moved up and down. What the proof lets pass is judged by mills of its own
(`own_judge`): it must belong to a class of harmless change by name, on each of them. Each program
is tried in each state of knowledge of the mill, with the tools and the stock named and not, by the
proof of the rewriter (`prove`) and by that of hand-made changes (`prove_programs`).
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from knowledge import Knowledge, states, stock_of
from own_blocks import COORDINATES, NotFollowedError, read_blocks
from own_judge import judge
from own_mills import machines
from short_programs import SHORTS, Short

from gpre.driver.proving import prove_programs
from gpre.mill.job import Job
from gpre.proof.prove import prove
from gpre.report.prove import faulty
from gpre.source.text import SourceText

WORD = re.compile(r"([A-Z])([-+]?)(\d+\.?\d*|\.\d+)")
MILLS = 8


@dataclass(frozen=True)
class Mutant:
    """kind: what was done. line: to which, from 1. text: the program then."""

    kind: str
    line: int
    text: bytes


@dataclass(frozen=True)
class Survivor:
    """A mutant that passes. by: which proof. told: the class of harmless change, or the damage."""

    program: str
    mutant: Mutant
    state: str
    named: bool
    by: str
    told: str
    harmless: bool


@dataclass
class Score:
    """found: mutants that did not pass, by kind. survivors: those that did."""

    found: Counter[str] = field(default_factory=Counter)
    survivors: list[Survivor] = field(default_factory=list)

    @property
    def unexplained(self) -> list[Survivor]:
        return [each for each in self.survivors if not each.harmless]


def _bare(line: str) -> str:
    """Blank the comments of a line."""
    return re.sub(r"\([^)]*\)?", lambda found: " " * len(found[0]), line)


def mutants(text: str) -> Iterator[Mutant]:
    """Return every mutant once."""
    lines = text.splitlines()
    seen = {text}
    for at in range(len(lines)):
        for kind, changed in (
            *_of_words(lines, at),
            *_of_comment(lines, at),
            *_of_block(lines, at),
        ):
            new = "\n".join(changed) + "\n"
            if new not in seen:
                seen.add(new)
                yield Mutant(kind, at + 1, new.encode())


def _with(lines: Sequence[str], at: int, line: str) -> list[str]:
    return [*lines[:at], line, *lines[at + 1 :]]


def _of_words(lines: list[str], at: int) -> Iterator[tuple[str, list[str]]]:
    line = lines[at]
    for found in WORD.finditer(_bare(line)):
        start, end = found.span()
        word, (letter, sign, number) = found[0], found.groups()

        def anew(new: str, start: int = start, end: int = end) -> list[str]:
            return _with(lines, at, (line[:start] + new + line[end:]).rstrip())

        yield "word lost", anew("")
        yield "word doubled", anew(f"{word} {word}")
        if at and WORD.search(_bare(lines[at - 1])):
            yield "word to the block before", _with(anew(""), at - 1, _end(lines[at - 1], word))
        if at + 1 < len(lines) and WORD.search(_bare(lines[at + 1])):
            yield "word to the block behind", _with(anew(""), at + 1, _head(lines[at + 1], word))
        if sign:
            yield "sign lost", anew(letter + number)
        elif letter in COORDINATES and float(number):
            yield "sign new", anew(f"{letter}-{number}")
        if (swapped := _swapped(number)) is not None:
            yield "digits swapped", anew(letter + sign + swapped)
        if "." in number:
            yield "point lost", anew(letter + sign + number.replace(".", ""))
            yield "decimals lost", anew(letter + sign + (number.partition(".")[0] or "0"))
        elif letter in COORDINATES:
            yield "point shifted", anew(f"{letter}{sign}{number[:-1]}.{number[-1]}")


def _end(line: str, word: str) -> str:
    """Put a word at the end of a block, before its comment."""
    code, mark, comment = line.partition("(")
    return f"{code.rstrip()} {word}" + (f" {mark}{comment}" if mark else "")


def _head(line: str, word: str) -> str:
    """Put a word at the head of a block, behind its number."""
    number = re.match(r"N\d+ ?", line)
    at = number.end() if number else 0
    return f"{line[:at]}{word} {line[at:]}"


def _swapped(number: str) -> str | None:
    """Let the first two neighbours that differ trade places."""
    for at, (one, two) in enumerate(zip(number, number[1:], strict=False)):
        if one != two and "." not in {one, two}:
            return number[:at] + two + one + number[at + 2 :]
    return None


def _of_comment(lines: list[str], at: int) -> Iterator[tuple[str, list[str]]]:
    line = lines[at]
    found = re.search(r"\(([^)]+)\)", line)
    if found is None:
        return
    start, end = found.span()
    yield "comment lost", _with(lines, at, (line[:start] + line[end:]).rstrip())
    yield "comment changed", _with(lines, at, f"{line[:start]}({found[1][:-1]}?){line[end:]}")
    yield "comment left open", _with(lines, at, line[: end - 1] + line[end:])
    yield "comment inside a comment", _with(lines, at, f"{line[:start]}(({found[1]}){line[end:]}")


def _of_block(lines: list[str], at: int) -> Iterator[tuple[str, list[str]]]:
    yield "block lost", [*lines[:at], *lines[at + 1 :]]
    yield "block doubled", [*lines[:at], lines[at], *lines[at:]]
    if at + 1 < len(lines):
        swapped = [*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]]
        yield "block down, the next one up", swapped
    yield "number in the middle", [*lines[:at], "O1234", *lines[at:]]
    words = list(WORD.finditer(_bare(lines[at])))
    if words and len(words[-1][3]) > 1:
        cut = words[-1].end() - 1
        yield "blank in a number", _with(lines, at, lines[at][:cut] + " " + lines[at][cut:])
        start = words[-1].start()
        far = lines[at][:start] + " " * 256 + lines[at][start:]
        yield "beyond column 256", _with(lines, at, far)


def writes_points(text: bytes) -> bool:
    """Whether all coordinates of a program have a point."""
    found = [
        point or value == 0.0
        for block in read_blocks(text)
        for letter, value, point in block.words
        if letter in COORDINATES
    ]
    return bool(found) and all(found)


def passes(before: bytes, after: bytes, known: Knowledge, job: Job) -> str:
    """Name the proof that lets a change pass, the stricter one where both do; "" for none."""
    texts = SourceText.of(before, "before"), SourceText.of(after, "after")
    if prove(*texts, known.mill, job).holds:
        return "prove"
    by_hand = prove_programs(*texts, known.mill, job)
    return "prove_programs" if by_hand.holds and not faulty(by_hand) else ""


def score(programs: Sequence[Short] = SHORTS, every: int = 1, first: int = 0) -> Score:
    """Ask about one mutant in `every`, from `first` on, in each state of knowledge."""
    result = Score()
    number = 0
    for program in programs:
        for mutant in mutants(program.text):
            for state in states():
                for job in (Job(), program.job):
                    number += 1
                    if (number - 1 - first) % every == 0:
                        _ask(result, program, mutant, state, job)
    return result


def _ask(result: Score, program: Short, mutant: Mutant, state: Knowledge, job: Job) -> None:
    before = program.text.encode()
    by = passes(before, mutant.text, state, job)
    if not by:
        result.found[mutant.kind] += 1
        return
    mills = machines(state.known, MILLS, points=writes_points(before))
    try:
        said = judge(before, mutant.text, mills, stock_of(job))
        told, harmless = said.harmless or said.damage, bool(said.harmless)
    except NotFollowedError as error:
        told, harmless = f"not followed: {error}", False
    named = bool(job.tools)
    result.survivors.append(Survivor(program.name, mutant, state.name, named, by, told, harmless))


def main() -> None:
    """Print counts by kind, the classes of the survivors, and the survivors without a class."""
    arguments = sys.argv[1:]
    every = 1
    if "--every" in arguments:
        at = arguments.index("--every")
        every = int(arguments[at + 1])
        del arguments[at : at + 2]
    programs = [each for each in SHORTS if not arguments or each.name in arguments]
    result = score(programs, every)
    kinds = sorted({*result.found, *(each.mutant.kind for each in result.survivors)})
    print(f"{'kind':<30}{'found':>8}{'harmless':>10}{'damage':>8}")
    for kind in kinds:
        mine = [each for each in result.survivors if each.mutant.kind == kind]
        bad = sum(not each.harmless for each in mine)
        print(f"{kind:<30}{result.found[kind]:>8}{len(mine) - bad:>10}{bad:>8}")
    found, bad = sum(result.found.values()), len(result.unexplained)
    print(f"\nscore: {found} of {found + bad} mutants that were found or matter were found")
    classes = Counter(each.told for each in result.survivors if each.harmless)
    for name, count in classes.most_common():
        print(f"{count:>8}  {name}")
    print("\nsurvivors without a class:")
    for line, count in Counter(map(_told, result.unexplained)).items():
        print(f"{count:>4}  {line}")


def _told(each: Survivor) -> str:
    mutant = each.mutant
    text = mutant.text.decode().splitlines()
    line = text[min(mutant.line, len(text)) - 1][:60]
    return f"{each.program}, {mutant.kind}, line {mutant.line} [{line}], {each.by}: {each.told}"


if __name__ == "__main__":
    main()
