"""The course of `gpre predict`: read the files, run the program through, gather what is told."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given, predict_run
from gpre.driver.not_stated import unstated_findings
from gpre.driver.predicting import Predicted
from gpre.mill.job_file import JobOptions, LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.report.diagnostics import findings_of
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


def predicted(request: PredictingRequest) -> PredictingOutcome:
    """Read what was named and predict."""
    if request.file == request.intended == STANDARD_INPUT:
        raise UsageFault("only one of the two programs can be standard input")
    given = Given.find(request.mill, request.units, request.job, (request.file,), request.options)
    source = read_program_text(request.file)
    intended = None if request.intended is None else read_program_text(request.intended)
    found, given = predict_run(source, given, intended)
    programs = [found.counted] if found.intended is None else [found.counted, found.intended]
    return PredictingOutcome(
        found,
        given.mill,
        given.job,
        tuple((each.program.source, findings_of(each)) for each in programs),
        tuple((each.program.source, unstated_findings(each)) for each in programs),
    )
