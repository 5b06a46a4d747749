"""Moves a closed contour's start to where an axis turns anyway.

The contour is cut in the same direction, each stretch at its own feed; it only begins elsewhere.
The plunge goes along, so the new place must hold no more metal than the old one (see `plunges`).
All levels of one contour start at the same place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.contour_order import is_convex, narrowest
from gpre.cuts.cuts import Shape
from gpre.cuts.levels import slopes_of
from gpre.editing.editable import Editable, editable_of
from gpre.editing.preview import Change, rehearse
from gpre.editing.proposal import Claim, Context, Proposal, Refusal
from gpre.editing.skip import Skip
from gpre.editing.state_after import blocks_of
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Motion
from gpre.rewrites.start_point.chains import ContourChain, chains_of, why_not_moved
from gpre.rewrites.start_point.moved_start import MovedStart, StartPlace
from gpre.rewrites.start_point.plunges import MovedPlunges, Plunge
from gpre.rewrites.start_point.starts import Starts, starts_of
from gpre.room.clearance import Clearance

NAME = "start-point"
WIDEST_TOOL = 25.0  # mm; taken where the tool is not named, common practice, no source
_TRIED = 12  # places asked about before the contour stays
_NEAR = 16  # upright moves before a cut, at the most


@dataclass(frozen=True)
class _StartScene:
    """What all contours of a program share."""

    context: Context
    editable: Editable
    clearance: Clearance
    plunges: MovedPlunges


def start_point(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a better start for each closed contour that has one, or say why it stays."""
    closed = [cut for cut in context.cuts if cut.shape is Shape.CLOSED]
    if not closed:
        return
    motion = context.motion
    editable = editable_of(context.program, motion)
    clearance = Clearance(context.program, context.motion, context.mill, context.job)
    scene = _StartScene(context, editable, clearance, MovedPlunges(context.job, motion))
    for chain in chains_of(motion, closed):
        starts = starts_of(motion, chain.loops[0].first, chain.loops[0].last)
        if not len(starts.better()):
            continue
        try:
            yield _propose(scene, chain, starts)
        except Skip as why:
            yield Refusal(NAME, why.reason, *_blocks(context, chain), why.needs)


def _propose(scene: _StartScene, chain: ContourChain, starts: Starts) -> Proposal:
    context = scene.context
    _need_plain(scene, chain)
    chosen = _choose(scene, chain, starts)
    first = chain.loops[0].first
    ways = np.append(starts.ways[chosen], 0).astype(np.int8)
    place = StartPlace(
        int(starts.row[chosen]) - first, float(starts.along[chosen]), starts.point[chosen], ways
    )
    moved = MovedStart(
        context.mill,
        scene.editable,
        scene.clearance,
        scene.plunges,
        chain,
        place,
        comments=context.comments,
    )
    try:
        track = moved.write()
    except ValueError as fault:
        raise Skip(f"the new blocks cannot be written: {fault}") from fault
    outcome = rehearse(context.mill, context.motion, [Change(moved.begin, chain.last, track)])
    if outcome.gained <= 0:
        raise Skip("another start would not reduce the reversals while cutting")
    return Proposal(
        NAME,
        tuple(moved.edits),
        Claim.SAME_METAL,
        _summary(scene, chain, starts, chosen, outcome.gained),
        *blocks_of(context.program, moved.edits, *_blocks(context, chain)),
        gained=outcome.gained,
        longer=outcome.longer,
        gained_by_axis=outcome.gained_by_axis,
        seconds=outcome.seconds,
    )


def _need_plain(scene: _StartScene, chain: ContourChain) -> None:
    """Look at what must hold whatever the new start is."""
    motion = scene.context.motion
    called = scene.editable.why_called(int(motion.block[chain.loops[0].first]))
    anew = scene.editable.why_not_cut_anew(chain.loops[0].first)
    reason = anew or called or why_not_moved(motion, chain)
    if reason:
        raise Skip(reason)
    _need_any_order(scene, chain)


def _need_any_order(scene: _StartScene, chain: ContourChain) -> None:
    """No part of the contour may make room for another."""
    motion, loop = scene.context.motion, chain.loops[0]
    if is_convex(motion, loop.first, loop.last):
        return
    number = motion.state_of(loop.first).tool
    tool = scene.context.job.tools.get(number)
    close = narrowest(motion, loop.first, loop.last)
    if close <= (tool.diameter if tool is not None else WIDEST_TOOL):
        raise Skip(
            "it nearly touches itself, so it matters which part is cut first",
            (f"tool {number}",) if tool is None and close > RESOLUTION else (),
        )


def _choose(scene: _StartScene, chain: ContourChain, starts: Starts) -> int:
    """Return the best place to which all plunges may move."""
    motion = scene.context.motion
    first_why: Skip | None = None
    before, behind = _around(motion, chain)
    for chosen in starts.better(before, behind)[:_TRIED].tolist():
        why = None
        row = chain.cuts[0].first
        for loop in chain.loops:
            cut = next(each for each in chain.cuts if each.first <= loop.first < each.last)
            start = max(row, cut.first)
            top = float(motion.start[start, 2])
            plunge = Plunge(start, top, float(motion.start[loop.first, 2]))
            reason, needs = scene.plunges.why_not(plunge, starts.point[0], starts.point[chosen])
            if reason:
                why = Skip(reason, needs)
                break
            row = loop.last
        if why is None:
            return int(chosen)
        first_why = first_why or why
    assert first_why is not None
    raise first_why


def _around(motion: Motion, chain: ContourChain) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(2,) each, mm: where the tool comes from, and where it goes to, over the part."""
    first = chain.cuts[0].first - 1
    upright = slopes_of(motion, slice(max(first - _NEAR, 0), first + 1)).upright
    aside = np.flatnonzero(~upright)
    before = motion.start[first - (len(upright) - 1 - int(aside[-1])) if len(aside) else 0, :2]
    behind = motion.end[min(chain.last, len(motion) - 1), :2]
    return before, behind


def _summary(
    scene: _StartScene, chain: ContourChain, starts: Starts, chosen: int, gained: int
) -> str:
    motion = scene.context.motion
    scale = motion.state_of(chain.loops[0].first).scale
    new, old = starts.point[chosen] / scale, starts.point[0] / scale
    rounds = f"{len(chain.loops)} rounds" if len(chain.loops) > 1 else "contour"
    less = "1 reversal fewer" if gained == 1 else f"{gained} reversals fewer"
    return (
        f"{rounds} started at X{_short(new[0])} Y{_short(new[1])}, where an axis turns anyway, "
        f"instead of X{_short(old[0])} Y{_short(old[1])}: {less} while cutting"
    )


def _short(value: float) -> str:
    """Write a coordinate for people: four decimals at the most, no `-0`."""
    return f"{round(float(value), 4) + 0.0:.7g}"


def _blocks(context: Context, chain: ContourChain) -> tuple[int, int]:
    block = context.motion.block
    return int(block[chain.cuts[0].first]), int(block[chain.cuts[-1].last - 1])
