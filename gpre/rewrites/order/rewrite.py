"""Orders holes so that more of them are reached from the right side as they come.

Rows drilled there and back reach every second row against its side; each hole of it needs a loop.
Drilled one way, only the first hole of a row does. Holes of one tool that are all alike trade their
X and Y, by cycle or by hand, where the way in the air, with the loops that are left, gets shorter.
New ways lie as high as the program ever goes there, or on its own ways: a clamp may stand between.
Contours stay in their order: what holds the work while it is cut cannot be told from a program.
`X10 Y0`, `X20`, `Y10`, `X10` becomes::

    X10 Y0
    X20
    X10 Y10
    X20
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray

from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.editable import Editable
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip, skip_if
from gpre.editing.word_edits import letters_in
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.costs import error_from_wrong_side
from gpre.motion.events import Effect, EventKind, kinds
from gpre.motion.motion import Kind, Role
from gpre.program.words import BlockFlag
from gpre.reversals.screw_side import BacklashWalk
from gpre.rewrites.order.clear import Goal, clear_after, clear_ways, way_in
from gpre.rewrites.order.holes import LEAST, Row, Station, find_rows
from gpre.rewrites.order.ways import Bools, Ways, best_order, ways_between
from gpre.rewrites.order.words import edits_of
from gpre.room.lowest_traverse import LowestTraverse

NAME = "order"
WIDEST_DRILL = 13.0  # mm; taken where the tool is not named: what a drill chuck takes, no source
_WORTH = 0.01  # mm of way in the air
_BESIDE = 0.5  # mm; a way so near to the program's own is the same
_MOST = 1500  # holes; all ways between more of them are too many to measure
_ELSEWHERE = kinds(Effect.OTHER_PLACE) | {EventKind.END}


def order(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a better order for each row of holes that has one, or say why it stays."""
    if not context.cuts or context.editable.whole:
        return iter(())
    walk = BacklashWalk(context.motion, context.mill)
    gone = LowestTraverse(context.program, context.motion, _BESIDE)
    rows = find_rows(context.editable, context.cycles)
    return at_each(NAME, context, rows, lambda holes: _propose(context, walk, gone, holes))


def _propose(
    context: Context, walk: BacklashWalk, gone: LowestTraverse, holes: Row
) -> Proposal | None:
    """Propose another order for one row of holes; `walk` comes to them in the program's order."""
    stations = holes.stations
    walk.advance(holes.first)
    start, at_start = _start(gone, stations)
    movable = stations if at_start is None else stations[1:]
    if not LEAST <= len(movable) <= _MOST:
        return None
    by_place = sorted(range(len(movable)), key=lambda at: tuple(movable[at].place.round(6)))
    place = np.array([movable[at].place for at in by_place])
    now = [by_place.index(at) for at in range(len(movable))]
    sides = (context.mill.x.approach, context.mill.y.approach)
    goal = _behind(context.editable, stations[-1])
    against = _against(walk, at_start, start[:2], place, sides)

    def measured(clear: tuple[Bools, Bools] | None) -> Ways:
        return ways_between(
            place,
            sides,
            (context.mill.overshoot(0), context.mill.overshoot(1)),
            lift=stations[0].lift,
            start=(start[:2], against),
            goal=None if goal.place is None else goal.place[:2],
            last=None if goal.free else now[-1],
            clear=clear,
        )

    ways = measured(None)
    if not ways.count(now) or _better(ways, now, sides) is None:
        return None
    _need_any_order(context, stations)
    level, row = stations[0].level, stations[0].first
    to_each = clear_ways(gone, place, now, start=start, level=level, row=row)
    ways = measured((to_each, clear_after(gone, place, goal, last=now[-1], row=row)))
    best = _better(ways, now, sides)
    if best is None:
        if to_each.all():
            return None
        raise Skip(
            f"the ways between them at Z{level:g} are new, and the program goes as high as "
            f"Z{gone.highest[gone.setup[row]]:g} over the part: a clamp may stand there"
        )
    saved = ways.total(now) - ways.total(best)
    fewer = ways.count(now) - ways.count(best)
    chosen = [by_place[at] for at in best]
    kept = [] if at_start is None else [0]
    edits = edits_of(context.editable, stations, kept + [at + len(kept) for at in chosen])
    return Proposal(
        NAME,
        tuple(edits),
        Claim.SAME_CUTS,
        f"{len(stations)} holes in another order: {fewer} loop{'' if fewer == 1 else 's'} fewer to "
        f"reach them from the right side, {saved:.1f} mm less in the air with the loops",
        stations[0].block,
        stations[-1].block,
        holes=fewer,
        nearer=fewer * _miss(context, stations[0].first),
        longer=_length(ways, best) - _length(ways, now),
    )


def _miss(context: Context, row: int) -> float:
    """Return how far a hole is out that is reached from the wrong side, mm, the mean of X and Y."""
    place = context.motion.machine_end(row)[:2]
    return sum(error_from_wrong_side(context.mill, axis, place) for axis in (0, 1)) / 2.0


def _better(ways: Ways, now: list[int], sides: tuple[int, int]) -> list[int] | None:
    """Return an order with fewer loops and a shorter way, or None where none is found."""
    best = best_order(ways, now, sides)
    saved = ways.total(now) - ways.total(best)
    return best if ways.count(best) < ways.count(now) and saved >= _WORTH else None


def _length(ways: Ways, chosen: Sequence[int]) -> float:
    """Return the way from the first hole to what follows without any loops, mm."""
    steps = np.diff(ways.place[list(chosen)], axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum() + ways.after[chosen[-1]])


def _start(
    gone: LowestTraverse, stations: Sequence[Station]
) -> tuple[NDArray[np.float64], Station | None]:
    """(3,) mm: where the tool stands before the first hole that may move; the hole if it is one.

    The first one stays the first where the tool stands over it already, or where it is not known
    where it stands.
    """
    first = stations[0]
    here = way_in(gone, stations)
    if not first.moves or not np.isfinite(here).all():
        return np.array((*first.place, first.level)), first
    return here, None


def _against(
    walk: BacklashWalk,
    fixed: Station | None,
    start: NDArray[np.float64],
    place: NDArray[np.float64],
    sides: tuple[int, int],
) -> NDArray[np.bool_]:
    """(n, 2): the axes that need a loop to reach a place from the start."""
    travel = place - start
    if fixed is not None:  # itself reached from its side, by a loop if need be
        result: NDArray[np.bool_] = travel * np.array(sides) < -RESOLUTION
        return result
    result = np.zeros(place.shape, bool)
    for axis in (0, 1):
        for at, way in enumerate(travel[:, axis].tolist()):
            backlash = copy(walk.x_y[axis])
            backlash.travel(way, RESOLUTION)
            result[at, axis] = not backlash.taken_up(sides[axis])
    return result


def _behind(editable: Editable, last: Station) -> Goal:
    """Return whether another hole may be the last, and where the tool goes next.

    It may where what follows states X and Y on a level way, or where nothing follows.
    """
    motion = editable.motion
    for row in range(last.last, len(motion)):
        block = motion.block_of(row)
        quiet = all(event.kind in _ELSEWHERE for event in editable.events_before(row))
        rapid = motion.kind[row] == Kind.RAPID and motion.role[row] == Role.NONE
        absolute = motion.state_of(row).distance == 90 and not editable.why_not_touch(block)
        travel = motion.travel(row)
        if not (quiet and rapid and absolute and np.isfinite(travel).all()):
            return Goal(None, free=False)
        names = letters_in(editable, block) & {"X", "Y"}
        if names == {"X", "Y"}:
            level = abs(travel[2]) <= RESOLUTION
            return Goal(motion.end[row].copy(), free=bool(level))
        if names or np.abs(travel[:2]).max() > RESOLUTION or travel[2] < -RESOLUTION:
            return Goal(None, free=False)
    events = editable.events_before(len(motion))
    return Goal(None, free=all(event.kind in _ELSEWHERE for event in events))


def _need_any_order(context: Context, stations: Sequence[Station]) -> None:
    """Look at what must hold before holes may trade places."""
    motion = context.motion
    if context.mill.compensation.by == "program":
        raise Skip("the program itself takes the backlash up there, whatever the order")
    first, last = stations[0], stations[-1]
    flags = context.program.blocks.flags[first.block + 1 : last.block]
    own = {each.block for each in stations}
    for block, flag in enumerate(flags.tolist(), start=first.block + 1):
        if flag & BlockFlag.COMMENT and block not in own:
            raise Skip("a comment between the holes may belong to one of them")
    reason, needs = context.clearance.why_not_level(first.level, first.first)
    skip_if(reason and f"from hole to hole {reason}", needs)
    number = motion.state_of(first.first).tool
    tool = context.job.tools.get(number)
    close = _closest(np.array([each.place for each in stations]))
    if tool is not None and close < tool.diameter:
        raise Skip("the holes run into one another, so it matters which is drilled first")
    if tool is None and close < WIDEST_DRILL:
        raise Skip(
            f"the holes are {close:.4g} mm apart; whether they run into one another is not known",
            (f"tool {number}",),
        )


def _closest(place: NDArray[np.float64]) -> float:
    """Return the least distance between two of the places, mm."""
    least = np.inf
    for at in range(len(place) - 1):
        apart = np.hypot(*(place[at + 1 :] - place[at]).T)
        least = min(least, float(apart.min()))
    return least
