"""Cuts a helix down in fewer turns: each turn takes X and Y round twice.

Same circle, same way round, same depth, same feed along the path; only the pitch grows, evenly, as
far as the tool's steepest ramp allows, and never beyond half the tool's diameter: how deep a tool
may cut is not known otherwise. The full circle at depth stays as it is; it leaves floor and wall,
so the part is the same. Without `max_ramp_angle` in the job, or without that circle, it stays; and
where the program takes the backlash up itself (`take-up`) there is no need.
`G3 X19 Z-1 I-9`, `X19 Z-2 I-9`, `X19 Z-3 I-9`, `X19 I-9` becomes::

    (2 turns fewer)
    G3 X19 Z-3 I-9
    X19 I-9
"""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, degrees, floor, pi, tan

import numpy as np

from gpre.cuts.helices import (
    END_MILLS,
    PITCH_SHARE,
    Helix,
    find_helices,
    like_a_thread,
    pitches,
    turns_of,
)
from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal, Refusal, fewer_reversals
from gpre.editing.skip import Skip, skip_if
from gpre.geometry.tolerance import DUST, RESOLUTION, ROUNDED, SHARE
from gpre.mill.job import Tool
from gpre.motion.events import EventKind
from gpre.motion.state import scale_of
from gpre.rewrites.helix.blocks import Shortened, shortened

NAME = "helix"
_TURN = 2.0 * pi
_WHOLE = DUST  # rounding of a sweep
_ROUND = SHARE  # turns, or mm of a turn's pitch
_FINE = RESOLUTION  # a pitch above the limit by less is rounding of the numbers written


def helix(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose fewer turns for each helix that allows them, or say why it stays."""
    every = find_helices(context.motion)
    found = [each for each in every if each.turn > _TURN + ROUNDED / each.radius]
    return at_each(NAME, context, found, lambda each: _propose(context, each, every))


def _propose(context: Context, old: Helix, every: tuple[Helix, ...]) -> Proposal | None:
    motion = context.motion
    tool = _tool(context, old)
    if like_a_thread(motion, old, every):
        raise Skip("it may be a thread: the same tool goes over it in other helices")
    limits = _greatest_pitches(old, tool)
    fewer = _turns_to_spare(context, old, min(limits))
    if fewer < 1:
        return None
    done, whole = None, False
    while fewer and done is None:
        kept = _kept(context, old, fewer)
        whole |= kept is not None
        if kept is not None:
            done = shortened(context, old, kept, f"{_turns(fewer)} fewer")
            if not _within(context, old, kept, done, limits):  # what rounding does to the numbers
                done = None
        fewer -= done is None
    if not whole:
        raise Skip("its blocks do not make up whole turns that could be left out")
    if done is None or kept is None:
        return None
    if any(event.kind is EventKind.CALL for event in context.editable.events_before(old.last)):
        raise Skip("a subprogram is called or comes back behind it")
    turning = context.reversals
    gone = (turning.move >= old.first) & (turning.move < old.last) & (turning.axis < 2)
    gone &= turning.in_cut & ~np.isin(turning.move, kept)
    gained = int(gone.sum())
    summary = _summary(context, old, fewer, gained)
    return done.draft.proposal(NAME, Claim.SAME_METAL, summary, (old.first, old.last), gained)


def _tool(context: Context, old: Helix) -> Tool:
    """Look at everything that must hold; give the tool."""
    motion = context.motion
    skip_if(context.editable.why_not_cut_anew(old.first))
    if context.mill.compensation.by == "program":
        raise Skip("the program itself takes the backlash up there, so no turn stops the tool")
    state = motion.state_of(old.first)
    if not old.full_floor:
        raise Skip("no full circle at depth follows, so the floor would not be the same")
    if any(abs(turn) > _TURN + _WHOLE for turn in motion.sweep[old.first : old.last].tolist()):
        raise Skip("a block makes more than one turn")
    tool = context.job.tools.get(state.tool)
    if tool is None or tool.max_ramp_angle is None:
        now = degrees(atan2(float(pitches(motion, old).max()), _TURN * old.radius))
        reason = (
            f"it goes down in {_turns(old.turn / _TURN)}, at {now:.1f} degrees; how steeply tool "
            f"{state.tool} may go down is not known"
        )
        needs = (f"tool {state.tool}",) if tool is None else ()
        raise Skip(f"{reason}: --ramp {state.tool}=DEGREES says it", needs)
    if tool.shape not in END_MILLS:
        raise Skip(f"tool {state.tool} is no end mill")
    return tool


def _greatest_pitches(old: Helix, tool: Tool) -> tuple[float, float]:
    """Return how far a turn may go down, mm: by the ramp angle, and by the tool's diameter."""
    assert tool.max_ramp_angle is not None
    ramp = _TURN * old.radius * tan(min(tool.max_ramp_angle, pi / 4))
    return ramp, PITCH_SHARE * tool.diameter


def _turns_to_spare(context: Context, old: Helix, greatest: float) -> int:
    """Return how many whole turns can go before the pitch is too great."""
    motion = context.motion
    if float(pitches(motion, old).max()) >= greatest - _FINE:
        return 0
    depth = float(motion.start[old.first, 2] - motion.end[old.last - 1, 2])
    return max(floor(old.turn / _TURN - depth / greatest + _ROUND), 0)


def _within(
    context: Context, old: Helix, kept: list[int], done: Shortened, limits: tuple[float, float]
) -> bool:
    """Return whether each move that was written keeps to the greatest pitches.

    Of half a tool's diameter nothing hangs on rounding; the ramp angle is the user's own.
    """
    motion, (ramp, half) = context.motion, limits
    greatest = min(ramp + _ROUND, half + context.mill.limits.tolerance)
    tops = (float(motion.start[old.first, 2]), *done.heights[:-1])
    turns = turns_of(motion, old)[np.array(kept) - old.first]
    return all(
        (top - bottom) * _TURN / turn <= greatest
        for top, bottom, turn in zip(tops, done.heights, turns.tolist(), strict=True)
    )


def _kept(context: Context, old: Helix, fewer: int) -> list[int] | None:
    """Return the rows that stay when so many whole turns go; None where no blocks make them up."""
    motion = context.motion
    reached = np.concatenate(([0.0], np.cumsum(turns_of(motion, old))))
    place = np.insert(motion.end[old.first : old.last, :2], 0, motion.start[old.first, :2], axis=0)
    for last in range(len(reached) - 1, 0, -1):
        first = int(np.argmin(np.abs(reached - (reached[last] - fewer * _TURN))))
        turns = round(float(reached[last] - reached[first]) / _TURN)
        if turns == fewer and float(np.hypot(*(place[last] - place[first]))) <= ROUNDED:
            kept = [*range(old.first, old.first + first), *range(old.first + last, old.last)]
            return kept or None
    return None


def _turns(count: float) -> str:
    return f"{count:.4g} turn{'' if abs(count - 1.0) < _ROUND else 's'}"


def _summary(context: Context, old: Helix, fewer: int, gained: int) -> str:
    motion = context.motion
    units = motion.state_of(old.first).units
    scale, unit = scale_of(units), "in" if units == 20 else "mm"
    depth = float(motion.start[old.first, 2] - motion.end[old.last - 1, 2])
    turns = old.turn / _TURN
    pitch = depth / (turns - fewer)
    ramp = degrees(np.arctan(pitch / (_TURN * old.radius)))
    return (
        f"helix in {_turns(turns - fewer)} instead of {turns:.4g}, {pitch / scale:.4g} {unit} a "
        f"turn instead of {depth / turns / scale:.4g}, a ramp of {ramp:.1f} degrees: "
        f"{fewer_reversals(gained)}"
    )
