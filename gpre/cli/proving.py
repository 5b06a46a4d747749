"""The course of `gpre prove`: read two programs, prove, write the certificate, and then tell."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from rich.console import RenderableType

from gpre.cli.busy import busy
from gpre.cli.certifying import refuse_certificate, write_certificate
from gpre.cli.console import deliver, rendered
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given, prove_run
from gpre.driver.not_stated import unstated_in_proof
from gpre.driver.proving import Proved
from gpre.mill.job_file import JobOptions, LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import findings_of, render_findings, summary
from gpre.report.prove import faulty, render_prove
from gpre.report.records.encode import json_text
from gpre.report.records.proofs import prove_record
from gpre.report.rewrite import cautions
from gpre.report.settings import render_settings
from gpre.source.files import STANDARD_INPUT, read_program_text

NOT_PROVED, FAULTY = 4, 3


@dataclass(frozen=True)
class ProvingRequest:
    """What was asked for on the command line."""

    before: str
    after: str
    mill: Path | None
    units: str | None
    job: Path | None
    options: JobOptions
    certificate: str | None
    as_json: bool


@dataclass(frozen=True)
class ProvingOutcome:
    """A proof, and the settings under which it came about."""

    request: ProvingRequest
    proved: Proved
    mill: LoadedMill
    job: LoadedJob

    @property
    def status(self) -> int:
        """The exit status."""
        if faulty(self.proved):
            return FAULTY
        return 0 if self.proved.holds else NOT_PROVED

    @property
    def names(self) -> tuple[str, str]:
        """The names of both programs."""
        return self.proved.before.program.source.name, self.proved.after.program.source.name


def run_prove(request: ProvingRequest) -> int:
    """Run the command; give its exit status."""
    outcome = _outcome(request)
    talk = [] if request.as_json else [rendered(part, talk=True) for part in _talk(outcome)]
    parts = [_json(outcome)] if request.as_json else _told(outcome)
    told = "".join(rendered(part) for part in parts)
    if request.certificate is not None:
        write_certificate(
            request.certificate, outcome.proved, outcome.mill, outcome.job, outcome.names
        )
    written = [] if request.certificate is None else [request.certificate]
    deliver("".join(talk), written, talk=True)
    deliver(told, written)
    return outcome.status


def _outcome(request: ProvingRequest) -> ProvingOutcome:
    if request.before == request.after == STANDARD_INPUT:
        raise UsageFault("only one of the two programs can be standard input")
    files = request.before, request.after
    given = Given.find(request.mill, request.units, request.job, files, request.options)
    if request.certificate is not None:
        refuse_certificate(
            request.certificate,
            (
                (request.before, "the first program"),
                (request.after, "the second program"),
                (given.mill.name, "the mill profile"),
                (given.job.name, "the job file"),
            ),
        )
    before, after = read_program_text(request.before), read_program_text(request.after)
    with busy("proving one program against the other"):
        proved, given = prove_run(before, after, given)
    return ProvingOutcome(request, proved, given.mill, given.job)


def _talk(outcome: ProvingOutcome) -> list[RenderableType]:
    """Return what was found in the files."""
    proved = outcome.proved
    old, new = findings_of(proved.before), _new_findings(proved)
    sides = (proved.before, proved.after)
    unstated = [unstated_in_proof(each) for each in sides]
    known = {(each.code, each.message) for each in unstated[0]}
    unstated[1] = tuple(each for each in unstated[1] if (each.code, each.message) not in known)
    parts: list[RenderableType] = [
        *(
            render_findings(side.program.source, found)
            for side, found in zip(sides, unstated, strict=True)
        ),
        render_settings(outcome.mill),
        render_settings(outcome.job),
        render_findings(proved.before.program.source, old),
        render_findings(proved.after.program.source, new),
    ]
    told = (*unstated[0], *unstated[1], *old, *new)
    if told:
        parts.append(f"{summary(told)}; gpre explain CODE says more\n\n")
    return parts


def _told(outcome: ProvingOutcome) -> list[RenderableType]:
    """Return the proof, part by part."""
    name = outcome.request.certificate or ""
    parts = render_prove(outcome.proved, outcome.job.job, name)
    parts.append(f"\n{cautions()}\n")
    return parts


def _new_findings(proved: Proved) -> tuple[Diagnostic, ...]:
    """Return the findings of the second program that the first one does not have as well."""
    old = Counter((each.code, each.message) for each in findings_of(proved.before))
    result = []
    for each in findings_of(proved.after):
        key = (each.code, each.message)
        if old[key] > 0:
            old[key] -= 1
        else:
            result.append(each)
    return tuple(result)


def _json(outcome: ProvingOutcome) -> str:
    certificate = outcome.request.certificate
    return json_text(prove_record(outcome.proved, outcome.mill, outcome.job, certificate))
