"""What `gpre count --json` prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from gpre.driver.counting import Counted
from gpre.mill.profile import LoadedMill
from gpre.report.count import AxisCount, KindName, count_axes, stops_early
from gpre.report.diagnostics import all_findings_of
from gpre.report.records.encode import ABSENT, Absent
from gpre.report.records.findings import Findings, finding_records, settings_records
from gpre.report.records.open_settings import NotStatedRecords, not_stated_records
from gpre.report.records.values import AxisName, Count, Line, Place, Rule, line_of, place, rounded
from gpre.reversals.reversals import AXES, ReversalKind, Reversals

MillFile = Annotated[str | None, "the mill profile; null: none, the values are a guess"]
StopsAtLine = Annotated[
    Line | None, "the first line that could not be followed; null: all were followed"
]


@dataclass(frozen=True, slots=True)
class ReversalRecord:
    """One reversal."""

    line: Annotated[Line, "of the move that starts the new direction"]
    axis: Annotated[AxisName, "the axis that reverses"]
    direction: Annotated[int, Rule(one_of=(-1, 1)), "the new direction"]
    kind: Annotated[KindName, "where on the path it happens"]
    cutting: Annotated[bool, "while cutting"]
    position: Annotated[Place, "where the axis turns"]
    move: Annotated[Count, "the row, from 0, of the move that starts the new direction"]
    along: Annotated[float, "the share of the length of that move at which the axis turns"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CountRecord:
    """The reversals of a program."""

    file: Annotated[str, "the program"]
    axes: Annotated[dict[AxisName, AxisCount], "the reversals of each axis"]
    moves: Annotated[Count, "moves of the program"]
    blocks: Annotated[Count, "blocks of the program"]
    stops_at_line: StopsAtLine
    reversals: Annotated[tuple[ReversalRecord, ...] | Absent, "with --list: each of them"] = ABSENT
    mill: MillFile
    limit: Annotated[Count | None, "that of --limit"]
    not_stated: NotStatedRecords
    findings: Findings


def count_record(
    found: Counted, mill: LoadedMill, *, limit: int | None = None, listed: bool = False
) -> CountRecord:
    """Return the counts of a program; listed: each reversal too."""
    findings = finding_records(found.program.source, all_findings_of(found))
    return CountRecord(
        file=found.program.source.name,
        axes=count_axes(found.reversals),
        moves=len(found.motion),
        blocks=len(found.program),
        stops_at_line=stops_early(found.program, found.motion),
        reversals=tuple(_reversals(found.reversals)) if listed else ABSENT,
        mill=mill.name or None,
        limit=limit,
        not_stated=not_stated_records(found),
        findings=(*settings_records(mill), *findings),
    )


def _reversals(reversals: Reversals) -> list[ReversalRecord]:
    return [
        ReversalRecord(
            line_of(reversals.block[row]),
            AXES[int(reversals.axis[row])],
            int(reversals.direction[row]),
            ReversalKind(int(reversals.kind[row])).name.lower(),
            bool(reversals.in_cut[row]),
            place(reversals.position[row]),
            int(reversals.move[row]),
            rounded(reversals.along[row]),
        )
        for row in range(len(reversals))
    ]
