"""Reads what is known of a job: from a TOML file, and from the options of a command."""

from __future__ import annotations

import errno
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import radians
from pathlib import Path
from typing import TypeVar

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.mill.job import DIAMETER, JOB_UNITS, PLACE, Box, Job, Tool
from gpre.motion.controller import TOOL_LENGTH, WORK_SYSTEMS, Point
from gpre.motion.offsets import system_name
from gpre.motion.state import scale_of
from gpre.settings.keys import read_record
from gpre.settings.table import Settings
from gpre.settings.toml_file import SettingsFile
from gpre.source.decimals import read_option

GREATEST_RAMP = 90.0  # degrees
SUFFIX = ".job.toml"
_TOOL = re.compile(r"\s*[Tt]?(\d{1,7})\s*", re.ASCII)
_H = re.compile(r"\s*[Hh]?0*([1-9]\d{0,5})\s*", re.ASCII)
T = TypeVar("T")


@dataclass(frozen=True)
class LoadedJob:
    """A job, the file it comes from ("" for none), the file's bytes, and what was found there."""

    job: Job
    name: str = ""
    data: bytes = b""
    findings: tuple[Diagnostic, ...] = ()


def load_job(path: Path) -> Job:
    """Read a job file; raise FileFault where it cannot be read or is faulty."""
    return read_job(SettingsFile.read(str(path))).job


def find_job(path: Path | None, program: str) -> LoadedJob:
    """Read the named job file, else the one beside the program, else give an empty job."""
    if path is not None:
        return read_job(SettingsFile.read(str(path)))
    beside = job_place(program)
    if beside is None or not _is_there(beside):
        return LoadedJob(Job())
    found = read_job(SettingsFile.read(str(beside)))
    note = Diagnostic("JOB603", f"tools and stock are taken from {beside}")
    return replace(found, findings=(note, *found.findings))


def _is_there(place: Path) -> bool:
    try:
        return place.is_file()
    except OSError as error:
        # the program's own name may just fit: then no job file can have the longer one
        if error.errno == errno.ENAMETOOLONG:
            return False
        raise


def job_place(program: str) -> Path | None:
    """Return where the job file of a program would lie: plate.ngc has plate.job.toml beside it."""
    path = Path(program)
    if program == "-" or not path.name:
        return None
    return path.with_name(path.stem + SUFFIX)


def read_job(file: SettingsFile) -> LoadedJob:
    """Check every key of a job file; raise FileFault with all faults at their places."""
    root = Settings.root(file)
    file.scale = scale_of(JOB_UNITS.takes.read(root, JOB_UNITS.name) or 21)
    job = read_record(root, Job)
    findings = file.close()
    assert job is not None  # no key of a job file must be there
    return LoadedJob(job, file.name, file.data, findings)


@dataclass(frozen=True)
class JobOptions:
    """What a command line says of a job, as it was typed; lengths in the program's units.

    tools: `N=DIAMETER` each. stock: `XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX`. cut: as the job has it.
    origins: `G55=X,Y,Z` each, machine coordinates. lengths: `H3=LENGTH` each. ramps: `N=DEGREES`
    each.
    """

    tools: tuple[str, ...] = ()
    stock: str | None = None
    cut: str | None = None
    origins: tuple[str, ...] = ()
    lengths: tuple[str, ...] = ()
    ramps: tuple[str, ...] = ()

    @property
    def a_length(self) -> str:
        """One of them that is in the program's units, as it was typed, or ""."""
        named = (
            *(f"--tool {text}" for text in self.tools),
            *(f"--stock {text}" for text in (self.stock,) if text is not None),
            *(f"--work-offset {text}" for text in self.origins),
            *(f"--tool-length {text}" for text in self.lengths),
        )
        return next(iter(named), "")


def with_options(loaded: LoadedJob, options: JobOptions, units: int | None) -> LoadedJob:
    """Put the options of a command over a job; lengths are in the program's units (20 or 21).

    units: None where nothing states them. Raise UsageFault for an option that cannot be read, and
    for a length where the units are not known.
    """
    if units is None and options.a_length:
        raise UsageFault(
            f"{options.a_length} cannot be read: it is in the units of the program, and neither "
            "the program nor a mill profile says mm or inch",
            help="give --units mm or --units inch too, or name tools and stock in a job file, "
            "which has units of its own",
        )
    scale = 1.0 if units is None else scale_of(units)
    job = loaded.job
    given: dict[int, Tool] = {}
    for number, diameter in _each_once("--tool", map(parse_tool, options.tools)):
        known = given.get(number) or job.tools.get(number) or Tool(diameter)
        given[number] = replace(known, diameter=diameter * scale)
    stock = options.stock
    box = job.stock
    if stock is not None:
        told = parse_stock(stock)
        box = Box(_scaled(told.min, scale), _scaled(told.max, scale))
    systems = _each_once("--work-offset", map(parse_origin, options.origins))
    origins = {system: _scaled(at, scale) for system, at in systems}
    heights = _each_once("--tool-length", map(parse_length, options.lengths))
    lengths = {number: at * scale for number, at in heights}
    taken = replace(
        job,
        tools={**job.tools, **given},
        stock=box,
        cut=job.cut if options.cut is None else options.cut,
        origins={**job.origins, **origins},
        lengths={**job.lengths, **lengths},
    )
    findings = loaded.findings
    if units == 20 and options.a_length:
        findings = (*findings, _in_inches(given, taken.stock if stock is not None else None))
    return replace(loaded, job=taken, findings=findings)


def with_ramps(loaded: LoadedJob, options: JobOptions) -> LoadedJob:
    """Say how steeply tools may go down, tools that are known by now.

    Raise UsageFault for an option that cannot be read, or that names no tool.
    """
    tools = dict(loaded.job.tools)
    for number, angle in _each_once("--ramp", map(parse_ramp, options.ramps)):
        if number not in tools:
            raise UsageFault(
                f"--ramp {number} names a tool whose diameter is not known",
                help=f"give it too: --tool {number}=DIAMETER",
            )
        tools[number] = replace(tools[number], max_ramp_angle=angle)
    return replace(loaded, job=replace(loaded.job, tools=tools))


def _each_once(option: str, pairs: Iterable[tuple[int, T]]) -> list[tuple[int, T]]:
    """Return what an option names; raise UsageFault where it says two things of one number."""
    found: dict[int, T] = {}
    for number, value in pairs:
        if found.setdefault(number, value) != value:
            what = system_name(number) if option == "--work-offset" else str(number)
            raise UsageFault(
                f"{option} {what} is given twice, with different values", help="give it once"
            )
    return list(found.items())


def _in_inches(tools: Mapping[int, Tool], stock: Box | None) -> Diagnostic:
    """Say what the options come to in mm: the units are the program's, not the user's choice."""
    said = [f"T{number} is {tool.diameter:.2f} mm across" for number, tool in tools.items()]
    if stock is not None:
        sides = (high - low for low, high in zip(stock.min, stock.max, strict=True))
        said.append(f"the stock is {' x '.join(f'{side:.1f}' for side in sides)} mm")
    shown = f": {', '.join(said)}" if said else ""
    message = f"options are read in inches, as the program is written{shown}"
    return Diagnostic("JOB606", message)


def parse_tool(text: str) -> tuple[int, float]:
    """Read `N=DIAMETER`; raise UsageFault where it is something else."""
    advice = "write the tool's number and its diameter: --tool 3=6"
    number, equals, diameter = text.partition("=")
    named, value = _TOOL.fullmatch(number), read_option(diameter)
    if not equals or named is None:
        raise UsageFault(f"--tool {text} cannot be read", help=advice)
    if value is None or not DIAMETER.holds(value):
        bounds = f"from {DIAMETER.min:g} to {DIAMETER.max:g}"
        raise UsageFault(f"--tool {text}: the diameter must be a number {bounds}", help=advice)
    return int(named[1]), value


def parse_ramp(text: str) -> tuple[int, float]:
    """Read `N=DEGREES`, the angle in rad; raise UsageFault where it is something else."""
    number, equals, angle = text.partition("=")
    named, value = _TOOL.fullmatch(number), read_option(angle)
    if not equals or named is None or value is None or not 0.0 < value <= GREATEST_RAMP:
        raise UsageFault(
            f"--ramp {text} cannot be read",
            help="write the tool's number and degrees, more than 0 and at most 90: --ramp 3=2.5",
        )
    return int(named[1]), radians(value)


def parse_origin(text: str) -> tuple[int, Point]:
    """Read `G55=X,Y,Z`, the number of the work system and its place; raise UsageFault else."""
    name, equals, place = text.partition("=")
    system, at = WORK_SYSTEMS.get(name.strip().upper()), _places(place, 3)
    if not equals or system is None or at is None:
        advice = (
            "write the work system and three machine coordinates: --work-offset G55=150,60,-120"
        )
        raise UsageFault(f"--work-offset {text} cannot be read", help=advice)
    return system, (at[0], at[1], at[2])


def parse_length(text: str) -> tuple[int, float]:
    """Read `H3=LENGTH`; raise UsageFault where it is something else."""
    number, equals, length = text.partition("=")
    named, value = _H.fullmatch(number), read_option(length)
    if not equals or named is None or value is None or not TOOL_LENGTH.holds(value):
        advice = "write the H number and the length of the tool: --tool-length H3=82.5"
        raise UsageFault(f"--tool-length {text} cannot be read", help=advice)
    return int(named[1]), value


def parse_stock(text: str) -> Box:
    """Read `XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX`; raise UsageFault where it is something else."""
    advice = "write six numbers, lowest corner first: --stock 0,0,-12,80,60,0"
    at = _places(text, 6)
    if at is None:
        raise UsageFault(f"--stock {text} cannot be read", help=advice)
    box = Box((at[0], at[1], at[2]), (at[3], at[4], at[5]))
    if box.flat_axis:
        axis = "XYZ".index(box.flat_axis)
        sides = f"{box.min[axis]:g} to {box.max[axis]:g}"
        raise UsageFault(f"--stock {text}: no room in {box.flat_axis}, {sides}", help=advice)
    return box


def _places(text: str, count: int) -> list[float] | None:
    """Return so many coordinates with commas between them; None where they are something else."""
    values = [read_option(part) for part in text.split(",")]
    kept = [value for value in values if value is not None and PLACE.holds(value)]
    return kept if len(kept) == len(values) == count else None


def _scaled(at: Point, scale: float) -> Point:
    return at[0] * scale, at[1] * scale, at[2] * scale
