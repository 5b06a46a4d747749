"""Removes reversals smaller than the tolerance from chains of straight moves at feed.

Where an axis wavers against its direction of travel by no more than the tolerance, its coordinate
is held instead: each vertex moves by no more than the tolerance in space, so the two paths are
nowhere further apart, either way. Numbers are changed in place; a block that moves nothing any
more is dropped if nothing else stands in it. `X1.002`, `X1.001`, `X1.004` becomes::

    X1.002
    X1.004
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind, Motion, Role
from gpre.rewrites.axis_travel import Travels, travels_of
from gpre.rewrites.barriers import Ground, ground_of
from gpre.rewrites.monotone import CONTEXT, Shift, departure, shifts_of, straightened
from gpre.rewrites.proposal import Claim, Context, Proposal, Refusal
from gpre.rewrites.vertex_edits import edits_of

NAME = "straighten"
SAFE = 0.9  # of the tolerance, for a distance that is sampled


@dataclass(frozen=True)
class Chain:
    """Rows `first` to `last` of straight moves, half open, and their vertices, (n, 3) mm."""

    first: int
    last: int
    points: Floats


def straighten(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose to hold the axes that waver, one proposal for each stretch that hangs together."""
    turning = _turning(context, np.inf)
    if not len(turning):
        return
    ground = ground_of(context.program, context.motion)
    if ground.whole:
        if len(_turning(context, context.mill.limits.tolerance)):
            yield Refusal(NAME, ground.whole, 0, len(context.program) - 1)
        return
    pieces = travels_of(context.motion)
    tolerance = context.mill.limits.tolerance
    treated = np.zeros(len(context.motion), bool)
    for chain in _chains(ground, turning):
        treated[chain.first : chain.last] = True
        yield from _straighten(ground, chain, pieces, context, tolerance)
    small = _turning(context, tolerance)
    yield from _untouched(ground, small[~treated[small]])


def _turning(context: Context, longest: float) -> NDArray[np.intp]:
    """(k,): straight moves in the cut that turn an axis after a run of `longest` mm at the most."""
    reversals = context.reversals
    rows = reversals.move[reversals.in_cut & (reversals.run <= longest)]
    return np.unique(rows[context.motion.kind[rows] == Kind.LINE]).astype(np.intp)


def _chains(ground: Ground, turning: NDArray[np.intp]) -> Iterator[Chain]:
    """Give the longest chains of moves whose numbers may be changed, where an axis turns."""
    motion = ground.motion
    usable = ground.touchable & (motion.kind == Kind.LINE) & (motion.role == Role.NONE)
    usable &= (ground.row_count[motion.block] == 1) & np.isfinite(motion.start).all(axis=1)
    usable &= np.isfinite(motion.end).all(axis=1)
    breaks = np.ones(len(motion) + 1, bool)  # True: no chain goes on from row k - 1 to row k
    breaks[1:-1] = ~(usable[1:] & usable[:-1]) | (motion.state[1:] != motion.state[:-1])
    breaks[1:-1] |= (np.abs(motion.end[:-1] - motion.start[1:]) > DUST).any(axis=1)
    for event in motion.events:
        if event.kind is not EventKind.MESSAGE:
            breaks[event.move] = True
    bounds = np.flatnonzero(breaks)
    which = np.unique(np.searchsorted(bounds, turning[usable[turning]], side="right") - 1)
    for at in which.tolist():
        first, last = int(bounds[at]), int(bounds[at + 1])
        if last - first < 2:
            continue
        points = np.vstack((motion.start[first], motion.end[first:last]))
        yield Chain(first, last, points)


def _straighten(
    ground: Ground, chain: Chain, pieces: Sequence[Travels], context: Context, tolerance: float
) -> Iterator[Proposal | Refusal]:
    held = chain.points.copy()
    shifts: list[Shift] = []
    for axis in range(3):
        x = chain.points[:, axis]
        held[:, axis] = straightened(x, tolerance)
        around = _context(pieces[axis], chain)
        resolution = context.mill.axes[axis].resolution
        shifts += shifts_of(x, held[:, axis], axis, around, resolution)
    for group in _groups(shifts):
        points = chain.points.copy()
        for each in group:
            rows = slice(each.first, each.last + 1)
            points[rows, each.axis] = held[rows, each.axis]
        yield _proposal(ground, chain, group, points, tolerance)


def _context(pieces: Travels, chain: Chain) -> tuple[Floats, Floats]:
    """Give the travels of an axis just before and just behind a chain."""
    first, last = np.searchsorted(pieces.move, (chain.first, chain.last))
    before = pieces.travel[max(int(first) - CONTEXT, 0) : int(first)]
    return before, pieces.travel[int(last) : int(last) + CONTEXT]


def _groups(shifts: list[Shift]) -> Iterator[list[Shift]]:
    """Put together the shifts whose vertices touch or overlap."""
    group: list[Shift] = []
    reach = -1
    for each in sorted(shifts, key=lambda shift: (shift.first, shift.last)):
        if group and each.first > reach + 1:
            yield group
            group = []
            reach = -1
        group.append(each)
        reach = max(reach, each.last)
    if group:
        yield group


def _proposal(
    ground: Ground, chain: Chain, group: list[Shift], points: Floats, tolerance: float
) -> Proposal | Refusal:
    """Make the edits of one group, if no vertex leaves its place by more than the tolerance."""
    first, last = min(each.first for each in group), max(each.last for each in group)
    moved = np.linalg.norm(points[first : last + 1] - chain.points[first : last + 1], axis=1)
    blocks = ground.motion.block[chain.first : chain.last]
    ends = int(blocks[first - 1]), int(blocks[last - 1])
    if moved.max() > tolerance + DUST:
        around = slice(max(first - 2, 0), last + 3)
        apart = departure(chain.points[around], points[around])
        if apart > SAFE * tolerance:
            reason = f"two axes at once would leave the path by {apart:.4f} mm"
            return Refusal(NAME, reason, *ends)
    edits, reason = edits_of(ground, blocks, chain.points, points, (first, last))
    if reason:
        return Refusal(NAME, reason, *ends)
    axes = " and ".join(sorted({"XYZ"[each.axis] for each in group}))
    return Proposal(
        rewrite=NAME,
        edits=tuple(edits),
        claim=Claim.SAME_PATH,
        summary=f"hold {axes} where it wavers by up to {moved.max():.4f} mm",
        first_block=ends[0],
        last_block=ends[1],
        gained=sum(each.gained for each in group),
    )


def _untouched(ground: Ground, rows: NDArray[np.intp]) -> Iterator[Refusal]:
    """Name the small turns that lie where no number may be changed."""
    refusal: Refusal | None = None
    for row in rows.tolist():
        block = int(ground.motion.block[row])
        reason = ground.why_not_touch(block) or _why_no_chain(ground.motion, row)
        if refusal is not None and refusal.reason == reason:
            refusal = Refusal(NAME, reason, refusal.first_block, block)
            continue
        if refusal is not None:
            yield refusal
        refusal = Refusal(NAME, reason, block, block)
    if refusal is not None:
        yield refusal


def _why_no_chain(motion: Motion, row: int) -> str:
    if not (np.isfinite(motion.start[row]).all() and np.isfinite(motion.end[row]).all()):
        return "the place of the tool there is not known"
    if motion.role[row] != Role.NONE:
        return "the move belongs to a canned cycle"
    return "the block makes more than one move"
