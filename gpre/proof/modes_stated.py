"""What the first program states of its modes before it needs them, the second must state too.

A header of G21 G17 G90 G54 is what keeps a program from running in what another one left in force.
Where it is gone the motion looks the same, as long as the controller starts as the profile says.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.coverage import distances
from gpre.motion.events import EventKind
from gpre.motion.groups import G_GROUPS, UNITS, Group
from gpre.motion.order import run_order
from gpre.program.words import BlockFlag
from gpre.proof.event_order import named
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side, sub

NAME = "modal codes set"
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
Ints = NDArray[np.int64]

_SHARES = np.linspace(0.0, 1.0, 9)  # of a move, where it is looked at
_UNSURE = int(BlockFlag.OUTSIDE | BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)


class _Stated(NamedTuple):
    """The first statement of a group: its code times ten, its block, what was made before it.

    moves, cuts: made before it; of a statement behind a step, since that.
    """

    code: int
    block: int
    moves: int
    cuts: int
    deletable: bool


def modes_stated(pair: Pair) -> Obligation:
    """Show that modes are stated as early as they were, and first the same."""
    before = _Statements(pair.before, deletable=True)
    after = [_Statements(pair.after, deletable=each) for each in (False, True)]
    firm, loose = (each.first() for each in after)
    wanted = before.first()
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
    return _behind_handovers(pair, before, *after) or Obligation(
        NAME, holds=True, figure=f"all {len(wanted)} as early as they were"
    )


def _behind_handovers(
    pair: Pair, before: _Statements, firmly: _Statements, loosely: _Statements
) -> Obligation | None:
    """Return what is no longer stated behind what may have changed it, before the next cut."""
    macro = pair.mill.controller.tool_change_moves != "none"  # not by hand, it may run one
    handovers = zip(
        *(_handovers(each, macro=macro) for each in (pair.before, pair.after)), strict=False
    )
    for (what, old_step), (_, new_step) in handovers:
        firm, loose = firmly.first(new_step), loosely.first(new_step)
        for group, old in before.first(old_step).items():
            if old.cuts:
                continue
            new = (loose if old.deletable else firm).get(group)
            if new and new.code == old.code and not new.cuts and (old.moves or not new.moves):
                continue
            return Obligation(
                NAME,
                holds=False,
                figure=f"{_code(old.code)} ({_NAMES[group]}) is no longer stated after {what}, "
                "which may have changed it",
                before=old.block,
                after=None if new is None else new.block,
            )
    return None


def _handovers(side: Side, *, macro: bool) -> list[tuple[str, int]]:
    """Return what may change modes in a way that is not seen, and the step in which it runs.

    macro: a tool change may.
    """
    events = [
        event
        for event in side.motion.events
        if event.kind is EventKind.HANDOVER
        or (macro and event.kind is EventKind.TOOL_CHANGE)
        or (event.kind is EventKind.UNKNOWN and event.value.startswith("G"))
    ]
    steps = run_order(len(side.program), side.motion).of_events(events).tolist() if events else []
    names = [
        named(event) if event.kind is EventKind.TOOL_CHANGE else event.value for event in events
    ]
    return list(zip(names, steps, strict=True))


def _is_later(pair: Pair, old: _Stated, new: _Stated) -> bool:
    """Return whether something is made before a statement that was not made before it.

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


class _Statements:
    """All statements of modes of a program in the order in which they first run.

    deletable: those that a switch may skip count too.
    """

    def __init__(self, side: Side, *, deletable: bool) -> None:
        program, motion = side.program, side.motion
        words, flags = program.words, program.blocks.flags
        self._order = order = run_order(len(program), motion)
        skipped = _UNSURE | (0 if deletable else int(BlockFlag.DELETE))
        usable = ((flags & skipped) == 0) & (order.runs > 0)
        rows = np.flatnonzero((words.letter == ord("G")) & usable[words.block])
        tenths = np.rint(words.value[rows] * 10.0)
        codes = np.where(np.abs(tenths) < 1e6, tenths, -1.0).astype(np.int64)
        self._cuts = np.concatenate(([0], np.cumsum(motion.at_feed)))
        self._skips = (flags & int(BlockFlag.DELETE)) != 0
        # of each group (k,): code times ten, block, and the step in which it first runs, in order
        self._of_group: dict[Group, tuple[Ints, Ints, Ints]] = {}
        for group in _NAMES:
            mine = np.isin(codes, [code for code, its in G_GROUPS.items() if its is group])
            block = words.block[rows[mine]].astype(np.int64)
            step = order.first[block]
            at = np.argsort(step, kind="stable")
            if len(at):
                self._of_group[group] = codes[mine][at], block[at], step[at]

    def first(self, step: int = -1) -> dict[Group, _Stated]:
        """Return the first statement of each group behind a step; -1: from the start."""
        since = int(self._order.row_at[step]) if step >= 0 else 0
        found: dict[Group, _Stated] = {}
        for group, (codes, blocks, steps) in self._of_group.items():
            at = int(np.searchsorted(steps, step, side="right"))
            if at == len(steps):
                continue
            block, code = int(blocks[at]), int(codes[at])
            made = int(self._order.row_at[steps[at]])
            cuts = int(self._cuts[made] - self._cuts[since])
            code = UNITS[code] * 10 if group is Group.UNITS else code
            found[group] = _Stated(code, block, made - since, cuts, bool(self._skips[block]))
        return found
