"""Where two programs differ, as edits that can be undone one by one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from gpre.driver.spelling import NOT_PLAIN, Bare
from gpre.program.comments import comments
from gpre.program.items import Pairs, plain_words
from gpre.program.program import Program
from gpre.program.read import read
from gpre.program.words import BlockFlag
from gpre.proof.blocks import Hunk, compare_by_rank
from gpre.source.text import SourceText

ENDS = (2.0, 30.0)  # M2 and M30
DWELL_CODE = ("G", 4.0)
STOP_CODES = frozenset((("M", 0.0), ("M", 1.0)))
# stops may bring along what switches spindle and coolant, and dwells
SWITCH_CODES = frozenset((*(("M", float(code)) for code in (3, 4, 5, 7, 8, 9)), DWELL_CODE))
_ODD = NOT_PLAIN | int(BlockFlag.DELETE | BlockFlag.PERCENT | BlockFlag.PROGRAM_NUMBER)
_MINOR = SWITCH_CODES | STOP_CODES


@dataclass(frozen=True)
class HarmlessEdit:
    """Blocks of the first program that gave way to others, or to none.

    hunk: their places in the bare texts. old, new: the words of each block. plain: all of these
    blocks are made of plain words. topic: of several things that changed in one block the one that
    the edit stands for, see `_topic`; None for all.
    """

    hunk: Hunk
    old: tuple[Pairs, ...]
    new: tuple[Pairs, ...]
    plain: bool
    topic: int | None = None

    @cached_property
    def lost(self) -> Counter[tuple[str, float]]:
        """The words that are no longer there."""
        return self._mine(_counted(self.old) - _counted(self.new))

    @cached_property
    def added(self) -> Counter[tuple[str, float]]:
        """The words that are new."""
        return self._mine(_counted(self.new) - _counted(self.old))

    def _mine(self, words: Counter[tuple[str, float]]) -> Counter[tuple[str, float]]:
        if self.topic is None:
            return words
        return Counter({each: n for each, n in words.items() if _topic(each[0]) == self.topic})

    def by_topic(self) -> tuple[HarmlessEdit, ...]:
        """Return the edit as one for each thing that changed, where that is all in one block."""
        topics = sorted({_topic(letter) for letter, _ in (*self.lost, *self.added)})
        if len(topics) < 2 or not self.plain or len(self.old) != 1 or len(self.new) != 1:
            return (self,)
        return tuple(replace(self, topic=topic) for topic in topics)


@dataclass(frozen=True)
class Undone:
    """The second program with some edits undone.

    lines: (m,) for each block the block of the bare second program that it stands for. places: for
    each edit its blocks here, half open.
    """

    text: SourceText
    lines: NDArray[np.intp]
    places: tuple[tuple[int, int], ...]


class Edits:
    """All edits between two bare texts; they behave as a sequence of `Edit`."""

    def __init__(self, bare: Bare) -> None:
        """Align the texts; M2 and M30 count as one code, so that an end stays an end."""
        self._programs = read(bare.before), read(bare.after)
        self._texts = tuple(program.source.blocks() for program in self._programs)
        words = [plain_words(program) for program in self._programs]
        keys = [
            [_key(*each) for each in zip(text, said, strict=True)]
            for text, said in zip(self._texts, words, strict=True)
        ]
        small = {
            key
            for some, said in zip(keys, words, strict=True)
            for key, each in zip(some, said, strict=True)
            if each and all(word in SWITCH_CODES or word[0] in "SP" for word in each)
        }
        found = compare_by_rank(keys[0], keys[1], small.__contains__)
        ends = [
            Hunk(one, one + 1, other, other + 1)
            for one, other in found.same
            if self._texts[0][one] != self._texts[1][other]
        ]
        odd = [(program.blocks.flags & _ODD) != 0 for program in self._programs]
        hunks = [part for hunk in (*found.hunks, *ends) for part in _parts(hunk, *words)]
        every = (
            HarmlessEdit(
                hunk,
                tuple(words[0][hunk.before : hunk.before_end]),
                tuple(words[1][hunk.after : hunk.after_end]),
                not odd[0][hunk.before : hunk.before_end].any()
                and not odd[1][hunk.after : hunk.after_end].any(),
            )
            for hunk in sorted(hunks)
        )
        self._edits = tuple(part for edit in every for part in edit.by_topic())

    def __len__(self) -> int:
        """Return how many edits there are."""
        return len(self._edits)

    def __iter__(self) -> Iterator[HarmlessEdit]:
        """Go through the edits in the order of the texts."""
        return iter(self._edits)

    def undo(self, some: frozenset[HarmlessEdit], name: str) -> Undone:
        """Return the second program with `some` edits undone, under a name."""
        old, new = self._texts
        blocks: list[bytes] = []
        lines: list[int] = []
        places: list[tuple[int, int]] = []
        at = 0
        for hunk, parts in groupby(self._edits, lambda edit: edit.hunk):
            first, end, after, after_end = hunk
            edits = list(parts)
            undone = [edit for edit in edits if edit in some]
            blocks += new[at:after]
            lines += range(at, after)
            start = len(blocks)
            if not undone:
                blocks += new[after:after_end]
                lines += range(after, after_end)
            elif len(undone) < len(edits):
                blocks.append(_mixed(*self._programs, undone))
                lines.append(after)
            else:
                blocks += old[first:end]
                # what the second program has not stands where the next block stands
                lines += [min(after + step, len(new) - 1) for step in range(end - first)]
            places += [(start, len(blocks))] * len(edits)
            at = after_end
        blocks += new[at:]
        lines += range(at, len(new))
        text = SourceText.of(b"".join(block + b"\n" for block in blocks), name)
        return Undone(text, np.array(lines, np.intp), tuple(places))


def _topic(letter: str) -> int:
    """Return what a word is about: R, Q, the M codes with the speed, or all else."""
    return {"R": 1, "Q": 2, "M": 3, "S": 3}.get(letter, 0)


def _mixed(old: Program, new: Program, undone: list[HarmlessEdit]) -> bytes:
    """Return the block of some edits with the words of a few of them as they were.

    Comments go with the M codes: the operator reads them at a stop.
    """
    hunk, topics = undone[0].hunk, {edit.topic for edit in undone}
    parts = [text for topic, text in _pieces(new, hunk.after) if topic not in topics]
    parts += [text for topic, text in _pieces(old, hunk.before) if topic in topics]
    return b" ".join(parts)


def _pieces(program: Program, block: int) -> Iterator[tuple[int, bytes]]:
    """Return the words and comments of a block as they are written, with their topics."""
    data, words = program.source.data, program.words
    for row in range(*program.blocks.first_word[block : block + 2].tolist()):
        text = data[int(words.start[row]) : int(words.end[row])]
        yield _topic(chr(words.letter[row])), text
    for start, end in comments(program, block):
        yield _topic("M"), data[start:end]


def _counted(blocks: tuple[Pairs, ...]) -> Counter[tuple[str, float]]:
    return Counter(word for words in blocks for word in words)


def _key(text: bytes, words: Pairs) -> bytes:
    if not any(letter == "M" and value in ENDS for letter, value in words):
        return text
    return repr([each for each in words if each[0] != "M" or each[1] not in ENDS]).encode() + b"M2"


def _parts(hunk: Hunk, old: list[Pairs], new: list[Pairs]) -> list[Hunk]:
    """Split a stretch that differs where it is clear what became what."""
    first, end, after, after_end = hunk
    sizes = end - first, after_end - after
    if sizes[1] == 0:
        return [hunk]
    lost, added = tuple(old[first:end]), tuple(new[after:after_end])
    apart = not _counted(lost) & _counted(added) and not _counted(lost).keys() & STOP_CODES
    if apart and all(_minor(words) for words in (*lost, *added)):
        parts = [Hunk(first, end, after, after), Hunk(end, end, after, after_end)]
    elif sizes == (1, 1):
        parts = [hunk]
    elif sizes[0] == sizes[1] and list(map(_letters, lost)) == list(map(_letters, added)):
        steps = range(sizes[0])
        parts = [Hunk(first + at, first + at + 1, after + at, after + at + 1) for at in steps]
    elif any(_minor(words) for words in lost):
        parts = [hunk]
    else:
        # stops, coolant and dwells before or behind what was changed are edits by themselves
        low, high = after, after_end
        while low < high and _minor(new[low]):
            low += 1
        while high > low and _minor(new[high - 1]):
            high -= 1
        parts = [
            Hunk(first, first, after, low),
            Hunk(first, end, low, high),
            Hunk(end, end, high, after_end),
        ]
    return [each for each in parts if each.before < each.before_end or each.after < each.after_end]


def _letters(words: Pairs) -> list[str]:
    return [letter for letter, _ in words]


def _minor(words: Pairs) -> bool:
    """Return whether a block only stops, dwells or switches spindle and coolant."""
    return all(word in _MINOR or word[0] in "SP" for word in words)
