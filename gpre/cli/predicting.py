"""The course of `gpre predict`: read the files, run the program through, gather what is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.driver.counting import Counted, count
from gpre.driver.not_stated import unstated_findings, with_units_note
from gpre.driver.predicting import Predicted, predict_program
from gpre.mill.job_file import JobOptions, LoadedJob, find_job, with_options
from gpre.mill.profile import LoadedMill, find_mill, with_units
from gpre.report.diagnostics import in_order
from gpre.report.machine import findings_json
from gpre.report.not_stated import not_stated_json
from gpre.report.predict_json import predict_json
from gpre.report.settings import settings_json
from gpre.source.files import STANDARD_INPUT, read_program_text
from gpre.source.text import SourceText


@dataclass(frozen=True)
class PredictingRequest:
    """What was asked for on the command line."""

    file: str
    mill: Path | None
    units: str | None
    job: Path | None
    options: JobOptions
    intended: str | None


@dataclass(frozen=True)
class PredictingOutcome:
    """A prediction, the settings under which it came about, and what was found in each program.

    unstated: of each program, what nothing states.
    """

    found: Predicted
    mill: LoadedMill
    job: LoadedJob
    findings: tuple[tuple[SourceText, tuple[Diagnostic, ...]], ...]
    unstated: tuple[tuple[SourceText, tuple[Diagnostic, ...]], ...]

    def json(self) -> dict[str, Any]:
        """Return all of it as JSON takes it."""
        found = [
            each
            for source, some in (*self.unstated, *self.findings)
            for each in findings_json(source, some)
        ]
        return predict_json(self.found) | {
            "mill": self.mill.name or None,
            "job": self.job.name or None,
            "not_stated": not_stated_json(self.found.counted),
            "findings": settings_json(self.mill) + settings_json(self.job) + found,
        }


def predicted(request: PredictingRequest) -> PredictingOutcome:
    """Read what was named and predict."""
    if request.file == request.intended == STANDARD_INPUT:
        raise UsageFault("only one of the two programs can be standard input")
    mill = with_units(find_mill(request.mill), request.units)
    mill = replace(mill, mill=mill.mill.from_its_start())
    job = find_job(request.job, request.file)
    source = read_program_text(request.file)
    counted = count(source, mill.mill)
    job = with_options(job, request.options, counted.known_units)
    if mill.mill.set_up_for(job.job) != mill.mill:
        mill = replace(mill, mill=mill.mill.set_up_for(job.job))
        counted = count(source, mill.mill)
    intended = None
    if request.intended is not None:
        intended = count(read_program_text(request.intended), mill.mill)
        if not len(intended.motion):
            raise UsageFault(
                f"the program {request.intended} makes no move, so the part cannot come from it",
                help="name the program as it was before take-ups were put in: --intended FILE",
            )
    found = predict_program(counted, mill.mill, job.job, intended)
    programs = (counted,) if intended is None else (counted, intended)
    return PredictingOutcome(
        found,
        with_units_note(mill, request.units, *programs),
        job,
        tuple(_findings(each) for each in programs),
        tuple((each.program.source, unstated_findings(each)) for each in programs),
    )


def _findings(counted: Counted) -> tuple[SourceText, tuple[Diagnostic, ...]]:
    findings = in_order(counted.program.findings, counted.motion.findings)
    return counted.program.source, findings
