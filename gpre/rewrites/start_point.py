"""Moves a closed contour's start to where an axis turns anyway.

The contour is cut in the same direction, each stretch at its own feed; it only begins elsewhere.
The plunge goes along, so the new place must hold no more metal than the old one (see `plunges`).
All levels of one contour start at the same place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Kind, Motion
from gpre.reversals.contours import find_loop
from gpre.reversals.cuts import Cut, Shape
from gpre.reversals.levels import LEVEL, Level, levels, slopes_of
from gpre.rewrites.aftermath import wanted_after
from gpre.rewrites.barriers import Ground, ground_of
from gpre.rewrites.clearance import Clearance
from gpre.rewrites.contour_starts import Starts, starts_of
from gpre.rewrites.plunges import Plunge, Plunges
from gpre.rewrites.proposal import Claim, Context, Proposal, Refusal
from gpre.rewrites.rehearsal import Change, Track, rehearse
from gpre.rewrites.ways_in import heading_before, reach_of, take_up_point
from gpre.rewrites.word_edits import letters_in
from gpre.rewrites.writer import BlockWriter
from gpre.source.edit import Edit

NAME = "start-point"
_SAME = 1e-3  # mm; two levels of one contour
_TRIED = 12  # places asked about before the contour stays


class _Stays(Exception):  # noqa: N818
    """The contour stays as it is: why, and what the user could give."""

    def __init__(self, reason: str, needs: tuple[str, ...] = ()) -> None:
        super().__init__(reason)
        self.reason = reason
        self.needs = needs


@dataclass(frozen=True)
class _Chain:
    """Levels of one contour, with nothing but upright moves between them.

    first: first row of the upright way down to the first. last: one past the lift behind the last.
    """

    levels: tuple[Level, ...]
    first: int
    last: int


@dataclass
class _Work:
    """A chain on its way to being rewritten: its new start, the edits so far, and the rehearsal."""

    context: Context
    ground: Ground
    clearance: Clearance
    chain: _Chain
    row: int  # within the first level's contour, from its first row
    along: float
    point: NDArray[np.float64]
    ways: NDArray[np.int8]
    track: Track
    edits: list[Edit] = field(default_factory=list)


def start_point(context: Context) -> Iterable[Proposal | Refusal]:
    """Propose a better start for each closed contour that has one, or say why it stays."""
    closed = [cut for cut in context.cuts if cut.shape is Shape.CLOSED]
    if not closed:
        return
    ground = ground_of(context.program, context.motion)
    clearance = Clearance(ground, context.mill, context.job)
    plunges = Plunges(context.job, context.motion)
    block = context.motion.block
    for group in _groups(context.motion, closed):
        starts = starts_of(context.motion, group[0].body_first, _first_loop_end(context, group[0]))
        if not len(starts.better()):
            continue
        try:
            yield _propose(context, ground, clearance, plunges, group, starts)
        except _Stays as why:
            first, last = int(block[group[0].first]), int(block[group[-1].last - 1])
            yield Refusal(NAME, why.reason, first, last, why.needs)
