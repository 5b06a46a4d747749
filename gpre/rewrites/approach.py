"""Reaches every hole, plunge and contour start from the same side, with the backlash taken up.

A hole is reached in the directions that the mill's profile names. A cut that goes on from its
plunge is reached, on each axis, in the direction in which that axis first travels while cutting, so
that no reversal falls at its start. Where the program's own way does not do that, a small loop in
the air does: beyond the place by the overshoot, and back. `G0 X10 Y10` becomes::

    G0 X8.75 Y8.75 (approach X+ Y+)
    G0 X10 Y10
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from gpre.cuts.cuts import Cut, Shape
from gpre.editing.at_each import whole_program
from gpre.editing.context import Context
from gpre.editing.cycle_words import CycleWords
from gpre.editing.loop_ways import loop_to
from gpre.editing.loops import Loop, Looper, Sides
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip
from gpre.editing.writer import SAME
from gpre.mill.costs import error_from_wrong_side
from gpre.reversals.screw_side import BacklashWalk

NAME = "approach"


@dataclass(frozen=True, slots=True)
class Target:
    """A place to reach.

    first: the row that starts the cut. link: the first row of the air moves before it, without
    what lies behind an event that loses the backlash. last: the last of them that moves X or Y, or
    None. sides: the axes that do not arrive right, each with the right direction. gained: the
    reversals while cutting that go away. nearer: mm, by how much the place misses without the loop.
    """

    first: int
    link: int
    last: int | None
    sides: Sides
    hole: bool
    gained: int
    nearer: float


@dataclass(frozen=True, slots=True)
class Found:
    """A target with its loop, or with why it has none."""

    target: Target
    block: int
    outcome: Loop | Skip


def approach(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a loop for each place that needs one; name those that cannot have it."""
    if not context.cuts:
        return
    if context.editable.whole:
        yield whole_program(NAME, context, context.editable.whole)
        return
    found = _find(context)
    at = 0
    while at < len(found):
        group = _group(found, at, context.cycles)
        yield _proposal(group) if isinstance(group[0].outcome, Loop) else _refusal(group)
        at += len(group)


def _find(context: Context) -> list[Found]:
    """Go through all cuts in order; each loop changes how the next places are reached."""
    walk = BacklashWalk(context.motion, context.mill)
    looper = Looper(context)
    found = []
    before: Cut | None = None
    for cut in context.cuts:
        walk.advance(cut.first)
        target = _target(context, walk, cut, before)
        before = cut
        if target is None:
            continue
        outcome: Loop | Skip
        try:
            outcome = loop_to(looper, target.first, target.link, target.last, target.sides)
        except Skip as why:
            outcome = why
        else:
            for axis, side in target.sides.items():
                walk.x_y[axis].settle(side)
        found.append(Found(target, context.motion.block_of(cut.first), outcome))
    return found


def _target(context: Context, walk: BacklashWalk, cut: Cut, before: Cut | None) -> Target | None:
    """Look at one cut; None where nothing is to be done, or the tool never left the metal."""
    motion = context.motion
    link = 0 if before is None else before.last
    if link == cut.first and before is not None:
        return None
    travel = np.abs(motion.end[link : cut.first, :2] - motion.start[link : cut.first, :2])
    moving = np.flatnonzero(~(travel.max(axis=1, initial=0.0) <= SAME))
    hole = cut.shape is Shape.HOLE
    lost = walk.last_forgotten(cut.first)
    still = not len(moving) and before is not None and lost <= before.first
    if still and hole and before is not None and before.shape is Shape.HOLE:
        return None  # the next peck of the same hole
    sides, gained = {}, 0
    for axis in (0, 1):
        way = 0 if hole else walk.first_direction(axis, cut.first, cut.last)
        side = way or context.mill.axes[axis].approach
        backlash = walk.x_y[axis]
        if not backlash.taken_up(side):
            sides[axis] = side
            gained += bool(way) and backlash.last == -way
    if not sides:
        return None
    start = max(link, lost)
    last = link + int(moving[-1]) if len(moving) else None
    if last is not None and (last < start or not np.isfinite(motion.start[last]).all()):
        last = None  # a way from where nobody knows stays as it is; the loop comes behind it
    mill, place = context.mill, motion.machine_end(cut.first)[:2]
    nearer = sum(error_from_wrong_side(mill, axis, place) for axis in sides)
    return Target(cut.first, start, last, sides, hole, gained, nearer)


def _group(found: list[Found], at: int, cycles: Mapping[int, CycleWords]) -> list[Found]:
    """Return the loops of one row of cycle blocks, or refusals in a row for one reason."""
    head = found[at]
    group = [head]
    for each in found[at + 1 :]:
        if isinstance(head.outcome, Skip) and isinstance(each.outcome, Skip):
            same = head.outcome.reason == each.outcome.reason
        elif isinstance(head.outcome, Skip) or isinstance(each.outcome, Skip):
            same = False
        else:
            rows = [cycles[one.block].first if one.block in cycles else -1 for one in (head, each)]
            same = rows[0] == rows[1] != -1
        if not same:
            break
        group.append(each)
    return group


def _proposal(group: list[Found]) -> Proposal:
    loops = [each.outcome for each in group if isinstance(each.outcome, Loop)]
    if len(group) > 1:
        summary = f"reach {len(group)} holes of a cycle from the same side"
    else:
        target = group[0].target
        ways = " and ".join(
            f"{'XY'[axis]}{'+' if side > 0 else '-'}" for axis, side in target.sides.items()
        )
        summary = f"reach the {'hole' if target.hole else 'start of the cut'} travelling {ways}"
    return Proposal(
        rewrite=NAME,
        edits=tuple(edit for loop in loops for edit in loop.edits),
        claim=Claim.SAME_CUTS,
        summary=summary,
        first_block=min(loops[0].block, group[0].block),
        last_block=group[-1].block,
        gained=sum(each.target.gained for each in group) + sum(loop.turns for loop in loops),
        holes=len(group),
        nearer=sum(each.target.nearer for each in group),
        longer=sum(loop.longer for loop in loops),
    )


def _refusal(group: list[Found]) -> Refusal:
    why = group[0].outcome
    assert isinstance(why, Skip)
    return Refusal(NAME, why.reason, group[0].block, group[-1].block, why.needs)
