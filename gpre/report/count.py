"""The reversals of a program as a table, a list, or JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from rich.table import Table

from gpre.motion.events import EventKind
from gpre.motion.motion import Motion
from gpre.program.program import Program
from gpre.program.words import BlockFlag
from gpre.report.records.values import Rule
from gpre.report.wording import counted, length, visible
from gpre.reversals.reversals import AXES, ReversalKind, Reversals

KindName = Annotated[str, Rule(one_of=tuple(kind.name.lower() for kind in ReversalKind))]
_IDLE = BlockFlag.BLANK | BlockFlag.COMMENT | BlockFlag.PERCENT | BlockFlag.OUTSIDE


@dataclass(frozen=True, slots=True)
class AxisCount:
    """The reversals of one axis."""

    total: Annotated[int, "all of them"]
    cutting: Annotated[int, "those while cutting"]
    by_kind: Annotated[dict[KindName, int], "all of them, by where on the path they happen"]


def count_axes(reversals: Reversals) -> dict[str, AxisCount]:
    """Count the reversals of X, Y and Z."""
    result: dict[str, AxisCount] = {}
    for index, name in enumerate(AXES):
        mine = reversals.axis == index
        kinds = np.bincount(reversals.kind[mine], minlength=len(ReversalKind))
        result[name] = AxisCount(
            int(mine.sum()),
            int((mine & reversals.in_cut).sum()),
            {kind.name.lower(): int(kinds[kind]) for kind in ReversalKind},
        )
    return result


def count_table(counts: dict[str, AxisCount]) -> Table:
    """Lay the counts out, one row an axis and one for all."""
    table = Table(box=None, pad_edge=False, padding=(0, 1), header_style="bold")
    table.add_column("axis")
    for head in ("total", "cutting", *(kind.name.lower() for kind in ReversalKind)):
        table.add_column(head, justify="right")
    for name, axis in counts.items():
        table.add_row(name.upper(), *(f"{n:,}" for n in _row(axis)))
    sums = [sum(column) for column in zip(*map(_row, counts.values()), strict=True)]
    table.add_row("all", *(f"{n:,}" for n in sums), style="bold")
    return table


def _row(axis: AxisCount) -> tuple[int, ...]:
    return (axis.total, axis.cutting, *axis.by_kind.values())


def opening_line(program: Program, motion: Motion) -> str:
    """Say how much was read, and where the count stops if that is before the end."""
    blocks, moves = counted(len(program), "block"), counted(len(motion), "move")
    return f"{visible(program.source.name)}: {blocks}, {moves}"


def stops_early(program: Program, motion: Motion) -> int | None:
    """Return the line from which on nothing was counted, where the program does not end there."""
    if motion.followed_to >= len(program):
        return None
    if any(event.kind is EventKind.END for event in motion.events):
        return None
    rest = program.blocks.flags[motion.followed_to :]
    if not np.any((rest & int(_IDLE)) == 0):
        return None
    return motion.followed_to + 1


def list_lines(motion: Motion, reversals: Reversals) -> Iterator[str]:
    """Return one line for each reversal; positions are in the units of the program."""
    yield (f"{'line':>8}  axis  now  {'X':>11} {'Y':>11} {'Z':>11}  {'kind':<8}  cutting".rstrip())
    states = motion.state[reversals.move]
    for row in range(len(reversals)):
        units = motion.states[int(states[row])].units
        x, y, z = (length(float(value), units) for value in reversals.position[row])
        way = "+" if reversals.direction[row] > 0 else "-"
        kind = ReversalKind(int(reversals.kind[row])).name.lower()
        cut = "yes" if reversals.in_cut[row] else "no"
        axis = AXES[int(reversals.axis[row])].upper()
        line = int(reversals.block[row]) + 1
        yield f"{line:>8}  {axis:<4}  {way:<3}  {x:>11} {y:>11} {z:>11}  {kind:<8}  {cut}"
