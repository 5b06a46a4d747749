"""The modes in force at any block of a plain program, read off its words as its blocks run.

The interpreter tells the modes at each move; an edit also needs those between the moves, where a
block such as `G91` or `F200` stands alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.motion.motion import Motion
from gpre.motion.order import RunOrder, run_order
from gpre.motion.state import MM_PER_INCH, scale_of
from gpre.program.expression import Number
from gpre.program.program import Program

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
        """Return mm for each unit of the program."""
        return scale_of(self.units)


@dataclass(frozen=True)
class ModeScan:
    """Modes before and after every step of a program without flow control: each run of each block.

    For a block that runs more than once, `before` and `after` tell of its first run. Steps from
    `unsure_from` on follow a code that only the run of the program can tell.
    """

    program: Program
    motion: Motion
    order: RunOrder
    values: dict[str, NDArray[np.int64]]  # (k + 1,) per group: before step i; last: at the end
    feeds: NDArray[np.float64]  # (k + 1,) mm/min, likewise; NaN where none is set
    unsure_from: int

    def before(self, block: int) -> Modes:
        """Return the modes in force when a block starts."""
        return self._at(int(self.order.first[block]))

    def after(self, block: int) -> Modes:
        """Return the modes that a block leaves."""
        return self._at(int(self.order.first[block]) + 1)

    def _at(self, step: int) -> Modes:
        read = {group: int(column[step]) for group, column in self.values.items()}
        return Modes(**read, feed=float(self.feeds[step]))

    def agrees(self, row: int) -> bool:
        """Return whether the modes read off the words are those in which the move was made."""
        return bool(self.agreeing[row])

    @cached_property
    def agreeing(self) -> NDArray[np.bool_]:
        """(n,) bool: `agrees` for all moves."""
        motion = self.motion
        behind = self.order.of_row + 1
        result: NDArray[np.bool_] = self.order.of_row < self.unsure_from
        result &= self.values["plane"][behind] == motion.plane
        for group in _GROUPS:
            if group != "plane":
                told = np.array([getattr(state, group) for state in motion.states], np.int64)
                result &= self.values[group][behind] == told[motion.state]
        return result


def scan_modes(program: Program, motion: Motion) -> ModeScan:
    """Read the modes off the words of all blocks, in the order in which they run."""
    order = run_order(len(program), motion)
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
        told = np.full(blocks, -1, np.int64)
        told[words.block[mask]] = codes[mask].astype(np.int64)
        for block, code in extra:
            if code in members:
                told[block] = code
        column = np.concatenate(([-1], told[order.steps]))
        divide = 10 if group in {"plane", "distance", "units", "feed_mode", "retract"} else 1
        initial = given * divide
        values[group] = _carry(column, initial) // divide
    feeds = _feeds(program, order, values["units"])
    from_step = len(order.steps)
    if unsure:
        from_step = int(order.first[unsure].min())
    if first is not None and first.units != int(values["units"][int(order.of_row[0]) + 1]):
        from_step = 0
    return ModeScan(program, motion, order, values, feeds, from_step)


def _carry(column: NDArray[np.int64], initial: int) -> NDArray[np.int64]:
    """Fill each place from the last one that says something."""
    told = column >= 0
    last = np.maximum.accumulate(np.where(told, np.arange(len(column)), -1))
    return np.where(last >= 0, column[np.maximum(last, 0)], initial)


def _feeds(program: Program, order: RunOrder, units: NDArray[np.int64]) -> NDArray[np.float64]:
    """(k + 1,) mm/min: the feed in force before each step, in the units it was stated in."""
    in_block = np.full(len(program), np.nan)
    words = program.words
    is_f = words.letter == ord("F")
    in_block[words.block[is_f]] = words.value[is_f]
    for block, statement in program.statements.items():
        for word in statement.words:
            if word.letter == "F" and isinstance(word.value, Number):
                in_block[block] = word.value.value
    stated = np.concatenate(([np.nan], in_block[order.steps]))
    told = np.flatnonzero(np.isfinite(stated))
    last = np.searchsorted(told, np.arange(len(stated)), side="right") - 1
    if not len(told):
        return stated
    at = told[np.maximum(last, 0)]
    scale = np.where(units[at] == 20, MM_PER_INCH, 1.0)
    result: NDArray[np.float64] = np.where(last >= 0, stated[at] * scale, np.nan)
    return result


def _statement_codes(program: Program) -> tuple[list[tuple[int, int]], list[int]]:
    """Return the plain G codes of statements, and the blocks whose codes only a run tells."""
    found: list[tuple[int, int]] = []
    unsure: list[int] = []
    for block, statement in sorted(program.statements.items()):
        for word in statement.words:
            if word.letter not in "GF":
                continue
            if not isinstance(word.value, Number):
                unsure.append(block)
            elif word.letter == "G":
                found.append((block, round(word.value.value * 10.0)))
    return found, unsure
