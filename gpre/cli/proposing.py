"""The course of `gpre job`."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass

from rich.console import RenderableType

from gpre.cli.console import write_bytes
from gpre.cli.course import DONE, FAULTY, Asked, CommandOutcome
from gpre.diagnostics.faults import UsageFault
from gpre.driver.counting import Counted
from gpre.driver.course import count_run
from gpre.driver.job_proposal import JobProposal, propose_job
from gpre.driver.output import write_program
from gpre.mill.job_file import job_place
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import all_findings_of, has_errors
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.records.proposing import JobProposalRecord, proposal_record
from gpre.report.wording import counted as number_of
from gpre.report.wording import visible
from gpre.source.files import STANDARD_INPUT, read_program_text


@dataclass(frozen=True, kw_only=True)
class JobAsked(Asked):
    """What was asked for on the command line."""

    file: str
    output: str | None


@dataclass(frozen=True)
class JobOutcome(CommandOutcome):
    """A program, what it says of its job, and where that goes."""

    target: str
    proposal: JobProposal
    counted: Counted
    mill: LoadedMill

    @property
    def faulty(self) -> bool:
        """True where the program has faults; then nothing is written."""
        return has_errors(all_findings_of(self.counted))

    @property
    def status(self) -> int:
        """The exit status."""
        return FAULTY if self.faulty else DONE

    @property
    def talks(self) -> bool:
        """True where standard output is kept for the job file."""
        return self.target == STANDARD_INPUT

    def record(self) -> JobProposalRecord:
        """Return what --json prints."""
        return proposal_record(self.proposal, self.target, self.counted, self.mill)

    def talk(self) -> list[RenderableType]:
        """Return what was found in the program."""
        return found_parts([ProgramFindings.of(self.counted)], self.mill, notes=False)

    def told(self) -> Iterator[RenderableType]:
        """Return what was written and what to do next."""
        if self.faulty:
            yield "nothing written: the program has faults; fix them first\n"
            return
        name = "standard output" if self.talks else visible(self.target)
        tools, missing = self.proposal.tools, self.proposal.unnamed
        read = len(tools) - len(missing)
        yield f"written: {name}\n"
        yield f"{number_of(read, 'tool')} from comments: look whether they are right\n"
        if missing:
            names = ", ".join(f"T{number}" for number in missing)
            yield f"to be named: {names}\n"
        yield "to be measured: the stock; its corners stand there behind a #\n"

    def write(self) -> list[str]:
        """Write the job file."""
        if self.faulty:
            return []
        data = self.proposal.text().encode()
        if self.talks:
            write_bytes(data)
            return []
        write_program(data, self.target)
        return [self.target]


def proposed(asked: JobAsked) -> JobOutcome:
    """Read the program and look at it; nothing is written yet."""
    beside = job_place(asked.file)
    target = asked.output or (STANDARD_INPUT if beside is None else str(beside))
    if target != STANDARD_INPUT and os.path.lexists(target):
        raise UsageFault(
            f"there is a file {target} already, and it may be yours",
            help="name another one: --output OUT, or - for standard output",
        )
    found, given = count_run(read_program_text(asked.file), asked.given())
    mill = given.mill.mill.from_its_start()
    return JobOutcome(target, propose_job(found, mill), found, given.mill)
