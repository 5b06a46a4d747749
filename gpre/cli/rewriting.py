"""The course of `gpre rewrite`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from rich.console import RenderableType

from gpre.cli.busy import busy
from gpre.cli.certifying import refuse_certificate, write_certificate
from gpre.cli.console import write_bytes
from gpre.cli.course import DONE, FAULTY, AskedWithJob, CommandOutcome
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given, names_in, rewrite_run
from gpre.driver.cut_plan import CutPlan, cut_plan
from gpre.driver.not_stated import unstated_in_rewrite
from gpre.driver.outlook import Outlook, outlooks
from gpre.driver.output import new_name, refuse_same_file, write_program
from gpre.driver.own_files import refuse_foreign_program
from gpre.driver.proving import as_proved
from gpre.driver.rewrite import Options, Rewritten
from gpre.report.diagnostics import findings_of, has_errors
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.outlook import compensation_text, outlook_table, unknown_text
from gpre.report.plan import what_more
from gpre.report.plan_cuts import render_cuts
from gpre.report.records.rewriting import RewriteRecord, rewrite_record
from gpre.report.rewrite import cautions, render_rewrite, render_verdict
from gpre.report.wording import visible
from gpre.source.files import STANDARD_INPUT, read_program_text


@dataclass(frozen=True, kw_only=True)
class RewriteAsked(AskedWithJob):
    """What was asked for on the command line."""

    file: str
    output: str | None
    plan_only: bool
    tolerance: float | None
    only: str | None
    skip: str | None
    no_comments: bool
    certificate: str | None
    force: bool
    full: bool

    @cached_property
    def target(self) -> str | None:
        """Where the new program goes; None where nothing is written."""
        if self.plan_only:
            return None
        return new_name(self.file) if self.output is None else self.output


@dataclass(frozen=True)
class RewriteOutcome(CommandOutcome):
    """The rewritten program, and the settings under which it came about."""

    asked: RewriteAsked
    rewritten: Rewritten
    given: Given

    @cached_property
    def findings(self) -> tuple[Diagnostic, ...]:
        """What was found in the original."""
        return findings_of(self.rewritten.before)

    @property
    def status(self) -> int:
        """The exit status."""
        return FAULTY if has_errors(self.findings) else DONE

    @property
    def talks(self) -> bool:
        """True where standard output is kept for the program."""
        return self.asked.target == STANDARD_INPUT

    @property
    def target(self) -> str | None:
        """Where the new program goes; None where nothing is written, as with errors in the old."""
        return None if has_errors(self.findings) else self.asked.target

    @cached_property
    def cuts(self) -> CutPlan | None:
        """The plan cut by cut, where the plan is asked for."""
        if not self.asked.plan_only:
            return None
        return cut_plan(self.rewritten, self.given.mill.mill, self.given.job.job)

    @cached_property
    def outlooks(self) -> tuple[Outlook, Outlook]:
        """What both programs come to."""
        return outlooks(self.rewritten, self.given.mill.mill, self.given.job.job)

    def record(self) -> RewriteRecord:
        """Return what --json prints."""
        return rewrite_record(
            self.rewritten,
            self.given.mill,
            self.given.job,
            output=self.asked.target,
            certificate=self.asked.certificate,
            cuts=self.cuts,
            outlooks=self.outlooks,
        )

    def told(self) -> Iterator[RenderableType]:
        """Return what was found, done and written."""
        before = self.rewritten.before
        found = ProgramFindings.of(before, unstated_in_rewrite)
        yield from found_parts([found], self.given.mill, self.given.job)
        if self.cuts is not None and self.cuts.rows:
            yield from (render_cuts(self.cuts), "\n")
        yield f"{self._written()}\n\n"
        yield outlook_table(*self.outlooks, self.rewritten.before.units)
        if left_out := unknown_text(self.outlooks[1]):
            yield f"{left_out}\n"
        yield f"{compensation_text(self.rewritten, self.given.mill.mill)}\n\n"
        yield from (render_verdict(self.rewritten.proof, full=self.asked.full), "\n")
        yield from render_rewrite(self.rewritten)
        more = what_more(self.rewritten.plan)
        if more:
            yield f"\n{more}\n"
        if self.target is not None:
            if self.asked.certificate is not None:
                yield f"certificate: {visible(self.asked.certificate)}\n"
            yield f"\n{cautions()}\n"

    def _written(self) -> str:
        target = self.target
        if has_errors(self.findings):
            return "nothing written: the program has faults; fix them first"
        if target is None:
            return "nothing written: the plan alone was asked for"
        name = "standard output" if target == STANDARD_INPUT else visible(target)
        if not self.rewritten.changed:
            return f"written: {name}, the same bytes as the original"
        before, after = (
            len(each.program) for each in (self.rewritten.before, self.rewritten.after)
        )
        return f"written: {name}, {after:,} blocks (the original has {before:,})"

    def write(self) -> list[str]:
        """Write certificate and program."""
        asked, target, done = self.asked, self.target, self.rewritten
        if target is None:
            return []
        if not asked.force:
            old = done.before.program.source.data
            refuse_foreign_program(target, done.data, old, asked.certificate)
        written = self._certify(target)  # before the program: where it cannot be written nothing is
        if target == STANDARD_INPUT:
            write_bytes(done.data)
            return written
        so_far = f"the certificate {asked.certificate} was written, for no program"
        write_program(done.data, target, so_far if written else "")
        return [*written, target]

    def _certify(self, target: str) -> list[str]:
        name, done, given = self.asked.certificate, self.rewritten, self.given
        if name is None:
            return []
        proved = as_proved(done.before, done.after, done.proof, given.mill.mill, given.job.job)
        after = "standard output" if target == STANDARD_INPUT else target
        write_certificate(name, proved, given, (done.before.program.source.name, after))
        return [name]


def rewritten(asked: RewriteAsked) -> RewriteOutcome:
    """Read the program and rewrite it; nothing is written yet."""
    if asked.target is not None:
        refuse_same_file(asked.file, asked.target)
    names = names_in("--only", asked.only), names_in("--skip", asked.skip)
    program = read_program_text(asked.file)
    given = asked.given(asked.file)
    _refuse_files(asked, given)
    with busy("reading the program") as tell:
        options = Options(*names, not asked.no_comments)
        done, given = rewrite_run(program, given, options, asked.tolerance, tell)
    return RewriteOutcome(asked, done, given)


def _refuse_files(asked: RewriteAsked, given: Given) -> None:
    """Raise UsageFault where the program or its certificate would go over a file in use."""
    settings = (given.mill.name, "the mill profile"), (given.job.name, "the job file")
    for name, what in settings:
        if asked.target is not None and name:
            refuse_same_file(name, asked.target, what)
    if asked.certificate is None:
        return
    if asked.target is None:
        raise UsageFault(
            "--certificate goes with a program that is written, and --plan writes nothing",
            help="leave --plan out, or run gpre prove on the two programs later",
        )
    programs = (asked.file, "the input"), (asked.target, "the output too")
    refuse_certificate(asked.certificate, (*programs, *settings), force=asked.force)
