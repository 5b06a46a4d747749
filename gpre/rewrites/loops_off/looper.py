"""Loops over the part that let an axis turn in the air and not in a wall.

The tool leaves the wall straight on, along its tangent, until it stands clear; lifts; takes the
backlash up in the air for the way in which every axis goes on; comes down and meets the wall
straight on again, along the tangent, at the very place where it left it.

Where there is no way off. Where an axis turns at its greatest or least coordinate the wall lies
either behind the tool, as round a boss, or ahead of it, as in a bore. Round a boss the tangent
leads off. In a bore the tool must touch the wall where that reaches farthest along the axis. It
comes there along the axis one way, and whatever leads off sideways goes back along it: the axis
turns at the wall all the same. What leads straight up stops the tool at the wall, as a take-up
does. So no loop helps there; fewer turns of a helix do, or a take-up in the program.

On the way down a helix the tool could not come back: a little before the turn it has not been as
deep yet. And where the tool has cleared nothing beside its way, there is none off it.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from math import ceil

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut, Shape
from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.preview import Track
from gpre.editing.proposal import Claim, Proposal, Refusal, fewer_reversals
from gpre.editing.skip import Skip, skip_if
from gpre.geometry import path
from gpre.geometry.balanced_arc import evened
from gpre.geometry.tolerance import POINT, RESOLUTION
from gpre.motion.motion import Kind
from gpre.rewrites.loops_off.cleared import Setups
from gpre.rewrites.loops_off.places import TurnInCut, travels_between, turns_in
from gpre.rewrites.loops_off.room import LoopWay, Room
from gpre.room.entries import RAPID_ENDS_ABOVE, reach_of, take_up_point
from gpre.source.decimals import UnwritableError

CONTOURS = frozenset((Shape.CLOSED, Shape.OPEN, Shape.HELIX))
LITTLE = 0.5  # of the overshoot: what is left still crosses the backlash
SAME_PLACE = POINT
FINEST = 2  # decimals more than the program writes
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LoopManner:
    """name: the rewrite. kinds: of the reversals it is about. comment: of its first block.

    at_once: it lifts where the tool stands clear already, too. shapes: of the cuts it looks at.
    """

    name: str
    kinds: Container[int]
    comment: str
    at_once: bool
    shapes: Container[Shape] = CONTOURS


def loops_off(context: Context, manner: LoopManner) -> Iterator[Proposal | Refusal]:
    """Propose a loop for each move on which X or Y turns at a wall; say why others stay.

    Only a controller that takes backlash up itself stops at a turn. With a program that does it the
    tool does not stop; where nobody does, a loop would leave a step as high as the backlash.
    """
    if context.mill.compensation.by != "controller":
        return
    setups: Setups | None = None
    for cut in context.cuts:
        found = turns_in(context, cut, manner.kinds) if cut.shape in manner.shapes else []
        if found:
            setups = setups or Setups(context.motion)
            yield from _of_cut(context, manner, cut, setups, found)


@dataclass(frozen=True)
class TurningMove:
    """The turns on one move."""

    turns: list[TurnInCut]

    @property
    def first(self) -> int:
        """The row of the move."""
        return self.turns[0].row

    @property
    def last(self) -> int:
        """One past it."""
        return self.first + 1


def _of_cut(
    context: Context, manner: LoopManner, cut: Cut, setups: Setups, found: list[list[TurnInCut]]
) -> Iterator[Proposal | Refusal]:
    """Propose the loops of one cut; the moves that stay for one reason are told together."""
    looper = cache(partial(_Looper, context, manner, cut, setups))
    moves = [TurningMove(turns) for turns in found]
    refused: dict[tuple[str, tuple[str, ...]], list[Refusal]] = {}
    for each in at_each(manner.name, context, moves, lambda move: looper().propose(move.turns)):
        if isinstance(each, Proposal):
            yield each
        else:
            refused.setdefault((each.reason, each.needs), []).append(each)
    for same in refused.values():
        first = min(each.first_block for each in same)
        yield replace(same[0], first_block=first, last_block=max(each.last_block for each in same))


class _Looper:
    """Writes the loops of one cut, in order. Raises Skip where the whole cut stays."""

    def __init__(self, context: Context, manner: LoopManner, cut: Cut, setups: Setups) -> None:
        self.context, self.manner, self.cut = context, manner, cut
        self.editable, self.motion = context.editable, context.motion
        skip_if(self.editable.why_not_cut_anew(cut.first))
        skip_if(self.editable.why_called(self.motion.block_of(cut.first)))
        self.room = Room(context, cut, setups)
        self.height = self._height()
        self.done: TurnInCut | None = None
        self.settled = np.zeros(3, np.int8)

    def _height(self) -> float:
        """Z at which the program itself travels over the cut, mm.

        No lower than it came to this very cut: elsewhere it may know of lower clamps.
        """
        clearance, row = self.context.clearance, self.cut.first
        height = clearance.travel_level(row)
        reach = reach_of(self.motion, self.cut)
        if not np.isfinite(height):
            if reach is None:
                raise Skip("no height is known at which the program travels over it")
            height = reach.clearance
        elif reach is not None:
            height = max(height, float(self.motion.start[reach.first, 2]))
        if not clearance.known_before(row, 2):
            raise Skip("the height of the tool there is not known")
        skip_if(*clearance.why_not_level(height, row))
        return height

    def propose(self, turns: list[TurnInCut]) -> Proposal | None:
        """Write the loops of one move; None where an earlier loop has turned the axes already."""
        real = [turn for turn in turns if not self._settled(turn)]
        if not real:
            return None
        row = real[0].row
        if self.motion.kind[row] == Kind.ARC and self.motion.plane[row] != 17:
            raise Skip("the arc does not lie in XY")
        if self.motion.end[row, 2] > self.motion.start[row, 2] + RESOLUTION:
            raise Skip("the tool rises there, so Z would turn while cutting instead")
        ways = []
        reason: Skip | None = None
        for turn in real:
            try:
                ways.append((turn, self.room.way(turn, at_once=self.manner.at_once)))
            except Skip as why:
                reason = reason or why
        if not ways:
            assert reason is not None
            raise reason
        draft = self._write(row, ways)
        brings = draft.preview()
        if brings.gained <= 0:
            raise Skip("a loop would not reduce the reversals while cutting")
        self.done = ways[-1][0]
        summary = self._summary(ways, brings.gained)
        return draft.proposal(self.manner.name, Claim.SAME_METAL, summary, (row, row + 1), brings)

    def _settled(self, turn: TurnInCut) -> bool:
        """Return whether a loop before has all axes of a turn go the new way already."""
        done = self.done
        return done is not None and all(
            self.settled[axis] == turn.wanted[axis]
            and not travels_between(self.context, done, turn, axis)
            for axis in turn.axes
        )

    def _write(self, row: int, ways: list[tuple[TurnInCut, LoopWay]]) -> Draft:
        if ways[-1][0].along == 0.0:
            try:
                return self._insert(row, *ways[0])
            except UnwritableError:  # an arc's code does not stand alone: the arc is written anew
                if self.motion.kind[row] != Kind.ARC:
                    raise
        return self._replace_finely(row, ways)

    def _insert(self, row: int, turn: TurnInCut, way: LoopWay) -> Draft:
        """Put a loop before the block of a move."""
        draft = Draft(self.context)
        skip_if(self.editable.why_not_before(row, "no block begins where the axis turns"))
        track = draft.track(row)
        self._need_same_start(track, row)
        self._loop(track, turn, way)
        draft.insert(row, track)
        self._need_there(track, turn.point)
        return draft

    def _replace_finely(self, row: int, ways: list[tuple[TurnInCut, LoopWay]]) -> Draft:
        """Write an arc anew, with more decimals where its parts cannot be true without."""
        for finer in range(FINEST):
            try:
                return self._replace(row, ways, finer)
            except UnwritableError:
                continue
        return self._replace(row, ways, FINEST)

    def _replace(self, row: int, ways: list[tuple[TurnInCut, LoopWay]], finer: int) -> Draft:
        """Write an arc in parts, with loops between them."""
        draft = Draft(self.context)
        track = draft.track(row, row + 1)
        self._need_same_start(track, row)
        manner = track.writer.manner
        length = replace(manner.length, decimals=manner.length.decimals + finer)
        track.writer.manner = replace(manner, length=length)
        at = 0.0
        for turn, way in ways:
            self._arc(track, row, at, turn.along)
            at = turn.along
            self._loop(track, turn, way)
        self._arc(track, row, at, 1.0)
        draft.replace(row, row + 1, track)
        self._need_there(track, self.motion.end[row])
        return draft

    def _need_same_start(self, track: Track, row: int) -> None:
        if not np.allclose(track.position, self.motion.start[row], rtol=0.0, atol=SAME_PLACE):
            raise Skip("an offset changes where the tool is there")

    def _arc(self, track: Track, row: int, first: float, last: float) -> None:
        if last <= first:
            return
        move = path.take(self.motion, slice(row, row + 1))
        goal = path.points(move, np.array([last]))[0]
        sweep = float(self.motion.sweep[row]) * (last - first)
        centre, sweep = evened(track.position, goal, self.motion.centre[row], sweep)
        track.arc(goal.tolist(), centre.tolist(), sweep, float(self.motion.feed[row]), "")

    def _loop(self, track: Track, turn: TurnInCut, way: LoopWay) -> None:
        """Off, up, over, down and on again."""
        clearance = self.context.clearance
        point, depth = turn.point, float(turn.point[2])
        feed = self._feed(turn)
        floor, height = self._descent(way, depth, track.writer.modes.scale / 100.0)
        skip_if(clearance.why_not_there(turn.row, 2, height))
        if way.far:
            self._off(track, way, depth, feed)
        track.rapid((None, None, height), "" if way.far else self.manner.comment)
        wanted = self._wanted(turn)
        over = self._beyond(track, turn, way, wanted)
        skip_if(clearance.why_not_over(turn.row, over, way.off, way.on))
        track.rapid((over[0], over[1], None))
        track.rapid((way.on[0], way.on[1], None))
        track.rapid((None, None, floor))
        track.line((None, None, depth), self._plunge(feed))
        if way.far:
            self._run(track, way, point.tolist(), feed)
        self.settled = wanted

    def _descent(self, way: LoopWay, depth: float, step: float) -> tuple[float, float]:
        """Return down to where it comes at rapid, and how high it lifts before; Z, mm.

        Beside a wall it comes down at feed from above all metal. Z turns at rapid there too, so it
        may lift a little higher than the program travels. step: mm; both are rounded up to it.
        """
        least = max(RAPID_ENDS_ABOVE, self.context.mill.limits.rapid_clearance)
        if way.open:
            floor = depth + ceil(round(least / step, 6)) * step
            if floor > self.height - RAPID_ENDS_ABOVE:
                reason = f"the tool travels over the part at Z{self.height:g}, too low to come down"
                raise Skip(reason)
            return floor, self.height
        stock = self.context.job.stock
        if self.room.box is None or stock is None:
            floor = self.height
        else:
            floor = min(ceil(round((stock.max[2] + least) / step, 6)) * step, self.height)
        return floor, max(self.height, floor + ceil(round(RAPID_ENDS_ABOVE / step, 6)) * step)

    def _beyond(
        self, track: Track, turn: TurnInCut, way: LoopWay, wanted: NDArray[np.int8]
    ) -> Floats:
        """(2,) mm: where to go in the air, so that all backlash is taken up on the way to `way.on`.

        What lies little aside is counted from the turn itself: an approach reaches no farther out.
        """
        mill, unit = self.context.mill, track.writer.modes.scale
        goal = np.array([way.on[0], way.on[1], self.height])
        for axis in range(2):
            if abs(goal[axis] - turn.point[axis]) <= LITTLE * mill.overshoot(axis):
                goal[axis] = turn.point[axis]
        over = take_up_point(mill, track.position, goal, track.heading, wanted, unit=unit)
        return np.where(over == goal[:2], way.on, over)

    def _off(self, track: Track, way: LoopWay, depth: float, feed: float) -> None:
        """Run off the wall at the depth of the cut."""
        self._run(track, way, (*way.off.tolist(), depth), feed, self.manner.comment)

    def _run(
        self, track: Track, way: LoopWay, goal: Sequence[float], feed: float, text: str = ""
    ) -> None:
        if way.centre is None:
            track.line((goal[0], goal[1], None), feed, text)
        else:
            centre = (*way.centre.tolist(), goal[2])
            track.arc(goal, centre, way.sweep, feed, text)

    def _feed(self, turn: TurnInCut) -> float:
        rows = [turn.row, turn.row - 1] if turn.along == 0.0 else [turn.row]
        feed = float(np.min(self.motion.feed[rows]))
        if not np.isfinite(feed):
            raise Skip("the feed is not known")
        return feed

    def _plunge(self, feed: float) -> float:
        """Feed of the way down, mm/min: the least with which the program came down to the cut.

        Where the cut begins at depth, the least of all ways down with this tool before it.
        """
        for rows in (np.arange(self.cut.first, self.cut.last), self.room.rows):
            moves = path.take(self.motion, rows)
            down = (np.hypot(*(moves.end - moves.start)[:, :2].T) <= RESOLUTION) & (
                moves.sweep == 0.0
            )
            down &= moves.end[:, 2] < moves.start[:, 2] - RESOLUTION
            down &= np.isfinite(self.motion.feed[rows])
            if down.any():
                return float(min(self.motion.feed[rows[down]].min(), feed))
        return feed

    def _wanted(self, turn: TurnInCut) -> NDArray[np.int8]:
        """(3,): the way of each axis behind a loop; one that does not travel, as the mill's is."""
        axes = self.context.mill.axes
        sides = np.array([each.approach for each in axes], np.int8)
        return np.where(turn.wanted == 0, sides, turn.wanted).astype(np.int8)

    def _need_there(self, track: Track, goal: Floats) -> None:
        """In G91 nothing states the place again: it must be the very same."""
        off = float(np.abs(track.position - goal).max())
        if track.writer.modes.distance == 91 and off > SAME_PLACE:
            raise Skip("the program is in G91, and the place cannot be written exactly")

    def _summary(self, ways: list[tuple[TurnInCut, LoopWay]], gained: int) -> str:
        unit = self.room.unit
        far = max(way.far for _, way in ways) / unit
        axes = sorted({axis for turn, _ in ways for axis in turn.axes})
        names = " and ".join("XY"[axis] for axis in axes)
        times = "" if len(ways) == 1 else f" {len(ways)} times"
        where = "where the tool stands clear"
        if far:
            length = f"{far:.2g} {'in' if unit != 1.0 else 'mm'}"
            bent = any(way.centre is not None for _, way in ways)
            where = f"{length} on, {'bending off the wall' if bent else 'straight on'}"
        beside = "" if all(way.open for _, way in ways) else ", down at feed beside a wall"
        heights = [self._descent(way, float(turn.point[2]), unit / 100.0)[1] for turn, way in ways]
        lifted = f"lifted to Z{max(heights) / unit:g}{beside}"
        return f"{names} turned in the air{times}, {where}, {lifted}: {fewer_reversals(gained)}"
