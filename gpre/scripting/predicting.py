"""`gpre.predict`: what the backlash of a mill will do to the part."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from gpre.driver.course import predict_run
from gpre.driver.not_stated import unstated_findings
from gpre.driver.predicting import Predicted
from gpre.prediction.deviation import Worst
from gpre.prediction.features import Feature
from gpre.report.count import stops_early
from gpre.report.diagnostics import findings_of
from gpre.report.predict_mill import warnings
from gpre.scripting.findings import findings_told, refuse_faulty, told_as_errors
from gpre.scripting.given import (
    AnyJob,
    AnyMill,
    AnyProgram,
    Result,
    Units,
    read,
    settings,
    source_of,
)


@dataclass(frozen=True)
class ErrorPlace:
    """A place where the path comes out wrong. line: from 1. at: mm, X, Y and Z.

    error: mm, how far the table leaves the path, at a right angle to it.
    """

    line: int
    at: tuple[float, float, float]
    error: float


@dataclass(frozen=True)
class CutError:
    """How far a cut comes out wrong. Lines from 1; lengths mm.

    error: the greatest, at a right angle to its path. size_x, size_y: by how much a closed contour
    comes out too wide (minus: too narrow); None for other cuts.
    """

    shape: str
    first_line: int
    last_line: int
    worst_line: int
    tool: int
    error: float
    size_x: float | None
    size_y: float | None


@dataclass(frozen=True, kw_only=True)
class PredictResult(Result):
    """What `gpre.predict` returns. Lengths mm, times s.

    worst_error: the greatest anywhere at feed; worst: the places of the greatest errors, at most
    20; cuts: those that come out worst; holes_spread: the greatest difference between the errors of
    two holes. These are None or empty where the program carries take-ups and no intended program is
    given. dwell_marks: places where the cutter dwells in the cut; dwelling_seconds: how long
    together. take_ups_too_quick: how many are quicker than the profile allows. seconds: the cycle
    time; seconds_lost: what the backlash costs of it. stops_at_line: the first line that could not
    be followed. warnings: sentences for people.
    """

    name: str
    worst_error: float | None
    worst: tuple[ErrorPlace, ...] = field(repr=False)
    cuts: tuple[CutError, ...] = field(repr=False)
    holes_spread: float | None
    dwell_marks: int
    dwelling_seconds: float
    take_ups_too_quick: int
    seconds: float
    seconds_lost: float
    stops_at_line: int | None
    warnings: tuple[str, ...]


@told_as_errors()
def predict(
    program: AnyProgram,
    *,
    mill: AnyMill = None,
    job: AnyJob = None,
    units: Units | None = None,
    intended: AnyProgram | None = None,
) -> PredictResult:
    """Predict what the backlash of a mill will do to the part, as `gpre predict` does.

    program: a path, bytes, or what `read` returns. mill: a path or a `Mill`; None takes your own at
    the default place, else a guess. job: a path or a `Job`; None takes NAME.job.toml beside the
    program, else nothing. units: in force before the program states its own. intended: what the
    program was made from, where it carries take-ups. Raises GpreError for a fault in a file, and
    where a program has faults.
    """
    file = read(program)
    goal = None if intended is None else source_of(read(intended))
    found, given = predict_run(source_of(file), settings(mill, job, units, file), goal)
    sides = [found.counted] if found.intended is None else [found.counted, found.intended]
    refuse_faulty(*sides)
    groups = [(each.program.source, unstated_findings(each)) for each in sides]
    groups += [(each.program.source, findings_of(each)) for each in sides]
    prediction = found.prediction
    known = found.sizes_known
    return PredictResult(
        mill=given.mill.name or None,
        job=given.job.name or None,
        findings=findings_told(given, *groups),
        name=file.name,
        worst_error=_finite(prediction.greatest) if known else None,
        worst=tuple(_place(each) for each in prediction.worst if known),
        cuts=tuple(_cut(found, each) for each in prediction.features if known),
        holes_spread=_finite(prediction.holes.spread) if known else None,
        dwell_marks=len(prediction.marks),
        dwelling_seconds=float(prediction.marks.lost_in_cut),
        take_ups_too_quick=len(prediction.too_quick),
        seconds=found.time.total,
        seconds_lost=found.time.total - found.without.total,
        stops_at_line=stops_early(found.counted.program, found.counted.motion),
        warnings=tuple(warnings(found)),
    )


def _place(each: Worst) -> ErrorPlace:
    x, y, z = (float(value) for value in each.point)
    return ErrorPlace(each.block + 1, (x, y, z), float(each.size))


def _cut(found: Predicted, each: Feature) -> CutError:
    block = found.counted.motion.block
    return CutError(
        each.shape.value,
        int(block[each.first]) + 1,
        int(block[each.last - 1]) + 1,
        each.block + 1,
        each.tool,
        float(each.size),
        each.size_x,
        each.size_y,
    )


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
