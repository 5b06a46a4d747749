"""What differs between two programs, in words and figures."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from gpre.comparison.comparison import Comparison, Figures
from gpre.proof.blocks import Hunk
from gpre.report.diagnostics import INDENT, cut_to, told
from gpre.report.wording import WIDTH, counted, visible
from gpre.reversals.reversals import AXES

MOST_LINES = 400  # lines of programs shown; --json has all
_MOST_REASONS = 6  # comments of one change
_GREATEST = 10.0  # mm; distances beyond are only called `more`
_COMMENT = re.compile(r"\(([^()]*)\)|;(.*)")


def render_diff(comparison: Comparison, most: int = MOST_LINES) -> Group:
    """Show what differs: change by change, then the figures."""
    parts: list[RenderableType] = [
        *changes(comparison, most),
        figures_table(comparison),
        Text(),
        closing(comparison),
    ]
    return Group(*parts)


def changes(comparison: Comparison, most: int = MOST_LINES) -> Iterator[Text]:
    """Yield each change in words: what was there, what is there now, and why.

    Why is what comments of the new blocks say. most: lines of programs to be shown, at least those
    of one change, of which the first `most` of each program are.
    """
    shown = 0
    for number, hunk in enumerate(comparison.hunks):
        lines = hunk.before_end - hunk.before + hunk.after_end - hunk.after
        if shown and shown + lines > most:
            rest = len(comparison.hunks) - number
            yield Text(f"and {counted(rest, 'more change')}; --json has all\n")
            return
        shown += lines
        yield _change(comparison, hunk, most)


def _change(comparison: Comparison, hunk: Hunk, most: int) -> Text:
    was, now = range(hunk.before, hunk.before_end), range(hunk.after, hunk.after_end)
    if was and now:
        label, where = "CHANGED", f"{_lines(was)}, now {_lines(now)}"
    elif now:
        place = f"after line {hunk.before}" if hunk.before else "before the first line"
        label, where = "ADDED", f"{_lines(now)}, {place} of the first program"
    else:
        label, where = "REMOVED", _lines(was)
    result = Text()
    result.append(f"{label:<{INDENT}}", "bold")
    result.append(f"{where}\n")
    old, new = (
        [visible(source.line_text(block + 1)) for block in blocks[:most]]
        for source, blocks in ((comparison.before, was), (comparison.after, now))
    )
    result.append(_listed("  Was", was, old, most) + _listed("  Now", now, new, most))
    known = _comments(old)
    why = [each for each in _comments(new) if each not in known]
    if why:
        more = [f"and {len(why) - _MOST_REASONS:,} more"] if len(why) > _MOST_REASONS else []
        result.append(told("; ".join((*why[:_MOST_REASONS], *more)), "  Why"))
    return result


def _lines(blocks: range) -> str:
    first, last = blocks[0] + 1, blocks[-1] + 1
    return f"line {first}" if first == last else f"lines {first}-{last}"


def _listed(label: str, blocks: range, texts: Sequence[str], most: int) -> str:
    """Return the first lines of a change with their numbers, the first of them after a label."""
    digits = len(str(blocks.stop))
    labels = [label, *("" for _ in texts)]
    result = "".join(
        f"{head:<{INDENT}}{cut_to(f'{block + 1:>{digits}}  {text}', WIDTH - INDENT)}\n"
        for head, block, text in zip(labels, blocks, texts, strict=False)
    )
    more = len(blocks) - most
    return result + (f"{'':<{INDENT}}and {counted(more, 'more line')}\n" if more > 0 else "")


def _comments(texts: Sequence[str]) -> dict[str, None]:
    """Return the comments of blocks, each once, in order."""
    found = (one or other for text in texts for one, other in _COMMENT.findall(text))
    return dict.fromkeys(each.strip() for each in found if each.strip())


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
        f"{comparison.blocks_added:,} added, {comparison.blocks_gone:,} removed"
    )
    lines = [
        blocks,
        f"moves: {comparison.moves_added:,} added, {comparison.moves_gone:,} removed",
        "cutting path: the first leaves the second by "
        + _distance(comparison.left_out, comparison.left_out_at),
        "              the second leaves the first by "
        + _distance(comparison.added, comparison.added_at),
    ]
    result = Text("\n".join(lines) + "\n")
    if comparison.same_motion:
        result.append("same motion", "bold green")
    else:
        result.append("different motion:\n", "bold yellow")
        result.append(textwrap.fill(visible(comparison.first_difference), WIDTH))
    return result


def _distance(far: float, block: int | None) -> str:
    if math.isinf(far):
        text = f"more than {_GREATEST:g} mm"
    else:
        text = f"at most {far:.4f} mm" if far else "nothing"
    return text if block is None or not far else f"{text}, line {block + 1}"
