"""Puts the backlash into the coordinates: a controller that takes none up makes the part true.

The command leads the intended place by half the backlash of each axis, in the direction in which
the axis travels. Where an axis turns round while cutting it crosses the backlash over a short
window of the path, so that the tool never stops; at a corner it moves alone, and the tool stands
meanwhile. All other turns are taken up in the air. Runs last, on mills whose profile says `by =
"program"`, and on the whole program, but for moves of which not enough is known, or not at all. Z
has no backlash where it is gravity-loaded; else it is shifted like X and Y, and within a canned
cycle R and the depth have the shift for the way down, so the tool comes back lower than R by the
backlash. A quarter of a circle becomes::

    G3 X0.1137 Y9.0286 I-8.9986 J-0.1587
    G1 X-0.2037 Y8.9686 (take up Y)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gpre.editing.at_each import at_all, whole_program
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Motion
from gpre.program.take_up_mark import backlash_text, find_mark, mark_text
from gpre.program.words import BlockFlag
from gpre.rewrites.take_up.blocks import steps_of
from gpre.rewrites.take_up.plan import TakeUpPlan
from gpre.rewrites.take_up.rows import not_carried
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.text import TakeUpWriter
from gpre.rewrites.take_up.walk import Walk

NAME = "take-up"
SHARE = 0.7  # of the tolerance that a window may use; the rest is for rounding


def take_up(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose to carry the take-up in the program, or say why that cannot be."""
    if context.mill.compensation.by != "program" or not context.motion.at_feed.any():
        return
    mark = find_mark(context.program)
    if mark is not None:
        reason = f"the program carries its take-up already: {mark.text}"
        yield Refusal(NAME, reason, mark.block, mark.block)
        return
    if context.editable.whole:
        yield whole_program(NAME, context, context.editable.whole)
        return
    shift = Shift(context.mill, *steps_of(context.editable))
    if any(shift.has_backlash) or shift.twists:
        yield from at_all(NAME, context, lambda: _propose_most(context, shift))


def _propose_most(context: Context, shift: Shift) -> Proposal:
    """Carry the backlash and the twist, or the backlash alone where the twist cannot be."""
    try:
        return _propose(context, shift)
    except Skip as why:
        if not shift.twists or not any(shift.has_backlash):
            raise
        untwisted = replace(shift, mill=shift.mill.without_twist())
        proposal = _propose(context, untwisted)
        what = f"the twist of the table is not taken out: {why.reason}"
        return replace(proposal, summary=f"{proposal.summary}; {what}")


def _propose(context: Context, shift: Shift) -> Proposal:
    _need_plain(context.motion, shift)
    editable, allowed = context.editable, SHARE * context.mill.limits.tolerance
    walk = Walk(editable, context.clearance, shift, allowed)
    plan = walk.make()
    writer = TakeUpWriter(editable, shift, plan, walk.free, comments=context.comments)
    lines = writer.write()
    text = editable.manner.comment(mark_text(_amounts(shift), twist=bool(shift.twists)))
    lines.head = {_head(context): [text.encode("ascii") + editable.manner.newline]}
    return Proposal(
        rewrite=NAME,
        edits=tuple(lines.edits()),
        claim=Claim.SAME_METAL,
        summary=_summary(context.motion, shift, plan),
        first_block=0,
        last_block=len(context.program) - 1,
        take_ups=max(len(plan.windows), 1),
        witness=sum(each.stands for each in plan.windows),
    )


def _need_plain(motion: Motion, shift: Shift) -> None:
    """Look at what must hold wherever the program cuts."""
    feed, carried = motion.at_feed, motion.at_feed & ~not_carried(motion)
    if motion.called.any():
        raise Skip("it calls subprograms, and nothing is taken up in those")
    states = [motion.states[state] for state in np.unique(motion.state[carried]).tolist()]
    if any(state.feed_mode != 94 for state in states):
        raise Skip("the feed is not stated as a length per minute")
    if any(state.compensation != 40 for state in states):
        raise Skip("cutter radius compensation is on: where the tool runs is for the controller")
    if _aside(motion, feed & ~np.isfinite(motion.feed)).any() or not carried.any():
        raise Skip("the program cuts where no feed is set")
    if shift.needs_origin and not all(all(state.placed[:2]) for state in states):
        what = "twist" if shift.twists else "backlash table"
        raise Skip(f"the {what} needs the origins of the work systems in the mill's profile")
    for axis, _ in shift.twists:
        if not shift.has_backlash[axis]:
            raise Skip(f"the table twists as soon as {'XY'[axis]} turns: nothing can spread that")


def _aside(motion: Motion, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n,) bool: those of the moves that go along X or Y, also from a place that is not known."""
    travel = np.abs(motion.end - motion.start)[:, :2]
    travel = np.where(np.isnan(travel) & np.isfinite(motion.end[:, :2]), np.inf, travel)
    aside = np.nan_to_num(travel, posinf=np.inf).max(axis=1, initial=0.0) > RESOLUTION
    return np.asarray(rows & aside, np.bool_)


def _head(context: Context) -> int:
    """Return the block before which the mark goes: behind % and the program's number."""
    flags = context.program.blocks.flags
    skip = int(BlockFlag.OUTSIDE | BlockFlag.PERCENT)
    at = 0
    while at + 1 < len(flags) and int(flags[at]) & skip:
        at += 1
    number = at
    while number + 1 < len(flags) and int(flags[number]) & int(BlockFlag.BLANK):
        number += 1
    return number + 1 if int(flags[number]) & int(BlockFlag.PROGRAM_NUMBER) else at


def _amounts(shift: Shift) -> tuple[str, str, str]:
    """Write the backlash of each axis, as the mark has it."""
    x, y, z = (_backlash(shift, axis) for axis in range(3))
    return x, y, z


def _backlash(shift: Shift, axis: int) -> str:
    if not shift.has_backlash[axis]:
        return "0"
    return backlash_text(shift.mill.axes[axis].lost_motion)


def _summary(motion: Motion, shift: Shift, plan: TakeUpPlan) -> str:
    """Tell what is done, in a machinist's words."""
    amounts = zip("XYZ", _amounts(shift), strict=True)
    said = [f"{name} {value}" for name, value in amounts if value != "0"]
    spread = [window.last - window.first for window in plan.windows if not window.stands]
    standing = [window.seconds for window in plan.windows if window.stands]
    parts = [f"the backlash ({', '.join(said)} mm) goes into the coordinates"]
    if spread:
        low, high = f"{min(spread):.2f}", f"{max(spread):.2f}"
        width = f"{low} mm" if low == high else f"{low} to {high} mm"
        many = "1 take-up" if len(spread) == 1 else f"{len(spread)} take-ups"
        parts.append(f"{many} while cutting, spread over {width} of the path")
    if standing:
        exact = any(state.path != 640 for state in motion.states)
        kind = "turn" if exact else "corner"
        where = f"1 {kind}" if len(standing) == 1 else f"{len(standing)} {kind}s"
        parts.append(f"at {where} the cutter dwells {max(standing):.2f} s")
    if plan.takes:
        parts.append(f"{len(plan.takes)} made in the air")
    if stay := _lines_of(motion, _aside(motion, not_carried(motion))):
        parts.append(f"{stay} without it, as not all is known of where the tool is there")
    parts.append("the controller's own compensation must be OFF")
    return "; ".join(parts)


def _lines_of(motion: Motion, rows: NDArray[np.bool_]) -> str:
    """Say which lines stay: `line 4 stays`, `lines 4-7 stay`, or "" for no rows."""
    lines = [motion.line(row) for row in np.flatnonzero(rows).tolist()]
    if not lines:
        return ""
    low, high = min(lines), max(lines)
    return f"line {low} stays" if low == high else f"lines {low}-{high} stay"
