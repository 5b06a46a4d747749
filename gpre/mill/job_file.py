"""Reads what is known of a job: from a TOML file, and from the options of a command."""

from __future__ import annotations

import errno
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import UsageFault
from gpre.mill.job import Box, Job, Tool
from gpre.mill.profile import SYSTEMS, UNITS, read_lengths, read_origins
from gpre.mill.settings import Settings, SettingsFile
from gpre.motion.state import scale_of
from gpre.source.decimals import read_option

CUTS = ("climb", "conventional", "as-is")
SHAPES = ("flat", "ball", "bull", "vee", "drill")
OF_SHAPE = {
    "corner_radius": ("bull",),
    "point_angle": ("vee", "drill"),
}  # keys that only these shapes have
SUFFIX = ".job.toml"
GREATEST_TOOL = 9_999_999
SMALLEST, LARGEST = 0.001, 500.0  # diameters, in the units they are written in
_AXES = "XYZ"
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
    root = file.root()
    scale = scale_of(UNITS[root.word("units", "mm", tuple(UNITS))])
    job = Job(
        tools=_tools(root.table("tool"), scale),
        stock=_stock(root.table("stock").with_old(min="least", max="greatest"), scale)
        if root.has("stock")
        else None,
        cut=root.word("cut", "as-is", CUTS),
        origins=read_origins(root.table("origins"), scale),
        lengths=read_lengths(root.table("lengths"), scale),
    )
    root.take("stock")
    root.finish()
    return LoadedJob(job, file.name, file.data, file.close())


def _tools(table: Settings, scale: float) -> dict[int, Tool]:
    found: dict[int, Tool] = {}
    for name in table.values:
        if not (name.isascii() and name.isdigit() and len(name) <= 7):
            message = f"a tool is named by its number, and {name} is none"
            table.file.report("JOB601", message, table.key_place(name), "", "write [tool.6] for T6")
            table.take(name)
            continue
        tool = _tool(
            table.table(name).with_old(
                max_ramp_angle="steepest_ramp", corner_radius="corner", point_angle="point"
            ),
            scale,
        )
        if tool is not None:
            found[int(name)] = tool
    return found


def _tool(table: Settings, scale: float) -> Tool | None:
    if table.has("diameter"):
        diameter = scale * table.number("diameter", 0.0, least=SMALLEST, greatest=LARGEST)
    else:
        diameter = 0.0
        _missing(table, "diameter")
    flutes = table.take("flutes")
    if flutes is not None and (type(flutes) is not int or not 1 <= flutes <= 100):
        table.wrong_kind("flutes", "a whole number from 1 to 100", flutes)
    shape = table.word("shape", "flat", SHAPES)
    ramp = table.number("max_ramp_angle", 0.0, above=0, greatest=90, unit="degrees")
    radius = diameter / scale / 2.0 if diameter else 250.0
    corner = scale * table.number("corner_radius", 0.0, above=0, greatest=radius)
    point = table.number("point_angle", 0.0, above=0, greatest=179, unit="degrees")
    for key, shapes in OF_SHAPE.items():
        if table.has(key) and shape not in shapes:
            message = f"a {shape} tool has no {key}"
            advice = f"give it a shape of {' or '.join(shapes)}, or leave {key} out"
            table.file.report("JOB605", message, table.key_place(key), "", advice)
    table.finish()
    if diameter <= 0:
        return None
    return Tool(
        diameter,
        shape,
        flutes if type(flutes) is int else None,
        math.radians(ramp) if ramp else None,
        corner or None,
        math.radians(point) if point else None,
    )


def _stock(table: Settings, scale: float) -> Box | None:
    corners: list[tuple[float, float, float]] = []
    for key in ("min", "max"):
        if not table.has(key):
            _missing(table, key)
        point = table.numbers(key, 3)
        if point:
            corners.append((scale * point[0], scale * point[1], scale * point[2]))
    table.finish()
    if len(corners) != 2:
        return None
    least, greatest = corners
    for axis, low, high in zip(_AXES, least, greatest, strict=True):
        if low >= high:
            message = f"the stock box has no room in {axis}"
            table.file.report(
                "JOB602", message, table.place(("max",)), f"{axis} of min is not below"
            )
    return Box(least, greatest)


def _missing(table: Settings, key: str) -> None:
    table.take(key)
    if table.faulty:
        return
    where = ".".join(str(part) for part in table.path)
    table.file.report(
        "JOB604", f"[{where}] lacks {key}", table.place(()), "", f"add a line: {key} = ..."
    )


@dataclass(frozen=True)
class JobOptions:
    """What a command line says of a job, as it was typed; lengths in the program's units.

    tools: `N=DIAMETER` each. stock: `XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX`. cut: one of CUTS. origins:
    `G55=X,Y,Z` each, machine coordinates. lengths: `H3=LENGTH` each.
    """

    tools: tuple[str, ...] = ()
    stock: str | None = None
    cut: str | None = None
    origins: tuple[str, ...] = ()
    lengths: tuple[str, ...] = ()

    @property
    def a_length(self) -> str:
        """One of them that is in the program's units, as it was typed, or ""."""
        named = (
            *(f"--tool {text}" for text in self.tools),
            *(f"--stock {text}" for text in (self.stock,) if text is not None),
            *(f"--origins {text}" for text in self.origins),
            *(f"--lengths {text}" for text in self.lengths),
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
    box = job.stock if stock is None else _scaled(parse_stock(stock), scale)
    systems = _each_once("--origins", map(parse_origin, options.origins))
    origins = {system: _point(at, scale) for system, at in systems}
    heights = _each_once("--lengths", map(parse_length, options.lengths))
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


def _each_once(option: str, pairs: Iterable[tuple[int, T]]) -> list[tuple[int, T]]:
    """Return what an option names; raise UsageFault where it says two things of one number."""
    found: dict[int, T] = {}
    for number, value in pairs:
        if found.setdefault(number, value) != value:
            what = SYSTEMS[number - 1] if option == "--origins" else str(number)
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
    digits = number.strip().removeprefix("T").removeprefix("t")
    if not equals or not (digits.isascii() and digits.isdigit()) or len(digits) > 7:
        raise UsageFault(f"--tool {text} cannot be read", help=advice)
    value = read_option(diameter)
    if value is None or not SMALLEST <= value <= LARGEST:
        bounds = f"a number from {SMALLEST:g} to {LARGEST:g}"
        raise UsageFault(f"--tool {text}: the diameter must be {bounds}", help=advice)
    return int(digits), value


def parse_origin(text: str) -> tuple[int, tuple[float, float, float]]:
    """Read `G55=X,Y,Z`, the number of the work system and its place; raise UsageFault else."""
    advice = "write the work system and three machine coordinates: --origins G55=150,60,-120"
    name, equals, place = text.partition("=")
    name = name.strip().upper()
    values = [read_option(part) for part in place.split(",")]
    kept = [value for value in values if value is not None and abs(value) <= 1e5]
    if not equals or name not in SYSTEMS or len(values) != 3 or len(kept) != 3:
        raise UsageFault(f"--origins {text} cannot be read", help=advice)
    return SYSTEMS.index(name) + 1, (kept[0], kept[1], kept[2])


def parse_length(text: str) -> tuple[int, float]:
    """Read `H3=LENGTH`; raise UsageFault where it is something else."""
    advice = "write the H number and the length of the tool: --lengths H3=82.5"
    number, equals, length = text.partition("=")
    digits = number.strip().removeprefix("H").removeprefix("h")
    value = read_option(length)
    if not equals or not (digits.isascii() and digits.isdigit()) or len(digits) > 6:
        raise UsageFault(f"--lengths {text} cannot be read", help=advice)
    if value is None or abs(value) > 5e3 or not int(digits):
        raise UsageFault(f"--lengths {text} cannot be read", help=advice)
    return int(digits), value


def _point(at: tuple[float, float, float], scale: float) -> tuple[float, float, float]:
    return at[0] * scale, at[1] * scale, at[2] * scale


def parse_stock(text: str) -> Box:
    """Read `XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX`; raise UsageFault where it is something else."""
    advice = "write six numbers, lowest corner first: --stock 0,0,-12,80,60,0"
    values = [read_option(part) for part in text.split(",")]
    kept = [value for value in values if value is not None and abs(value) <= 1e5]
    if len(kept) != 6 or len(values) != 6:
        raise UsageFault(f"--stock {text} cannot be read", help=advice)
    least, greatest = (kept[0], kept[1], kept[2]), (kept[3], kept[4], kept[5])
    for axis, low, high in zip(_AXES, least, greatest, strict=True):
        if low >= high:
            raise UsageFault(f"--stock {text}: no room in {axis}, {low:g} to {high:g}", help=advice)
    return Box(least, greatest)


def _scaled(box: Box, scale: float) -> Box:
    (a, b, c), (d, e, f) = box.min, box.max
    return Box((a * scale, b * scale, c * scale), (d * scale, e * scale, f * scale))
