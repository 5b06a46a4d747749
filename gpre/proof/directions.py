"""Which cuts run against the original's direction, or come in another order.

Run the other way, a cutter has the metal on its other side: what was conventional may climb, and
with backlash the work is then pulled into the cutter. Where tool, stock and spindle are known the
height field tells (`gpre.stock.sides`); where they are not, nobody can.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Kind
from gpre.proof.boxed import clear_of_stock
from gpre.proof.changed_moves import Meeting
from gpre.proof.proof import Obligation
from gpre.proof.side import Bools, Ints, Pair, Side, sub

NAME = "cutting direction"
CLIMB = "climb"


@dataclass(frozen=True)
class Directions:
    """How the moves of `after` at feed, m of all kinds, run beside those of `before`.

    against: (m,), the original ran there, and only the other way. new: (m,), it ran nowhere there.
    in_order: the others come in the original's order.
    """

    against: Bools
    new: Bools
    in_order: bool

    @classmethod
    def of(cls, pair: Pair, meeting: Meeting) -> Directions:
        """Compare both programs. Raises CrowdedError as `Meeting.encounters` does."""
        count = len(pair.after.motion)
        first, last = np.full(count, -1, np.intp), np.full(count, -1, np.intp)
        rows = pair.after.feeding
        paired = rows[pair.partner[rows] >= 0]
        first[paired] = last[paired] = pair.partner[paired]
        against = np.zeros(count, bool)
        against[paired] = _reversed(pair, paired)
        if not meeting.nothing:
            _unpaired(pair, meeting, (first, last, against))
        known = rows[last[rows] >= 0]
        reached = np.maximum.accumulate(first[known]) if len(known) else first[known]
        new = np.zeros(count, bool)
        new[rows] = last[rows] < 0
        return cls(against, new, bool((reached <= last[known]).all()))


def _reversed(pair: Pair, rows: Ints) -> Bools:
    """(k,): moves of `after` that run against the moves of `before` that they stand for."""
    old, new = pair.before.motion, pair.after.motion
    was = pair.partner[rows]
    far, near = (
        np.linalg.norm(new.start[rows] - place[was], axis=1) for place in (old.start, old.end)
    )
    arc = new.kind[rows] == Kind.ARC
    result: Bools = np.where(arc, new.sweep[rows] * old.sweep[was] < 0.0, far > near)
    return result


def _unpaired(pair: Pair, meeting: Meeting, found: tuple[Ints, Ints, Bools]) -> None:
    """Fill in what the points of moves tell that no single move of `before` stands for."""
    first, last, against = found
    met = meeting.encounters
    unpaired = (pair.partner[met.row] < 0) & pair.after.motion.at_feed[met.row]
    some = np.flatnonzero(unpaired & (met.was_last >= 0))
    row = met.row[some]
    lowest = np.full(len(first), len(pair.before.motion), np.intp)
    np.minimum.at(lowest, row, met.was_first[some])
    np.maximum.at(last, row, met.was_last[some])
    first[row] = lowest[row]
    # at its ends a move touches its neighbours
    motion = pair.after.motion
    ends = np.minimum(
        np.linalg.norm(met.point[some] - motion.start[row], axis=1),
        np.linalg.norm(met.point[some] - motion.end[row], axis=1),
    )
    inner = ends > 2.0 * pair.tolerance
    against[row[inner & met.against[some] & ~met.forward[some]]] = True


def cutting_direction(pair: Pair, meeting: Meeting, directions: Directions) -> Obligation:
    """Show that no cut runs the other way where nobody can tell whether it climbs then."""
    rows = np.flatnonzero(directions.against)
    if not len(rows):
        return Obligation(NAME, holds=True, figure="no cut runs against the original's direction")
    some = f"{len(rows)} move{' runs' if len(rows) == 1 else 's run'} against the original's"
    if pair.job.cut == CLIMB:
        return Obligation(NAME, holds=True, figure=f"{some}, and climb is asked for")
    doubtful = rows[
        sideways(pair.after, rows) & ~_clear(pair, meeting, rows) & ~_judged(pair, rows)
    ]
    if not len(doubtful):
        return Obligation(NAME, holds=True, figure=f"{some}; see climb share")
    longest = paths.lengths(sub(pair.after, doubtful))
    row = int(doubtful[int(np.argmax(longest))])
    motion = pair.after.motion
    x, y, z = motion.start[row]
    return Obligation(
        NAME,
        holds=False,
        figure=f"from X{x:.4f} Y{y:.4f} Z{z:.4f} it cuts against the original's direction and may "
        f"climb now, which nobody asked for: {_missing(pair, row)}",
        before=pair.before.block_of(int(pair.partner[row])),
        after=pair.after.block_of(row),
    )


def sideways(side: Side, rows: Ints) -> Bools:
    """(k,): moves that go somewhere in XY; straight up or down there is no side."""
    motion = side.motion
    far = np.hypot(*(motion.end - motion.start)[rows, :2].T) > RESOLUTION
    result: Bools = far | (motion.sweep[rows] != 0.0)
    return result


def _clear(pair: Pair, meeting: Meeting, rows: Ints) -> Bools:
    """(k,): moves on or above the travel plane, or clear of the stock: they cut nothing."""
    lowest = paths.bounds(sub(pair.after, rows))[0][:, 2]
    result: Bools = lowest >= meeting.planes[pair.after.setup[rows]] - RESOLUTION
    return result | clear_of_stock(pair, pair.after, rows)


def _judged(pair: Pair, rows: Ints) -> Bools:
    """(k,): moves of which the height field tells how they cut."""
    tools = {*np.unique(pair.before.tool[pair.before.feeding]).tolist()}
    tools |= {*np.unique(pair.after.tool[pair.after.feeding]).tolist()}
    result: Bools = pair.after.spindle_way[rows] != 0
    return result & (not tools - pair.job.tools.keys())


def _missing(pair: Pair, row: int) -> str:
    number = int(pair.after.tool[row])
    if not pair.after.motion.state_of(row).spindle_way:
        return "which way the spindle turns is not programmed there"
    if number in pair.job.tools:
        return "which side the metal is on is not known until all tools that cut are named"
    return f"which side the metal is on is not known until tool {number} and the stock are named"
