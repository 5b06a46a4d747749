"""The course of `gpre predict`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rich.console import RenderableType

from gpre.cli.course import DONE, FAULTY, AskedWithJob, CommandOutcome, refuse_input_twice
from gpre.driver.counting import Counted
from gpre.driver.course import Given, predict_run
from gpre.driver.predicting import Predicted
from gpre.report.count import opening_line, stops_early
from gpre.report.diagnostics import findings_of, has_errors
from gpre.report.found import ProgramFindings, found_parts
from gpre.report.predict import render_predict
from gpre.report.records.predicting import PredictRecord, predict_record
from gpre.report.rewrite import cautions
from gpre.source.files import read_program_text


@dataclass(frozen=True, kw_only=True)
class PredictAsked(AskedWithJob):
    """What was asked for on the command line."""

    file: str
    intended: str | None


@dataclass(frozen=True)
class PredictOutcome(CommandOutcome):
    """A prediction, and the settings under which it came about."""

    found: Predicted
    given: Given

    @property
    def programs(self) -> list[Counted]:
        """The programs that were read."""
        both = self.found.counted, self.found.intended
        return [each for each in both if each is not None]

    @property
    def status(self) -> int:
        """The exit status."""
        return FAULTY if any(has_errors(findings_of(each)) for each in self.programs) else DONE

    def record(self) -> PredictRecord:
        """Return what --json prints."""
        return predict_record(self.found, self.given.mill, self.given.job)

    def talk(self) -> list[RenderableType]:
        """Return what was found in the files."""
        programs = [ProgramFindings.of(each) for each in self.programs]
        return found_parts(programs, self.given.mill, self.given.job)

    def told(self) -> Iterator[RenderableType]:
        """Return the prediction."""
        program, motion = self.found.counted.program, self.found.counted.motion
        yield opening_line(program, motion) + "\n"
        line = stops_early(program, motion)
        if line is not None:
            yield f"predicted up to line {line - 1} only; what follows could not be followed\n"
        yield render_predict(self.found, self.given.mill.name)
        yield f"\n{cautions()}\n"


def predicted(asked: PredictAsked) -> PredictOutcome:
    """Read the program, and the intended one, and predict."""
    refuse_input_twice(asked.file, asked.intended)
    given = asked.given(asked.file)
    program = read_program_text(asked.file)
    intended = None if asked.intended is None else read_program_text(asked.intended)
    return PredictOutcome(*predict_run(program, given, intended))
