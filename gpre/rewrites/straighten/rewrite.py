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
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from gpre.editing.at_each import at_each, whole_program
from gpre.editing.context import Context
from gpre.editing.editable import Editable
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.events import Effect, kinds
from gpre.motion.motion import Kind, Role
from gpre.motion.state import scale_of
from gpre.reversals.axis_travel import Travels, travels_of
from gpre.rewrites.straighten.monotone import CONTEXT
from gpre.rewrites.straighten.settling import LONGEST, Corridor, TurnGroup, settle
from gpre.rewrites.straighten.vertex_edits import edits_of

NAME = "straighten"


@dataclass(frozen=True)
class VertexChain:
    """Rows `first` to `last` of straight moves, half open, and their vertices, (n, 3) mm."""

    first: int
    last: int
    points: Floats

    def rows(self, first: int, last: int) -> tuple[int, int]:
        """Return the rows that end at vertices `first` to `last` (both included), half open."""
        return self.first + first - 1, self.first + last


@dataclass(frozen=True)
class StraightenedRun:
    """Vertices of a chain that have moved together, and their rows, half open."""

    first: int
    last: int
    group: TurnGroup


def straighten(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose to hold the axes that waver, one proposal for each stretch that hangs together."""
    turning = _turning(context, np.inf)
    if not len(turning):
        return
    small = _turning(context, context.mill.limits.tolerance)
    editable = context.editable
    if editable.whole:
        if len(small):
            yield whole_program(NAME, context, editable.whole)
        return
    pieces = travels_of(context.motion)
    treated = np.zeros(len(context.motion), bool)
    for chain in _chains(editable, turning):
        treated[chain.first : chain.last] = True
        yield from _straighten(context, chain, pieces)
    yield from _untouched(editable, small[~treated[small]])


def _turning(context: Context, longest: float) -> NDArray[np.intp]:
    """(k,): straight moves at feed that turn an axis after a run of `longest` mm at the most."""
    reversals = context.reversals
    rows = reversals.move[reversals.in_cut & (reversals.run <= longest)]
    return np.unique(rows[context.motion.kind[rows] == Kind.LINE]).astype(np.intp)


def _chains(editable: Editable, turning: NDArray[np.intp]) -> Iterator[VertexChain]:
    """Return the longest chains of moves whose numbers may be changed, where an axis turns."""
    motion = editable.motion
    usable = editable.touchable & (motion.kind == Kind.LINE) & (motion.role == Role.NONE)
    usable &= (editable.row_count[motion.block] == 1) & motion.known
    travel = np.abs(motion.end - motion.start)
    plunge = (travel[:, :2].max(axis=1, initial=0.0) <= RESOLUTION) & (travel[:, 2] > RESOLUTION)
    usable &= ~plunge  # a way in or out stays as it is
    breaks = np.ones(len(motion) + 1, bool)  # True: no chain goes on from row k - 1 to row k
    breaks[1:-1] = ~(usable[1:] & usable[:-1]) | (motion.state[1:] != motion.state[:-1])
    breaks[1:-1] |= (np.abs(motion.end[:-1] - motion.start[1:]) > DUST).any(axis=1)
    breaks[motion.moves_at(kinds(Effect.PARTS_CUTS))] = True
    bounds = np.flatnonzero(breaks)
    which = np.unique(np.searchsorted(bounds, turning[usable[turning]], side="right") - 1)
    for at in which.tolist():
        first, last = int(bounds[at]), int(bounds[at + 1])
        if last - first < 2:
            continue
        points = np.vstack((motion.start[first], motion.end[first:last]))
        yield VertexChain(first, last, points)


def _straighten(
    context: Context, chain: VertexChain, pieces: Sequence[Travels]
) -> Iterator[Proposal | Refusal]:
    """Straighten one chain; where the tolerance does not do for it, leave that stretch alone."""
    corridor = Corridor(context.mill.limits.tolerance, _least_step(context.editable, chain))
    around = [_context(pieces[axis], chain) for axis in range(3)]
    resolution = [axis.resolution for axis in context.mill.axes]
    result = settle(chain.points, corridor, around, resolution)
    moved = [StraightenedRun(*chain.rows(each.first, each.last), each) for each in result.groups]
    yield from at_each(
        NAME, context, moved, lambda each: _proposal(context, chain, each, result.points)
    )
    for first, last, apart in result.given_up:
        blocks = context.motion.blocks_of(*chain.rows(first, last))
        yield Refusal(NAME, _why_not(last + 1 - first, apart), *blocks)


def _why_not(moves: int, apart: float) -> str:
    """Say why a stretch of so many moves is left alone; see Settled."""
    if isfinite(apart):
        return f"two axes at once would leave the path by {apart:.4f} mm"
    return (
        f"{moves:,} moves hang together there, more than the {LONGEST:,} whose way can be measured;"
        " a smaller tolerance parts them"
    )


def _least_step(editable: Editable, chain: VertexChain) -> float:
    """Return the step of the numbers that may be written, mm: the program's, or a usual one."""
    units = editable.motion.state_of(chain.first).units
    decimals = max(editable.manner.length.decimals, 5 if units == 20 else 4)
    return float(10.0**-decimals * scale_of(units))


def _context(pieces: Travels, chain: VertexChain) -> tuple[Floats, Floats]:
    """Return the travels of an axis just before and just behind a chain."""
    first, last = np.searchsorted(pieces.move, (chain.first, chain.last))
    before = pieces.travel[max(int(first) - CONTEXT, 0) : int(first)]
    return before, pieces.travel[int(last) : int(last) + CONTEXT]


def _proposal(
    context: Context, chain: VertexChain, stretch: StraightenedRun, points: Floats
) -> Proposal:
    """Make the edits of one stretch. points: (n, 3) mm, the new vertices of its chain."""
    group, blocks = stretch.group, context.motion.block[chain.first : chain.last]
    span = group.first, group.last
    edits = edits_of(context.editable, blocks, chain.points, points, span)
    rows = slice(group.first, group.last + 1)
    offset = np.abs(points[rows] - chain.points[rows])
    axes = " and ".join("XYZ"[axis] for axis in range(3) if offset[:, axis].max() > DUST)
    most = float(np.linalg.norm(offset, axis=1).max())
    return Proposal(
        NAME,
        tuple(edits),
        Claim.SAME_PATH,
        f"hold {axes} where it wavers by up to {most:.4f} mm",
        *context.motion.blocks_of(stretch.first, stretch.last),
        gained=group.gained,
    )


def _untouched(editable: Editable, rows: NDArray[np.intp]) -> Iterator[Refusal]:
    """Name the small turns that lie where no number may be changed."""
    refusal: Refusal | None = None
    for row in rows.tolist():
        block = editable.motion.block_of(row)
        reason = editable.why_not_touch(block) or _why_no_chain(editable, row)
        if refusal is not None and refusal.reason == reason:
            refusal = Refusal(NAME, reason, refusal.first_block, block)
            continue
        if refusal is not None:
            yield refusal
        refusal = Refusal(NAME, reason, block, block)
    if refusal is not None:
        yield refusal


def _why_no_chain(editable: Editable, row: int) -> str:
    motion = editable.motion
    if not motion.known[row]:
        return "the place of the tool there is not known"
    if motion.role[row] != Role.NONE:
        return "the move belongs to a canned cycle"
    if editable.row_count[motion.block[row]] != 1:
        return "the block makes more than one move"
    return "the move goes straight up or down, or the moves beside it cannot be changed"
