"""The modes in force at any block of a plain program, read off its words.

The interpreter tells the modes at each move; an edit also needs those between the moves, where a
block such as `G91` or `F200` stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Motion
from gpre.program.expression import Number
from gpre.program.program import Program

INCH = 25.4
CYCLE_CODES = frozenset((730, 810, 820, 830, 840, 850, 860, 870, 880, 890))
MOTION_CODES = (0, 10, 20, 30, 382, 383, 384, 385, 800, *sorted(CYCLE_CODES))
_GROUPS: dict[str, tuple[int, ...]] = {  # G codes times ten
    "motion": MOTION_CODES,
    "plane": (170, 180, 190),
    "distance": (900, 910),
    "units": (200, 210),
    "feed_mode": (930, 940, 950),
    "arc_distance": (901, 911),
    "retract": (980, 990),
}


@dataclass(frozen=True, slots=True)
class Modes:
    """What a new block depends on; the same numbers as in `State`.

    motion: the code times ten. plane: 17, 18 or 19. feed: mm/min, NaN where none is set.
    """

    motion: int = 10
    plane: int = 17
    distance: int = 90
    units: int = 21
    feed_mode: int = 94
    arc_distance: int = 911
    retract: int = 98
    feed: float = float("nan")

    @property
    def scale(self) -> float:
        """Give mm for each unit of the program."""
        return INCH if self.units == 20 else 1.0


@dataclass(frozen=True)
class ModeScan:
    """Modes before and after every block, forward in the text.

    Holds for blocks that run in the order of the text: no subprogram, no flow control. Blocks from
    `unsure_from` on follow a code that only the run of the program can tell.
    """

    program: Program
    motion: Motion
    values: dict[str, NDArray[np.int64]]  # (m + 1,) per group: before block i; last: at the end
    feeds: NDArray[np.float64]  # (m + 1,) mm/min, likewise; NaN where none is set
    unsure_from: int

    def before(self, block: int) -> Modes:
        """Give the modes in force when a block starts."""
        read = {group: int(column[block]) for group, column in self.values.items()}
        return Modes(**read, feed=float(self.feeds[block]))

    def after(self, block: int) -> Modes:
        """Give the modes that a block leaves."""
        return self.before(block + 1)

    def agrees(self, row: int) -> bool:
        """Tell whether the modes read off the words are those in which the move was made."""
        return bool(self.agreeing[row])

    @cached_property
    def agreeing(self) -> NDArray[np.bool_]:
        """(n,) bool: `agrees` for all moves."""
        motion = self.motion
        behind = motion.block + 1
        result: NDArray[np.bool_] = motion.block < self.unsure_from
        result &= self.values["plane"][behind] == motion.plane
        for group in _GROUPS:
            if group != "plane":
                told = np.array([getattr(state, group) for state in motion.states], np.int64)
                result &= self.values[group][behind] == told[motion.state]
        return result


def scan_modes(program: Program, motion: Motion) -> ModeScan:
    """Read the modes off the words of all blocks."""
    blocks, words = len(program), program.words
    codes = np.rint(words.value * 10.0)
    codes = np.where((codes == 700) | (codes == 710), codes - 500, codes)  # G70, G71: G20, G21
    is_g = words.letter == ord("G")
    first = motion.states[int(motion.state[0])] if len(motion) else None
    start = Modes()
    if first is not None:
        start = replace(start, units=first.units)
    extra, unsure = _statement_codes(program)
    values: dict[str, NDArray[np.int64]] = {}
    for group, members in _GROUPS.items():
        given = getattr(start, group)
        mask = is_g & np.isin(codes, members)
        column = np.full(blocks + 1, -1, np.int64)
        column[words.block[mask] + 1] = codes[mask].astype(np.int64)
        for block, code in extra:
            if code in members:
                column[block + 1] = code
        divide = 10 if group in {"plane", "distance", "units", "feed_mode", "retract"} else 1
        initial = given * divide
        values[group] = _carry(column, initial) // divide
    feeds = _feeds(program, values["units"])
    if first is not None and first.units != int(values["units"][int(motion.block[0]) + 1]):
        unsure = 0
    return ModeScan(program, motion, values, feeds, unsure)


def _carry(column: NDArray[np.int64], initial: int) -> NDArray[np.int64]:
    """Fill each place from the last one that says something."""
    told = column >= 0
    last = np.maximum.accumulate(np.where(told, np.arange(len(column)), -1))
    return np.where(last >= 0, column[np.maximum(last, 0)], initial)


def _feeds(program: Program, units: NDArray[np.int64]) -> NDArray[np.float64]:
    """(m + 1,) mm/min: the feed in force before each block, in the units it was stated in."""
    stated = np.full(len(program) + 1, np.nan)
    words = program.words
    is_f = words.letter == ord("F")
    stated[words.block[is_f] + 1] = words.value[is_f]
    for block, statement in program.statements.items():
        for word in statement.words:
            if word.letter == "F" and isinstance(word.value, Number):
                stated[block + 1] = word.value.value
    told = np.flatnonzero(np.isfinite(stated))
    last = np.searchsorted(told, np.arange(len(stated)), side="right") - 1
    if not len(told):
        return stated
    at = told[np.maximum(last, 0)]
    scale = np.where(units[at] == 20, INCH, 1.0)
    result: NDArray[np.float64] = np.where(last >= 0, stated[at] * scale, np.nan)
    return result


def _statement_codes(program: Program) -> tuple[list[tuple[int, int]], int]:
    """Give the plain G codes of statements, and the first block whose codes only a run tells."""
    found: list[tuple[int, int]] = []
    unsure = len(program)
    for block, statement in sorted(program.statements.items()):
        for word in statement.words:
            if word.letter not in "GF":
                continue
            if not isinstance(word.value, Number):
                unsure = min(unsure, block)
            elif word.letter == "G":
                found.append((block, round(word.value.value * 10.0)))
    return found, unsure
