"""What the first program states of its modes before it needs them, the second must state too.

A header of G21 G17 G90 G54 is what keeps a program from running in what another one left in force.
Where it is gone the motion looks the same, as long as the controller starts as the profile says.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.coverage import distances
from gpre.motion.groups import G_GROUPS, UNITS, Group
from gpre.motion.order import run_order
from gpre.program.words import BlockFlag
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side, sub

NAME = "modes stated"
_NAMES = {
    Group.PLANE: "the plane",
    Group.DISTANCE: "G90 or G91",
    Group.ARC_DISTANCE: "G90.1 or G91.1",
    Group.FEED_MODE: "the feed mode",
    Group.UNITS: "the units",
    Group.COMPENSATION: "cutter compensation",
    Group.LENGTH: "the tool length offset",
    Group.RETRACT: "G98 or G99",
    Group.SYSTEM: "the work system",
    Group.PATH: "the path mode",
}
_SHARES = np.linspace(0.0, 1.0, 9)  # of a move, where it is looked at
_UNSURE = int(BlockFlag.OUTSIDE | BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)


class _Stated(NamedTuple):
    """The first statement of a group: its code times ten, its block, what was made before it."""

    code: int
    block: int
    moves: int
    cuts: int
    deletable: bool


def modes_stated(pair: Pair) -> Obligation:
    """Show that modes are stated as early as they were, and first the same."""
    firm, loose = (_first_stated(pair.after, deletable=each) for each in (False, True))
    wanted = _first_stated(pair.before, deletable=True)
    for group, old in wanted.items():
        new = (loose if old.deletable else firm).get(group)
        if new is None:
            what = "no longer stated"
        elif new.code != old.code:
            what = "no longer what is stated first"
        elif _is_later(pair, old, new):
            what = "stated later than it was"
        else:
            continue
        return Obligation(
            NAME,
            holds=False,
            figure=f"{_code(old.code)} ({_NAMES[group]}) is {what}, so what an earlier program "
            "left in force would hold",
            before=old.block,
            after=None if new is None else new.block,
        )
    return Obligation(NAME, holds=True, figure=f"all {len(wanted)} as early as they were")


def _is_later(pair: Pair, old: _Stated, new: _Stated) -> bool:
    """Tell whether something is made before a statement that was not made before it.

    New moves at feed among those that ran before it anyway, as a loop off the part has them, need
    it no more than these, as long as no cut from behind it, nor a piece of one, runs before it.
    """
    if new.moves == 0 or (old.moves > 0 and new.cuts <= old.cuts):
        return False
    if old.moves == 0:
        return True
    rows = pair.after.feeding[pair.after.feeding < new.moves]
    partner = pair.partner[rows]
    if (partner >= old.moves).any():
        return True
    moves = sub(pair.after, rows[partner < 0])
    points = [paths.points(moves, np.full(len(moves.sweep), share)) for share in _SHARES]
    behind, front = (
        np.isfinite(
            distances(
                np.concatenate(points),
                sub(pair.before, pair.before.feeding[side]),
                below=False,
                reach=pair.tolerance,
            )
        )
        for side in (pair.before.feeding >= old.moves, pair.before.feeding < old.moves)
    )
    return bool((behind & ~front).any())


def _code(code: int) -> str:
    return f"G{code / 10:g}"


def _first_stated(side: Side, *, deletable: bool) -> dict[Group, _Stated]:
    """Give the first statement of each group; deletable: one that a switch may skip counts."""
    program, motion = side.program, side.motion
    words, flags = program.words, program.blocks.flags
    order = run_order(len(program), motion)
    skipped = _UNSURE | (0 if deletable else int(BlockFlag.DELETE))
    usable = ((flags & skipped) == 0) & (order.runs > 0)
    rows = np.flatnonzero((words.letter == ord("G")) & usable[words.block])
    rows = rows[np.argsort(order.first[words.block[rows]], kind="stable")]
    codes = np.rint(words.value[rows] * 10.0)
    cuts = np.concatenate(([0], np.cumsum(motion.at_feed)))
    found: dict[Group, _Stated] = {}
    values, first = np.unique(codes, return_index=True)
    for at, number in sorted(zip(first.tolist(), values.tolist(), strict=True)):
        group = G_GROUPS.get(number)
        if group not in _NAMES or group in found:
            continue
        block = int(words.block[rows[at]])
        made = int(order.row_at[order.first[block]])
        code = UNITS[int(number)] * 10 if group is Group.UNITS else int(number)
        skips = bool(flags[block] & int(BlockFlag.DELETE))
        found[group] = _Stated(code, block, made, int(cuts[made]), skips)
    return found
