"""Reads a program, runs it through and finds its reversals, in one call."""

from __future__ import annotations

from dataclasses import dataclass, replace

from gpre.mill.mill import Mill
from gpre.mill.overtravel import overtravel
from gpre.motion.motion import Motion
from gpre.motion.not_stated import NotStated, not_stated
from gpre.motion.trace import trace
from gpre.motion.unit_hints import Hint, unit_hints
from gpre.program.program import Program
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import Reversals
from gpre.source.text import SourceText


@dataclass(frozen=True)
class Counted:
    """A program, its motion on a mill, and where that motion reverses.

    not_stated: settings that the program needs before it states them and that the mill's profile
    does not state either. hints: what speaks for inch and for mm, where units are one of them.
    """

    program: Program
    motion: Motion
    reversals: Reversals
    not_stated: tuple[NotStated, ...] = ()
    hints: tuple[Hint, ...] = ()

    @property
    def in_cut(self) -> int:
        """Return the number of reversals while cutting, X, Y and Z together."""
        return int(self.reversals.in_cut.sum())

    @property
    def units(self) -> int:
        """Return the units that the program starts to move in: 21 (mm) or 20 (inch)."""
        return self.motion.state_of(0).units if len(self.motion) else 21

    @property
    def known_units(self) -> int | None:
        """Return the same, or None where nothing states them."""
        unknown = any(each.setting == "units" and each.matters for each in self.not_stated)
        return None if unknown else self.units


def count(source: SourceText, mill: Mill, *, keep_words: bool = True) -> Counted:
    """Count the reversals of a program on a mill.

    keep_words: False forgets the words as soon as the program is run, to save memory.
    """
    program = read(source)
    motion = trace(program, mill.controller)
    unstated = not_stated(program, motion, mill.controller)
    asked = any(each.setting == "units" and each.matters for each in unstated)
    hints = unit_hints(program, motion) if asked else ()
    if not keep_words:
        program = program.without_words()
    motion = replace(motion, findings=(*motion.findings, *overtravel(source, motion, mill)))
    resolution = (mill.x.resolution, mill.y.resolution, mill.z.resolution)
    reversals = find_reversals(motion, resolution)
    return Counted(program, motion, reversals, unstated, hints)
