"""What is predicted of a part as records; long lists are cut after MOST_SHOWN, counts kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from gpre.cuts.cuts import Shape
from gpre.motion.motion import Motion
from gpre.prediction.circles import Circle
from gpre.prediction.deviation import Worst
from gpre.prediction.features import Feature
from gpre.prediction.holes import Holes
from gpre.prediction.marks import MarkKind, Marks
from gpre.prediction.predict import MOST_SHOWN, Prediction
from gpre.prediction.sensitivity import Sensitivity
from gpre.report.records.values import (
    AxisName,
    Count,
    Line,
    Mm,
    MmPerMinute,
    Place,
    PlaceXY,
    Rule,
    Seconds,
    figure,
    line_of,
    place,
    place_xy,
)
from gpre.reversals.reversals import AXES

_MARKS = {MarkKind.TAKE_UP: "take-up", MarkKind.STOP: "stop"}

Known = Annotated[bool, "false: not known there, so the worse case is told"]
Figure = Annotated[Mm | None, "null: not known"]


@dataclass(frozen=True, slots=True)
class WorstRecord:
    """A place where the table is off the path."""

    line: Annotated[Line, "of the move"]
    at: Annotated[Place, "on the intended path"]
    deviation: Annotated[Figure, "how far the table is off"]
    aside: Annotated[Figure, "beside the path, with its sign; at an end, how much too long"]
    backlash_known: Known


@dataclass(frozen=True, slots=True)
class DeviationRecord:
    """How far the table is off the path."""

    greatest: Annotated[Figure, "at a right angle to the path, anywhere at feed"]
    worst: Annotated[tuple[WorstRecord, ...], "the worst places, one a block"]
    ends: Annotated[tuple[WorstRecord, ...], "where cuts start or end"]
    missed: Annotated[
        Mm | None, "how far the intended path stays from what is cut; null: none is named"
    ]
    chord: Annotated[Figure, "how far sampled arcs leave their curve"]


@dataclass(frozen=True, slots=True)
class FeatureRecord:
    """One cut, and how it comes out."""

    shape: Annotated[Shape, "what the cut is"]
    first_line: Annotated[Line, "where it starts"]
    last_line: Annotated[Line, "where it ends"]
    worst_line: Annotated[Line, "where it is worst"]
    tool: Annotated[int, "its number; 0: none"]
    deviation: Annotated[Figure, "the greatest"]
    aside: Annotated[
        PlaceXY, "least and greatest beside the path; plus: outside, or right of the travel"
    ]
    size_x: Annotated[
        Mm | None, "how much too wide in X, below 0 too narrow; null: no closed contour"
    ]
    size_y: Annotated[
        Mm | None, "how much too wide in Y, below 0 too narrow; null: no closed contour"
    ]
    backlash_known: Known


@dataclass(frozen=True, slots=True)
class HoleRecord:
    """One hole, and how far it is off its place."""

    line: Annotated[Line, "where it is drilled"]
    at: Annotated[PlaceXY, "its place"]
    error_least: Annotated[PlaceXY, "the least that it is off"]
    error_greatest: Annotated[PlaceXY, "the most that it is off"]
    cycle: Annotated[bool, "drilled by a canned cycle"]


@dataclass(frozen=True, slots=True)
class HolesRecord:
    """The holes."""

    count: Annotated[Count, "how many"]
    spread_x: Annotated[Figure, "by how much errors in X differ"]
    spread_y: Annotated[Figure, "by how much errors in Y differ"]
    spread: Annotated[Figure, "the most by which holes are out from one another"]
    first: Annotated[tuple[HoleRecord, ...], "the first of them"]


@dataclass(frozen=True, slots=True)
class CircleRecord:
    """One full circle, in the terms of ISO 230-4."""

    line: Annotated[Line, "of the intended program"]
    plane: Annotated[int, Rule(one_of=(17, 18, 19)), "the G code of its plane"]
    centre: Annotated[Place, "as the program has it"]
    radius: Annotated[Figure, "as the program has it"]
    way: Annotated[str, Rule(one_of=("G2", "G3")), "its direction"]
    radial_deviation_max: Annotated[Figure, "F max"]
    radial_deviation_min: Annotated[Figure, "F min"]
    circular_deviation_lsc: Annotated[Figure, "G, about the least squares centre"]
    circular_hysteresis: Annotated[Mm | None, "H; null: cut in one direction only"]
    backlash_known: Known


@dataclass(frozen=True, slots=True)
class CirclesRecord:
    """The full circles."""

    count: Annotated[Count, "how many"]
    worst: Annotated[tuple[CircleRecord, ...], "the worst first"]


@dataclass(frozen=True, slots=True)
class MarkRecord:
    """A place where the cutter dwells in the material."""

    line: Annotated[Line, "of the move that starts there"]
    axis: Annotated[AxisName, "the axis that reverses"]
    kind: Annotated[str, Rule(one_of=tuple(_MARKS.values())), "what stops the path"]
    seconds: Annotated[Seconds | None, "how long"]
    turns: Annotated[float | None, "turns of the spindle in that time; null: not known"]


@dataclass(frozen=True, slots=True)
class MarksRecord:
    """Where the cutter dwells at reversals."""

    count: Annotated[Count, "how many, while cutting"]
    cutting_seconds: Annotated[Seconds | None, "together, while cutting"]
    all_seconds: Annotated[Seconds | None, "together, all take-ups"]
    take_ups: Annotated[Count, "take-ups of the controller"]
    longest: Annotated[tuple[MarkRecord, ...], "the longest first"]


@dataclass(frozen=True, slots=True)
class TakeUpRecord:
    """One take-up that the path makes at feed."""

    line: Annotated[Line, "of the move"]
    axis: Annotated[AxisName, "the axis that reverses"]
    distance: Annotated[Figure, "the backlash that is crossed"]
    speed: Annotated[MmPerMinute | None, "of the axis"]


@dataclass(frozen=True, slots=True)
class TakeUpsRecord:
    """Take-ups at feed that the path makes, against the limit of the mill."""

    count: Annotated[Count, "how many"]
    too_quick: Annotated[Count, "how many above the limit of the profile"]
    quickest: Annotated[tuple[TakeUpRecord, ...], "those above it, the quickest first"]
    controller_too_quick: Annotated[bool, "the controller takes up above the limit"]
    smallest_tool: Annotated[Mm | None, "its diameter, of the tools in use; null: not named"]


@dataclass(frozen=True, slots=True)
class BacklashCorner:
    """A combination of least and greatest backlash."""

    backlash_change: Annotated[Place, "more than assumed, below 0 for less"]
    deviation: Annotated[Figure, "the greatest then"]


@dataclass(frozen=True, slots=True)
class SensitivityRecord:
    """What it comes to if the backlash is not as measured."""

    worst: Annotated[WorstRecord, "the worst place of the worst combination"]
    backlash_change: Annotated[Place, "that of the worst combination"]
    corners: Annotated[tuple[BacklashCorner, ...], "all combinations"]


def deviation_record(prediction: Prediction) -> DeviationRecord:
    """Return how far the table is off the path."""
    return DeviationRecord(
        figure(prediction.greatest),
        tuple(map(worst_record, prediction.worst)),
        tuple(map(worst_record, prediction.ends)),
        _known(prediction.missed),
        figure(prediction.chord),
    )


def worst_record(each: Worst) -> WorstRecord:
    """Return one of the worst places."""
    return WorstRecord(
        line_of(each.block), place(each.point), figure(each.size), figure(each.aside), each.known
    )


def feature_record(each: Feature, motion: Motion) -> FeatureRecord:
    """Return how a cut comes out."""
    return FeatureRecord(
        each.shape,
        line_of(motion.block[each.first]),
        line_of(motion.block[each.last - 1]),
        line_of(each.block),
        each.tool,
        figure(each.size),
        place_xy((each.least, each.greatest)),
        _known(each.size_x),
        _known(each.size_y),
        each.known,
    )


def holes_record(holes: Holes, motion: Motion) -> HolesRecord:
    """Return how far holes lie off their places."""
    return HolesRecord(
        len(holes),
        figure(holes.spread_x),
        figure(holes.spread_y),
        figure(holes.spread),
        tuple(
            HoleRecord(
                line_of(motion.block[holes.row[hole]]),
                place_xy(holes.point[hole]),
                place_xy(holes.low[hole]),
                place_xy(holes.high[hole]),
                bool(holes.cycle[hole]),
            )
            for hole in range(min(len(holes), MOST_SHOWN))
        ),
    )


def circles_record(circles: tuple[Circle, ...], intended: Motion) -> CirclesRecord:
    """Return how far circles of the intended program are out of round."""
    worst = sorted(circles, key=lambda each: -each.g)[:MOST_SHOWN]
    return CirclesRecord(len(circles), tuple(_circle(each, intended) for each in worst))


def _circle(each: Circle, motion: Motion) -> CircleRecord:
    return CircleRecord(
        line_of(motion.block[each.first]),
        each.plane,
        place(each.centre),
        figure(each.radius),
        "G3" if each.counter_clockwise else "G2",
        figure(each.f_max),
        figure(each.f_min),
        figure(each.g),
        _known(each.h),
        each.known,
    )


def marks_record(marks: Marks, motion: Motion) -> MarksRecord:
    """Return where the cutter dwells at reversals."""
    longest = sorted(range(len(marks)), key=lambda mark: -float(marks.seconds[mark]))
    return MarksRecord(
        len(marks),
        figure(marks.lost_in_cut),
        figure(marks.lost_seconds),
        marks.take_ups,
        tuple(
            MarkRecord(
                line_of(motion.block[marks.row[mark]]),
                AXES[int(marks.axis[mark])],
                _MARKS[MarkKind(int(marks.kind[mark]))],
                figure(marks.seconds[mark]),
                figure(marks.turns[mark]),
            )
            for mark in longest[:MOST_SHOWN]
        ),
    )


def take_ups_record(prediction: Prediction, motion: Motion) -> TakeUpsRecord:
    """Return how quickly the path takes the backlash up."""
    found = prediction.take_ups
    quickest = sorted(prediction.too_quick, key=lambda row: -float(found.speed[row]))
    return TakeUpsRecord(
        len(found),
        len(prediction.too_quick),
        tuple(
            TakeUpRecord(
                line_of(motion.block[found.row[row]]),
                AXES[int(found.axis[row])],
                figure(found.distance[row]),
                figure(found.speed[row]),
            )
            for row in quickest[:MOST_SHOWN]
        ),
        prediction.quick_controller,
        prediction.smallest_tool,
    )


def sensitivity_record(found: Sensitivity | None) -> SensitivityRecord | None:
    """Return what another backlash would bring; None where none is uncertain."""
    worst = found.worst if found else None
    if found is None or worst is None or worst.worst is None:
        return None
    corners = (BacklashCorner(place(each.change), figure(each.greatest)) for each in found.corners)
    return SensitivityRecord(worst_record(worst.worst), place(worst.change), tuple(corners))


def _known(value: float | None) -> float | None:
    return None if value is None else figure(value)
