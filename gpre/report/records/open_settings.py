"""What a program leaves open: settings that nothing states, and places that nobody knows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from gpre.driver.counting import Counted
from gpre.motion.motion import Motion
from gpre.motion.not_stated import READINGS, SETTINGS
from gpre.report.records.values import AxisName, Line, Rule, line_of
from gpre.reversals.reversals import AXES

Reading = Annotated[str, Rule(one_of=tuple(READINGS.values()))]


@dataclass(frozen=True, slots=True)
class HintRecord:
    """What speaks for a unit; nothing is decided by it."""

    for_: Annotated[str, Rule(one_of=("inch", "mm")), "the unit that it speaks for"]
    what: Annotated[str, "such as `a feed of 12`"]
    line: Annotated[Line, "where it stands"]


@dataclass(frozen=True, slots=True)
class NotStatedRecord:
    """A setting that is needed, and that neither program nor profile nor option states."""

    setting: Annotated[str, Rule(one_of=tuple(SETTINGS)), "what is not stated"]
    taken: Annotated[Reading, "what was taken for it"]
    others: Annotated[tuple[Reading, ...], "what else it may be"]
    first_line: Annotated[Line, "of the first move that depends on it"]
    last_line: Annotated[Line, "of the last move that depends on it"]
    hints: Annotated[tuple[HintRecord, ...], "of units alone: what speaks for one"]


NotStatedRecords = Annotated[
    tuple[NotStatedRecord, ...], "settings that are needed and that nothing states"
]


@dataclass(frozen=True, slots=True)
class NotKnownRecord:
    """A stretch of moves from or to places that nobody knows."""

    axis: Annotated[AxisName, "the axis whose place is not known"]
    since_line: Annotated[Line, "where it was lost"]
    first_line: Annotated[Line, "of the first move concerned"]
    last_line: Annotated[Line, "of the last move concerned"]
    reason: Annotated[str, "why it is not known"]


def not_stated_records(counted: Counted) -> tuple[NotStatedRecord, ...]:
    """Return what nothing states."""
    hints = tuple(
        HintRecord(READINGS[hint.units], hint.what, line_of(hint.block)) for hint in counted.hints
    )
    return tuple(
        NotStatedRecord(
            each.setting,
            READINGS[each.taken],
            tuple(READINGS[code] for code in each.others),
            line_of(each.first),
            line_of(each.last),
            hints if each.setting == "units" else (),
        )
        for each in counted.not_stated
        if each.matters
    )


def not_known_records(motion: Motion) -> tuple[NotKnownRecord, ...]:
    """Return what is not known in one program, in order."""
    return tuple(
        NotKnownRecord(
            AXES[each.axis],
            line_of(each.block),
            line_of(motion.block[each.first]),
            line_of(motion.block[each.last - 1]),
            each.reason,
        )
        for each in motion.unknown
    )
