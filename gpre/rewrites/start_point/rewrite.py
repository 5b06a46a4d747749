"""Moves a closed contour's start to where an axis turns anyway.

The contour is cut in the same direction, each stretch at its own feed; it only begins elsewhere.
The plunge goes along, so the new place must hold no more metal than the old one (see `plunges`).
All levels of one contour start at the same place.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.contour_order import is_convex, narrowest
from gpre.cuts.cuts import Shape
from gpre.cuts.levels import slopes_of
from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.proposal import Claim, Proposal, Refusal, fewer_reversals
from gpre.editing.skip import Skip, skip_if
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Motion
from gpre.rewrites.start_point.chains import ContourChain, chains_of, need_movable
from gpre.rewrites.start_point.moved_start import MovedStart, StartPlace
from gpre.rewrites.start_point.plunges import MovedPlunges, Plunge
from gpre.rewrites.start_point.starts import Starts, starts_of

NAME = "start-point"
WIDEST_TOOL = 25.0  # mm; taken where the tool is not named, common practice, no source
_TRIED = 12  # places asked about before the contour stays
_NEAR = 16  # upright moves before a cut, at the most


def start_point(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a better start for each closed contour that has one, or say why it stays."""
    closed = [cut for cut in context.cuts if cut.shape is Shape.CLOSED]
    if not closed:
        return
    plunges = MovedPlunges(context.job, context.motion)

    def propose(chain: ContourChain) -> Proposal | None:
        starts = starts_of(context.motion, chain.loops[0].first, chain.loops[0].last)
        return _propose(context, plunges, chain, starts) if len(starts.better()) else None

    yield from at_each(NAME, context, chains_of(context.motion, closed), propose)


def _propose(
    context: Context, plunges: MovedPlunges, chain: ContourChain, starts: Starts
) -> Proposal:
    _need_plain(context, chain)
    chosen = _choose(context.motion, plunges, chain, starts)
    ways = np.append(starts.ways[chosen], 0).astype(np.int8)
    row = int(starts.row[chosen]) - chain.loops[0].first
    place = StartPlace(row, float(starts.along[chosen]), starts.point[chosen], ways)
    draft = Draft(context)
    MovedStart(draft, plunges, chain, place).write()
    brings = draft.preview()
    if brings.gained <= 0:
        raise Skip("another start would not reduce the reversals while cutting")
    summary = _summary(context.motion, chain, starts, chosen, brings.gained)
    return draft.proposal(NAME, Claim.SAME_METAL, summary, (chain.first, chain.last), brings)


def _need_plain(context: Context, chain: ContourChain) -> None:
    """Look at what must hold whatever the new start is."""
    motion, editable, first = context.motion, context.editable, chain.loops[0].first
    skip_if(editable.why_not_cut_anew(first))
    skip_if(editable.why_called(motion.block_of(first)))
    need_movable(motion, chain)
    _need_any_order(context, chain)


def _need_any_order(context: Context, chain: ContourChain) -> None:
    """No part of the contour may make room for another."""
    motion, loop = context.motion, chain.loops[0]
    if is_convex(motion, loop.first, loop.last):
        return
    number = motion.state_of(loop.first).tool
    tool = context.job.tools.get(number)
    close = narrowest(motion, loop.first, loop.last)
    if close <= (tool.diameter if tool is not None else WIDEST_TOOL):
        raise Skip(
            "it nearly touches itself, so it matters which part is cut first",
            (f"tool {number}",) if tool is None and close > RESOLUTION else (),
        )


def _choose(motion: Motion, plunges: MovedPlunges, chain: ContourChain, starts: Starts) -> int:
    """Return the best place to which all plunges may move."""
    first_why: Skip | None = None
    for chosen in starts.better(*_around(motion, chain))[:_TRIED].tolist():
        try:
            for plunge in _plunges(motion, chain):
                plunges.need_no_more_metal(plunge, starts.point[0], starts.point[chosen])
        except Skip as why:
            first_why = first_why or why
        else:
            return int(chosen)
    assert first_why is not None
    raise first_why


def _plunges(motion: Motion, chain: ContourChain) -> Iterator[Plunge]:
    """Return the way down to each round of a chain."""
    row = chain.first
    for loop in chain.loops:
        cut = next(each for each in chain.cuts if each.first <= loop.first < each.last)
        start = max(row, cut.first)
        yield Plunge(start, float(motion.start[start, 2]), float(motion.start[loop.first, 2]))
        row = loop.last


def _around(motion: Motion, chain: ContourChain) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(2,) each, mm: where the tool comes from, and where it goes to, over the part."""
    first = chain.first - 1
    upright = slopes_of(motion, slice(max(first - _NEAR, 0), first + 1)).upright
    aside = np.flatnonzero(~upright)
    before = motion.start[first - (len(upright) - 1 - int(aside[-1])) if len(aside) else 0, :2]
    behind = motion.end[min(chain.lifted, len(motion) - 1), :2]
    return before, behind


def _summary(motion: Motion, chain: ContourChain, starts: Starts, chosen: int, gained: int) -> str:
    scale = motion.state_of(chain.loops[0].first).scale
    new, old = starts.point[chosen] / scale, starts.point[0] / scale
    rounds = f"{len(chain.loops)} rounds" if len(chain.loops) > 1 else "contour"
    return (
        f"{rounds} started at X{_short(new[0])} Y{_short(new[1])}, where an axis turns anyway, "
        f"instead of X{_short(old[0])} Y{_short(old[1])}: {fewer_reversals(gained)}"
    )


def _short(value: float) -> str:
    """Write a coordinate for people: four decimals at the most, no `-0`."""
    return f"{round(float(value), 4) + 0.0:.7g}"
