"""Cuts stay in their order, and a place that is cut twice stays cut twice.

The order of cuts decides which parts come loose when, what holds the work while it is cut, and on
which side of the cutter metal is left: of contours in each other, cut from the other end on, those
that were conventional may climb. Holes in a row may trade places. A second pass over the same path
takes off what the tool was bent by in the first one; it must not get lost. (Common practice, no
source.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.repeats import evenly
from gpre.geometry.tolerance import RESOLUTION, ROUNDED
from gpre.proof.changed_moves import Meeting
from gpre.proof.columns import GAP_SHARE, ToolColumns, chains, flat_lengths, visits, within
from gpre.proof.proof import Obligation
from gpre.proof.side import Bools, Ints, Pair, Side, sub

Floats = NDArray[np.float64]

PITCH = 0.5  # mm, between the places of a move at which its passes are counted
FEWEST, MOST = 3, 24  # such places of a move
_EACH_END = 0.1  # of a move: where cuts begin and end
_MOST_IN_ALL = 120_000  # places; with more of them each move has the fewest
UNCHANGED = "every move is the original's, in the same order"


def cut_order(pair: Pair, meeting: Meeting) -> Obligation:
    """Show that cuts come in the original's order, holes in a row taken together."""
    name = "cut order"
    if meeting.nothing:
        return Obligation(name, holds=True, figure=UNCHANGED)
    rank = _ranks(pair.before)
    rows, first, last = _stand_for(pair, meeting, rank)
    reached = np.maximum.accumulate(first) if len(first) else first
    bad = np.flatnonzero(reached > last)
    if not len(bad):
        return Obligation(name, holds=True, figure=f"{len(np.unique(rank))} cuts in their order")
    at = int(bad[0])
    row = int(np.flatnonzero(rank == last[at])[0])
    x, y, z = pair.after.motion.start[rows[at]]
    return Obligation(
        name,
        holds=False,
        figure=f"the cut from X{x:.4f} Y{y:.4f} Z{z:.4f} comes after one that the original made "
        "later",
        before=pair.before.block_of(row),
        after=pair.after.block_of(int(rows[at])),
    )


def _ranks(side: Side) -> Ints:
    """(n,): the place of each move's cut in the order; holes in a row share theirs.

    Of a cut that closes several contours one after the other each has a place of its own.
    """
    chain = chains(side)
    count = int(chain.max(initial=-1)) + 1
    feed = np.zeros(len(chain), bool)
    feed[side.feeding] = True
    aside = np.bincount(chain, np.where(feed, flat_lengths(side), 0.0), count) > RESOLUTION
    cuts = np.bincount(chain, feed, count) > 0
    section = np.zeros(count, np.intp)
    section[chain] = side.section
    # a new place begins with each cut that is no hole, with the hole behind one, and a section
    kind = np.where(aside, 2, 1)[cuts]
    part = section[cuts]
    new = np.ones(len(kind), bool)
    new[1:] = (kind[1:] == 2) | (kind[:-1] == 2) | (part[1:] != part[:-1])
    place = np.full(count, -1, np.intp)
    place[cuts] = np.cumsum(new) - 1
    result: Ints = place[chain]
    return result + np.cumsum(behind_contours(side, chain))


def behind_contours(side: Side, chain: Ints) -> Bools:
    """(n,): the moves that begin what follows a closed contour, where their cut closes another.

    chain: (n,), as `chains` has it. A contour is closed where a cut comes back to a place where it
    was since the contour before. What leads from one to the next goes with the next.
    """
    rows = side.feeding
    result = np.zeros(len(chain), bool)
    if not len(rows):
        return result
    closing = _closing(side, rows, chain[rows])
    again = np.flatnonzero(chain[rows[closing[1:]]] == chain[rows[closing[:-1]]])
    result[rows[closing[again] + 1]] = True
    return result


def _closing(side: Side, rows: Ints, chain: Ints) -> Ints:
    """(k,): those of some moves at feed, in order, that close a contour; chain: (n,), of each."""
    motion = side.motion
    first = np.flatnonzero(np.diff(chain, prepend=-1))
    # the places where the tool was, a cut after the other: its start, then the end of each move
    point = np.insert(motion.end[rows], first, motion.start[rows[first]], axis=0)
    cut = np.insert(chain, first, chain[first])
    number = np.unique(np.rint(point / ROUNDED), axis=0, return_inverse=True)[1].reshape(-1)
    order = np.lexsort((np.arange(len(cut)), number, cut))
    same = (number[order][1:] == number[order][:-1]) & (cut[order][1:] == cut[order][:-1])
    here, before = order[1:][same], order[:-1][same]
    found, last = [], -1
    for at, was in sorted(zip(here.tolist(), before.tolist(), strict=True)):
        if was >= last:
            found.append(at)
            last = at
    places = np.array(found, np.intp)
    inserted = first + np.arange(len(first))
    result: Ints = places - np.searchsorted(inserted, places, side="right")
    return result


def _stand_for(pair: Pair, meeting: Meeting, rank: Ints) -> tuple[Ints, Ints, Ints]:
    """(k,) each: moves of `after` at feed and the first and last places they may stand for."""
    left, right = pair.directed
    count = int(max(left.max(initial=-1), right.max(initial=-1))) + 1
    far = len(rank) + 1
    first, last = np.full(count, far, np.intp), np.full(count, -1, np.intp)
    old = pair.before.feeding
    np.minimum.at(first, left[old], rank[old])
    np.maximum.at(last, left[old], rank[old])
    lows, highs = first[right], last[right]
    met = meeting.encounters
    known = (met.was_last >= 0) & (highs[met.row] < 0)
    np.minimum.at(lows, met.row[known], rank[met.was_first[known]])
    np.maximum.at(highs, met.row[known], rank[met.was_last[known]])
    rows = pair.after.feeding
    rows = rows[highs[rows] >= 0]
    return rows, lows[rows], highs[rows]


def passes_kept(pair: Pair, meeting: Meeting) -> Obligation:
    """Show that no place is passed over less often at feed than in the original."""
    name = "passes"
    rows = meeting.gone[pair.before.motion.at_feed[meeting.gone]]
    rows = np.setdiff1d(rows, meeting.helices.replaced())  # the circle at depth is what counts
    if not len(rows):
        return Obligation(name, holds=True, figure="none missing")
    owner, share = _places(pair.before, rows)
    point = paths.points(paths.take(pair.before.motion, owner), share)
    counts = [
        _counts(pair, which, side, point, owner)
        for which, side in enumerate((pair.before, pair.after))
    ]
    # upright moves go into metal once; that they still do is for the cutting path to show
    motion = pair.before.motion
    delta = motion.end[owner] - motion.start[owner]
    upright = (np.hypot(delta[:, 0], delta[:, 1]) <= RESOLUTION) & (motion.sweep[owner] == 0.0)
    fewer = (counts[1] < counts[0]) & ~upright
    # one place alone may be where others crossed
    bad = np.flatnonzero(fewer[1:] & fewer[:-1] & (owner[1:] == owner[:-1]))
    if not len(bad):
        return Obligation(name, holds=True, figure=f"{len(rows)} moves checked, all still made")
    at = int(bad[0])
    was, now = (int(count[at]) for count in counts)
    x, y, z = point[at]
    return Obligation(
        name,
        holds=False,
        figure=f"X{x:.4f} Y{y:.4f} Z{z:.4f}, cut {_times(was)}, is {_now_cut(now)}",
        value=float(now),
        limit=float(was),
        before=pair.before.block_of(int(owner[at])),
    )


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _now_cut(count: int) -> str:
    return f"now cut {_times(count)}" if count else "no longer cut"


def _places(side: Side, rows: Ints) -> tuple[Ints, Floats]:
    """(k,) each: rows of moves, and fractions of them away from their ends, evenly."""
    length = paths.lengths(sub(side, rows))
    most = int(np.clip(_MOST_IN_ALL / len(rows), FEWEST, MOST))
    count = np.clip(np.ceil(length / PITCH), FEWEST, most).astype(np.intp)
    own, along = evenly(count - 1)
    return rows[own], _EACH_END + (1.0 - 2.0 * _EACH_END) * along


def _counts(pair: Pair, which: int, side: Side, point: Floats, owner: Ints) -> Ints:
    """(k,): how often a program passes through points at feed, in the group of `owner`."""
    columns = ToolColumns(side, side.feeding, pair.tolerance)
    result = []
    step = 4000
    for first in range(0, len(point), step):
        mine = slice(first, first + step)
        passes = columns.passes(point[mine, :2])
        same = pair.groups[which][passes.row] == pair.groups[0][owner[mine]][passes.place]
        passes = within(passes, np.flatnonzero(same))
        every = np.arange(len(passes.row))
        passes = within(passes, columns.through(passes, every, point[mine][passes.place]))
        visit = visits(passes, pair.tolerance * GAP_SHARE)
        place = passes.place[np.flatnonzero(np.diff(visit, prepend=-1))]
        result.append(np.bincount(place, minlength=len(point[mine])))
    return np.concatenate(result)
