"""The words of a canned cycle in force at a block, as the program wrote them.

A move between two holes ends the cycle's mode and forgets its sticky words (NISTIR 6556, 3.5.16),
so whoever puts one there states the whole cycle again.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from gpre.editing.editable import Editable
from gpre.editing.modes import CYCLE_CODES, MOTION_CODES
from gpre.editing.word_edits import FoundWord, g_codes, words_of
from gpre.motion.events import EventKind
from gpre.motion.motion import Role
from gpre.program.words import BlockFlag
from gpre.source.edit import Edit

RESTATED = frozenset((730, 810, 820, 830, 840, 850, 860, 880, 890))
STICKY = "ZRPQ"


@dataclass
class CycleWords:
    """A row of cycle blocks up to one of them.

    first: the block that begins the row. code: times ten. words: the bytes of the sticky words in
    force, by letter. initial: mm, where Z stood before the row. plain: False where a block on the
    way is not made of plain words, or the units or the distance mode changes on it. feed: bytes
    of the last F word within the row, or None.
    """

    first: int
    code: int = 0
    words: dict[str, bytes] = field(default_factory=dict)
    initial: float = float("nan")
    plain: bool = True
    feed: bytes | None = None

    def take(self, editable: Editable, block: int) -> None:
        """Take the words of the next block."""
        flags = int(editable.program.blocks.flags[block])
        if flags & (BlockFlag.STATEMENT | BlockFlag.UNREADABLE | BlockFlag.DELETE):
            self.plain = False
        data = editable.program.source.data
        for word in words_of(editable, block):
            if word.letter == "G" and round(word.value * 10) in CYCLE_CODES:
                self.code = round(word.value * 10)
            elif word.letter in STICKY:
                self.words[word.letter] = data[word.start : word.end]
            elif word.letter == "F":
                self.feed = data[word.start : word.end]


def cycle_table(editable: Editable) -> dict[int, CycleWords]:
    """Read all rows of cycle blocks as they run; give the words in force after each that drills."""
    table: dict[int, CycleWords] = {}
    words, motion = editable.program.words, editable.motion
    codes = np.rint(words.value * 10.0)
    stated = (words.letter == ord("G")) & np.isin(codes, sorted(CYCLE_CODES))
    if not stated.any():
        return table
    current: CycleWords | None = None
    started, drilled = editable.modes.before(0), False
    order = editable.order
    begins = int(order.first[np.unique(words.block[stated])].min())
    for block in order.steps[begins:].tolist():
        row = int(editable.first_row[block])
        given = [code for code in g_codes(editable, block) if code in MOTION_CODES]
        if given and given[0] not in CYCLE_CODES:
            current = None
        elif given and current is None:
            current = CycleWords(block)
            started, drilled = editable.modes.after(block), False
        if current is None:
            continue
        if row >= 0 or EventKind.CALL not in editable.events_in(block):
            current.take(editable, block)  # the P of a call is none of the cycle's
        if order.runs[block] > 1:
            current.plain = False  # its words may not be the same each time
        modes = editable.modes.after(block)
        if (modes.units, modes.distance) != (started.units, started.distance):
            current.plain = False  # the same number would mean another length
        if row >= 0 and motion.role[row] != Role.NONE:
            if not drilled:
                current.initial = float(motion.start[row, 2])
            drilled = True
            table[block] = replace(current, words=dict(current.words))
    return table


def restated(editable: Editable, block: int, cycle: CycleWords) -> tuple[bytes, list[Edit]]:
    """Return what to write before the block's first word, and edits behind its last one.

    The block then states its cycle in full: code, the sticky words, the feed if the row states
    one, and G98 or G99 if the program ever states one of them.
    """
    words, manner = words_of(editable, block), editable.manner
    held = {word.letter for word in words}
    codes = [round(word.value * 10) for word in words if word.letter == "G"]
    blank = manner.blank.encode()
    head = b""
    if not {980, 990} & set(codes) and _states_retract(editable, block):
        retract = editable.modes.after(block).retract
        head += manner.code("G", retract * 10).encode() + blank
    if not any(code in CYCLE_CODES for code in codes):
        head += manner.code("G", cycle.code).encode() + blank
    missing = [cycle.words[letter] for letter in STICKY if letter in set(cycle.words) - held]
    if cycle.feed is not None and "F" not in held:
        missing.append(cycle.feed)
    tail = [Edit(_last(words), _last(words), blank + blank.join(missing))] if missing else []
    return head, tail


def _last(words: list[FoundWord]) -> int:
    return max(word.end for word in words)


def _states_retract(editable: Editable, block: int) -> bool:
    words = editable.program.words
    stated = (words.letter == ord("G")) & np.isin(words.value, (98.0, 99.0))
    return bool((stated & (words.block <= block)).any())
