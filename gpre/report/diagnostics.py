"""Shows findings in their place: the line, carets under the bytes that are meant, advice."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from gpre.diagnostics.codes import is_error, severity_of
from gpre.diagnostics.diagnostic import Diagnostic, Severity, Span
from gpre.driver.counting import Counted
from gpre.report.wording import WIDTH, counted, visible
from gpre.source.text import SourceText

SHOWN_PER_CODE = 3
_COLOURS = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold cyan"}
_GUTTER = "blue"
_REACH = 4 * WIDTH  # bytes looked at on each side of a place in a very long line
_LABEL_ROOM = 24  # a label gets its own lines where less than this is left beside the carets


def has_errors(findings: Iterable[Diagnostic]) -> bool:
    """Return whether one of the findings is an error."""
    return any(is_error(each) for each in findings)


def in_order(*groups: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Join groups of findings, each finding once, sorted by place; those without one come first."""
    once = dict.fromkeys(each for group in groups for each in group)
    return tuple(sorted(once, key=lambda each: each.span or Span(-1, -1)))


def findings_of(counted_program: Counted) -> tuple[Diagnostic, ...]:
    """Return what was found in a program and on its way, in order."""
    return in_order(counted_program.program.findings, counted_program.motion.findings)


def render_findings(
    source: SourceText, findings: Sequence[Diagnostic], cap: int = SHOWN_PER_CODE
) -> Text:
    """Show findings of one file, at most `cap` of each code; end with their number."""
    totals = Counter(each.code for each in findings)
    seen: Counter[str] = Counter()
    result = Text()
    for finding in findings:
        seen[finding.code] += 1
        if seen[finding.code] > cap:
            continue
        result.append_text(render_finding(source, finding))
        more = totals[finding.code] - cap
        if seen[finding.code] == cap and more > 0:
            result.append(f"  and {more:,} more like this\n", "dim")
        result.append("\n")
    return result


def summary(findings: Iterable[Diagnostic]) -> str:
    """Return `2 errors, 1 warning`; nothing where there are none."""
    number = Counter(severity_of(each.code) for each in findings)
    return ", ".join(counted(number[each], each.value) for each in Severity if number[each])


def render_finding(source: SourceText, finding: Diagnostic) -> Text:
    """Show one finding with its place in the text."""
    colour = _COLOURS[severity_of(finding.code)]
    head = f"{severity_of(finding.code).value}[{finding.code}]"
    result = Text()
    lines = textwrap.wrap(
        f"{head}: {visible(finding.message)}",
        WIDTH,
        subsequent_indent="  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    result.append(head, colour)
    result.append("\n".join(lines)[len(head) :] + "\n", "bold")
    gutter = 1
    if finding.span is not None and len(source):
        gutter = _append_place(result, source, finding, colour)
    if finding.help:
        _append_help(result, visible(finding.help), gutter)
    return result


def render_block(source: SourceText, block: int, label: str = "") -> Text:
    """Show one block in its place, without a finding; label: what stands behind the carets."""
    text = source.block_bytes(block)
    start, end = int(source.starts[block]), int(source.ends[block])
    span = Span(end - len(text.lstrip()) if text.strip() else start, start + len(text.rstrip()))
    result = Text()
    _append_place(result, source, Diagnostic("", "", span, label), "bold red")
    return result


def _append_place(result: Text, source: SourceText, finding: Diagnostic, colour: str) -> int:
    """Append the place, the line and the carets; give the width of the gutter."""
    assert finding.span is not None
    place = source.place(finding.span.start)
    number = str(place.line)
    gutter = len(number)
    result.append(" " * gutter + "--> ", _GUTTER)
    result.append(f"{visible(source.name)}:{place.line}:{place.column}\n")
    window = _window(source, finding.span, WIDTH - gutter - 3)
    result.append(" " * gutter + " |\n", _GUTTER)
    result.append(f"{number} | ", _GUTTER)
    result.append(window.text + "\n")
    result.append(" " * gutter + " | ", _GUTTER)
    result.append(" " * window.column + "^" * window.width, colour)
    room = WIDTH - gutter - 4 - window.column - window.width
    label = visible(finding.label)
    if not label or len(label) <= room:
        result.append(f" {label}\n" if label else "\n", colour)
        return gutter
    result.append("\n")
    indent = min(window.column, WIDTH - gutter - 3 - _LABEL_ROOM)
    for line in textwrap.wrap(label, max(WIDTH - gutter - 3 - indent, _LABEL_ROOM)):
        result.append(" " * gutter + " | ", _GUTTER)
        result.append(" " * indent + line + "\n", colour)
    return gutter


def _append_help(result: Text, text: str, gutter: int) -> None:
    first = " " * gutter + " = help: "
    lines = textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_long_words=False,
        break_on_hyphens=False,
    )
    result.append("\n".join(lines) + "\n")


@dataclass(frozen=True, slots=True)
class _Window:
    """What is shown of a line, and where the carets stand under it, in columns from 0."""

    text: str
    column: int
    width: int


def _window(source: SourceText, span: Span, room: int) -> _Window:
    """Cut what fits into `room` columns out of the line that holds the span's start."""
    block = source.block_of(span.start)
    line_start, line_end = int(source.starts[block]), int(source.ends[block])
    start = min(max(span.start, line_start), line_end)
    end = min(max(span.end, start), line_end)
    left, right = max(line_start, start - _REACH), min(line_end, start + _REACH)
    before = _shown(source, left, start)
    meant = _shown(source, start, min(end, right))
    after = _shown(source, min(end, right), right)
    cut_left, cut_right = left > line_start, right < line_end
    total = cell_len(before) + cell_len(meant) + cell_len(after)
    if total > room or cut_left or cut_right:
        keep = max(room // 2, room - cell_len(meant) - cell_len(after) - 3)
        if cut_left or cell_len(before) > keep:
            before = "..." + _last_cells(before, keep - 3)
        meant_room = room - cell_len(before) - 3
        if cell_len(meant) > meant_room:
            meant, after = _first_cells(meant, meant_room), "..."
        elif cut_right or cell_len(after) > meant_room + 3 - cell_len(meant):
            after = _first_cells(after, meant_room - cell_len(meant)) + "..."
    return _Window(before + meant + after, cell_len(before), max(cell_len(meant), 1))


def _shown(source: SourceText, start: int, end: int) -> str:
    return visible(source.data[start:end].decode(source.encoding, "replace"))


def _first_cells(text: str, room: int) -> str:
    while cell_len(text) > room and text:
        text = text[: len(text) - max(1, (cell_len(text) - room) // 2)]
    return text


def _last_cells(text: str, room: int) -> str:
    while cell_len(text) > room and text:
        text = text[max(1, (cell_len(text) - room) // 2) :]
    return text
