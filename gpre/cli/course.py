"""The course of every command: find the files, read, run, write, report, exit status.

A command does the first three by itself and returns an `CommandOutcome`; `finish` does the rest.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from rich.console import RenderableType

from gpre.cli.console import deliver, rendered
from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given
from gpre.mill.job_file import JobOptions
from gpre.report.records.encode import json_text
from gpre.source.files import STANDARD_INPUT

DONE, DIFFERS, FAULTY, NOT_PROVED = 0, 1, 3, 4  # exit statuses; wrong usage is a fault


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What every command that reads programs is asked for; None where an option is left out."""

    mill: Path | None = None
    units: str | None = None
    as_json: bool = False

    def given(self, *programs: str) -> Given:
        """Find the mill profile."""
        return Given.find(self.mill, self.units, programs=programs)


@dataclass(frozen=True, kw_only=True)
class AskedWithJob(Asked):
    """The same of a command that takes a job, with the options that stand over its file."""

    job: Path | None = None
    tools: tuple[str, ...] = ()
    stock: str | None = None
    cut: str | None = None
    origins: tuple[str, ...] = ()
    lengths: tuple[str, ...] = ()
    ramps: tuple[str, ...] = ()

    def given(self, *programs: str) -> Given:
        """Find mill profile and job file, which may lie beside one of the programs."""
        options = JobOptions(
            self.tools, self.stock, self.cut, self.origins, self.lengths, self.ramps
        )
        return Given.find(self.mill, self.units, self.job, programs, options)


class CommandOutcome(ABC):
    """What a command came to."""

    @property
    def status(self) -> int:
        """The exit status."""
        return DONE

    @property
    def talks(self) -> bool:
        """True where standard output is kept for a program, so the report is talk too."""
        return False

    @abstractmethod
    def record(self) -> object:
        """Return what --json prints."""

    @abstractmethod
    def told(self) -> Iterable[RenderableType]:
        """Return the report, part by part."""

    def talk(self) -> Iterable[RenderableType]:
        """Return what goes to standard error before the report, such as findings."""
        return ()

    def last_word(self) -> str:
        """Return what goes to standard error after the report, or ""."""
        return ""

    def write(self) -> list[str]:
        """Write the files that were asked for; return their names."""
        return []


def finish(outcome: CommandOutcome, *, as_json: bool) -> int:
    """Write the files of a command and deliver its report; return its exit status."""
    talk = [] if as_json else [rendered(each, talk=True) for each in outcome.talk()]
    parts = [json_text(outcome.record())] if as_json else outcome.told()
    # laid out before a file is written: what fails here leaves no file behind
    told = [rendered(each, talk=outcome.talks) for each in parts]
    written = outcome.write()
    deliver("".join(talk), written, talk=True)
    deliver("".join(told), written, talk=outcome.talks)
    deliver("" if as_json else outcome.last_word(), written, talk=True)
    return outcome.status


def refuse_input_twice(*programs: str | None) -> None:
    """Raise UsageFault where two programs are to be read from standard input."""
    if programs.count(STANDARD_INPUT) > 1:
        raise UsageFault("only one of the two programs can be standard input")
