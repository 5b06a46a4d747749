"""The words of a run of plain blocks by letter, and the modal codes that they put in force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.motion.groups import G_GROUPS, Group
from gpre.program.program import Program

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bytes = NDArray[np.uint8]

_LETTERS = b"GXYZIJKRF"
_UNKNOWN = 255
_GROUP_OF = np.full(10_000, _UNKNOWN, np.uint8)
for _code, _group in G_GROUPS.items():
    _GROUP_OF[_code] = _group


class Column(NamedTuple):
    """The words of one letter: block and row of Program.words, both from the window's first."""

    block: Ints
    value: Floats
    row: Ints


class PlainModes(NamedTuple):
    """(size,) each: what is in force in each block. motion is the code times ten."""

    motion: Bytes
    plane: Bytes
    distance: Bytes


@dataclass(frozen=True)
class PlainWindow:
    """`size` blocks from block `first` on.

    faulty: the first block that is not as plain as it looks, counted from `first`; `size` where
    all are. row: the first row of Program.words.
    """

    first: int
    size: int
    row: int
    letters: dict[str, Column]
    modes: PlainModes
    faulty: int

    def presence(self, letter: str) -> NDArray[np.bool_]:
        """(size,) bool: the blocks that hold a letter."""
        result = np.zeros(self.size, bool)
        result[self.letters[letter].block] = True
        return result


def open_window(
    program: Program, first: int, last: int, before: tuple[int, int, int]
) -> PlainWindow:
    """Read the blocks `first` to `last`; `before`: motion, plane and distance in force there."""
    words = program.words
    begin, end = (int(program.blocks.first_word[block]) for block in (first, last))
    letter, value = words.letter[begin:end], words.value[begin:end]
    block = words.block[begin:end].astype(np.intp)
    block -= first
    size = last - first
    letters: dict[str, Column] = {}
    taken = 0
    faulty = size
    for code in _LETTERS:
        rows = np.flatnonzero(letter == code)
        column = Column(block.take(rows), value.take(rows), rows)
        taken += len(rows)
        letters[chr(code)] = column
        if code != ord("G"):
            faulty = min(faulty, _first_twice(column.block, size))
    if taken < len(letter):
        known = np.isin(letter, np.frombuffer(_LETTERS, np.uint8))
        faulty = min(faulty, int(block[~known][0]))
    finite = np.isfinite(value)
    if not finite.all():
        faulty = min(faulty, int(block[~finite][0]))
    negative = letters["F"].value < 0.0
    if negative.any():
        faulty = min(faulty, int(letters["F"].block[negative][0]))
    modes, wrong = _modes(letters["G"], size, before)
    return PlainWindow(first, size, begin, letters, modes, min(faulty, wrong))


def _first_twice(block: Ints, size: int) -> int:
    """Return the first block that stands twice in a row of blocks, or `size`."""
    twice = block[1:] == block[:-1]
    return int(block[1:][twice][0]) if twice.any() else size


def _modes(g: Column, size: int, before: tuple[int, int, int]) -> tuple[PlainModes, int]:
    """Put the codes in force; give also the first block with a wrong set of codes."""
    tenths = g.value * 10.0
    sound = (tenths >= 0.0) & (tenths < len(_GROUP_OF))
    code = np.where(sound, np.rint(tenths), 0.0).astype(np.int16)
    group = _GROUP_OF[code]
    group[~sound | (code != tenths)] = _UNKNOWN
    faulty = size
    filled = []
    rest = len(group)
    for each, start in zip((Group.MOTION, Group.PLANE, Group.DISTANCE), before, strict=True):
        rows = np.flatnonzero(group == each)
        rest -= len(rows)
        block = g.block[rows]
        faulty = min(faulty, _first_twice(block, size))
        number = code[rows] if each is Group.MOTION else code[rows] // 10
        if each is Group.MOTION and len(rows):
            strange = number > 30
            if strange.any():
                faulty = min(faulty, int(block[strange][0]))
        filled.append(_fill(block, number.astype(np.uint8), start, size))
    if rest:
        faulty = min(faulty, _wrong_rest(g.block, group, size))
    return PlainModes(filled[0], filled[1], filled[2]), faulty


def _wrong_rest(block: Ints, group: Bytes, size: int) -> int:
    """Return the first block with an unknown code, or with two codes of one of the other groups."""
    unknown = group == _UNKNOWN
    faulty = int(block[unknown][0]) if unknown.any() else size
    key = np.sort(block * 256 + group)
    twice = key[1:] == key[:-1]
    return min(faulty, int(key[1:][twice][0]) // 256) if twice.any() else faulty


def _fill(block: Ints, value: Bytes, start: int, size: int) -> Bytes:
    """(size,): the last value stated up to each block, `start` before the first."""
    result = np.full(size, start, np.uint8)
    if len(block):
        result[block[0] :] = np.repeat(value, np.diff(block, append=size))
    return result
