"""Writes a closed contour, level for level, so that it starts at another of its places."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.editing.draft import Draft
from gpre.editing.preview import Change
from gpre.editing.skip import Skip, skip_if
from gpre.editing.state_after import place_stated, why_not_rows
from gpre.editing.word_edits import MACHINE, g_codes, letters_in
from gpre.editing.writer import SAME
from gpre.geometry import path
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Kind
from gpre.rewrites.start_point.chains import ContourChain, ContourLoop
from gpre.rewrites.start_point.plunges import MovedPlunges
from gpre.room.entries import (
    above_stock,
    one_zero,
    reach_of,
)

ELSEWHERE = kinds(Effect.OTHER_PLACE)


@dataclass(frozen=True)
class StartPlace:
    """A start: row within a round, counted from its first, and the place along that row.

    point: (2,) mm. ways: (3,), the way in which each axis starts, 0 for Z.
    """

    row: int
    along: float
    point: NDArray[np.float64]
    ways: NDArray[np.int8]


@dataclass
class MovedStart:
    """Lets a chain start at another place: one change, from the way there to the lift behind it.

    begin: the first row that changes. level: Z, mm, at which the tool arrives. Raises Skip where
    the program does not allow it.
    """

    draft: Draft
    plunges: MovedPlunges
    chain: ContourChain
    place: StartPlace
    begin: int = 0
    level: float = 0.0

    def __post_init__(self) -> None:
        """Name what is asked most."""
        context = self.draft.context
        self.editable, self.motion = context.editable, context.motion
        self.clearance = context.clearance

    def write(self) -> None:
        """Write it all into the draft."""
        motion, chain = self.motion, self.chain
        descents = []
        for cut in chain.cuts:
            reach = reach_of(motion, cut)
            if reach is None:
                raise Skip("no rapid leads straight down to it")
            descents.append(reach.first)
            inner = [loop.last for loop in chain.loops if cut.first < loop.last < cut.last]
            descents += [row for row in inner if motion.end[row, 2] < motion.start[row, 2]]
        self._need_quiet(descents[0], chain.lifted)
        self._arrive(descents[0])
        row = descents[0]
        for loop in chain.loops:
            self._carry(row, loop.first, descents[1:])
            self._round(loop)
            row = loop.last
        self._carry(row, chain.lifted, [])
        self._leave()
        starts = [edit.start for edit in self.draft.edits]
        if len(set(starts)) < len(starts):  # the way there stays, and no block lies between
            raise Skip("where its way there comes from is not known, and the contour follows it")
        self.draft.changes.append(Change(self.begin, chain.lifted, self.track))

    def _need_quiet(self, first: int, last: int) -> None:
        """Nothing may happen on the way that minds where the tool stands."""
        for event in self.motion.events:
            if first <= event.move < last and event.kind not in ELSEWHERE:
                if event.move == first and event.block != self.motion.block_of(first):
                    continue  # before the way down begins
                what = event.kind.value
                raise Skip(f"within it there is a {what} that must find the tool where it is")

    def _arrive(self, descent: int) -> None:
        """Go to the new start at the height at which the program goes to the old one."""
        motion = self.motion
        self.level = float(motion.start[descent, 2])
        self._need_level(self.level, descent)
        for axis, name in enumerate("XYZ"):
            if not self.clearance.known_before(descent, axis):
                raise Skip(f"the program has not said where {name} stands before it")
        before = descent - 1
        if self._is_way_there(before):
            block, self.begin = motion.block_of(before), before
            self.track = self.draft.track(before, before + 1)
            self._go()
            self.draft.put_for(block, block, self.track)
            return
        block, self.begin = motion.block_of(descent), descent
        nowhere = "no block ends where the tool stands above its start"
        skip_if(self.editable.why_not_before(descent, nowhere))
        self.track = self.draft.track(descent)
        self._go()
        self.draft.put_before(block, self.track)

    def _is_way_there(self, row: int) -> bool:
        """Return whether the row is a level rapid in a block of its own that may be rewritten."""
        editable, motion = self.editable, self.motion
        level = abs(float(motion.end[row, 2] - motion.start[row, 2])) <= RESOLUTION
        known = bool(np.isfinite(motion.start[row]).all())
        aside = float(np.abs(motion.end[row, :2] - motion.start[row, :2]).max()) > RESOLUTION
        if motion.kind[row] != Kind.RAPID or motion.role[row] or not (level and known and aside):
            return False
        if any(event.kind not in ELSEWHERE for event in editable.events_before(row + 1)):
            return False
        block = self.motion.block_of(row)
        if not self.clearance.known_before(row, 2) or MACHINE in g_codes(editable, block):
            return False
        return not why_not_rows(editable, row, row + 1)

    def _go(self) -> None:
        """Go to the new start so that X and Y arrive in the way in which they go on."""
        goal = self.place.point
        skip_if(self.clearance.why_not_over(self.begin, goal))
        self.draft.arrive(self.track, goal, self.place.ways, self.begin, straight="start moved")

    def _carry(self, first: int, last: int, descents: list[int]) -> None:
        """Take upright moves of the program along to the new place."""
        motion = self.motion
        for row in range(first, last):
            kind, height = Kind(int(motion.kind[row])), float(motion.end[row, 2])
            if kind is Kind.RAPID and height < float(motion.start[row, 2]) - RESOLUTION:
                self._need_open(row, height)
            again = row in descents and self._must_take_up(row)
            named = {"X", "Y"} & letters_in(self.editable, motion.block_of(row))
            if named and motion.state_of(row).distance == 90:
                self._upright_anew(row, again=again)
                continue
            if again:
                self._again(row)
            self.track.follow(kind, height, float(motion.feed[row]))

    def _upright_anew(self, row: int, *, again: bool) -> None:
        """Write an upright move again whose block names the old place."""
        motion, block = self.motion, self.motion.block_of(row)
        reason = why_not_rows(self.editable, row, row + 1)
        if reason:
            raise Skip(f"the old start stands in line {block + 1}: {reason}")
        self.draft.resume(self.track, block)
        if again:
            self._take_up(row)
        height = float(motion.end[row, 2])
        if motion.kind[row] == Kind.RAPID:
            self.track.rapid((None, None, height))
        else:
            self.track.line((None, None, height), float(motion.feed[row]))
        self.draft.put_for(block, block, self.track)

    def _must_take_up(self, row: int) -> bool:
        """Return whether backlash has to be taken up before the next level, and can be."""
        if self.editable.why_not_before(row):
            return False
        turning = len(self.draft.turning(self.track, self.place.ways))
        low = self.track.position[2] < self.level - RESOLUTION
        # without a descent at rapid Z would turn at feed: as bad as one turn of X or of Y
        z_turns = low and self._floor() >= self.level - RESOLUTION
        return turning > int(z_turns)

    def _floor(self) -> float:
        """Return the Z at which a descent at rapid ends before it comes down where it has cut."""
        motion, stock = self.motion, self.draft.context.job.stock
        floor = float(motion.start[self.chain.first, 2])
        if floor < self.level - RESOLUTION or stock is None or not one_zero(motion):
            return floor
        unit = self.track.writer.modes.scale
        above = above_stock(stock, self.level, unit)
        return above if above > stock.max[2] + RESOLUTION else floor

    def _again(self, row: int) -> None:
        """Take up backlash before the next level, in blocks of its own."""
        block = self.motion.block_of(row)
        self.draft.resume(self.track, block)
        self._take_up(row)
        self.draft.put_before(block, self.track)

    def _take_up(self, row: int) -> None:
        """Go up to where the tool travels, take the backlash up, and come down where it has cut."""
        motion, track = self.motion, self.track
        height = float(track.position[2])
        if height < self.level - RESOLUTION:
            track.rapid((None, None, self.level), "lift")
        self._go()
        if height < self.level - RESOLUTION:
            track.rapid((None, None, max(height, self._floor())))
        if height < float(track.position[2]) - RESOLUTION:
            plunges = np.array([row, *(loop.first - 1 for loop in self.chain.loops)])
            plunges = plunges[motion.at_feed[plunges]]
            track.line((None, None, height), float(motion.feed[plunges].min()))

    def _round(self, loop: ContourLoop) -> None:
        """Write one round of the contour."""
        motion, place = self.motion, self.place
        skip_if(why_not_rows(self.editable, loop.first, loop.last))
        first, last = motion.blocks_of(loop.first, loop.last)
        self.draft.resume(self.track, first)
        comment = "start moved"
        pieces = _pieces(loop, place)
        for at, (row, begin, end) in enumerate(pieces):
            if at + 1 < len(pieces) and pieces[at + 1][0] == loop.first and self._runs_on(loop):
                continue  # straight on through the old start
            goal = path.points(path.take(motion, slice(row, row + 1)), np.array([end]))[0]
            if at + 1 == len(pieces):
                goal[:2] = place.point
            self.track.cut(motion, row, goal, share=end - begin, comment=comment)
            comment = ""
        self.draft.put_for(first, last, self.track)

    def _runs_on(self, loop: ContourLoop) -> bool:
        """Return whether the last and first moves of a round are one straight line at one feed."""
        motion, last = self.motion, loop.last - 1
        if motion.kind[last] == Kind.ARC or motion.kind[loop.first] == Kind.ARC:
            return False
        one = motion.end[last, :2] - motion.start[last, :2]
        other = motion.end[loop.first, :2] - motion.start[loop.first, :2]
        aside = abs(one[0] * other[1] - one[1] * other[0])
        straight = aside <= SAME * float(np.hypot(*(one + other))) and float(one @ other) > 0
        return bool(straight and motion.feed[last] == motion.feed[loop.first])

    def _leave(self) -> None:
        """Let what follows find the tool where it expects it."""
        editable, motion, last = self.editable, self.motion, self.chain.lifted
        at_end = last >= len(motion)
        if place_stated(editable, last) if not at_end else not self._comes_back(last):
            return
        self._need_level(float(motion.end[last - 1, 2]), last - 1)
        block = motion.block_of(last - 1) + 1
        reason = editable.why_not_insert(block)
        if not reason and not editable.order.follows(block):
            reason = "behind it a subprogram is called or comes back in the same block"
        skip_if(reason)
        self.draft.resume(self.track, block)
        old = motion.end[last - 1]
        self.track.rapid((old[0], old[1], None), "back to the old start")
        self.draft.put_before(block, self.track)

    def _comes_back(self, last: int) -> bool:
        """Return whether a subprogram returns after the last row: it must leave the old place."""
        return any(event.kind is EventKind.CALL for event in self.editable.events_before(last))

    def _need_level(self, height: float, row: int) -> None:
        skip_if(*self.clearance.why_not_level(height, row))

    def _need_open(self, row: int, height: float) -> None:
        """Let a descent at rapid end above the metal, or where the tool has cut already."""
        reason, needs = self.clearance.why_not_level(height, row, aside=False)
        if reason and not self.plunges.open_there(row, self.place.point, height):
            raise Skip(f"the tool comes down at rapid to Z{height:g}: {reason}", needs)


def _pieces(loop: ContourLoop, place: StartPlace) -> list[tuple[int, float, float]]:
    """Return rows with the places from and to which they are cut, in the new order."""
    at = loop.first + place.row
    if loop.last - loop.first == 1:
        return [(at, 0.0, 1.0)]  # a full circle, only begun elsewhere
    rows = [*range(at + 1, loop.last), *range(loop.first, at)]
    pieces = [(row, 0.0, 1.0) for row in rows]
    head = [(at, place.along, 1.0)]
    tail = [(at, 0.0, place.along)] if place.along > 0.0 else []
    return [*head, *pieces, *tail]
