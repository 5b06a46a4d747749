"""A change is moves; its text follows.

A rewrite says at which rows of Motion which moves shall run. What that takes is worked out here:
where the new blocks begin and how each axis travelled last, the modes that they find and those that
the blocks behind them need, byte ranges, and what the change brings on this mill.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from gpre.editing.context import Context
from gpre.editing.preview import Change, Previewed, Track, rehearse
from gpre.editing.proposal import Claim, Proposal
from gpre.editing.skip import skip_if
from gpre.editing.state_after import wanted_after, wanted_before, why_not_rows
from gpre.editing.writer import BlockWriter
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import RESOLUTION
from gpre.room.entries import heading_before, last_ways, take_up_point
from gpre.source.edit import Edit

TAKE_UP = "take up backlash"  # the comment of a move that does it


@dataclass
class Draft:
    """Changes of one program that stand or fall together, made in the order of their rows.

    edits: of the text. changes: of the motion, for the preview. All that puts blocks into the
    program raises UnwritableError where the modes behind them cannot be brought back.
    """

    context: Context
    edits: list[Edit] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)

    def track(self, first: int, last: int | None = None) -> Track:
        """Start where the block of row `first` starts, knowing how each axis travelled last.

        last: the track will stand for rows `first` to `last`, half open; None: before them. Raises
        Skip where no blocks can be put there, or those of the rows cannot be written anew.
        """
        motion, editable = self.context.motion, self.context.editable
        if last is None:
            skip_if(editable.why_not_before(first))
        else:
            skip_if(why_not_rows(editable, first, last))
        writer = editable.writer(motion.block_of(first), comments=self.context.comments)
        if not self.changes:
            return Track.of(writer, heading_before(motion, first))
        since = last_ways(motion, self.changes[-1].last, first)
        before = self.changes[-1].track.heading
        return Track.of(writer, np.where(since == 0, before, since).astype(np.int8))

    def resume(self, track: Track, block: int) -> None:
        """Let a track go on in other blocks, from where it stands: they go before `block`."""
        editable = self.context.editable
        track.writer = BlockWriter(
            editable.manner,
            editable.modes.before(block),
            track.position.tolist(),
            comments=self.context.comments,
        )

    def insert(self, row: int, track: Track) -> None:
        """Make the moves of a track before a move of the program."""
        self.put_before(self.context.motion.block_of(row), track)
        self.changes.append(Change(row, row, track))

    def replace(self, first: int, last: int, track: Track) -> None:
        """Make the moves of a track, begun for them, instead of rows `first` to `last`."""
        self.put_for(*self.context.motion.blocks_of(first, last), track)
        self.changes.append(Change(first, last, track))

    def put_before(self, block: int, track: Track) -> None:
        """Write a track before a block, which then finds the modes that it needs."""
        editable, writer = self.context.editable, track.writer
        writer.restore(wanted_before(editable, block, writer.modes))
        self.edits.append(editable.insertion(block, writer))

    def put_for(self, first: int, last: int, track: Track) -> None:
        """Write a track instead of blocks `first` to `last`; what follows finds its modes."""
        editable, writer = self.context.editable, track.writer
        writer.restore(wanted_after(editable, last, writer.modes))
        self.edits.append(editable.replacement(first, last, writer))

    def arrive(
        self, track: Track, goal: Floats, ways: NDArray[np.int8], row: int, straight: str = ""
    ) -> None:
        """Go to a place at rapid, as high as the track is, with the backlash of X and Y taken up.

        goal: (2,) mm or more. ways: how X and Y go on from there. row: a move of that setup.
        straight: the comment where there is nothing to take up. Raises Skip where the way would
        leave the travel of the mill.
        """
        context, unit = self.context, track.writer.modes.scale
        point = take_up_point(context.mill, track.position, goal, track.heading, ways, unit=unit)
        skip_if(context.clearance.why_not_over(row, point))
        taken_up = float(np.abs(point - goal[:2]).max()) > RESOLUTION
        if taken_up:
            track.rapid((point[0], point[1], None), TAKE_UP)
        track.rapid((goal[0], goal[1], None), "" if taken_up else straight)

    def turning(self, track: Track, ways: NDArray[np.int8]) -> list[int]:
        """Return which of X (0) and Y (1) would turn if they went on in these ways from there."""
        here = track.position
        point = take_up_point(self.context.mill, here, here, track.heading, ways)
        return np.flatnonzero(np.abs(point - here[:2]) > RESOLUTION).tolist()

    def preview(self) -> Previewed:
        """Return what the changes bring."""
        return rehearse(self.context.mill, self.context.motion, self.changes)

    def proposal(
        self, name: str, claim: Claim, summary: str, rows: tuple[int, int], brings: Previewed | int
    ) -> Proposal:
        """Return the changes as one proposal.

        rows: what it is about, half open. brings: the preview; or the reversals that go, where no
        move runs another way and nothing else is to be counted.
        """
        blocks = self._touched(*self.context.motion.blocks_of(*rows))
        proposal = Proposal(name, tuple(self.edits), claim, summary, *blocks)
        if isinstance(brings, int):
            return replace(proposal, gained=brings)
        return replace(
            proposal,
            gained=brings.gained,
            longer=brings.longer,
            gained_by_axis=brings.gained_by_axis,
            seconds=brings.seconds,
        )

    def _touched(self, first: int, last: int) -> tuple[int, int]:
        """Return the first and the last of some blocks and of all that the edits replace."""
        source = self.context.program.source
        for edit in self.edits:
            if edit.end > edit.start:
                first = min(first, source.block_of(edit.start))
                last = max(last, source.block_of(edit.end - 1))
        return first, last
