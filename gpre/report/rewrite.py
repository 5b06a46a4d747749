"""What a rewrite run comes to: reversals before and after, the proof, the cautions."""

from __future__ import annotations

import textwrap

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from gpre.driver.rewrite import Rewritten
from gpre.proof.proof import Obligation, Proof
from gpre.report.count import AxisCount, count_axes
from gpre.report.plan import render_plan
from gpre.report.wording import WIDTH, visible
from gpre.reversals.reversals import AXES

CAUTIONS = (
    "Before cutting: dry run above the part with a hand on feed hold; wear eye protection; never "
    "leave a first run alone; climb milling can pull a loose table."
)

Counts = dict[str, AxisCount]


def cautions() -> str:
    """Return the cautions, broken to lines."""
    return textwrap.fill(CAUTIONS, WIDTH)


def before_and_after(before: Counts, after: Counts) -> Table:
    """Lay out the reversals of two programs, while cutting and in all."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="bold")
    table.add_column("reversals")
    for head in ("cutting", "before", "after", "total", "before", "after"):
        table.add_column("" if head.startswith("in") else head, justify="right")
    table.columns[1].header = "cutting:"
    table.columns[4].header = "total:"
    rows = [(name.upper(), before[name], after[name]) for name in AXES]
    for name, old, new in rows:
        table.add_row(name, "", *_pair(old.cutting, new.cutting), "", *_pair(old.total, new.total))
    sums = [
        sum(each)
        for each in zip(
            *((b.cutting, a.cutting, b.total, a.total) for _, b, a in rows), strict=True
        )
    ]
    table.add_row("all", "", *_pair(*sums[:2]), "", *_pair(*sums[2:]), style="bold")
    return table


def _pair(before: int, after: int) -> tuple[str, str]:
    return f"{before:,}", f"{after:,}"


def render_proof(proof: Proof) -> Text:
    """Show each obligation with its verdict and its figure."""
    result = Text()
    result.append("proof: ", "bold")
    figures = {each.figure for each in proof.obligations}
    if not proof.holds:
        result.append("FAILED\n", "bold red")
    elif len(figures) == 1 and len(proof.obligations) > 1:  # the same is said of all
        result.append("holds", "bold green")
        result.append(f", {visible(figures.pop())}\n")
        return result
    else:
        result.append("holds\n", "bold green")
    width = max((len(each.name) for each in proof.obligations), default=0)
    for each in proof.obligations:
        mark, colour = ("  ok    ", "green") if each.holds else ("  FAIL  ", "bold red")
        mark, colour = (mark, colour) if each.looked else ("  --    ", "yellow")
        result.append(mark, colour)
        head = f"{each.name:<{width}}  "
        lines = textwrap.wrap(
            visible(each.figure) + failed_lines(each),
            max(WIDTH - 8 - len(head), 30),
            break_on_hyphens=False,
        )
        indent = "\n" + " " * (8 + len(head))
        result.append(head + indent.join(lines or [""]) + "\n")
    return result


def failed_lines(obligation: Obligation) -> str:
    """Name the lines of an obligation that does not hold, or ""."""
    if obligation.holds:
        return ""
    said = [
        f"line {block + 1} {which}"
        for block, which in ((obligation.before, "before"), (obligation.after, "after"))
        if block is not None
    ]
    return f" ({', '.join(said)})" if said else ""


def render_rewrite(rewritten: Rewritten) -> list[RenderableType]:
    """Show what was done and left alone, and the counts, part by part."""
    before = count_axes(rewritten.started[0].reversals)
    after = count_axes(rewritten.started[1].reversals)
    return [render_plan(rewritten.plan), "\n", before_and_after(before, after)]


def render_verdict(proof: Proof, *, full: bool) -> Text:
    """Say that the proof holds in one line; all of it where that is asked for, or it fails."""
    if full or not proof.holds:
        return render_proof(proof)
    looked = [each for each in proof.obligations if each.looked]
    left = [each for each in proof.obligations if not each.looked]
    result = Text("proof: ", "bold")
    result.append("holds", "bold green")
    said = f"({len(looked)} of {len(looked)}; --full lists them)"
    if left:
        why = left[0].figure.removeprefix("not looked at: ")
        said += f"; {len(left)} not looked at: {why}"
    indent = len(result) + 1
    lines = textwrap.wrap(visible(said), WIDTH - indent, break_on_hyphens=False)
    result.append(" " + ("\n" + " " * indent).join(lines) + "\n")
    return result
