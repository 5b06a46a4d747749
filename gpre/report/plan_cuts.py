"""The plan cut by cut: reversals while cutting, the fewest possible, what is left, the cost."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from rich.table import Column, Table

from gpre.cuts.cuts import Shape
from gpre.cuts.least import Axes, Least
from gpre.driver.cut_plan import CutPlan, CutRow, Elsewhere
from gpre.report.wording import WIDTH, counted

SHOWN_ROWS = 20  # --json has all
_LEAST_TOLD = 0.05  # mm, s
_GREAT = 10.0  # m, min; from there on not in mm, s
_PLURALS = {Shape.HELIX: "helices", Shape.PASS: "raster passes"}
_LEGEND = (
    "tool down: all the way. with retracts: where it may leave the wall on its tangent and turn in "
    "the air. ?: not known. mm, s: air travel and cycle time, more (+) or less (-)."
)


@dataclass(frozen=True, slots=True)
class _CutGroup:
    """Rows about which the same is told; the figures of `row` are those of all of them."""

    row: CutRow
    rows: int
    alike: CutRow


@dataclass(frozen=True, slots=True)
class _Line:
    """One cut of the table as it is told; `after` is None where nothing changes."""

    lines: str
    what: str
    now: Axes
    after: Axes | None
    bounds: tuple[str, str]
    done: str = ""
    cost: str = ""


def render_cuts(plan: CutPlan) -> Table:
    """Lay out all cuts, one row for the figures before and one for those after."""
    table = Table(
        *_columns(), box=None, pad_edge=False, padding=(0, 1), width=WIDTH, header_style="bold",
        caption=textwrap.fill(_LEGEND, WIDTH), caption_style="dim", caption_justify="left",
    )  # fmt: skip
    groups = _grouped(plan.rows)
    for group in groups[:SHOWN_ROWS]:
        _add(table, _line(group.row))
    more = sum(group.rows for group in groups[SHOWN_ROWS:])
    if more:
        table.add_row("", f"and {counted(more, 'more cut')}; --json has all", style="dim")
    rest = _counts(plan.elsewhere)
    if rest:
        _add(table, _elsewhere(plan.elsewhere))
    if rest or len(groups) > 1:
        _add(table, _total(plan))
    return table


def _columns() -> Iterator[Column]:
    yield Column("\n\nlines", no_wrap=True)
    yield Column("\n\ncut", ratio=1)
    yield Column("\nreversals\ncutting", no_wrap=True)
    least = "\n".join(("least possible", _pair("tool", "with"), _pair("down", "retracts")))
    for head in ("\n\nX", "\n\nY", "\n\nZ", "\n\nall", least):
        yield Column(head, justify="right", no_wrap=True, min_width=3)


def _pair(down: str, retracts: str) -> str:
    return f"{down}{retracts:>10}"


def _add(table: Table, line: _Line) -> None:
    bounds = _pair(*line.bounds) if any(line.bounds) else ""
    when = "unchanged" if line.after is None else "before"
    table.add_row(line.lines, line.what, when, *_cells(line.now), bounds)
    if line.after is not None:
        table.add_row("", line.done, "after", *_cells(line.after), line.cost)


def _grouped(rows: Sequence[CutRow]) -> list[_CutGroup]:
    groups: list[_CutGroup] = []
    for row in rows:
        last = groups[-1] if groups else None
        if last is not None and _alike(last.alike, row):
            groups[-1] = _CutGroup(_together(last.row, row), last.rows + 1, row)
        else:
            groups.append(_CutGroup(row, 1, row))
    return groups


def _alike(one: CutRow, other: CutRow) -> bool:
    """Return whether two neighbours are told in one row: alike in all but place and cost."""
    same = (one.shape, one.tool, one.rewrites) == (other.shape, other.tool, other.rewrites)
    if one.shape is Shape.HOLE:
        return same
    return same and (one.now, one.after, one.least, one.lifted) == (
        other.now,
        other.after,
        other.least,
        other.lifted,
    )


def _together(one: CutRow, other: CutRow) -> CutRow:
    lifted = None
    if one.lifted is not None and other.lifted is not None:
        lifted = _both(one.lifted, other.lifted)
    return replace(
        one,
        last_block=other.last_block,
        cuts=one.cuts + other.cuts,
        now=_sum(one.now, other.now),
        after=_sum(one.after, other.after),
        least=_both(one.least, other.least),
        lifted=lifted,
        longer=one.longer + other.longer,
        seconds=one.seconds + other.seconds,
    )


def _both(one: Least, other: Least) -> Least:
    return Least(_sum(one.by_axis, other.by_axis), one.together + other.together)


def _sum(one: Axes, other: Axes) -> Axes:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def _line(row: CutRow) -> _Line:
    first, last = row.first_block + 1, row.last_block + 1
    lines = str(first) if first == last else f"{first}-{last}"
    shape = row.shape.value
    if row.cuts > 1:
        shape = f"{row.cuts:,} {_PLURALS.get(row.shape, shape + 's')}"
    what = f"{shape}, T{row.tool}" if row.tool else shape
    changed = bool(row.rewrites) or row.now != row.after or bool(_cost(row))
    return _Line(
        lines,
        what,
        row.now,
        row.after if changed else None,
        _bounds(row),
        ", ".join(row.rewrites),
        _cost(row),
    )


def _elsewhere(rest: Elsewhere) -> _Line:
    return _Line("", "elsewhere", rest.now, rest.after, ("", ""), cost=_cost(rest))


def _counts(rest: Elsewhere) -> bool:
    return any(rest.now) or any(rest.after) or bool(_cost(rest))


def _total(plan: CutPlan) -> _Line:
    total: CutRow = plan.rows[0]
    for row in plan.rows[1:]:
        total = _together(total, row)
    rest = plan.elsewhere
    total = replace(
        total,
        now=_sum(total.now, rest.now),
        after=_sum(total.after, rest.after),
        longer=total.longer + rest.longer,
        seconds=total.seconds + rest.seconds,
    )
    return _Line("all", "", total.now, total.after, _bounds(total), cost=_cost(total))


def _cells(axes: Axes) -> tuple[str, ...]:
    return tuple(f"{each:,}" for each in (*axes, sum(axes)))


def _bounds(row: CutRow) -> tuple[str, str]:
    return f"{row.least.together:,}", "?" if row.lifted is None else f"{row.lifted.together:,}"


def _cost(row: CutRow | Elsewhere) -> str:
    """Return `+12.5 mm +2.7 s`, "" where it costs nothing; great ones in m and in minutes."""
    parts = []
    for value, unit, great, factor in (
        (row.longer, "mm", "m", 1000.0),
        (row.seconds, "s", "min", 60.0),
    ):
        if abs(value) >= _GREAT * factor:
            parts.append(f"{value / factor:+,.{_decimals(value / factor)}f} {great}")
        elif abs(value) >= _LEAST_TOLD:
            parts.append(f"{value:+,.{_decimals(value)}f} {unit}")
    return " ".join(parts)


def _decimals(value: float) -> int:
    return 1 if abs(value) < 99.95 else 0
