"""Rules for moves that the original does not make, or makes at another time.

Common practice of milling, no source, unless a comment says otherwise. Where a rule cannot be
shown to hold it counts as broken.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.coverage import distances
from gpre.geometry.tolerance import RESOLUTION, SHARE, SLOPE
from gpre.mill.job import Job
from gpre.motion.motion import Kind, Role
from gpre.proof.boxed import boxed, unnamed_tools
from gpre.proof.changed_moves import Meeting
from gpre.proof.material_above import Encounters, backlash
from gpre.proof.new_ways import unseen_ways
from gpre.proof.planes import above_planes, travel_planes
from gpre.proof.plunges import Plunges
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, sub
from gpre.proof.swept import Swept

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

UNCHANGED = "every move is the original's, in the same order"


def _names(unnamed: list[int], job: Job) -> str:
    if not job.tools:
        return "the tool is"
    numbers = ", ".join(str(number) for number in unnamed)
    return f"tool {numbers} is" if len(unnamed) == 1 else f"tools {numbers} are"


class Verdicts:
    """Judges all moves in question once; each obligation then reports its share."""

    def __init__(self, pair: Pair) -> None:
        """Look at what the moves in question meet."""
        self.pair = pair
        self.planes = travel_planes(pair.before, pair.job)
        self.meeting = Meeting(pair, self.planes)
        if self.meeting.nothing:
            return
        self.met: Encounters = self.meeting.encounters
        self.plunges = Plunges(self.meeting)
        self.swept = Swept(pair)
        motion = pair.after.motion
        met = self.met
        z = met.point[:, 2]
        self.at_feed = motion.at_feed[met.row]
        self.above = above_planes(pair.after, pair.before, self.planes, met.row, z)
        self.above |= self._over_the_stock(z)
        self.room = met.cleared <= z + pair.tolerance
        self.known = met.was_top > -np.inf
        taller = met.top > met.was_top + backlash(pair)
        self.outside = self._outside(met)
        self.taller = self.known & taller & ~self.room & ~(met.top <= z + pair.tolerance)
        self.taller &= ~self.outside
        self.helical = self.at_feed & self.meeting.helices.excuses(met.row, met.point, met.top)
        self.taller &= ~self.helical

    @cached_property
    def timely(self) -> Bools:
        """(k,): points that the original passes in the same manner when no more is cut yet.

        What has been cut by then shows in the moves that both programs make in the same order. A
        hole that a cycle drills is none of it: it makes no room for coming down beside it.
        """
        pair, met = self.pair, self.met
        old, new = (
            motion.at_feed & (motion.role == Role.NONE)
            for motion in (pair.before.motion, pair.after.motion)
        )
        cuts = np.where(pair.steady[1] & new, pair.partner, -1)
        done = np.concatenate(([-1], np.maximum.accumulate(cuts)))[met.row]
        rows = np.where(old, np.arange(len(old)), -1)
        needed = np.concatenate(([-1], np.maximum.accumulate(rows)))[np.maximum(met.was_first, 0)]
        result: Bools = self.known & (met.was_first >= 0) & (done >= needed)
        return result

    def _over_the_stock(self, z: Floats) -> Bools:
        """(k,): points above the stock, no farther than an approach from the original's own way.

        No metal is there, and no clamp: the original's tool stood beside it as low or lower. A
        rapid keeps the profile's clearance from the stock.
        """
        pair, met = self.pair, self.met
        result = np.zeros(len(z), bool)
        stock = pair.job.stock
        if stock is None or not boxed(pair):
            return result
        clearance = np.where(
            self.at_feed, RESOLUTION, pair.mill.limits.rapid_clearance - RESOLUTION
        )
        free = np.flatnonzero(~self.above & (z > stock.max[2] + clearance))
        rows = np.flatnonzero(pair.before.ordinary & pair.before.moves)
        near = pair.mill.overshoot(0), pair.mill.overshoot(1)
        far = distances(
            met.point[free],
            sub(pair.before, rows),
            group=pair.after.setup[met.row[free]],
            by_group=pair.before.setup[rows],
            reach=1.1 * float(np.hypot(*near)),
        )
        result[free[np.isfinite(far)]] = True
        return result

    def depth_order(self) -> Obligation:
        """Show that no cut finds more metal above it than the original did at that place."""
        name = "depth order"
        if self.meeting.nothing:
            return Obligation(name, holds=True, figure=UNCHANGED)
        bad = np.flatnonzero(self.taller & self.at_feed)
        if not len(bad):
            checked = len(np.unique(self.met.row[self.at_feed]))
            figure = f"{checked} moves checked, none finds more metal than before"
            return Obligation(name, holds=True, figure=figure)
        met = self.met
        excess = met.top[bad] - met.was_top[bad]
        worst = int(bad[np.argmax(excess)])
        much = f"{excess.max():.3f} mm more metal" if np.isfinite(excess.max()) else "full metal"
        return self._fault(name, worst, f"finds {much} above it where the original had cut first")

    def ways_in(self) -> Obligation:
        """Show that new moves at feed go where room is, or as the original went in."""
        name = "entry moves"
        if self.meeting.nothing:
            return Obligation(name, holds=True, figure=UNCHANGED)
        met = self.met
        slope = self.meeting.slopes[1][met.row]
        free = self.room | self.above | self.outside | self.helical
        ok = free | (self.known & (met.same_slope | self._slope_is_known(slope)))
        bad = np.flatnonzero(self.at_feed & ~ok)
        caught = np.flatnonzero(self.at_feed & self.caught)
        if not len(bad) and len(caught):
            return self._fault(name, int(caught[0]), self._caught_reason)
        moved = 0
        for row in np.unique(met.row[bad]).tolist():
            if self.swept.holds(row):
                continue
            points = bad[met.row[bad] == row]
            reason = self.plunges.refusal(row)
            if reason:
                deepest = int(points[np.argmin(met.point[points, 2])])
                return self._fault(name, deepest, reason)
            moved += 1
        figure = "new moves at feed run where room is"
        if moved:
            figure += f"; {moved} plunges moved along their contours"
        return Obligation(name, holds=True, figure=figure)

    def _slope_is_known(self, slope: Floats) -> Bools:
        """(k,): the original feeds down as steeply with this tool, at no lower feed.

        A pass over a slope may run the other way where the original runs down such slopes too.
        """
        pair, met = self.pair, self.met
        old = pair.before.motion
        rows = pair.before.feeding
        upright = np.hypot(*(old.end - old.start)[rows, :2].T) <= RESOLUTION
        rows = rows[~(upright & (old.kind[rows] == Kind.LINE))]
        result = slope <= SLOPE
        groups = pair.groups
        for group in np.unique(groups[1][met.row[~result]]).tolist():
            steepest = self.meeting.slopes[0][rows[groups[0][rows] == group]].max(initial=0.0)
            mine = groups[1][met.row] == group
            tool = pair.job.tools.get(int(pair.after.tool[met.row[mine][0]]))
            if tool is not None and tool.max_ramp_angle is not None:
                steepest = max(steepest, float(np.sin(tool.max_ramp_angle)))
            result |= mine & (slope <= steepest + SHARE)
        return result

    def air_moves(self) -> Obligation:
        """Show that no rapid runs through metal."""
        name = "air moves"
        if self.meeting.nothing:
            return Obligation(name, holds=True, figure=UNCHANGED)
        unseen = unseen_ways(self.pair, self.planes)
        if len(unseen):
            return self._over_a_clamp(name, int(unseen[0]))
        met = self.met
        rapid = ~self.at_feed & ~self.above
        for test, reason in self._rapid_rules():
            bad = np.flatnonzero(rapid & test())
            if len(bad):
                worst = int(bad[np.argmin(met.point[bad, 2])])
                return self._fault(name, worst, reason)
        checked = len(np.unique(met.row[~self.at_feed]))
        lifts = self.meeting.slopes[1][met.row] < -SLOPE
        z = met.point[~self.at_feed & ~self.known & ~lifts, 2]
        lowest = f", new ones down to Z{z.min():.4f}" if len(z) else ""
        rapids = self.pair.after.rapids
        new = int((self.pair.partner[rapids] < 0).sum())
        figure = f"{new} new rapids; {checked} run below the travel height{lowest}"
        return Obligation(name, holds=True, figure=figure)

    def _over_a_clamp(self, name: str, row: int) -> Obligation:
        x, y, z = self.pair.after.motion.end[row]
        return Obligation(
            name,
            holds=False,
            figure=f"X{x:.4f} Y{y:.4f} Z{z:.4f}: a new way over places where the original goes "
            "only higher; a clamp may stand there",
            after=self.pair.after.block_of(row),
        )

    def _rapid_rules(self) -> tuple[tuple[Callable[[], Bools], str], ...]:
        pair, met = self.pair, self.met
        clearance = pair.mill.limits.rapid_clearance
        motion = pair.after.motion
        delta = np.abs(motion.end - motion.start) > RESOLUTION
        straight = delta.sum(axis=1) <= 1  # many controllers do not keep to the line at rapid
        own = pair.partner >= 0

        def slanted() -> Bools:
            result: Bools = ~straight[met.row] & ~own[met.row]
            return result

        def unless_excused(points: Bools) -> Bools:
            for row in np.unique(met.row[points]).tolist():
                if self.plunges.rapid_before(row) or self.swept.holds(row):
                    points &= met.row != row
            return points

        def into_metal() -> Bools:
            result: Bools = ~self.known & ~self.room & ~self.outside
            return unless_excused(result & ~self.at_feed & ~self.above)

        def too_early() -> Bools:
            return self.taller

        def onto_a_floor() -> Bools:
            ends = np.linalg.norm(met.point - motion.end[met.row], axis=1) <= RESOLUTION
            falls = motion.end[met.row, 2] < motion.start[met.row, 2] - RESOLUTION
            low = met.cleared > met.point[:, 2] - clearance + RESOLUTION
            # the original may have come down there later, when it had cut deeper
            own_floor = self.known & ~(met.top > met.was_top + backlash(pair))
            result: Bools = ends & falls & low & ~own_floor & ~self.outside
            return unless_excused(result & ~self.at_feed & ~self.above)

        # where all tools are named the metal itself is looked at
        unnamed = unnamed_tools(pair)
        steady = pair.steady[1]
        travel = motion.end - motion.start
        near_walls = (np.hypot(*travel[:, :2].T) > RESOLUTION) | (travel[:, 2] < -RESOLUTION)
        beside = f"a new rapid low down, and {_names(unnamed, pair.job)} not named"
        walls = np.inf  # how high they stand only the stock tells
        if (stock := pair.job.stock) is not None and boxed(pair):
            walls = stock.max[2] + clearance

        def beside_walls() -> Bools:
            result: Bools = (near_walls & ~steady)[met.row] & ~self.timely & bool(unnamed)
            result &= met.point[:, 2] < walls - RESOLUTION
            return unless_excused(result & ~self.at_feed & ~self.above)

        return (
            (slanted, "a new rapid below the travel plane moves on more than one axis"),
            (into_metal, "a new rapid below the travel plane, where nothing was cut before"),
            (too_early, "a rapid comes before the cut that made room for it"),
            (onto_a_floor, f"a new rapid down ends less than {clearance:g} mm above metal"),
            (beside_walls, f"{beside}: how near walls are is not known"),
            (lambda: self.caught, self._caught_reason),
        )

    @cached_property
    def caught(self) -> Bools:
        """(k,): new ways up out of a cut, of tools that may be wider below, as for T-slots.

        Of a tool that is not named only a plunge into metal shows that it is not.
        """
        pair, met = self.pair, self.met
        motion = pair.after.motion
        wide = [each for each in unnamed_tools(pair) if not self.plunges.into_metal(each)]
        rows = np.isin(pair.after.tool, wide) & (pair.partner < 0)
        rows &= motion.end[:, 2] > motion.start[:, 2] + RESOLUTION
        result: Bools = rows[met.row] & ~self.known
        if not result.any():
            return result
        stock = pair.job.stock
        if stock is not None and boxed(pair):
            top = np.full(len(met.row), stock.max[2])
        else:
            heights = pair.before.motion.end[:, 2]
            highest = heights[np.isfinite(heights)].max(initial=-np.inf)
            top = np.minimum(self.planes[pair.after.setup[met.row]], highest)
        result &= met.point[:, 2] < top - RESOLUTION
        return result

    @cached_property
    def _caught_reason(self) -> str:
        names = _names(unnamed_tools(self.pair), self.pair.job)
        return f"a new way up out of a cut, and {names} not named: it may be wider below"

    def _outside(self, met: Encounters) -> Bools:
        """(k,): upright moves beside the stock where the original's tool stood as deep."""
        pair = self.pair
        result = np.zeros(len(met.row), bool)
        stock = pair.job.stock
        if stock is None or not boxed(pair):
            return result
        motion = pair.after.motion
        upright = np.hypot(*(motion.end - motion.start)[:, :2].T) <= RESOLUTION
        low, high = np.array(stock.min[:2]), np.array(stock.max[:2])
        xy = met.point[:, :2]
        away = np.linalg.norm(np.maximum(np.maximum(low - xy, xy - high), 0.0), axis=1)
        result |= away > pair.widths(pair.after, unknown=np.inf)[met.row] / 2.0
        stood = met.reached <= met.point[:, 2] + pair.tolerance
        result &= upright[met.row] & stood
        return result

    def _fault(self, name: str, point: int, what: str) -> Obligation:
        met = self.met
        x, y, z = met.point[point]
        return Obligation(
            name,
            holds=False,
            figure=f"X{x:.4f} Y{y:.4f} Z{z:.4f}: {what}",
            before=self.pair.before.block_of(int(met.was_last[point])),
            after=self.pair.after.block_of(int(met.row[point])),
        )
