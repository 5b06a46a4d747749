"""What a script gives: programs, mill and job, each as a path or as an object."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, get_args

from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given
from gpre.mill.job import Job
from gpre.mill.job_file import find_job
from gpre.mill.mill import Mill
from gpre.mill.profile import find_mill
from gpre.report.records.findings import Finding
from gpre.scripting.findings import WrongTypeError, told_as_errors
from gpre.source.files import STANDARD_INPUT, program_text, read_bytes
from gpre.source.text import SourceText

Place = str | os.PathLike[str]
Units = Literal["mm", "inch"]


@dataclass(frozen=True)
class ProgramText:
    """A program as it was read.

    name: what findings call it. data: its bytes, all of them. path: the file, absolute; None where
    the bytes were given.
    """

    name: str
    data: bytes = field(repr=False)
    path: Path | None = None

    @property
    def text(self) -> str:
        """The program as text: UTF-8 where it is that, else Latin-1, which any bytes are."""
        source = SourceText.of(self.data, self.name)
        return self.data.decode(source.encoding)

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines of the program without their ends."""
        source = SourceText.of(self.data, self.name)
        return tuple(source.line_text(number + 1) for number in range(len(source)))


AnyProgram = Place | bytes | ProgramText
AnyMill = Place | Mill | None
AnyJob = Place | Job | None


@dataclass(frozen=True, kw_only=True)
class Result:
    """What all results have.

    mill, job: the files of the profile and the job, None where there is none: the mill is a guess,
    or an object that was given. findings: what was found in these files and in the programs.
    """

    mill: str | None
    job: str | None
    findings: tuple[Finding, ...] = field(repr=False)


@told_as_errors()
def read(program: AnyProgram, *, name: str = "the program") -> ProgramText:
    """Return a program, of which the file or the bytes are given.

    program: a text is the name of a file. name: what findings are to call a program given as bytes.
    Raises GpreError where the file cannot be read, is empty, or is no text.
    """
    if isinstance(program, ProgramText):
        return program
    if isinstance(program, bytes):
        return ProgramText(name, program_text(program, name).data)
    place = path_of(program, "a program", "bytes")
    data = program_text(read_bytes(place), place).data
    return ProgramText(place, data, Path(os.path.abspath(place)))  # noqa: PTH100


@told_as_errors()
def load_mill(path: Place | None = None) -> Mill:
    """Read a mill profile, for None your own at the default place; a cautious guess without one.

    Raises GpreError for a fault in the file.
    """
    return find_mill(None if path is None else Path(path_of(path, "a mill", "None"))).mill


@told_as_errors()
def load_job(path: Place) -> Job:
    """Read a job file. Raises GpreError for a fault in it."""
    return find_job(Path(path_of(path, "a job", "nothing else")), "").job


def source_of(program: ProgramText) -> SourceText:
    """Return a program with its lines found; raise FileFault where it holds nothing or no text."""
    return program_text(program.data, program.name)


def settings(mill: AnyMill, job: AnyJob, units: Units | None, *programs: ProgramText) -> Given:
    """Find mill and job as the commands do, but for those that are there as objects.

    programs: the job file lies beside the first of these that has one.
    """
    if units is not None and units not in get_args(Units):
        raise UsageFault(f"units {units!r} are not known", help="mm or inch")
    if mill is not None and not isinstance(mill, Mill):
        mill = Path(path_of(mill, "a mill", "gpre.Mill"))
    if job is not None and not isinstance(job, Job):
        job = Path(path_of(job, "a job", "gpre.Job"))
    return Given.find(mill, units, job, tuple(_place(each) for each in programs if each.path))


def path_of(place: object, what: str, other: str) -> str:
    """Return a path as a text; raise WrongTypeError where it is none.

    what: is to be found there. other: the type that may be given instead, for the words.
    """
    name = os.fspath(place) if isinstance(place, os.PathLike) else place
    if not isinstance(name, str):
        kind = type(place).__name__
        raise WrongTypeError(f"{what} is a path or {other}, and this is of type {kind}")
    if name == STANDARD_INPUT:
        raise UsageFault(
            "- is standard input for the commands alone",
            help="read it, and give the bytes: sys.stdin.buffer.read()",
        )
    if not name:
        raise UsageFault(f"the name of {what} is empty", help="name a file")
    if "\n" in name:
        raise UsageFault(f"this is no name of {what}: it has several lines", help=f"give {other}")
    return name


def _place(program: ProgramText) -> str:
    """Return the name of a file as it was given, while that still leads there."""
    same = os.path.abspath(program.name) == str(program.path)  # noqa: PTH100
    return program.name if same else str(program.path)
