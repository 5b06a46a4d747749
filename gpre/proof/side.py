"""The two programs as the proof sees them: read and traced afresh, cut into sections.

A *section* is what lies between two events (a tool change, a stop, an offset, the spindle, the
coolant ...). Moves may trade places within a section, never across its ends. A *group* is a
section with one state in it: only moves of the same group stand for one another.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import nan

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.matching import keys_of, numbered, paired, undirected
from gpre.geometry.tolerance import DUST
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.events import Effect, kinds
from gpre.motion.motion import Kind, Motion
from gpre.motion.state import State
from gpre.motion.trace import trace
from gpre.program.program import Program
from gpre.program.read import read
from gpre.proof.blocks import BlockPairs, compare_blocks, increasing
from gpre.source.text import SourceText

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

# after these nobody can say what stands where: what is known of travel starts anew
BREAKS = kinds(Effect.SHIFTS_CLAMPS)


@dataclass(frozen=True)
class Side:
    """One of the two programs. begins: mm, where the tool stands before the first block."""

    program: Program
    motion: Motion
    begins: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @classmethod
    def of(cls, text: SourceText, mill: Mill) -> Side:
        """Read and trace a text."""
        return cls.run(read(text), mill)

    @classmethod
    def run(cls, program: Program, mill: Mill) -> Side:
        """Trace a program that is read already."""
        return cls(program, trace(program, mill.controller), begins_at(mill.controller))

    @cached_property
    def section(self) -> Ints:
        """(n,): how many events lie before each move."""
        at = np.array([event.move for event in self.motion.events], np.intp)
        return np.searchsorted(at, np.arange(len(self.motion)), side="right").astype(np.intp)

    @cached_property
    def setup(self) -> Ints:
        """(n,): how many events after which travel starts anew lie before each move."""
        at = np.array([e.move for e in self.motion.events if e.kind in BREAKS], np.intp)
        return np.searchsorted(at, np.arange(len(self.motion)), side="right").astype(np.intp)

    @cached_property
    def ordinary(self) -> Bools:
        """(n,): the moves that a rewrite may touch at all.

        Not those of unknown place or under cutter compensation, and none where a rotary axis
        turns anywhere: such moves must stay as they are.
        """
        motion = self.motion
        arc = motion.kind == Kind.ARC
        turns = np.isfinite(motion.centre).all(axis=1) & np.isfinite(motion.sweep)
        known = motion.known & (~arc | (turns & (motion.sweep != 0.0)))
        known &= self.plain
        # once the part turns under the tool, nothing that was cut lies where it was
        if len(motion.rotary) and not np.ptp(motion.rotary, axis=0).max(initial=0.0) <= DUST:
            known &= False
        result: Bools = known
        return result

    @cached_property
    def plain(self) -> Bools:
        """(n,): the moves without cutter compensation."""
        table = np.array([state.compensation == 40 for state in self.motion.states] or [True], bool)
        result: Bools = table[self.motion.state]
        return result

    @cached_property
    def feeding(self) -> Ints:
        """(k,): rows of the ordinary moves at feed that go anywhere."""
        return np.flatnonzero(self.ordinary & self.motion.at_feed & self.moves)

    @cached_property
    def moves(self) -> Bools:
        """(n,): the moves that go anywhere at all."""
        motion = self.motion
        far = np.abs(motion.end - motion.start).max(axis=1, initial=0.0) > DUST
        result: Bools = far | (motion.kind == Kind.ARC)
        return result

    @cached_property
    def rapids(self) -> Ints:
        """(k,): rows of the ordinary rapid moves that go anywhere."""
        return np.flatnonzero(self.ordinary & ~self.motion.at_feed & self.moves)

    @cached_property
    def tool(self) -> NDArray[np.int64]:
        """(n,): the tool in the spindle at each move."""
        return self.of_state([state.tool for state in self.motion.states])

    @cached_property
    def spindle_way(self) -> NDArray[np.int64]:
        """(n,): 1 where the spindle turns clockwise (M3), -1 counter-clockwise, 0 not at all."""
        return self.of_state([state.spindle_way for state in self.motion.states])

    def of_state(self, values: list[int]) -> NDArray[np.int64]:
        """(n,): a value of each state, at each move."""
        table = np.array(values or [0], np.int64)
        return table[self.motion.state] if len(self.motion) else np.zeros(0, np.int64)

    def block_of(self, row: int | None) -> int | None:
        """Return the block of a move, None where there is no such move (-1 or None)."""
        there = row is not None and 0 <= row < len(self.motion)
        return int(self.motion.block[row]) if there else None


def force_of(state: State) -> tuple[object, ...]:
    """Return what of a state must be the same wherever metal is cut.

    Not the words in which a move is written: its motion code, G90 and G91, G98 and G99.
    """
    return (
        state.feed_mode,
        state.units,
        state.compensation,
        state.path,
        state.length_offset,
        *state.frame,
        state.spindle,
        state.spindle_way,
        state.tool,
        state.selected,
        state.mist,
        state.flood,
        state.overrides,
    )


@dataclass(frozen=True)
class Pair:
    """Both programs, with the profile and the job."""

    before: Side
    after: Side
    mill: Mill
    job: Job

    @property
    def tolerance(self) -> float:
        """How far a path may leave the other, mm."""
        return self.mill.limits.tolerance

    def widths(self, side: Side, *, unknown: float) -> Floats:
        """(n,) mm: the diameter of the tool at each move of a side, `unknown` if not in the job."""
        result = np.full(len(side.motion), unknown)
        for number, tool in self.job.tools.items():
            result[side.tool == number] = tool.diameter
        return result

    @cached_property
    def blocks(self) -> BlockPairs:
        """Which blocks are the same bytes."""
        texts = (side.program.source.blocks() for side in (self.before, self.after))
        return compare_blocks(*texts)

    @cached_property
    def forces(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """(n,) and (m,): the number of what is in force at each move, shared by both programs."""
        numbers: dict[object, int] = {}
        result = []
        for side in (self.before, self.after):
            table = [
                numbers.setdefault(force_of(state), len(numbers)) for state in side.motion.states
            ]
            result.append(side.of_state(table))
        return result[0], result[1]

    @cached_property
    def frames(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """(n,) and (m,): the number of the work system and origin at each move, shared by both.

        Places are the same place only within one of them.
        """
        numbers: dict[object, int] = {}
        result = []
        for side in (self.before, self.after):
            table = [numbers.setdefault(state.frame, len(numbers)) for state in side.motion.states]
            result.append(side.of_state(table))
        return result[0], result[1]

    @cached_property
    def groups(self) -> tuple[Ints, Ints]:
        """(n,) and (m,): the group of each move, shared by both programs."""
        left, right = (
            np.column_stack((side.section, force))
            for side, force in zip((self.before, self.after), self.forces, strict=True)
        )
        return numbered(left, right)

    @cached_property
    def directed(self) -> tuple[Ints, Ints]:
        """(n,) and (m,): a number for each move; equal ones are the same move in the same group.

        Level moves run the other way count as the same, sloped ones do not.
        """
        left, right = self._keys()
        return numbered(left, right)

    @cached_property
    def partner(self) -> Ints:
        """(m,): for each ordinary move of `after` the move of `before` it stands for, or -1."""
        before, after = self.before, self.after
        left, right = self.directed
        rows_before = np.flatnonzero(before.ordinary & before.moves)
        rows_after = np.flatnonzero(after.ordinary & after.moves)
        found = paired(right[rows_after], left[rows_before])
        result = np.full(len(after.motion), -1, np.intp)
        has = found >= 0
        result[rows_after[has]] = rows_before[found[has]]
        return result

    @cached_property
    def steady(self) -> tuple[Bools, Bools]:
        """(n,) and (m,): the moves that are the same and stand in the same order in both."""
        rows = np.flatnonzero(self.partner >= 0)
        kept = rows[increasing(self.partner[rows].tolist())]
        left = np.zeros(len(self.before.motion), bool)
        right = np.zeros(len(self.after.motion), bool)
        left[self.partner[kept]] = True
        right[kept] = True
        return left, right

    def _keys(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        result = []
        for side, group in zip((self.before, self.after), self.groups, strict=True):
            motion = side.motion
            level = np.abs(motion.end[:, 2] - motion.start[:, 2]) <= DUST
            keys = keys_of(motion, (motion.kind == Kind.RAPID).astype(np.int64), group)
            result.append(np.where(level[:, None], undirected(keys), keys))
        return result[0], result[1]


def begins_at(controller: Controller) -> tuple[float, float, float]:
    """Return where the tool stands before the first block, mm; NaN where that is not known."""
    return controller.start if controller.start_known else (nan, nan, nan)


def sub(side: Side, rows: Ints) -> paths.Moves:
    """Return some moves of a side as a path."""
    return paths.take(side.motion, rows)
