"""Writes a closed contour, level for level, so that it starts at another of its places."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.levels import LEVEL
from gpre.editing.editable import HARMLESS, Editable
from gpre.editing.preview import Track
from gpre.editing.skip import Skip
from gpre.editing.state_after import place_stated, wanted_after, wanted_before, why_not_rows
from gpre.editing.word_edits import g_codes, letters_in
from gpre.editing.writer import SAME, BlockWriter
from gpre.geometry import path
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.mill import Mill
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind
from gpre.rewrites.start_point.chains import ContourChain, ContourLoop
from gpre.rewrites.start_point.plunges import MovedPlunges
from gpre.room.clearance import Clearance
from gpre.room.entries import (
    above_stock,
    heading_before,
    one_zero,
    reach_of,
    take_up_point,
)
from gpre.source.edit import Edit

ELSEWHERE = HARMLESS | {EventKind.SPINDLE, EventKind.COOLANT}  # may happen over another place
MACHINE = 530  # G53, times ten


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
    """The edits that let a chain start at another place, and its moves for the rehearsal.

    begin: the first row that changes. level: Z, mm, at which the tool arrives. Raises Skip where
    the program does not allow it.
    """

    mill: Mill
    editable: Editable
    clearance: Clearance
    plunges: MovedPlunges
    chain: ContourChain
    place: StartPlace
    comments: bool = True
    begin: int = 0
    level: float = 0.0
    edits: list[Edit] = field(default_factory=list)

    def write(self) -> Track:
        """Write all edits; give the moves from `begin` to the lift behind the last level."""
        motion, chain = self.editable.motion, self.chain
        descents = []
        for cut in chain.cuts:
            reach = reach_of(motion, cut)
            if reach is None:
                raise Skip("no rapid leads straight down to it")
            descents.append(reach.first)
            inner = [loop.last for loop in chain.loops if cut.first < loop.last < cut.last]
            descents += [row for row in inner if motion.end[row, 2] < motion.start[row, 2]]
        self._need_quiet(descents[0], chain.last)
        self._arrive(descents[0])
        row = descents[0]
        for loop in chain.loops:
            self._carry(row, loop.first, descents[1:])
            self._round(loop)
            row = loop.last
        self._carry(row, chain.last, [])
        self._leave()
        starts = [edit.start for edit in self.edits]
        if len(set(starts)) < len(starts):  # the way there stays, and no block lies between
            raise Skip("where its way there comes from is not known, and the contour follows it")
        return self.track

    def _need_quiet(self, first: int, last: int) -> None:
        """Nothing may happen on the way that minds where the tool stands."""
        for event in self.editable.motion.events:
            if first <= event.move < last and event.kind not in ELSEWHERE:
                if event.move == first and event.block != self._block(first):
                    continue  # before the way down begins
                what = event.kind.value
                raise Skip(f"within it there is a {what} that must find the tool where it is")

    def _arrive(self, descent: int) -> None:
        """Go to the new start at the height at which the program goes to the old one."""
        editable, motion = self.editable, self.editable.motion
        self.level = float(motion.start[descent, 2])
        self._need_level(self.level, descent)
        for axis, name in enumerate("XYZ"):
            if not self.clearance.known_before(descent, axis):
                raise Skip(f"the program has not said where {name} stands before it")
        before = descent - 1
        if self._is_way_there(before):
            block = self._block(before)
            self._begin(before, editable.writer(block, comments=self.comments))
            self._go()
            self._hand_over(block)
            self.edits.append(editable.replacement(block, block, self.track.writer))
            return
        block = self._block(descent)
        reason = editable.why_not_insert(block)
        if reason:
            raise Skip(reason)
        if int(editable.first_row[block]) != descent:
            raise Skip("no block ends where the tool stands above its start")
        self._begin(descent, editable.writer(block, comments=self.comments))
        self._go()
        self._hand_over_to(block)
        self.edits.append(editable.insertion(block, self.track.writer))

    def _begin(self, row: int, writer: BlockWriter) -> None:
        self.begin = row
        heading = heading_before(self.editable.motion, row)
        self.track = Track.of(writer, heading)

    def _is_way_there(self, row: int) -> bool:
        """Return whether the row is a level rapid in a block of its own that may be rewritten."""
        editable, motion = self.editable, self.editable.motion
        level = abs(float(motion.end[row, 2] - motion.start[row, 2])) <= LEVEL
        known = bool(np.isfinite(motion.start[row]).all())
        aside = float(np.abs(motion.end[row, :2] - motion.start[row, :2]).max()) > RESOLUTION
        if motion.kind[row] != Kind.RAPID or motion.role[row] or not (level and known and aside):
            return False
        if any(event.kind not in ELSEWHERE for event in editable.events_before(row + 1)):
            return False
        block = self._block(row)
        if not self.clearance.known_before(row, 2) or MACHINE in g_codes(editable, block):
            return False
        return not why_not_rows(editable, row, row + 1)

    def _go(self) -> None:
        """Go to the new start so that X and Y arrive in the way in which they go on."""
        track, goal = self.track, self.place.point
        unit = track.writer.modes.scale
        ways = self.place.ways
        point = take_up_point(self.mill, track.position, goal, track.heading, ways, unit=unit)
        for axis in range(2):
            for at in (point, goal):
                reason = self.clearance.why_not_there(self.begin, axis, float(at[axis]))
                if reason:
                    raise Skip(reason)
        taken_up = float(np.abs(point - goal).max()) > RESOLUTION
        if taken_up:
            track.rapid((point[0], point[1], None), "take up backlash")
        track.rapid((goal[0], goal[1], None), "" if taken_up else "start moved")

    def _carry(self, first: int, last: int, descents: list[int]) -> None:
        """Take upright moves of the program along to the new place."""
        motion = self.editable.motion
        for row in range(first, last):
            kind, height = Kind(int(motion.kind[row])), float(motion.end[row, 2])
            if kind is Kind.RAPID and height < float(motion.start[row, 2]) - LEVEL:
                self._need_open(row, height)
            again = row in descents and self._must_take_up(row)
            named = {"X", "Y"} & letters_in(self.editable, self._block(row))
            if named and motion.state_of(row).distance == 90:
                self._upright_anew(row, again=again)
                continue
            if again:
                self._again(row)
            self.track.follow(kind, height, float(motion.feed[row]))

    def _upright_anew(self, row: int, *, again: bool) -> None:
        """Write an upright move again whose block names the old place."""
        motion = self.editable.motion
        block = self._block(row)
        reason = why_not_rows(self.editable, row, row + 1)
        if reason:
            raise Skip(f"the old start stands in line {block + 1}: {reason}")
        self._take_writer(block)
        if again:
            self._take_up(row)
        height = float(motion.end[row, 2])
        if motion.kind[row] == Kind.RAPID:
            self.track.rapid((None, None, height))
        else:
            self.track.line((None, None, height), float(motion.feed[row]))
        self._hand_over(block)
        self.edits.append(self.editable.replacement(block, block, self.track.writer))

    def _must_take_up(self, row: int) -> bool:
        """Return whether backlash has to be taken up before the next level, and can be."""
        editable, block, goal = self.editable, self._block(row), self.track.position
        if editable.why_not_insert(block) or int(editable.first_row[block]) != row:
            return False
        point = take_up_point(self.mill, goal, goal, self.track.heading, self.place.ways)
        turning = int((np.abs(point - goal[:2]) > RESOLUTION).sum())
        # without a descent at rapid Z would turn at feed: as bad as one turn of X or of Y
        z_turns = goal[2] < self.level - LEVEL and self._floor() >= self.level - LEVEL
        return turning > int(z_turns)

    def _floor(self) -> float:
        """Return the Z at which a descent at rapid ends before it comes down where it has cut."""
        motion, stock = self.editable.motion, self.clearance.job.stock
        floor = float(motion.start[self.chain.cuts[0].first, 2])
        if floor < self.level - LEVEL or stock is None or not one_zero(motion):
            return floor
        unit = self.track.writer.modes.scale
        above = above_stock(stock, self.level, unit)
        return above if above > stock.max[2] + LEVEL else floor

    def _again(self, row: int) -> None:
        """Take up backlash before the next level, in blocks of its own."""
        block = self._block(row)
        self._take_writer(block)
        self._take_up(row)
        self._hand_over_to(block)
        self.edits.append(self.editable.insertion(block, self.track.writer))

    def _take_up(self, row: int) -> None:
        """Go up to where the tool travels, take the backlash up, and come down where it has cut."""
        motion, track = self.editable.motion, self.track
        height = float(track.position[2])
        if height < self.level - LEVEL:
            track.rapid((None, None, self.level), "lift")
        self._go()
        if height < self.level - LEVEL:
            track.rapid((None, None, max(height, self._floor())))
        if height < float(track.position[2]) - LEVEL:
            plunges = np.array([row, *(loop.first - 1 for loop in self.chain.loops)])
            plunges = plunges[motion.at_feed[plunges]]
            track.line((None, None, height), float(motion.feed[plunges].min()))

    def _round(self, loop: ContourLoop) -> None:
        """Write one round of the contour."""
        editable, motion, place = self.editable, self.editable.motion, self.place
        reason = why_not_rows(editable, loop.first, loop.last)
        if reason:
            raise Skip(reason)
        first, last = self._block(loop.first), self._block(loop.last - 1)
        self._take_writer(first)
        comment = "start moved"
        pieces = _pieces(loop, place)
        for at, (row, begin, end) in enumerate(pieces):
            if at + 1 < len(pieces) and pieces[at + 1][0] == loop.first and self._runs_on(loop):
                continue  # straight on through the old start
            goal = path.points(path.take(motion, slice(row, row + 1)), np.array([end]))[0]
            if at + 1 == len(pieces):
                goal[:2] = place.point
            feed = float(motion.feed[row])
            if motion.kind[row] == Kind.ARC:
                sweep = float(motion.sweep[row]) * (end - begin)
                self.track.arc(goal.tolist(), motion.centre[row].tolist(), sweep, feed, comment)
            else:
                self.track.line((goal[0], goal[1], None), feed, comment)
            comment = ""
        self._hand_over(last)
        self.edits.append(editable.replacement(first, last, self.track.writer))

    def _runs_on(self, loop: ContourLoop) -> bool:
        """Return whether the last and first moves of a round are one straight line at one feed."""
        motion, last = self.editable.motion, loop.last - 1
        if motion.kind[last] == Kind.ARC or motion.kind[loop.first] == Kind.ARC:
            return False
        one = motion.end[last, :2] - motion.start[last, :2]
        other = motion.end[loop.first, :2] - motion.start[loop.first, :2]
        aside = abs(one[0] * other[1] - one[1] * other[0])
        straight = aside <= SAME * float(np.hypot(*(one + other))) and float(one @ other) > 0
        return bool(straight and motion.feed[last] == motion.feed[loop.first])

    def _leave(self) -> None:
        """Let what follows find the tool where it expects it."""
        editable, motion, last = self.editable, self.editable.motion, self.chain.last
        at_end = last >= len(motion)
        if place_stated(editable, last) if not at_end else not self._comes_back(last):
            return
        self._need_level(float(motion.end[last - 1, 2]), last - 1)
        block = self._block(last - 1) + 1
        reason = editable.why_not_insert(block)
        if not reason and not editable.order.follows(block):
            reason = "behind it a subprogram is called or comes back in the same block"
        if reason:
            raise Skip(reason)
        self._take_writer(block)
        old = motion.end[last - 1]
        self.track.rapid((old[0], old[1], None), "back to the old start")
        self._hand_over_to(block)
        self.edits.append(editable.insertion(block, self.track.writer))

    def _comes_back(self, last: int) -> bool:
        """Return whether a subprogram returns after the last row: it must leave the old place."""
        return any(event.kind is EventKind.CALL for event in self.editable.events_before(last))

    def _need_level(self, height: float, row: int) -> None:
        reason, needs = self.clearance.why_not_level(height, row)
        if reason:
            raise Skip(reason, needs)

    def _need_open(self, row: int, height: float) -> None:
        """Let a descent at rapid end above the metal, or where the tool has cut already."""
        reason, needs = self.clearance.why_not_level(height, row, aside=False)
        if reason and not self.plunges.open_there(row, self.place.point, height):
            raise Skip(f"the tool comes down at rapid to Z{height:g}: {reason}", needs)

    def _take_writer(self, block: int) -> None:
        editable = self.editable
        self.track.writer = BlockWriter(
            editable.manner,
            editable.modes.before(block),
            self.track.position.tolist(),
            comments=self.comments,
        )

    def _hand_over(self, block: int) -> None:
        """Leave the modes that what follows `block` needs."""
        self.track.writer.restore(wanted_after(self.editable, block, self.track.writer.modes))

    def _hand_over_to(self, block: int) -> None:
        """Leave the modes that `block` needs."""
        self.track.writer.restore(wanted_before(self.editable, block, self.track.writer.modes))

    def _block(self, row: int) -> int:
        return int(self.editable.motion.block[row])


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
