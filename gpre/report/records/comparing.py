"""What `gpre diff --json` prints."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from gpre.comparison.comparison import Comparison, Figures
from gpre.driver.counting import Counted
from gpre.report.records.open_settings import NotStatedRecords, not_stated_records
from gpre.report.records.values import AxisName, Count, Line, Mm, line_of, rounded
from gpre.reversals.reversals import AXES
from gpre.source.text import SourceText

_PLACES = 9  # digits of a distance behind the point


@dataclass(frozen=True, slots=True)
class AxisTotals:
    """The reversals of one axis."""

    total: Annotated[Count, "all of them"]
    cutting: Annotated[Count, "those while cutting"]


@dataclass(frozen=True, slots=True)
class ComparedProgram:
    """One of the two programs in figures."""

    file: Annotated[str, "its name"]
    blocks: Annotated[Count, "how many it has"]
    moves: Annotated[Count, "how many it makes"]
    axes: Annotated[dict[AxisName, AxisTotals], "its reversals"]
    feed_length: Annotated[Mm, "of its path at feed"]
    rapid_length: Annotated[Mm, "of its path at rapid"]
    moves_of_unknown_place: Annotated[Count, "moves that the lengths leave out"]
    not_stated: NotStatedRecords


@dataclass(frozen=True, slots=True)
class BlockCounts:
    """How many blocks are the same and how many differ."""

    same: Annotated[Count, "in both programs"]
    changed: Annotated[Count, "of the first, other ones in their place in the second"]
    added: Annotated[Count, "of the second alone"]
    gone: Annotated[Count, "of the first alone"]


@dataclass(frozen=True, slots=True)
class MoveCounts:
    """How many moves only one program makes, whatever their order and direction."""

    added: Annotated[Count, "of the second alone"]
    gone: Annotated[Count, "of the first alone"]


@dataclass(frozen=True, slots=True)
class FarthestRecord:
    """How far one cutting path leaves another."""

    greatest: Annotated[Mm | None, "the greatest distance; null: more than 10 mm"]
    line: Annotated[Line | None, "where that is; null: nowhere"]


@dataclass(frozen=True, slots=True)
class PathDistances:
    """How far the two cutting paths lie apart, looked at from each."""

    before_leaves_after: Annotated[FarthestRecord, "of the first program from the second"]
    after_leaves_before: Annotated[FarthestRecord, "of the second program from the first"]


@dataclass(frozen=True, slots=True)
class BlocksRecord:
    """Neighbouring blocks of one program; there may be none."""

    line: Annotated[Line, "the first of them, or where they would stand"]
    lines: Annotated[tuple[str, ...], "their texts"]


@dataclass(frozen=True, slots=True)
class HunkRecord:
    """A stretch of blocks that differs."""

    before: Annotated[BlocksRecord, "in the first program"]
    after: Annotated[BlocksRecord, "in the second program"]


@dataclass(frozen=True, slots=True)
class DiffRecord:
    """What differs between two programs."""

    same_motion: Annotated[bool, "both make the same moves in the same order"]
    first_difference: Annotated[str | None, "of the motion, in words; null: none"]
    before: Annotated[ComparedProgram, "the first program"]
    after: Annotated[ComparedProgram, "the second program"]
    blocks: Annotated[BlockCounts, "how many differ"]
    moves: Annotated[MoveCounts, "how many differ"]
    cutting_path: Annotated[PathDistances, "how far the cutting paths lie apart"]
    hunks: Annotated[tuple[HunkRecord, ...], "what differs, in order"]


def diff_record(comparison: Comparison, before: Counted, after: Counted) -> DiffRecord:
    """Return the comparison of two programs, of which before and after say what is not stated."""
    return DiffRecord(
        comparison.same_motion,
        comparison.first_difference or None,
        _program(comparison.before, comparison.before_figures, before),
        _program(comparison.after, comparison.after_figures, after),
        BlockCounts(
            comparison.blocks_same,
            comparison.blocks_changed,
            comparison.blocks_added,
            comparison.blocks_gone,
        ),
        MoveCounts(comparison.moves_added, comparison.moves_gone),
        PathDistances(
            _farthest(comparison.left_out, comparison.left_out_at),
            _farthest(comparison.added, comparison.added_at),
        ),
        tuple(
            HunkRecord(
                _blocks(comparison.before, hunk.before, hunk.before_end),
                _blocks(comparison.after, hunk.after, hunk.after_end),
            )
            for hunk in comparison.hunks
        ),
    )


def _program(source: SourceText, figures: Figures, counted: Counted) -> ComparedProgram:
    rows = zip(AXES, figures.total, figures.in_cut, strict=True)
    return ComparedProgram(
        source.name,
        figures.blocks,
        figures.moves,
        {axis: AxisTotals(total, cutting) for axis, total, cutting in rows},
        rounded(figures.feed_length),
        rounded(figures.rapid_length),
        figures.unknown,
        not_stated_records(counted),
    )


def _farthest(far: float, block: int | None) -> FarthestRecord:
    return FarthestRecord(
        rounded(far, _PLACES) if math.isfinite(far) else None,
        line_of(block) if block is not None and far else None,
    )


def _blocks(source: SourceText, first: int, last: int) -> BlocksRecord:
    texts = tuple(source.line_text(line_of(block)) for block in range(first, last))
    return BlocksRecord(line_of(first), texts)
