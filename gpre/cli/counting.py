"""The course of `gpre count`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rich.console import RenderableType

from gpre.cli.course import DIFFERS, DONE, FAULTY, Asked, CommandOutcome
from gpre.driver.counting import Counted
from gpre.driver.course import count_run
from gpre.mill.profile import LoadedMill
from gpre.report.count import count_axes, count_table, list_lines, opening_line, stops_early
from gpre.report.diagnostics import all_findings_of, has_errors
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.records.counting import CountRecord, count_record
from gpre.source.files import read_program_text


@dataclass(frozen=True, kw_only=True)
class CountAsked(Asked):
    """What was asked for on the command line."""

    file: str
    listed: bool
    limit: int | None


@dataclass(frozen=True)
class CountOutcome(CommandOutcome):
    """A program with its reversals, and the mill under which they were counted."""

    asked: CountAsked
    counted: Counted
    mill: LoadedMill

    @property
    def exceeded(self) -> bool:
        """True where more reversals happen while cutting than --limit allows."""
        return self.asked.limit is not None and self.counted.in_cut > self.asked.limit

    @property
    def status(self) -> int:
        """The exit status."""
        if has_errors(all_findings_of(self.counted)):
            return FAULTY
        return DIFFERS if self.exceeded else DONE

    def record(self) -> CountRecord:
        """Return what --json prints."""
        limit, listed = self.asked.limit, self.asked.listed
        return count_record(self.counted, self.mill, limit=limit, listed=listed)

    def talk(self) -> list[RenderableType]:
        """Return what was found in the program."""
        return found_parts([ProgramFindings.of(self.counted)], self.mill, notes=False)

    def told(self) -> Iterator[RenderableType]:
        """Return the counts, and each reversal where they are listed."""
        counted = self.counted
        yield opening_line(counted.program, counted.motion) + "\n"
        line = stops_early(counted.program, counted.motion)
        if line is not None:
            yield f"counted up to line {line - 1} only; what follows could not be followed\n"
        yield "\n"
        yield count_table(count_axes(counted.reversals))
        if self.asked.listed:
            yield "\n"
            for text in list_lines(counted.motion, counted.reversals):
                yield text + "\n"

    def last_word(self) -> str:
        """Say where the limit is exceeded."""
        if not self.exceeded:
            return ""
        count, limit = self.counted.in_cut, self.asked.limit
        return f"limit exceeded: {count:,} reversals while cutting, limit {limit:,}\n"


def counted(asked: CountAsked) -> CountOutcome:
    """Read the program and count."""
    given = asked.given()
    found, given = count_run(read_program_text(asked.file), given)
    return CountOutcome(asked, found, given.mill)
