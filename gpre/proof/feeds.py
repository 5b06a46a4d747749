"""No feed above the original's, and none at which the tool stands and rubs.

At a feed of 0 a controller stops, or the cutter stands in the metal; far below the feed that the
original has at that place its teeth rub and do not cut. A hundredth is far from any feed that
somebody would choose instead (common practice, no source).

A tap is the exception: it goes on by its pitch with every turn of the spindle, so G84 keeps its
feed (NISTIR 6556, 3.5.16.4: feed and speed must be in step).
"""

from __future__ import annotations

import numpy as np

from gpre.geometry.tolerance import DUST, SHARE
from gpre.proof.boxed import clear_of_stock
from gpre.proof.changed_moves import Meeting
from gpre.proof.proof import Obligation
from gpre.proof.side import Bools, Floats, Ints, Pair

NAME = "feed"
LEAST_SHARE = 0.01  # of the original's feed at that place
TAPPING = 840  # the motion code G84, in tenths


def feeds(meeting: Meeting) -> Obligation:
    """Show that nothing is cut faster than the original cut it, nor so slowly that it rubs.

    Where tool or stock are not known every move at feed is taken to be in metal.
    """
    return _Feeds(meeting).judge()


class _Feeds:
    """allowed: (m,) mm/min, the feed of `before` where each move of `after` runs.

    -inf where it ran nowhere at feed, inf where it had none set.
    """

    def __init__(self, meeting: Meeting) -> None:
        self.meeting = meeting
        self.pair = meeting.pair
        motion = self.pair.after.motion
        self.rows: Ints = self.pair.after.feeding
        self.feed: Floats = np.nan_to_num(motion.feed, nan=np.inf)
        self.allowed = np.full(len(motion), -np.inf)
        same = _of_same_moves(self.pair)
        self.allowed[self.rows] = same[self.rows]
        if not meeting.nothing:
            self._of_new_moves(same)

    def judge(self) -> Obligation:
        """Look at both bounds; the upper one first."""
        feed, allowed = self.feed[self.rows], self.allowed[self.rows]
        with np.errstate(invalid="ignore"):
            over = feed > allowed * (1.0 + SHARE)
            share = np.where(over, feed / np.maximum(allowed, DUST), 0.0)
        if over.any():
            return self._too_fast(int(self.rows[np.argmax(share)]))
        tapped = self.rows[self._out_of_step(feed, allowed)]
        if len(tapped):
            return self._off_the_pitch(int(tapped[0]))
        slow = self.rows[self._slow(feed, allowed)]
        if len(slow):
            return self._too_slow(int(slow[np.argmin(self.feed[slow] / self.allowed[slow])]))
        return Obligation(NAME, holds=True, figure="nowhere above the original's")

    def _slow(self, feed: Floats, allowed: Floats) -> Bools:
        """(k,): moves that stand, or rub; where the original stood already it is no worse."""
        result = np.isfinite(allowed) & (allowed > 0.0) & (feed < LEAST_SHARE * allowed)
        found = np.flatnonzero(result & (feed > 0.0))
        result[found] &= ~clear_of_stock(self.pair, self.pair.after, self.rows[found])
        return result

    def _out_of_step(self, feed: Floats, allowed: Floats) -> Bools:
        """(k,): moves of taps slower than the original's."""
        states = self.pair.after.motion.states
        tapping = self.pair.after.of_state([state.motion for state in states]) == TAPPING
        known = np.isfinite(allowed) & (allowed > 0.0)
        result: Bools = tapping[self.rows] & known & (feed < allowed * (1.0 - SHARE))
        return result

    def _off_the_pitch(self, row: int) -> Obligation:
        feed, was = float(self.feed[row]), float(self.allowed[row])
        speed = abs(self.pair.after.motion.state_of(row).spindle)
        figure = (
            f"a tap goes on at {self._told(row, feed)} where the original had "
            f"{self._told(row, was)}"
        )
        if speed > 0.0:
            figure += (
                f": at S{speed:g} that is {feed / speed:.4g} mm per turn, not {was / speed:.4g}"
            )
        return self._fault(row, figure, was)

    def _too_fast(self, row: int) -> Obligation:
        feed, limit = float(self.feed[row]), float(self.allowed[row])
        shown = "a feed that is not set" if np.isinf(feed) else self._told(row, feed)
        was = self._told(row, limit) if np.isfinite(limit) else "none"
        return self._fault(row, f"{shown} where the original had {was}", limit)

    def _too_slow(self, row: int) -> Obligation:
        feed, was = float(self.feed[row]), float(self.allowed[row])
        x, y, z = self.pair.after.motion.start[row]
        what = (
            "at a feed of 0 the tool stands, or the controller stops"
            if feed == 0.0
            else f"{self._told(row, feed)} is below a hundredth of that: the tool rubs and "
            "does not cut"
        )
        figure = f"the original had {self._told(row, was)} from X{x:.4f} Y{y:.4f} Z{z:.4f}; {what}"
        return self._fault(row, figure, LEAST_SHARE * was)

    def _told(self, row: int, feed: float) -> str:
        """Return a feed, mm/min, and the F word for it where that is another number."""
        state = self.pair.after.motion.state_of(row)
        one = state.scale
        one *= abs(state.spindle) if state.feed_mode == 95 else 1.0
        text = f"{feed:.4g} mm/min"
        same = one in (0.0, 1.0) or state.feed_mode == 93
        return text if same else f"{text} (F{feed / one:.4g})"

    def _fault(self, row: int, figure: str, limit: float) -> Obligation:
        return Obligation(
            NAME,
            holds=False,
            figure=figure,
            value=float(self.feed[row]),
            limit=limit,
            before=self.pair.before.block_of(int(self.pair.partner[row])),
            after=self.pair.after.block_of(row),
        )

    def _of_new_moves(self, same: Floats) -> None:
        """Set what is allowed on moves that `before` has not: the least of their points."""
        pair, met, allowed = self.pair, self.meeting.encounters, self.allowed
        groups = pair.groups
        rows = pair.before.feeding
        most = np.full(int(max(groups[0].max(initial=-1), groups[1].max(initial=-1))) + 1, -np.inf)
        np.maximum.at(
            most, groups[0][rows], np.nan_to_num(pair.before.motion.feed[rows], nan=np.inf)
        )
        # where the original did not pass, nothing is cut: no faster than it cuts anywhere
        at = np.where(met.feed > -np.inf, met.feed, most[groups[1][met.row]])
        # the ends belong to the neighbours too, where a move has points between them
        motion = pair.after.motion
        ends = np.minimum(
            np.linalg.norm(met.point - motion.start[met.row], axis=1),
            np.linalg.norm(met.point - motion.end[met.row], axis=1),
        )
        inner = ends > pair.tolerance
        has_inner = np.zeros(len(allowed), bool)
        has_inner[met.row[inner]] = True
        counts = inner | ~has_inner[met.row]
        least = np.full(len(allowed), np.inf)
        np.minimum.at(least, met.row[counts], at[counts])
        new = np.zeros(len(allowed), bool)
        new[met.row] = True
        new &= ~(same > -np.inf)
        allowed[new] = least[new]
        helical, slowest = self.meeting.helices.feeds()
        allowed[helical] = slowest


def _of_same_moves(pair: Pair) -> Floats:
    """(m,) mm/min: the feed of the same move in `before`, -inf where it has none.

    Where a move is made several times the first stands for the first, and so on; more of them
    than in `before` may be as fast as the slowest.
    """
    left, right = pair.directed
    count = int(max(left.max(initial=-1), right.max(initial=-1))) + 1
    least = np.full(count, np.inf)
    there = np.zeros(count, bool)
    rows = pair.before.feeding
    feed = np.nan_to_num(pair.before.motion.feed, nan=np.inf)
    np.minimum.at(least, left[rows], feed[rows])
    there[left[rows]] = True
    result = np.where(there[right], least[right], -np.inf)
    has = pair.partner >= 0
    result[has] = feed[pair.partner[has]]
    return result
