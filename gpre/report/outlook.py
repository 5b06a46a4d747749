"""What a rewrite brings, in four lines: marks, time, error, and who takes the backlash up."""

from __future__ import annotations

import textwrap

from rich.table import Table

from gpre.driver.outlook import Outlook
from gpre.driver.rewrite import Rewritten
from gpre.mill.mill import Mill
from gpre.program.take_up_mark import find_mark
from gpre.report.quantities import Scale
from gpre.report.wording import WIDTH, counted


def outlook_table(before: Outlook, after: Outlook, units: int) -> Table:
    """Lay out what two programs come to; units: of the program, 20 or 21."""
    scale = Scale(units)
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="bold")
    table.add_column("predicted")
    for head in ("before", "after"):
        table.add_column(head, justify="right")
    rows = (
        ("places where the cutter dwells", *(f"{one.marks:,}" for one in (before, after))),
        ("seconds dwelling", *(f"{one.stands:.1f}" for one in (before, after))),
        ("cycle time", *(_clock(one) for one in (before, after))),
        (f"greatest error, {scale.unit}", *(scale.figure(one.error) for one in (before, after))),
    )
    for row in rows:
        table.add_row(*row)
    return table


def _clock(one: Outlook) -> str:
    """Return minutes and seconds."""
    whole = round(one.cycle_time)
    return f"{whole // 60}:{whole % 60:02}"


def compensation_text(rewritten: Rewritten, mill: Mill) -> str:
    """Say what the controller's own compensation must be when the new program runs."""
    by = mill.compensation.by
    if find_mark(rewritten.after.program) is not None:
        said = "the program carries the backlash: the controller's own compensation must be OFF"
    elif by == "controller":
        said = "the controller takes the backlash up: its compensation stays ON"
    elif by == "program":
        said = (
            "the program does not carry the backlash: see why take-up was skipped; nothing else "
            "takes it up, as the profile has it"
        )
    else:
        said = "nothing takes the backlash up, as the profile has it"
    return textwrap.fill(said, WIDTH)


def unknown_text(one: Outlook) -> str:
    """Say how many moves the cycle time leaves out, or ""."""
    return f"not counted: {counted(one.unknown, 'move')} of unknown time" if one.unknown else ""
