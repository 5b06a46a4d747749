"""What `gpre predict --json` prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from gpre.cuts.milling_side import MillingSide
from gpre.driver.not_stated import unstated_findings
from gpre.driver.predicting import Predicted
from gpre.mill.job_file import LoadedJob
from gpre.mill.profile import LoadedMill
from gpre.mill.timing import CycleTime
from gpre.prediction.predict import MOST_SHOWN
from gpre.report.count import stops_early
from gpre.report.diagnostics import findings_of
from gpre.report.predict_mill import warnings
from gpre.report.records.counting import MillFile, StopsAtLine
from gpre.report.records.findings import (
    Finding,
    Findings,
    finding_records,
    settings_records,
)
from gpre.report.records.open_settings import NotStatedRecords, not_stated_records
from gpre.report.records.parts import (
    CirclesRecord,
    DeviationRecord,
    FeatureRecord,
    HolesRecord,
    MarksRecord,
    SensitivityRecord,
    TakeUpsRecord,
    circles_record,
    deviation_record,
    feature_record,
    holes_record,
    marks_record,
    sensitivity_record,
    take_ups_record,
)
from gpre.report.records.proofs import JobFile
from gpre.report.records.values import (
    Count,
    Line,
    Lines,
    Mm,
    Rule,
    Seconds,
    line_of,
    rounded,
    seconds,
)


@dataclass(frozen=True, slots=True)
class DwellRecord:
    """A place at feed where the screw crosses the backlash by itself."""

    line: Annotated[Line, "of the move"]
    seconds: Annotated[Seconds, "how long the cutter dwells"]
    turns: Annotated[float, "turns of the spindle in that time"]


@dataclass(frozen=True, slots=True)
class DwellsRecord:
    """Places at feed where the screw crosses the backlash by itself."""

    count: Annotated[Count, "how many"]
    seconds: Annotated[Seconds, "together"]
    longest: Annotated[tuple[DwellRecord, ...], "the longest first"]


@dataclass(frozen=True, slots=True)
class CycleTimeRecord:
    """What the program takes on the mill."""

    total: Annotated[Seconds, "all of it"]
    cutting: Annotated[Seconds, "the moves at feed, without take-ups"]
    air: Annotated[Seconds, "the rapids, without take-ups"]
    dwell: Annotated[Seconds, "G4, and the dwells of canned cycles"]
    take_up_cutting: Annotated[Seconds, "take-ups of the controller while cutting"]
    take_up_in_air: Annotated[Seconds, "its other take-ups"]
    tool_change: Annotated[Seconds, "all tool changes"]
    tool_changes: Annotated[Count, "how many"]
    moves_of_unknown_time: Annotated[Count, "moves that are not counted"]
    dwells_of_unknown_time: Annotated[Count, "dwells that are not counted"]


@dataclass(frozen=True, slots=True)
class StretchRecord:
    """A stretch, and how it is milled."""

    lines: Lines
    side: Annotated[MillingSide, "on which side of the cutter the metal is"]
    reason: Annotated[str, "why it is not known, else empty"]
    needs: Annotated[tuple[str, ...], "what would have to be named, such as `tool 3` or `stock`"]


@dataclass(frozen=True, slots=True)
class ChipRecord:
    """A stretch that climbs with more backlash than chip."""

    lines: Lines
    chip_load: Annotated[Mm | None, "material per tooth; null: not known"]
    backlash: Annotated[Mm | None, "along the travel; null: not known"]
    chip_at_most: Annotated[Mm | None, "how thick the chip may grow; null: not known"]


@dataclass(frozen=True, slots=True)
class ClimbRecord:
    """Where the cutter climbs, and can pull the table through its backlash."""

    stretches: Annotated[tuple[StretchRecord, ...], "all that were looked at"]
    chip_can_grow: Annotated[tuple[ChipRecord, ...], "those where the chip can grow"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictRecord:
    """What the backlash of the mill will do to the part.

    Deviation, features, holes, circles and sensitivity are null where the program carries take-ups
    and --intended names no path.
    """

    file: Annotated[str, "the program"]
    blocks: Annotated[Count, "blocks of the program"]
    moves: Annotated[Count, "moves of the program"]
    stops_at_line: StopsAtLine
    intended: Annotated[str | None, "that of --intended"]
    take_up_mark: Annotated[str | None, "what the program says of its own take-ups"]
    warnings: Annotated[tuple[str, ...], "what to know before the figures are used"]
    compensation: Annotated[
        str, Rule(one_of=("none", "controller", "program")), "who takes the backlash up"
    ]
    intended_path_given: Annotated[bool, "--intended names a path"]
    deviation: Annotated[DeviationRecord | None, "how far the table is off the path"]
    features: Annotated[tuple[FeatureRecord, ...] | None, "the cuts that come out worst"]
    holes: Annotated[HolesRecord | None, "how far holes are off their places"]
    circles: Annotated[CirclesRecord | None, "how far full circles are out of round"]
    marks: Annotated[MarksRecord, "where the cutter dwells at reversals"]
    take_ups: Annotated[TakeUpsRecord, "how quickly the path takes the backlash up"]
    sensitivity: Annotated[
        SensitivityRecord | None, "if the backlash is not as measured; null: none is uncertain"
    ]
    unsettled_lines: Annotated[
        tuple[Line, ...], "where it is not known yet on which side the backlash lies"
    ]
    standing: Annotated[DwellsRecord, "where the table stands although the path goes on"]
    cycle_time: Annotated[CycleTimeRecord, "of the program"]
    cycle_time_without_take_ups: Annotated[
        CycleTimeRecord, "of the intended program, where one is named, with nothing taken up"
    ]
    seconds_lost: Annotated[Seconds, "to take-ups"]
    climb: Annotated[ClimbRecord, "where the cutter climbs"]
    mill: MillFile
    job: JobFile
    not_stated: NotStatedRecords
    findings: Findings


def predict_record(found: Predicted, mill: LoadedMill, job: LoadedJob) -> PredictRecord:
    """Return a prediction for the mill and the job of two files."""
    counted, goal, prediction = found.counted, found.intended, found.prediction
    motion, sizes = counted.motion, found.sizes_known
    intended = motion if goal is None else goal.motion
    features = tuple(feature_record(each, motion) for each in prediction.features)
    return PredictRecord(
        file=counted.program.source.name,
        blocks=len(counted.program),
        moves=len(motion),
        stops_at_line=stops_early(counted.program, motion),
        intended=None if goal is None else goal.program.source.name,
        take_up_mark=None if found.mark is None else found.mark.text,
        warnings=tuple(warnings(found)),
        compensation=prediction.by,
        intended_path_given=prediction.intended,
        deviation=deviation_record(prediction) if sizes else None,
        features=features if sizes else None,
        holes=holes_record(prediction.holes, motion) if sizes else None,
        circles=circles_record(prediction.circles, intended) if sizes else None,
        marks=marks_record(prediction.marks, motion),
        take_ups=take_ups_record(prediction, motion),
        sensitivity=sensitivity_record(prediction.sensitivity) if sizes else None,
        unsettled_lines=tuple(map(line_of, prediction.unsettled)),
        standing=_dwells(found),
        cycle_time=_time(found.time),
        cycle_time_without_take_ups=_time(found.without),
        seconds_lost=seconds(found.time.total - found.without.total),
        climb=_climb(found),
        mill=mill.name or None,
        job=job.name or None,
        not_stated=not_stated_records(counted),
        findings=_findings(found, mill, job),
    )


def _findings(found: Predicted, mill: LoadedMill, job: LoadedJob) -> tuple[Finding, ...]:
    programs = [each for each in (found.counted, found.intended) if each is not None]
    return (
        *settings_records(mill, job),
        *(
            record
            for of in (unstated_findings, findings_of)
            for each in programs
            for record in finding_records(each.program.source, of(each))
        ),
    )


def _time(time: CycleTime) -> CycleTimeRecord:
    return CycleTimeRecord(
        seconds(time.total),
        seconds(time.cutting),
        seconds(time.air),
        seconds(time.dwell),
        seconds(time.take_up_in_cut),
        seconds(time.take_up_in_air),
        seconds(time.tool_change),
        time.tool_changes,
        len(time.unknown),
        time.unknown_dwells,
    )


def _dwells(found: Predicted) -> DwellsRecord:
    stands, block = found.standing, found.counted.motion.block
    longest = sorted(range(len(stands)), key=lambda at: -float(stands.seconds[at]))
    return DwellsRecord(
        len(stands),
        seconds(stands.seconds.sum()),
        tuple(
            DwellRecord(
                line_of(block[stands.row[at]]),
                rounded(stands.seconds[at]),
                rounded(stands.turns[at]),
            )
            for at in longest[:MOST_SHOWN]
        ),
    )


def _climb(found: Predicted) -> ClimbRecord:
    block = found.counted.motion.block

    def lines(first: int, last: int) -> tuple[int, int]:
        return line_of(block[first]), line_of(block[last - 1])

    return ClimbRecord(
        tuple(
            StretchRecord(lines(each.first, each.last), each.side, each.reason, each.needs)
            for each in found.sides
        ),
        tuple(
            ChipRecord(
                lines(each.milled.first, each.milled.last),
                *(
                    None if one is None else rounded(one)
                    for one in (
                        each.load,
                        each.backlash,
                        each.grown,
                    )
                ),
            )
            for each in found.climbs
        ),
    )
