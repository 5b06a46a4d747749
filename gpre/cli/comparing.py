"""The course of `gpre diff`."""

from __future__ import annotations

from dataclasses import dataclass

from rich.console import RenderableType

from gpre.cli.course import DIFFERS, DONE, Asked, CommandOutcome, refuse_input_twice
from gpre.comparison.comparison import Comparison
from gpre.driver.counting import Counted
from gpre.driver.course import compare_run
from gpre.driver.not_stated import unstated_findings
from gpre.mill.profile import LoadedMill
from gpre.report.diff import render_diff
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.records.comparing import DiffRecord, diff_record
from gpre.source.files import read_program_text


@dataclass(frozen=True, kw_only=True)
class DiffAsked(Asked):
    """What was asked for on the command line."""

    before: str
    after: str


@dataclass(frozen=True)
class DiffOutcome(CommandOutcome):
    """Two programs compared, and the mill under which they were."""

    comparison: Comparison
    sides: tuple[Counted, Counted]
    mill: LoadedMill

    @property
    def status(self) -> int:
        """The exit status."""
        return DONE if self.comparison.same_motion else DIFFERS

    def record(self) -> DiffRecord:
        """Return what --json prints."""
        return diff_record(self.comparison, *self.sides)

    def talk(self) -> list[RenderableType]:
        """Return what nothing states in the programs."""
        programs = [
            ProgramFindings(each.program.source, unstated_findings(each), ()) for each in self.sides
        ]
        return found_parts(programs, self.mill, notes=False)

    def told(self) -> list[RenderableType]:
        """Return what differs."""
        return [render_diff(self.comparison)]


def compared(asked: DiffAsked) -> DiffOutcome:
    """Read both programs and compare them."""
    refuse_input_twice(asked.before, asked.after)
    given = asked.given()
    texts = read_program_text(asked.before), read_program_text(asked.after)
    comparison, sides, given = compare_run(*texts, given)
    return DiffOutcome(comparison, sides, given.mill)
