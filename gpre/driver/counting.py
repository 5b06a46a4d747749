"""Reads a program, runs it through and finds its reversals, in one call."""

from __future__ import annotations

from dataclasses import dataclass, replace

from gpre.mill.mill import Mill
from gpre.mill.overtravel import overtravel
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.program import Program
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import Reversals
from gpre.source.text import SourceText


@dataclass(frozen=True)
class Counted:
    """A program, its motion on a mill, and where that motion reverses."""

    program: Program
    motion: Motion
    reversals: Reversals

    @property
    def in_cut(self) -> int:
        """Give the number of reversals in the cut, X, Y and Z together."""
        return int(self.reversals.in_cut.sum())

    @property
    def units(self) -> int:
        """Give the units that the program starts to move in: 21 (mm) or 20 (inch)."""
        return self.motion.state_of(0).units if len(self.motion) else 21


def count(source: SourceText, mill: Mill, *, keep_words: bool = True) -> Counted:
    """Count the reversals of a program on a mill.

    keep_words: False forgets the words as soon as the program is run, to save memory.
    """
    program = read(source)
    motion = trace(program, mill.controller)
    if not keep_words:
        program = program.without_words()
    motion = replace(motion, findings=(*motion.findings, *overtravel(source, motion, mill)))
    resolution = (mill.x.resolution, mill.y.resolution, mill.z.resolution)
    return Counted(program, motion, find_reversals(motion, resolution))
