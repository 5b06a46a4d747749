"""Two programs side by side, as text and as JSON."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from gpre.comparison.comparison import Comparison, Figures
from gpre.report.wording import WIDTH, counted, visible
from gpre.reversals.reversals import AXES
from gpre.source.text import SourceText

CONTEXT = 2  # blocks shown before and after each stretch that differs
MOST_ROWS = 400  # rows shown side by side; --json has all
_GREATEST = 10.0  # mm; distances beyond are only called `more`


def render_diff(comparison: Comparison, width: int = WIDTH, most: int = MOST_ROWS) -> Group:
    """Show what differs: blocks side by side, then the figures. Plain marks, colour is extra."""
    parts: list[RenderableType] = []
    if comparison.hunks:
        parts += [side_by_side(comparison, width, most), Text()]
    parts += [figures_table(comparison), Text(), closing(comparison)]
    return Group(*parts)


def side_by_side(comparison: Comparison, width: int = WIDTH, most: int = MOST_ROWS) -> Text:
    """Lay changed blocks side by side; `|` changed, `<` gone, `>` new, with line numbers."""
    digits = len(str(max(len(comparison.before), len(comparison.after), 1)))
    column = max((width - 2 * digits - 5) // 2, 10)
    result = Text()
    shown = left = last = 0
    for number, hunk in enumerate(comparison.hunks):
        rows = _rows(comparison, number, last)
        if shown + len(rows) > most and shown:
            left = len(comparison.hunks) - number
            break
        if hunk.before - CONTEXT > last:
            result.append(f"{'':>{digits}} ...\n", "dim")
        for row in rows[:most]:
            result.append(*_line(comparison, row, digits, column))
        if len(rows) > most:
            result.append(f"{'':>{digits}} ... {counted(len(rows) - most, 'more row')}\n")
        shown += len(rows)
        last = hunk.before_end + CONTEXT
    if left:
        result.append(f"{'':>{digits}} ... and {counted(left, 'more changed stretch', 'more')}\n")
    result.rstrip()
    return result


_Row = tuple[int | None, str, int | None]  # block before, mark, block after


def _rows(comparison: Comparison, number: int, shown_to: int) -> list[_Row]:
    """Return the rows of one stretch with the blocks around it that are not shown yet."""
    hunk = comparison.hunks[number]
    rows: list[_Row] = []
    shift = hunk.after - hunk.before
    first = max(hunk.before - CONTEXT, shown_to)
    rows += [(at, " ", at + shift) for at in range(first, hunk.before)]
    before = range(hunk.before, hunk.before_end)
    after = range(hunk.after, hunk.after_end)
    for step in range(max(len(before), len(after))):
        one = before[step] if step < len(before) else None
        other = after[step] if step < len(after) else None
        mark = ">" if one is None else "<" if other is None else "|"
        rows.append((one, mark, other))
    nexts = comparison.hunks[number + 1].before if number + 1 < len(comparison.hunks) else None
    stop = len(comparison.before) if nexts is None else nexts
    shift = hunk.after_end - hunk.before_end
    rows += [
        (at, " ", at + shift) for at in range(hunk.before_end, min(hunk.before_end + CONTEXT, stop))
    ]
    return rows


def _line(comparison: Comparison, row: _Row, digits: int, column: int) -> tuple[str, str]:
    """Return the text of a row and its style."""
    one, mark, other = row
    style = {"<": "red", ">": "green", "|": "yellow"}.get(mark, "dim")
    left = _cell(comparison.before, one, digits, column)
    right = _cell(comparison.after, other, digits, column)
    return f"{left} {mark} {right}".rstrip() + "\n", style


def _cell(source: SourceText, block: int | None, digits: int, column: int) -> str:
    if block is None:
        return " " * (digits + 1 + column)
    text = visible(source.line_text(block + 1))
    if len(text) > column:
        text = text[: column - 1] + "~"
    return f"{block + 1:>{digits}} {text:<{column}}"


def figures_table(comparison: Comparison) -> Table:
    """Lay out the figures of both programs."""
    old, new = comparison.before_figures, comparison.after_figures
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="bold")
    table.add_column("")
    for head in ("before", "after", "change"):
        table.add_column(head, justify="right")
    for name, was, now in _counts(old, new):
        table.add_row(name, f"{was:,}", f"{now:,}", f"{now - was:+,}" if now != was else "")
    for name, far, farther in (
        ("path at feed, mm", old.feed_length, new.feed_length),
        ("path at rapid, mm", old.rapid_length, new.rapid_length),
    ):
        change = farther - far
        shown = f"{change:+,.3f}" if abs(change) >= 0.0005 else ""
        table.add_row(name, f"{far:,.3f}", f"{farther:,.3f}", shown)
    return table


def _counts(old: Figures, new: Figures) -> list[tuple[str, int, int]]:
    rows = [("blocks", old.blocks, new.blocks), ("moves", old.moves, new.moves)]
    for index, axis in enumerate(AXES):
        rows.append(
            (f"{axis.upper()} reversals while cutting", old.in_cut[index], new.in_cut[index])
        )
    rows.append(("all reversals while cutting", sum(old.in_cut), sum(new.in_cut)))
    for index, axis in enumerate(AXES):
        rows.append((f"{axis.upper()} reversals, total", old.total[index], new.total[index]))
    rows.append(("all reversals", sum(old.total), sum(new.total)))
    if old.unknown or new.unknown:
        rows.append(("moves of unknown place", old.unknown, new.unknown))
    return rows


def closing(comparison: Comparison) -> Text:
    """Say what was added, what is gone, how far the cutting paths lie apart, and the verdict."""
    blocks = (
        f"blocks: {comparison.blocks_same:,} the same, {comparison.blocks_changed:,} changed, "
        f"{comparison.blocks_added:,} added, {comparison.blocks_gone:,} gone"
    )
    lines = [
        blocks,
        f"moves: {comparison.moves_added:,} added, {comparison.moves_gone:,} gone",
        "cutting path: the first leaves the second by "
        + _distance(comparison.left_out, comparison.before, comparison.left_out_at),
        "              the second leaves the first by "
        + _distance(comparison.added, comparison.after, comparison.added_at),
    ]
    result = Text("\n".join(lines) + "\n")
    if comparison.same_motion:
        result.append("same motion", "bold green")
    else:
        result.append("different motion: ", "bold yellow")
        result.append(visible(comparison.first_difference))
    return result


def _distance(far: float, source: SourceText, block: int | None) -> str:
    if math.isinf(far):
        text = f"more than {_GREATEST:g} mm"
    else:
        text = f"at most {far:.4f} mm" if far else "nothing"
    return text if block is None or not far else f"{text}, line {block + 1} of {_name(source)}"


def _name(source: SourceText) -> str:
    return visible(source.name)
