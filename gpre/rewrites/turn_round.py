"""Cuts a closed contour the other way round, so that it mills as the job asks.

Only where `cut` of the job asks for climb or conventional, and tool, stock and the cuts before show
that the contour mills the other way for sure. The tool goes in and out where it did, over the same
path backwards, each stretch at its own feed. `X40`, `Y30`, `X0`, `Y0` from X0 Y0 becomes::

    (direction reversed)
    Y30
    X40
    Y0
    X0
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gpre.cuts.contour_order import is_convex, narrowest
from gpre.cuts.contours import find_loop
from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.levels import levels
from gpre.cuts.milling_side import Milled, MillingSide, milling_sides
from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.loop_ways import loop_to
from gpre.editing.loops import Loop, Looper, Sides
from gpre.editing.preview import Track
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip, skip_if
from gpre.editing.state_after import why_not_rows
from gpre.geometry import path
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.chip_load import backlash_along, chip_loads, grown_chip
from gpre.motion.motion import Motion
from gpre.room.entries import heading_before, last_ways
from gpre.source.edit import Edit, collide

NAME = "turn-round"
_WANTED = {"climb": MillingSide.CLIMB, "conventional": MillingSide.CONVENTIONAL}
_SAID = {
    MillingSide.BOTH: "it has metal on both sides: no way round is {asked} for sure",
    MillingSide.PARTLY: "it climbs in part only, whichever way round it is cut",
}


@dataclass(frozen=True)
class ReversedRound:
    """One level of a closed contour. first, last: its rows, half open, with what leads to it."""

    cut: Cut
    first: int
    last: int


def turn_round(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose to turn each closed contour that mills the other way, or say why it stays."""
    wanted = _WANTED.get(context.job.cut)
    closed = [cut for cut in context.cuts if cut.shape is Shape.CLOSED]
    if wanted is None or not closed:
        return
    sides = milling_sides(context.motion, closed, context.job)
    chosen: list[ReversedRound] = []

    def choose(cut: Cut) -> None:
        chosen.extend(_wrong(context, cut, sides, wanted))

    yield from at_each(NAME, context, closed, choose)
    if not chosen:
        return
    after = milling_sides(_turned(context.motion, chosen), closed, context.job)

    def propose(cut: Cut) -> Proposal:
        mine = [each for each in chosen if each.cut == cut]
        if any(_side(context.motion, each, after).side is not wanted for each in mine):
            raise Skip(f"reversed it would not be {context.job.cut} for sure either")
        return _propose(context, mine)

    yield from at_each(NAME, context, dict.fromkeys(each.cut for each in chosen), propose)


def _wrong(
    context: Context, cut: Cut, sides: Sequence[Milled], wanted: MillingSide
) -> list[ReversedRound]:
    """Return the levels that mill the other way for sure and can be turned round."""
    motion = context.motion
    found = []
    for level in levels(motion, cut.first, cut.last):
        each = ReversedRound(cut, level.body, level.last)
        milled = _side(motion, each, sides)
        if milled.side in {wanted, MillingSide.AIR}:
            continue
        if milled.side is MillingSide.UNKNOWN:
            raise Skip(f"how it mills is not known: {milled.reason}", milled.needs)
        if milled.side in _SAID:
            raise Skip(_SAID[milled.side].format(asked=context.job.cut))
        _need_turnable(context, each)
        found.append(each)
    return found


def _side(motion: Motion, each: ReversedRound, sides: Sequence[Milled]) -> Milled:
    """Return how the longest stretch of a round mills."""
    own = [one for one in sides if each.first <= one.first and one.last <= each.last]
    if not own:
        return Milled(each.first, each.last, MillingSide.AIR)
    return max(own, key=lambda one: _length(motion, one.first, one.last))


def _length(motion: Motion, first: int, last: int) -> float:
    return float(path.lengths(path.take(motion, slice(first, last))).sum())


def _need_turnable(context: Context, each: ReversedRound) -> None:
    """Look at everything that must hold for one level."""
    motion, editable = context.motion, context.editable
    skip_if(editable.why_not_cut_anew(each.first))
    rows = slice(each.first, each.last)
    height = motion.start[each.first, 2]
    if np.abs(motion.end[rows, 2] - height).max() > RESOLUTION or (motion.plane[rows] != 17).any():
        raise Skip("a ramp leads into it or out of it")
    gap = np.abs(motion.end[each.last - 1, :2] - motion.start[each.first, :2]).max()
    if gap > RESOLUTION:
        raise Skip("the tool does not leave it where it came to it")
    skip_if(why_not_rows(editable, each.first, each.last))
    loop = find_loop(motion, each.first, each.last) or (each.first, each.last)
    if is_convex(motion, *loop):
        return
    tool = context.job.tools.get(motion.state_of(each.first).tool)
    if tool is None or narrowest(motion, *loop) <= tool.diameter:
        raise Skip("it nearly touches itself, so it matters which part is cut first")


def _turned(motion: Motion, rounds: Sequence[ReversedRound]) -> Motion:
    """Return the motion with some rounds run the other way."""
    order = np.arange(len(motion))
    for each in rounds:
        order[each.first : each.last] = order[each.first : each.last][::-1]
    whole = path.backwards(path.take(motion, slice(None)))
    turned = np.zeros(len(motion), bool)
    for each in rounds:
        turned[each.first : each.last] = True
    columns = {
        name: np.where(
            turned if getattr(motion, name).ndim == 1 else turned[:, None],
            getattr(whole, name)[order],
            getattr(motion, name),
        )
        for name in ("start", "end", "centre", "sweep")
    }
    return replace(motion, **columns, kind=motion.kind[order], feed=motion.feed[order])


def _propose(context: Context, rounds: list[ReversedRound]) -> Proposal:
    cut, draft = rounds[0].cut, Draft(context)
    for each in rounds:
        track = draft.track(each.first, each.last)
        _write(context.motion, each, track)
        draft.replace(each.first, each.last, track)
    brings = draft.preview()
    rows = cut.first, cut.last
    summary = _summary(context, rounds)
    proposal = draft.proposal(NAME, Claim.SAME_METAL, summary, rows, brings)
    if brings.gained < 0:
        sides = _turning(context.motion, rounds[0])
        loop = _loop(context, cut, sides)
        gained = brings.gained + len(sides)
        if loop is None or gained < 0 or _collide(draft.edits, loop.edits):
            raise Skip(f"reversed, it would have {-brings.gained} more reversals while cutting")
        edits, longer = (*draft.edits, *loop.edits), brings.longer + loop.longer
        proposal = replace(proposal, edits=edits, gained=gained, longer=longer)
    # asked for by name: neither marks nor seconds weigh against it
    return replace(proposal, asked=True, gained_by_axis=None, seconds=None)


def _write(motion: Motion, each: ReversedRound, track: Track) -> None:
    """Write one round backwards; what led out slowly or fast leads in at the slower feed."""
    loop = find_loop(motion, each.first, each.last) or (each.first, each.last)
    leads = [*range(each.first, loop[0]), *range(loop[1], each.last)]
    slowest = float(motion.feed[leads].min(initial=np.inf))
    track.writer.remark("direction reversed")
    for row in range(each.last - 1, each.first - 1, -1):
        feed = float(motion.feed[row])
        if row < loop[0] or row >= loop[1]:
            feed = min(feed, slowest)
        track.cut(motion, row, motion.start[row], share=-1.0, feed=feed)


def _turning(motion: Motion, each: ReversedRound) -> Sides:
    """Return the axes that would turn where the contour now begins, and their ways."""
    ways = -last_ways(motion, each.first, each.last)
    heading = heading_before(motion, each.first)
    return {
        axis: int(ways[axis])
        for axis in (0, 1)
        if ways[axis] and int(heading[axis]) == -int(ways[axis])
    }


def _loop(context: Context, cut: Cut, sides: Sides) -> Loop | None:
    """Let the tool come to a contour in the way in which it goes on; None where it cannot."""
    if not sides:
        return None
    motion = context.motion
    link = max((each.last for each in context.cuts if each.last <= cut.first), default=0)
    travel = np.abs(motion.end[link : cut.first, :2] - motion.start[link : cut.first, :2])
    moving = np.flatnonzero(~(travel.max(axis=1, initial=0.0) <= RESOLUTION))
    last = link + int(moving[-1]) if len(moving) else None
    try:
        return loop_to(Looper(context), cut.first, link, last, sides)
    except Skip:
        return None


def _collide(edits: Sequence[Edit], others: Sequence[Edit]) -> bool:
    return any(collide(one, other) for one in edits for other in others)


def _summary(context: Context, rounds: list[ReversedRound]) -> str:
    asked = context.job.cut
    was = "conventional" if asked == "climb" else "climb"
    what = "contour" if len(rounds) == 1 else f"{len(rounds)} rounds of a contour"
    text = f"{what}: direction reversed, {asked} instead of {was}, as the job asks"
    if asked != "climb":
        return text
    rows = np.concatenate([np.arange(each.first, each.last) for each in rounds])
    backlash = np.nan_to_num(backlash_along(context.motion, context.mill)[rows]).max()
    load = chip_loads(context.motion, context.job)[rows].min()
    text += f"; with {backlash:.4g} mm lost motion the cutter can pull the table"
    if not np.isfinite(load):
        return f"{text}; its chip load is not known"
    if backlash <= load:
        return f"{text}, by less than its chip load of {load:.3g} mm"
    return (
        f"{text}: its chip can grow from {load:.3g} to {float(grown_chip(load, backlash)):.3g} mm"
    )
