"""The certificate of a proof as records: a `--certificate FILE` that ends with .json."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Annotated, TypeVar

from gpre import __version__
from gpre.mill.job import Job, Tool
from gpre.mill.job_file import LoadedJob
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill
from gpre.motion.offsets import system_name
from gpre.report.certificate import NOT_LOOKED_AT, Certificate, certificate_text
from gpre.report.prove import verdict, what_to_name
from gpre.report.records.encode import json_text
from gpre.report.records.proofs import (
    Controllers,
    JudgedProofRecord,
    More,
    ProgramRecord,
    Sha256,
    Weaker,
    controller_records,
    judged_proof,
    program_record,
    sha256_of,
)
from gpre.report.records.values import Count, Mm, Radians, Rule
from gpre.report.rewrite import CAUTIONS

Corner = Annotated[tuple[Mm, Mm, Mm], "X, Y and Z"]
Value = TypeVar("Value")
OfAxes = tuple[Value, Value, Value]


@dataclass(frozen=True, slots=True)
class FileRecord:
    """A file that the proof took values from."""

    file: Annotated[str, "its name"]
    bytes: Annotated[Count, "its size"]
    sha256: Sha256


@dataclass(frozen=True, slots=True)
class ToolRecord:
    """A tool as the proof took it."""

    shape: Annotated[str, Rule(one_of=("flat", "ball", "bull", "vee", "drill")), "its kind"]
    diameter: Annotated[Mm, "as the job names it"]
    flutes: Annotated[Count | None, "null: not named"]
    max_ramp_angle: Annotated[Radians | None, "the steepest it may go down; null: not named"]
    corner: Annotated[Mm | None, "the radius of the corner of a bull-nose tool, else null"]
    point: Annotated[Radians | None, "the whole angle of a point; null: it has none"]


@dataclass(frozen=True, slots=True)
class StockRecord:
    """The stock, a box in program coordinates."""

    min: Annotated[Corner, "its lowest corner"]
    max: Annotated[Corner, "its highest corner"]


@dataclass(frozen=True, slots=True)
class UsedValues:
    """What of mill and job the proof looked at."""

    tolerance: Annotated[Mm, "a path may leave the other by so much"]
    resolution: Annotated[OfAxes[Mm], "of each axis; travel below it is none"]
    travel: Annotated[OfAxes[tuple[Mm, Mm] | None], "from, to, of each axis; null: not known"]
    lost_motion: Annotated[
        OfAxes[Mm | tuple[tuple[Mm, Mm], ...]], "of each axis, or rows of place and lost motion"
    ]
    compensation: Annotated[
        str, Rule(one_of=("none", "controller", "program")), "who takes the backlash up"
    ]
    approach_distance: Annotated[Mm, "an approach overshoots by at least so much"]
    rapid_clearance: Annotated[Mm, "new rapids keep so far from metal"]
    origins: Annotated[dict[str, Corner], "machine coordinates of work offsets, by name (G54)"]
    lengths: Annotated[dict[str, Mm], "of tools, by name (H3)"]
    tool_change_moves: Annotated[
        str, Rule(one_of=("all", "z", "none")), "what a tool change may move"
    ]
    tools: Annotated[dict[str, ToolRecord], "by number"]
    tools_not_named: Annotated[tuple[int, ...], "numbers of tools that cut and are not named"]
    stock: Annotated[StockRecord | None, "null: not named, metal is taken to be everywhere"]


@dataclass(frozen=True, slots=True)
class CertificateRecord:
    """A proof with all that it came about from; but for its date the same for the same files."""

    certificate: Annotated[str, Rule(one_of=("proved", "not proved")), "the verdict"]
    verdict: Annotated[str, "the verdict in a sentence"]
    date: Annotated[str, "when it was made"]
    gpre: Annotated[str, "the version of gpre"]
    before: Annotated[ProgramRecord, "the first program"]
    after: Annotated[ProgramRecord, "the second program"]
    mill: Annotated[FileRecord | None, "the mill profile; null: guessed values"]
    job: Annotated[FileRecord | None, "the job file; null: none"]
    values: Annotated[UsedValues, "what of mill and job the proof looked at"]
    weaker: Weaker
    more: More
    proof: Annotated[JudgedProofRecord, "obligation by obligation"]
    controller: Controllers
    not_looked_at: Annotated[tuple[str, ...], "what no proof looks at"]
    cautions: Annotated[str, "what to do before cutting"]


def certificate_bytes(certificate: Certificate, name: str) -> bytes:
    """Return the bytes of the file `name`: JSON where it ends with .json, else text."""
    if PurePath(name).suffix.lower() == ".json":
        text = json_text(certificate_record(certificate))
    else:
        text = certificate_text(certificate)
    return text.encode("utf-8", "backslashreplace")


def certificate_record(certificate: Certificate) -> CertificateRecord:
    """Return a certificate."""
    proved, mill, job = certificate.proved, certificate.mill, certificate.job
    return CertificateRecord(
        "proved" if certificate.holds else "not proved",
        verdict(proved),
        certificate.date,
        __version__,
        replace(program_record(proved.before), file=certificate.before),
        replace(program_record(proved.after), file=certificate.after),
        _file(mill),
        _file(job),
        _values(mill.mill, job.job, proved.unnamed),
        proved.weaker,
        what_to_name(proved, job.job) or None,
        judged_proof(proved),
        controller_records(proved.decisions, mill),
        NOT_LOOKED_AT,
        CAUTIONS,
    )


def _file(loaded: LoadedMill | LoadedJob) -> FileRecord | None:
    if not loaded.name:
        return None
    data = loaded.data
    return FileRecord(loaded.name, len(data), sha256_of(data))


def _values(mill: Mill, job: Job, unnamed: tuple[int, ...]) -> UsedValues:
    controller, limits = mill.controller, mill.limits
    x, y, z = mill.axes
    return UsedValues(
        limits.tolerance,
        (x.resolution, y.resolution, z.resolution),
        (x.travel, y.travel, z.travel),
        (x.lost_motion, y.lost_motion, z.lost_motion),
        mill.compensation.by,
        limits.min_overshoot,
        limits.rapid_clearance,
        {system_name(number): each for number, each in sorted(controller.origins.items())},
        {f"H{number}": each for number, each in sorted(controller.lengths.items())},
        controller.tool_change_moves,
        {str(number): _tool(each) for number, each in sorted(job.tools.items())},
        unnamed,
        None if job.stock is None else StockRecord(job.stock.min, job.stock.max),
    )


def _tool(tool: Tool) -> ToolRecord:
    return ToolRecord(
        tool.shape,
        tool.diameter,
        tool.flutes,
        tool.max_ramp_angle,
        tool.corner_in_use if tool.shape == "bull" else None,
        tool.point_in_use,
    )
