"""Shows findings as they are looked for at the control: the line and the block number first."""

from __future__ import annotations

import re
import textwrap
from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from rich.cells import cell_len
from rich.text import Text

from gpre.diagnostics.codes import is_error, severity_of
from gpre.diagnostics.diagnostic import Diagnostic, Severity, Span
from gpre.driver.counting import Counted
from gpre.driver.not_stated import unstated_findings
from gpre.report.wording import WIDTH, counted, visible
from gpre.source.text import SourceText

Unstated = Callable[[Counted], tuple[Diagnostic, ...]]

SHOWN_PER_CODE = 3
_COLOURS = {Severity.ERROR: "bold red", Severity.WARNING: "bold yellow", Severity.NOTE: "bold cyan"}
LABELS = {Severity.ERROR: "FAULT", Severity.WARNING: "WARNING", Severity.NOTE: "NOTE"}
DO = "  Do"
INDENT = 9  # columns of the labels
_MORE = "..."
_OTHER_MARKS = ">>", "<<"  # in the place of brackets, of a block that has some itself
_NUMBER = re.compile(r"\s*/?\d?\s*[Nn]\s*(\d+)")
_REACH = 4 * WIDTH  # bytes looked at on each side of a place in a very long line


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


def all_findings_of(
    counted_program: Counted, unstated: Unstated = unstated_findings
) -> tuple[Diagnostic, ...]:
    """Return what nothing states in a program, as `unstated` tells it, and what was found in it."""
    return (*unstated(counted_program), *findings_of(counted_program))


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
    """Return `2 faults, 1 warning`; nothing where there are none."""
    number = Counter(severity_of(each.code) for each in findings)
    return ", ".join(counted(number[each], LABELS[each].lower()) for each in LABELS if number[each])


def render_finding(source: SourceText, finding: Diagnostic) -> Text:
    """Show one finding: where it is, the block with the words at fault in brackets, what to do."""
    severity = severity_of(finding.code)
    result = _head(LABELS[severity], _COLOURS[severity], _where(source, finding.span), finding.code)
    if finding.span is not None and len(source):
        result.append_text(_block(source, finding.span, _COLOURS[severity]))
    result.append(told(finding.message))
    if finding.label:
        result.append(told(f"in brackets: {finding.label}"))
    if finding.help:
        result.append(told(finding.help, DO))
    return result


def render_block(source: SourceText, block: int, label: str) -> Text:
    """Show one block of a program, without a finding; label: what stands before its place."""
    place = Span(int(source.starts[block]), int(source.ends[block]))
    result = _head(label, "bold", _where(source, place))
    text = visible(source.line_text(block + 1)).strip()
    result.append(f"{'':<{INDENT}}{cut_to(text, WIDTH - INDENT)}\n")
    return result


def told(text: str, label: str = "") -> str:
    """Return a text in lines that start below one another, the first one after a label."""
    return (
        textwrap.fill(
            visible(text),
            WIDTH,
            initial_indent=f"{label:<{INDENT}}",
            subsequent_indent=" " * INDENT,
            break_long_words=False,
            break_on_hyphens=False,
        )
        + "\n"
    )


def _head(label: str, style: str, where: str, code: str = "") -> Text:
    """Return a label, the place, and at the right margin the code."""
    result = Text()
    result.append(f"{label:<{INDENT}}", style)
    room = WIDTH - INDENT - cell_len(where)
    result.append(where, "bold")
    result.append(f"  {code:>{max(room - 2, 0)}}\n" if code else "\n")
    return result


def _where(source: SourceText, span: Span | None) -> str:
    """Return `plate.ngc  line 3, block N20`, as far as it has a name, a place and a number."""
    parts = [visible(source.name)] if source.name else []
    if span is not None:
        line = source.place(span.start).line
        if not len(source):
            return f"{visible(source.name)}  line {line}"
        start = int(source.starts[line - 1])
        number = _NUMBER.match(
            _shown(source, start, min(start + _REACH, int(source.ends[line - 1])))
        )
        block = f", block N{number[1]}" if number else ""
        parts.append(f"line {line}{block}")
    return "  ".join(parts)


def _block(source: SourceText, span: Span, style: str) -> Text:
    """Return the line that holds the start of a place, what is meant in brackets, cut to fit."""
    block = source.block_of(span.start)
    line_start, line_end = int(source.starts[block]), int(source.ends[block])
    start = min(max(span.start, line_start), line_end)
    end = min(max(span.end, start), line_end)
    left, right = max(line_start, start - _REACH), min(line_end, start + _REACH)
    before, after = _shown(source, left, start).lstrip(), _shown(source, end, max(end, right))
    room = WIDTH - INDENT - 2 * len(_OTHER_MARKS[0])
    meant = cut_to(_shown(source, start, min(end, right)), room * 2 // 3)
    room -= cell_len(meant)
    if left > line_start or cell_len(before) > max(room // 2, room - cell_len(after)):
        keep = max(room // 2, room - cell_len(after)) - len(_MORE)
        before = _MORE + _last_cells(before, keep)
    after = cut_to(after.rstrip(), room - cell_len(before), more=end <= right < line_end)
    opens, closes = _OTHER_MARKS if set("[]") & set(before + meant + after) else "[]"
    result = Text(" " * INDENT + before)
    result.append(f"{opens}{meant}{closes}", style)
    return result.append(f"{after}\n")


def cut_to(text: str, room: int, *, more: bool = False) -> str:
    """Return what of a text fits into `room` columns; more: it goes on where it ends."""
    if cell_len(text) <= room - len(_MORE) * more:
        return text + _MORE * more
    return _first_cells(text, room - len(_MORE)) + _MORE


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
