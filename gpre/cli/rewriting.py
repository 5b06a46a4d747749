"""The course of `gpre rewrite`: read, rewrite, write, and then tell."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from rich.console import RenderableType

from gpre.cli.busy import busy
from gpre.cli.certifying import refuse_certificate, write_certificate
from gpre.cli.console import deliver, rendered, write_bytes
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given, names_in, rewrite_run
from gpre.driver.cut_plan import CutPlan, cut_plan
from gpre.driver.not_stated import unstated_in_rewrite
from gpre.driver.output import new_name, refuse_same_file, write_program
from gpre.driver.own_files import refuse_foreign_program
from gpre.driver.proving import as_proved
from gpre.driver.rewrite import Options, Rewritten
from gpre.mill.job_file import JobOptions, LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import findings_of, has_errors, render_findings, summary
from gpre.report.plan import what_more
from gpre.report.plan_cuts import render_cuts
from gpre.report.records.encode import json_text
from gpre.report.records.rewriting import rewrite_record
from gpre.report.rewrite import cautions, render_rewrite
from gpre.report.settings import render_settings
from gpre.source.files import STANDARD_INPUT, read_program_text
from gpre.source.text import SourceText


@dataclass(frozen=True)
class RewritingRequest:
    """What was asked for on the command line."""

    file: str
    output: str | None
    plan_only: bool
    mill: Path | None
    units: str | None
    job: Path | None
    options: JobOptions
    tolerance: float | None
    only: str | None
    skip: str | None
    comments: bool
    as_json: bool
    certificate: str | None = None
    force: bool = False

    @cached_property
    def target(self) -> str | None:
        """Where the new program goes; None where nothing is written."""
        if self.plan_only:
            return None
        return new_name(self.file) if self.output is None else self.output

    @property
    def talk(self) -> bool:
        """True where standard output is kept for the program."""
        return self.target == STANDARD_INPUT


@dataclass(frozen=True)
class RewritingOutcome:
    """The rewritten program, and the settings under which it came about."""

    request: RewritingRequest
    source: SourceText
    mill: LoadedMill
    job: LoadedJob
    rewritten: Rewritten

    @cached_property
    def findings(self) -> tuple[Diagnostic, ...]:
        """What was found in the original."""
        return findings_of(self.rewritten.before)

    @cached_property
    def unstated(self) -> tuple[Diagnostic, ...]:
        """What nothing states, and what is therefore not rewritten."""
        return unstated_in_rewrite(self.rewritten.before)

    @cached_property
    def target(self) -> str | None:
        """Where the new program goes; None where nothing is written, as with errors in the old."""
        return None if has_errors(self.findings) else self.request.target

    @cached_property
    def cuts(self) -> CutPlan | None:
        """The plan cut by cut, where the plan is asked for."""
        if not self.request.plan_only:
            return None
        return cut_plan(self.rewritten, self.mill.mill, self.job.job)


def run_rewrite(request: RewritingRequest) -> int:
    """Run the command; give its exit status."""
    outcome = _outcome(request)
    parts = [_told_json(outcome)] if request.as_json else _told(outcome)
    # laid out before the file is written: what fails here leaves no file behind
    told = "".join(rendered(part, talk=request.talk) for part in parts)
    written = _write(outcome)
    deliver(told, written, talk=request.talk)
    return 3 if has_errors(outcome.findings) else 0


def _write(outcome: RewritingOutcome) -> list[str]:
    """Write certificate and program; give the names of the files."""
    request, target = outcome.request, outcome.target
    if target is None:
        return []
    if not request.force:
        refuse_foreign_program(
            target, outcome.rewritten.data, outcome.source.data, request.certificate
        )
    _certify(outcome)  # before the program: where it cannot be written nothing is
    certificates = [] if request.certificate is None else [request.certificate]
    if target == STANDARD_INPUT:
        write_bytes(outcome.rewritten.data)
        return certificates
    so_far = f"the certificate {request.certificate} was written, for no program"
    write_program(outcome.rewritten.data, target, so_far if certificates else "")
    return [*certificates, target]


def _certify(outcome: RewritingOutcome) -> None:
    """Write the certificate that was asked for; none where no program is written."""
    name, target = outcome.request.certificate, outcome.target
    if name is None or target is None:
        return
    done = outcome.rewritten
    proved = as_proved(done.before, done.after, done.proof, outcome.mill.mill, outcome.job.job)
    names = outcome.source.name, "standard output" if target == STANDARD_INPUT else target
    write_certificate(name, proved, outcome.mill, outcome.job, names)


def _outcome(request: RewritingRequest) -> RewritingOutcome:
    if request.target is not None:
        refuse_same_file(request.file, request.target)
    only, skip = names_in("--only", request.only), names_in("--skip", request.skip)
    options = Options(only, skip, request.comments)
    source = read_program_text(request.file)
    given = Given.find(request.mill, request.units, request.job, (request.file,), request.options)
    mill, job = given.mill.name, given.job.name
    if request.target is not None:
        for name, what in ((mill, "the mill profile"), (job, "the job file")):
            if name:
                refuse_same_file(name, request.target, what)
    _check_certificate(request, mill, job)
    with busy("reading the program") as tell:
        rewritten, given = rewrite_run(source, given, options, request.tolerance, tell)
    return RewritingOutcome(request, source, given.mill, given.job, rewritten)


def _check_certificate(request: RewritingRequest, mill: str, job: str) -> None:
    if request.certificate is None:
        return
    if request.target is None:
        raise UsageFault(
            "--certificate goes with a program that is written, and --plan writes nothing",
            help="leave --plan out, or run gpre prove on the two programs later",
        )
    others = (
        (request.file, "the input"),
        (request.target, "the output too"),
        (mill, "the mill profile"),
        (job, "the job file"),
    )
    refuse_certificate(request.certificate, others, force=request.force)


def _told(outcome: RewritingOutcome) -> list[RenderableType]:
    """Return what people are told, part by part."""
    rewritten = outcome.rewritten
    parts: list[RenderableType] = [
        render_findings(outcome.source, outcome.unstated),
        render_settings(outcome.mill),
        render_settings(outcome.job),
        render_findings(outcome.source, outcome.findings),
    ]
    told = (*outcome.unstated, *outcome.findings)
    if told:
        parts.append(f"{summary(told)}; gpre explain CODE says more\n")
        parts.append("\n")
    if outcome.cuts is not None and outcome.cuts.rows:
        parts += [render_cuts(outcome.cuts), "\n"]
    parts += render_rewrite(rewritten)
    more = what_more(rewritten.plan)
    if more:
        parts.append(f"\n{more}\n")
    parts.append(f"\n{_written(outcome)}\n")
    if outcome.request.certificate is not None and outcome.target is not None:
        parts.append(f"certificate: {outcome.request.certificate}\n")
    if outcome.target is not None:
        parts.append(f"\n{cautions()}\n")
    return parts


def _written(outcome: RewritingOutcome) -> str:
    target = outcome.target
    if has_errors(outcome.findings):
        return "nothing written: the program has errors; fix them first"
    if target is None:
        return "nothing written: the plan alone was asked for"
    name = "standard output" if target == STANDARD_INPUT else target
    if not outcome.rewritten.changed:
        return f"written: {name}, the same bytes as the original"
    before, after = len(outcome.source), len(outcome.rewritten.after.program)
    return f"written: {name}, {after:,} blocks (the original has {before:,})"


def _told_json(outcome: RewritingOutcome) -> str:
    request = outcome.request
    record = rewrite_record(
        outcome.rewritten,
        outcome.mill,
        outcome.job,
        output=request.target,
        certificate=request.certificate,
        cuts=outcome.cuts,
    )
    return json_text(record)
