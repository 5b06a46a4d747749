"""What a proof of two programs comes to: the verdict, each obligation, and where one fails."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from itertools import groupby

from rich.console import RenderableType
from rich.text import Text

from gpre.driver.counting import Counted
from gpre.driver.proving import Proved
from gpre.mill.job import Job
from gpre.proof.proof import Obligation
from gpre.report.diagnostics import INDENT, findings_of, has_errors, render_block, told
from gpre.report.not_stated import not_stated_texts
from gpre.report.rewrite import failed_lines
from gpre.report.unknown import unknown_lines
from gpre.report.wording import WIDTH, counted, visible

_MARKS = {
    "ok": ("  ok       ", "green"),
    "differs": ("  differs  ", "cyan"),
    "failed": ("  FAIL     ", "bold red"),
    "not looked at": ("  --       ", "yellow"),
}
VERDICTS = tuple(_MARKS)
_MARK_WIDTH = 11
_LEAST = 30  # columns that a figure gets at the least


def faulty(proved: Proved) -> bool:
    """Return whether one of the programs has faults: then nothing is proved of it."""
    return any(has_errors(findings_of(each)) for each in (proved.before, proved.after))


def verdict_of(proved: Proved, obligation: Obligation) -> str:
    """Return `ok`, `differs` (not of the part), `failed` or `not looked at`."""
    if not obligation.looked:
        return "not looked at"
    if obligation.holds:
        return "ok"
    return "differs" if proved.harmless(obligation) else "failed"


def verdict(proved: Proved) -> str:
    """Return the verdict in a sentence."""
    if faulty(proved):
        return "NOT PROVED: a program has faults; fix them first"
    if not proved.holds:
        failed = counted(len(proved.failed), "obligation")
        return f"NOT PROVED: {failed} not shown; do not cut with the second program on this proof"
    weaker = ", of the paths alone" if proved.weaker else ""
    return f"PROVED{weaker}: the second program makes the same part as the first, as safely"


def what_to_name(proved: Proved, job: Job) -> str:
    """Say what would make the proof stronger, or "" where nothing would."""
    said = []
    if proved.weaker and proved.unnamed:
        names = ", ".join(str(each) for each in proved.unnamed)
        one = len(proved.unnamed) == 1
        options = " ".join(f"--tool {each}=DIAMETER" for each in proved.unnamed)
        said.append(
            f"this is the weaker proof: {'tool' if one else 'tools'} {names} "
            f"{'is' if one else 'are'} not named, so the metal was not looked at; give {options}, "
            "or a job file"
        )
    failed = {each.name for each in proved.failed}
    looked = bool(failed) and not failed & {"readable", "stops and switches", "protected moves"}
    if job.stock is None and (proved.weaker or looked):
        said.append(
            "the stock is not named either: metal is taken to be everywhere; give "
            "--stock XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX"
            if said
            else "the stock is not named: metal is taken to be everywhere, and with --stock "
            "XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX more may be shown"
        )
    return "; ".join(said)


def obligation_rows(proved: Proved) -> Iterator[tuple[str, list[str]]]:
    """Return each obligation as its verdict and its lines; those that say the same share a row."""
    obligations = proved.proof.obligations
    width = max((len(each.name) for each in obligations), default=0)

    def said(each: Obligation) -> tuple[str, str]:
        return verdict_of(proved, each), each.figure + failed_lines(each)

    for (found, figure), group in groupby(obligations, said):
        names = ", ".join(each.name for each in group)
        if len(names) > width:
            head, text = "", f"{names}: {figure}"
        else:
            head, text = f"{names:<{width}}  ", figure
        room = max(WIDTH - _MARK_WIDTH - len(head), _LEAST)
        lines = textwrap.wrap(visible(text), room, break_on_hyphens=False) or [""]
        indent = " " * len(head)
        yield found, [head + lines[0], *(indent + line for line in lines[1:])]


def render_obligations(proved: Proved) -> Text:
    """Show each obligation with its verdict and its figure."""
    result = Text()
    for found, lines in obligation_rows(proved):
        mark, colour = _MARKS[found]
        result.append(mark, colour)
        result.append(("\n" + " " * _MARK_WIDTH).join(lines) + "\n")
    return result


def render_failures(proved: Proved) -> Text:
    """Show where obligations fail, in both programs where they have a place there."""
    result = Text()
    for each in proved.failed:
        if each.before is None and each.after is None:
            continue
        result.append(f"\n{'FAIL':<{INDENT}}", "bold red")
        result.append(told(f"{each.name}: {each.figure}", "FAIL")[INDENT:])
        for side, block, label in (
            (proved.before, each.before, "before"),
            (proved.after, each.after, "after"),
        ):
            if block is not None:
                result.append_text(render_block(side.program.source, block, label))
    return result


def render_prove(proved: Proved, job: Job, name: str = "") -> list[RenderableType]:
    """Show the proof of two programs, part by part; name: of the certificate, if one is written."""
    sides = (("before", proved.before), ("after", proved.after))
    first = [_filled(text) + "\n" for text in not_stated_texts(proved.before, proved.after)]
    parts: list[RenderableType] = [*first, "\n"] if first else []
    parts += [f"{which:<6}  {opening(side)}\n" for which, side in sides]
    parts.append("\n")
    figures = {each.figure for each in proved.proof.obligations}
    if proved.proof.holds and len(figures) == 1:
        parts.append(f"all obligations hold: {visible(figures.pop())}\n")
    else:
        parts += [render_obligations(proved), render_failures(proved)]
    places = unknown_lines(proved)
    if places:
        parts.append("\nplaces that are not known; moves from and to them must be the same words\n")
        parts += [_filled(f"  {each}", "    ") + "\n" for each in places]
    more = what_to_name(proved, job)
    if more:
        parts.append("\n" + _filled(more) + "\n")
    colour = "bold green" if proved.holds and not faulty(proved) else "bold red"
    parts += ["\n", Text(_filled(verdict(proved)) + "\n", colour)]
    if name:
        parts.append(f"certificate: {visible(name)}\n")
    return parts


def opening(side: Counted) -> str:
    """Return the name of a program and how long it is."""
    program = side.program
    blocks, moves = counted(len(program), "block"), counted(len(side.motion), "move")
    return f"{visible(program.source.name)}: {blocks}, {moves}"


def _filled(text: str, rest: str = "") -> str:
    return textwrap.fill(
        visible(text), WIDTH, subsequent_indent=rest, break_on_hyphens=False, break_long_words=False
    )
