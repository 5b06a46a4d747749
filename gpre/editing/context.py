"""All that a rewrite may look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from gpre.cuts.cuts import Cut
from gpre.editing.cycle_words import CycleWords, cycle_table
from gpre.editing.editable import Editable, editable_of
from gpre.editing.proposal import Proposal, Refusal
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.motion.motion import Motion
from gpre.program.program import Program
from gpre.reversals.reversals import Reversals
from gpre.room.clearance import Clearance


@dataclass(frozen=True)
class Context:
    """A program, what is known of it, and the mill and the job that it is for.

    comments: new blocks carry a short comment. What follows from these is worked out once, when it
    is first asked for.
    """

    program: Program
    motion: Motion
    reversals: Reversals
    cuts: tuple[Cut, ...]
    mill: Mill
    job: Job
    comments: bool = True

    @cached_property
    def editable(self) -> Editable:
        """Which blocks may be edited, and what is in force there."""
        return editable_of(self.program, self.motion)

    @cached_property
    def clearance(self) -> Clearance:
        """Where a tool in the air is clear of the part."""
        return Clearance(self.program, self.motion, self.mill, self.job)

    @cached_property
    def cycles(self) -> Mapping[int, CycleWords]:
        """The words of the canned cycle in force after each block that drills."""
        return cycle_table(self.editable)


Rewrite = Callable[[Context], Iterable[Proposal | Refusal]]
