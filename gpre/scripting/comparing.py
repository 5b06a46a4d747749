"""`gpre.compare`: two programs side by side."""

from __future__ import annotations

from dataclasses import dataclass, field

from gpre.comparison.comparison import Comparison, Figures
from gpre.driver.counting import Counted
from gpre.driver.course import compare_run
from gpre.report.diagnostics import all_findings_of
from gpre.scripting.counting import ReversalCounts, reversal_counts
from gpre.scripting.findings import findings_told, refuse_faulty, told_as_errors
from gpre.scripting.given import AnyMill, AnyProgram, Result, Units, read, settings, source_of
from gpre.source.text import SourceText


@dataclass(frozen=True)
class ProgramFigures:
    """One program in numbers.

    feed_length, rapid_length: mm, of the moves whose place is known.
    """

    name: str
    blocks: int
    moves: int
    reversals: ReversalCounts
    feed_length: float
    rapid_length: float


@dataclass(frozen=True)
class ChangedLines:
    """A stretch of lines that differs; one of the two may have none. line_…: the first, from 1."""

    line_before: int
    lines_before: tuple[str, ...]
    line_after: int
    lines_after: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class CompareResult(Result):
    """What `gpre.compare` returns.

    same_motion: both make the same moves, in order. first_difference: in words, "" where there is
    none. before_leaves_after, after_leaves_before: mm, how far the cutting path of one lies from
    that of the other at the most; `inf` beyond 10 mm. moves_added, moves_gone: moves that only one
    of the two makes.
    """

    same_motion: bool
    first_difference: str
    before: ProgramFigures
    after: ProgramFigures
    before_leaves_after: float
    after_leaves_before: float
    moves_added: int
    moves_gone: int
    changed_lines: tuple[ChangedLines, ...] = field(repr=False)


@told_as_errors()
def compare(
    before: AnyProgram, after: AnyProgram, *, mill: AnyMill = None, units: Units | None = None
) -> CompareResult:
    """Compare two programs, as `gpre diff` does.

    before, after: paths, bytes, or what `read` returns. mill: a path or a `Mill`; None takes your
    own at the default place, else a guess. units: in force before the programs state their own.
    Raises GpreError for a fault in a file, and where a program has faults.
    """
    texts = source_of(read(before)), source_of(read(after))
    found, sides, given = compare_run(*texts, settings(mill, None, units))
    refuse_faulty(*sides)
    return CompareResult(
        mill=given.mill.name or None,
        job=None,
        findings=findings_told(
            given,
            *((text, all_findings_of(side)) for text, side in zip(texts, sides, strict=True)),
        ),
        same_motion=found.same_motion,
        first_difference=found.first_difference,
        before=_figures(sides[0], found.before_figures),
        after=_figures(sides[1], found.after_figures),
        before_leaves_after=found.left_out,
        after_leaves_before=found.added,
        moves_added=found.moves_added,
        moves_gone=found.moves_gone,
        changed_lines=_changed(found),
    )


def _figures(side: Counted, figures: Figures) -> ProgramFigures:
    return ProgramFigures(
        side.program.source.name,
        figures.blocks,
        figures.moves,
        reversal_counts(side.reversals),
        figures.feed_length,
        figures.rapid_length,
    )


def _changed(found: Comparison) -> tuple[ChangedLines, ...]:
    return tuple(
        ChangedLines(
            each.before + 1,
            _lines(found.before, each.before, each.before_end),
            each.after + 1,
            _lines(found.after, each.after, each.after_end),
        )
        for each in found.hunks
    )


def _lines(source: SourceText, first: int, last: int) -> tuple[str, ...]:
    return tuple(source.line_text(block + 1) for block in range(first, last))
