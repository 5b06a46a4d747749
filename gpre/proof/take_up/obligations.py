"""The proof of a program that carries its own take-up, against one that does not.

What it commands differs from the original on purpose. So it is the path of the table that is
proved, as the profile's backlash makes it: that it is the intended one within the tolerance,
whatever the state of the backlash was at the start, and that it does all else that any rewritten
program must.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import hypot

import numpy as np

from gpre.geometry import path as paths
from gpre.geometry.tolerance import DUST, FEED_SHARE, HALF_DECIMAL, POINT, RESOLUTION
from gpre.motion.events import Effect, Event, EventKind, kinds
from gpre.motion.motion import Role
from gpre.prediction.table_path import TablePath, table_path
from gpre.program.take_up_mark import HEAD, backlash_text, find_mark, mark_text
from gpre.proof.feeds import LEAST_SHARE
from gpre.proof.proof import Obligation
from gpre.proof.side import Floats, Ints, Pair, Side
from gpre.proof.take_up.table import Seen, seen_by_table, steps_of_table
from gpre.proof.travel import reversals
from gpre.reversals import twist

NAMES = ("table path", "command", "take-up feed", "backlash undone", "travel of the screws")


def carries_take_up(pair: Pair) -> bool:
    """Return whether `after` carries take-ups for this mill that `before` does not."""
    if pair.mill.compensation.by != "program" or find_mark(pair.before.program) is not None:
        return False
    return find_mark(pair.after.program) is not None


@dataclass(frozen=True)
class TakeUpProof:
    """Both programs, and what the table makes of the second."""

    pair: Pair

    @cached_property
    def path(self) -> TablePath:
        """The table path of `after`."""
        return table_path(self.pair.after.motion, self.pair.mill)

    @cached_property
    def _seen(self) -> Seen:
        return seen_by_table(self.pair.before, self.pair.after, self.path, self.pair.mill)

    @cached_property
    def seen(self) -> Pair:
        """The same pair, with what the table does in the place of what `after` commands."""
        return Pair(self.pair.before, self._seen.side, self.pair.mill, self.pair.job)

    def obligations(self) -> tuple[Obligation, ...]:
        """Look at what only take-ups owe."""
        return (
            self.table_path(), self.command(), self.take_up_feed(), self.undone(), self.travel(),
        )  # fmt: skip

    def reversals(self) -> Obligation:
        """Show that the table turns round no more often while cutting than the original's moves.

        As the moves that it stands for, or, where those have noise within the tolerance, as it
        goes itself.
        """
        seen = reversals(self.seen)
        if seen.holds:
            return seen
        steps = steps_of_table(self.pair.after, self.path)
        return reversals(Pair(self.pair.before, steps, self.pair.mill, self.pair.job))

    def table_path(self) -> Obligation:
        """Show that the table runs along the intended path, from any state at first.

        Measured is what stands for moves of the original, each of them from its start to its end;
        what a rewrite has added is for the cutting path and the ways in.
        """
        pair, seen = self.pair, self._seen
        off, block = seen.greatest, None
        if seen.worst >= 0:
            block = int(pair.after.motion.block[seen.worst])
        figure = f"the table leaves the intended path by at most {off:.4f} mm"
        if not seen.whole:
            figure += " where it stands for moves of the original; others are new"
        vague, where = self._vague()
        if vague > pair.tolerance:
            figure += f"; the state of the backlash is not known, by {vague:.4f} mm"
            off, block = max(off, vague), where
        holds = off <= pair.tolerance + POINT
        return Obligation(
            "table path",
            holds=holds,
            figure=figure,
            value=off,
            limit=pair.tolerance,
            after=None if holds else block,
        )

    def _vague(self) -> tuple[float, int | None]:
        """Return by how much it is not known where the table stands at feed, mm, and the block."""
        motion, path = self.pair.after.motion, self.path
        rows = path.samples.row
        at = np.flatnonzero((self.pair.after.ordinary & motion.at_feed)[rows])
        spread = (path.high[at] - path.low[at]).max(axis=1, initial=0.0)
        if not len(spread):
            return 0.0, None
        worst = int(np.argmax(spread))
        return float(spread[worst]), int(motion.block[rows[at[worst]]])

    def command(self) -> Obligation:
        """Show that nothing at feed is commanded farther off the table than by its backlash."""
        pair, path = self.pair, self.path
        motion = pair.after.motion
        at = np.flatnonzero((pair.after.ordinary & motion.at_feed)[path.samples.row])
        off = np.linalg.norm(path.samples.point[at] - path.middle[at], axis=1)
        half = [0.0 if a.gravity_loaded else a.greatest_lost_motion / 2.0 for a in pair.mill.axes]
        limit = hypot(*half) + self._twisted() + pair.tolerance
        worst = float(off.max(initial=0.0))
        holds = worst <= limit + POINT
        block = None if holds else int(motion.block[path.samples.row[at[int(np.argmax(off))]]])
        figure = f"the command leads the table by at most {worst:.4f} mm at feed"
        if wrong := self._wrong_mark():
            figure, holds = f"{figure}; {wrong}", False
        return Obligation(
            "command", holds=holds, figure=figure, value=worst, limit=limit, after=block
        )

    def _wrong_mark(self) -> str:
        """Return what the head of `after` says wrongly of the backlash that is carried, or ""."""
        mill = self.pair.mill
        x, y, z = (
            backlash_text(axis.lost_motion)
            if axis.greatest_lost_motion > axis.resolution and not axis.gravity_loaded
            else "0"
            for axis in mill.axes
        )
        right = mark_text((x, y, z), twist=bool(twist.twists(mill.twist)))
        mark = find_mark(self.pair.after.program)
        told = "" if mark is None else f"{HEAD} {mark.text}"
        if told.split() == right.split() or told.lower().split() == right.lower().split():
            return ""
        return f"the head says `{told}`, and not `{right}`"

    def _twisted(self) -> float:
        """Return how far the yaw moves the farthest point, mm."""
        mill, motion = self.pair.mill, self.pair.after.motion
        full = sum(abs(angle) for _, angle in twist.twists(mill.twist))
        if not full or not len(motion):
            return 0.0
        ends = (motion.end + motion.origins[motion.state])[:, :2] - np.array(mill.twist.pivot)
        return float(np.nanmax(np.hypot(ends[:, 0], ends[:, 1]))) * full / 2.0

    def take_up_feed(self) -> Obligation:
        """Show that no screw crosses its backlash while cutting faster than the mill's limit."""
        motion, path = self.pair.after.motion, self.path
        limit = self.pair.mill.limits.max_take_up_feed
        samples = path.samples
        # a canned cycle starts to feed at R, in the air
        cuts = motion.at_feed & (motion.role == Role.NONE)
        step = np.flatnonzero(samples.inner & cuts[samples.row[:-1]])
        along = samples.point[step + 1] - samples.point[step]
        length = np.sqrt(np.einsum("ij,ij->i", along, along))
        with np.errstate(divide="ignore", invalid="ignore"):
            minutes = length / motion.feed[samples.row[step]]
        worst, block = 0.0, None
        for axis in range(3):
            crossed = path.lag[step + 1, axis] - path.lag[step, axis]
            some = _real(crossed, self.pair.tolerance)
            with np.errstate(divide="ignore", invalid="ignore"):
                speed = np.nan_to_num(np.abs(crossed[some]) / minutes[some], nan=np.inf)
            if len(some) and speed.max() > worst:
                worst = float(speed.max())
                block = int(motion.block[samples.row[step[some[int(np.argmax(speed))]]]])
        holds = worst <= limit * (1.0 + FEED_SHARE)
        figure = f"at most {worst:.1f} mm/min across the backlash while cutting"
        slow = self._rubbing()
        if slow is not None:
            row, was = slow
            holds, worst, block = False, float(motion.feed[row]), int(motion.block[row])
            figure = (
                f"{worst:.4g} mm/min is below a hundredth of the original's {was:.4g} mm/min: "
                "it rubs"
            )
        at_rapid = self._at_rapid()
        if len(at_rapid):
            holds, worst, block = False, np.inf, int(motion.block[at_rapid[0]])
            figure = "the backlash is crossed at rapid, while cutting"
        return Obligation(
            "take-up feed", holds=holds, figure=figure, value=worst, limit=limit,
            after=None if holds else block,
        )  # fmt: skip

    def _rubbing(self) -> tuple[int, float] | None:
        """Return a move of the command slower than a hundredth of the original's feed there.

        With that feed, mm/min; of what stands for no move of the original, the slowest of all.
        """
        before, after = self.pair.before, self.pair.after
        feeds = before.motion.feed[before.feeding]
        least = float(feeds[np.isfinite(feeds)].min(initial=np.inf))
        rows = after.feeding
        was = np.array([self._seen.was.get(row, least) for row in rows.tolist()])
        slow = np.flatnonzero(np.isfinite(was) & (after.motion.feed[rows] < LEAST_SHARE * was))
        return (int(rows[slow[0]]), float(was[slow[0]])) if len(slow) else None

    def _at_rapid(self) -> Ints:
        """(k,): rapids along X or Y straight from a cut that stay within the backlash."""
        after, samples, table = self.pair.after, self.path.samples, self.path.middle
        rows, motion = after.rapids, after.motion
        aside = np.hypot(*(motion.end - motion.start)[rows, :2].T) > HALF_DECIMAL
        rows = rows[aside & (rows > 0) & motion.at_feed[rows - 1]]
        first, behind = (np.searchsorted(samples.row, rows, side) for side in ("left", "right"))
        went = table[behind - 1] - table[np.maximum(first - 1, 0)]
        result: Ints = rows[np.hypot(went[:, 0], went[:, 1]) <= HALF_DECIMAL]
        return result

    def undone(self) -> Obligation:
        """Show that the command is back at the intended place wherever something counts from it."""
        pair = self.pair
        lengths = not pair.mill.z.gravity_loaded
        count = 0
        for one, other in zip(_events(pair.before), _events(pair.after), strict=True):
            of_length = one.kind is EventKind.OFFSET and one.value.startswith(("G43", "G49"))
            if one.kind not in kinds(Effect.NEEDS_PLACE) or (of_length and not lengths):
                continue
            count += 1
            far = self._off(one, other)
            if far > 2.0 * RESOLUTION:
                return Obligation(
                    "backlash undone",
                    holds=False,
                    figure=f"at {one.kind.value} {one.value} the command stands {far:.4f} mm off",
                    value=far,
                    limit=RESOLUTION,
                    before=min(one.block, len(pair.before.program) - 1),
                    after=min(other.block, len(pair.after.program) - 1),
                )
        figure = f"the command stands at the intended place at all {count} events that need it"
        return Obligation("backlash undone", holds=True, figure=figure)

    def travel(self) -> Obligation:
        """Show that no screw runs farther out of the mill's travel than the original had it."""
        name, pair = "travel of the screws", self.pair
        for axis, each in enumerate(pair.mill.axes):
            if each.travel is None:
                continue
            (old, _), (new, block) = (
                _overrun(side, axis, each.travel) for side in (pair.before, pair.after)
            )
            if new > max(old, 0.0) + RESOLUTION:
                figure = f"{'XYZ'[axis]} runs {new:.4f} mm out of the mill's travel"
                return Obligation(
                    name, holds=False, figure=figure, value=new, limit=max(old, 0.0), after=block
                )
        return Obligation(name, holds=True, figure="within the travel, as far as it is known")

    def _off(self, one: Event, other: Event) -> float:
        """Return how far the command is off when something happens, mm.

        From where the original stood; or, where another rewrite has brought the tool elsewhere,
        from where the table stands.
        """
        here = _stands(self.pair.after, other)
        gap = np.abs(here - _stands(self.pair.before, one))
        if other.move:
            at = int(np.searchsorted(self.path.samples.row, other.move)) - 1
            low, high = self.path.low[at], self.path.high[at]
            table = np.where(high - low <= RESOLUTION, np.abs(here - low), np.inf)
            gap = np.where(np.isnan(gap), gap, np.minimum(gap, table))
        return float(np.nan_to_num(gap).max())


def _real(crossed: Floats, tolerance: float) -> Ints:
    """(k,): the steps that are part of a take-up: all one way, in all more than the tolerance.

    crossed: (n,) mm, signed, the backlash that each step crosses. Steps of less than
    HALF_DECIMAL are left out, and what an axis goes to and fro within the tolerance is no take-up.
    """
    moving = np.flatnonzero(np.abs(crossed) > DUST)
    if not len(moving):
        return moving
    size = crossed[moving]
    apart = (np.diff(np.sign(size)) != 0.0) | (np.diff(moving) > 1)
    heads = np.concatenate(([0], np.flatnonzero(apart) + 1))
    whole = np.abs(np.add.reduceat(size, heads))
    in_all = np.repeat(whole, np.diff(heads, append=len(size)))
    result: Ints = moving[(in_all > tolerance) & (np.abs(size) > HALF_DECIMAL)]
    return result


def _overrun(side: Side, axis: int, limits: tuple[float, float]) -> tuple[float, int | None]:
    """Return how far an axis leaves the mill's travel, mm (minus: it does not), and the block."""
    motion = side.motion
    if not len(motion):
        return -np.inf, None
    rows = np.flatnonzero(side.ordinary & motion.placed[motion.state, axis])
    if not len(rows):
        return -np.inf, None
    least, greatest = (bound[:, axis] for bound in paths.bounds(paths.take(motion, rows)))
    at = motion.origins[motion.state[rows], axis]
    over = np.maximum(limits[0] - (least + at), (greatest + at) - limits[1])
    worst = int(np.argmax(over))
    return float(over[worst]), int(motion.block[rows[worst]])


def _stands(side: Side, event: Event) -> Floats:
    motion = side.motion
    place: Floats = motion.start[0] if len(motion) else np.zeros(3)
    if event.move:
        place = motion.end[event.move - 1]
    return place


def _events(side: Side) -> tuple[Event, ...]:
    """Return the events, and the end of the program where it does not say so."""
    motion = side.motion
    if any(event.kind is EventKind.END for event in motion.events):
        return motion.events
    return (*motion.events, Event(EventKind.END, len(side.program), len(motion)))
