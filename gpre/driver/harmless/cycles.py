"""A higher R of a canned cycle, where the rapid ends higher; a smaller Q of a peck cycle.

Both only make the holes slower. They must be the same holes: place, bottom, feed, what happens at
the bottom, and the order of the levels. A new R or Q holds for the holes after it, too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gpre.driver.harmless.edits import HarmlessEdit
from gpre.driver.harmless.kinds import OTHER, Group, HarmlessKind, one_by_one, shown
from gpre.driver.harmless.runs import Bools, Floats, Ints, ProgramRun, ProgramRuns
from gpre.geometry.tolerance import DUST, RESOLUTION
from gpre.motion.motion import Role

_CYCLES = frozenset((730, 810, 820, 830, 840, 850, 860, 890))
_PLAIN, _HOLE, _LIFT = range(3)


def _changes(letter: str) -> Callable[[HarmlessEdit], bool]:
    """Return a choice of the edits of one block in which nothing but a word of a letter differs."""

    def fits(edit: HarmlessEdit) -> bool:
        changed = {each for each, _ in (*edit.lost, *edit.added)}
        return changed == {letter} and len(edit.old) == len(edit.new) == 1

    return fits


@dataclass(frozen=True)
class _Parts:
    """A run as parts in order: moves outside cycles, and holes. p parts, h holes.

    A lift to R before a hole that follows another one at a lower R, in G99, is no part.
    """

    run: ProgramRun

    @cached_property
    def _kind(self) -> Ints:
        """(n,): what begins at each move, or -1."""
        motion = self.run.motion
        role = motion.role
        result = np.full(len(role), -1, np.intp)
        result[role == Role.NONE] = _PLAIN
        result[role == Role.POSITION] = _HOLE
        lift = np.flatnonzero((role[:-1] == Role.DOWN) & (role[1:] == Role.POSITION))
        at_r = np.array([state.retract == 99 for state in motion.states], bool)[motion.state[lift]]
        behind_hole = (lift > 0) & (role[lift - 1] != Role.NONE)
        result[lift[~(at_r & behind_hole)]] = _LIFT
        return result

    @cached_property
    def first(self) -> Ints:
        """(p,): the move with which each part begins."""
        return np.flatnonzero(self._kind >= 0)

    @cached_property
    def kind(self) -> Ints:
        """(p,): what each part is."""
        result: Ints = self._kind[self.first]
        return result

    def before(self, moves: list[int]) -> list[int]:
        """Return how many parts begin before some moves."""
        result: list[int] = np.searchsorted(self.first, moves).tolist()
        return result

    @cached_property
    def plain(self) -> Ints:
        """(p - h,): the moves outside cycles, and lifts."""
        result: Ints = self.first[self.kind != _HOLE]
        return result

    @cached_property
    def holes(self) -> Ints:
        """(h,): the first move of each hole."""
        result: Ints = self.first[self.kind == _HOLE]
        return result

    @cached_property
    def _owner(self) -> Ints:
        """(n,): the hole that each move belongs to, -1 for none."""
        rows = np.arange(len(self.run.motion))
        part = np.searchsorted(self.first, rows, side="right") - 1
        hole = np.cumsum(self.kind == _HOLE) - 1
        inside = (part >= 0) & (self.run.motion.role != Role.NONE)
        inside[part >= 0] &= self.kind[part[part >= 0]] == _HOLE
        result: Ints = np.where(inside, hole[np.maximum(part, 0)], -1)
        return result

    def least(self, values: Floats, rows: Bools) -> Floats:
        """(h,): for each hole the least of the values of its moves among `rows`."""
        result = np.full(len(self.holes), np.inf)
        mine = np.flatnonzero(rows & (self._owner >= 0))
        with np.errstate(invalid="ignore"):  # a feed that was never set
            np.minimum.at(result, self._owner[mine], values[mine])
        return result

    @cached_property
    def last(self) -> Ints:
        """(h,): the last move of each hole."""
        mine = np.flatnonzero(self._owner >= 0)
        result = np.zeros(len(self.holes), np.intp)
        np.maximum.at(result, self._owner[mine], mine)
        return result

    @cached_property
    def retract(self) -> Floats:
        """(h,) mm: where the first feed of each hole starts: R."""
        motion = self.run.motion
        return -self.least(-motion.start[:, 2], motion.role == Role.FEED)

    @cached_property
    def step(self) -> Floats:
        """(h,) mm: the deepest peck of each hole, from one depth to the next."""
        motion = self.run.motion
        rows = np.flatnonzero((motion.role == Role.FEED) & (self._owner >= 0))
        depth = motion.end[rows, 2]
        above = np.concatenate(([np.inf], depth[:-1]))
        new = np.concatenate(([True], self._owner[rows][1:] != self._owner[rows][:-1]))
        above[new] = motion.start[rows, 2][new]
        result = np.zeros(len(self.holes))
        np.maximum.at(result, self._owner[rows], above - depth)
        return result


def _higher_r(runs: ProgramRuns) -> str:
    """Return why another R is not harmless, or ""."""
    old, new = _Parts(runs.was), _Parts(runs.now)
    why = _other_holes(runs, old, new)
    alike = why != OTHER and len(old.retract) == len(new.retract)
    if alike and (new.retract < old.retract - RESOLUTION).any():
        return "R is lower: the rapid ends nearer to the metal"
    if why:
        return why
    heights = runs.was.motion.end[:, 2]
    if (new.retract > heights[np.isfinite(heights)].max(initial=-np.inf) + RESOLUTION).any():
        return "R is higher than the program goes without it"
    return ""


def _smaller_q(runs: ProgramRuns) -> str:
    """Return why another Q is not harmless, or ""."""
    old, new = _Parts(runs.was), _Parts(runs.now)
    if why := _other_holes(runs, old, new):
        return why
    if (np.abs(new.retract - old.retract) > RESOLUTION).any():
        return "R is not the same"
    if (new.step > old.step + RESOLUTION).any():
        return "Q is larger: each peck takes more"
    return ""


def _other_holes(runs: ProgramRuns, old: _Parts, new: _Parts) -> str:
    """Return what differs between the holes of both besides R and Q, or ""."""
    was, now = runs.was.motion, runs.now.motion
    if not all(
        _makes_holes(run, place[side])
        for place in runs.places
        for side, run in enumerate((runs.was, runs.now))
    ):
        return OTHER
    if not np.array_equal(old.kind, new.kind):
        return "R is higher than where the tool comes from: the order of the levels changes"
    events = [
        [
            (event.kind, event.value, part)
            for event, part in zip(
                motion.events, parts.before([each.move for each in motion.events]), strict=True
            )
        ]
        for motion, parts in ((was, old), (now, new))
    ]
    if events[0] != events[1]:
        return "more than the holes has changed"
    if why := _outside(runs, old.plain, new.plain):
        return why
    return _in_holes(runs, old, new)


def _in_holes(runs: ProgramRuns, old: _Parts, new: _Parts) -> str:
    """Return what differs within the holes besides R and Q, or ""."""
    both = (runs.was.motion, old), (runs.now.motion, new)
    was, now = runs.was.motion, runs.now.motion
    first, other_first = old.holes, new.holes
    codes = {motion.state_of(row).motion for motion, parts in both for row in parts.holes.tolist()}
    if not codes <= _CYCLES or (was.plane[first] != 17).any():
        return "the cycle is not one in which R and Q only set the pace"
    if runs.pairs_differ(first, other_first):
        return "more than the holes has changed"
    bottoms = [parts.least(motion.end[:, 2], motion.role == Role.FEED) for motion, parts in both]
    if not _same(was.end[first, :2], now.end[other_first, :2]) or not _same(*bottoms):
        return "the holes are not at the same places, or not as deep"
    for sign in (1.0, -1.0):
        if not _same(*(parts.least(sign * motion.feed, motion.at_feed) for motion, parts in both)):
            return "the feed is not the same"
    if not _higher(was.end[old.last, 2], now.end[new.last, 2]):
        return "the tool comes out less far"
    if not _higher(was.end[first, 2], now.end[other_first, 2]):
        return "the tool travels to the hole at a lower level"
    return ""


def _makes_holes(run: ProgramRun, place: tuple[int, int]) -> bool:
    block = run.motion.block
    mine = (block >= place[0]) & (block < place[1])
    return bool((run.motion.role[mine] != Role.NONE).any())


def _outside(runs: ProgramRuns, old: Ints, new: Ints) -> str:
    """Return what differs between the moves outside the cycles, or ""."""
    was, now = runs.was.motion, runs.now.motion
    if runs.pairs_differ(old, new) or (was.kind[old] != now.kind[new]).any():
        return "more than the holes has changed"
    feed = was.at_feed[old]
    for before, after in ((was.start, now.start), (was.end, now.end)):
        one, other = before[old], after[new]
        if not _same(one[:, :2], other[:, :2]) or not _higher(one[:, 2], other[:, 2]):
            return "a move after the cycle is not the same"
        if not _same(one[feed], other[feed]):
            return "a cut after the cycle starts from R"
    columns = ((each.centre, each.sweep, each.plane, each.feed) for each in (was, now))
    for before, after in zip(*columns, strict=True):
        if not _same(before[old][feed], after[new][feed]):
            return "more than the holes has changed"
    if len(was.rotary) or len(now.rotary):
        return "a rotary axis is used"
    return ""


def _same(one: Floats, other: Floats) -> bool:
    return bool(np.allclose(one, other, rtol=0.0, atol=DUST, equal_nan=True))


def _higher(one: Floats, other: Floats) -> bool:
    """Return whether all of `other` are no lower; what is unknown must be so in both."""
    known = ~np.isnan(one)
    return bool((known == ~np.isnan(other)).all() and (other[known] >= one[known] - DUST).all())


def _figure(what: str) -> Callable[[ProgramRuns, Group, int], str]:
    def figure(runs: ProgramRuns, group: Group, at: int) -> str:
        del runs, at
        (edit,) = group
        return f"{shown((edit,))}: {what}"

    return figure


HIGHER_R = HarmlessKind(
    "R level",
    one_by_one(_changes("R")),
    _higher_r,
    _figure("the rapid ends higher above the same hole"),
)
SMALLER_Q = HarmlessKind(
    "peck depth",
    one_by_one(_changes("Q")),
    _smaller_q,
    _figure("the same hole in smaller pecks"),
)
