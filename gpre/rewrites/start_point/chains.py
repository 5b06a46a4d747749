"""Closed contours with all their levels: what must start at the same place."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from gpre.cuts.contours import find_loop
from gpre.cuts.cuts import Cut
from gpre.cuts.levels import levels, slopes_of
from gpre.editing.skip import Skip
from gpre.geometry.tolerance import RESOLUTION, ROUNDED
from gpre.motion.events import EventKind
from gpre.motion.motion import Kind, Motion

_SAME = ROUNDED  # two levels of one contour


class ContourLoop(NamedTuple):
    """One round: rows of Motion, half open. `led`: more than upright moves leads to it or off."""

    first: int
    last: int
    led: bool


@dataclass(frozen=True)
class ContourChain:
    """Cuts of one contour, level for level, with nothing but upright moves between them.

    loops: the rounds in order. lifted: one past the upright moves at rapid behind the last cut.
    """

    cuts: tuple[Cut, ...]
    loops: tuple[ContourLoop, ...]
    lifted: int

    @property
    def first(self) -> int:
        """The first row of the cuts."""
        return self.cuts[0].first

    @property
    def last(self) -> int:
        """One past the last row of the cuts."""
        return self.cuts[-1].last


def chains_of(motion: Motion, cuts: Sequence[Cut]) -> tuple[ContourChain, ...]:
    """Group closed cuts, given in order, into chains."""
    calls = set(motion.moves_at({EventKind.CALL}).tolist())
    groups: list[list[Cut]] = []
    loops: list[list[ContourLoop]] = []
    for cut in cuts:
        own = _loops(motion, cut)
        near = groups and _upright(motion, groups[-1][-1].last, cut.first)
        if near and _same(motion, loops[-1][0], own[0]):
            groups[-1].append(cut)
            loops[-1] += own
        else:
            groups.append([cut])
            loops.append(own)
    return tuple(
        ContourChain(tuple(group), tuple(own), _lifted(motion, group[-1].last, calls))
        for group, own in zip(groups, loops, strict=True)
    )


def need_movable(motion: Motion, chain: ContourChain) -> None:
    """Raise Skip where no other start can be thought of."""
    first = chain.loops[0]
    if any(loop.led for loop in chain.loops):
        raise Skip("its lead-in and lead-out belong to its start")
    gap = np.abs(motion.end[first.last - 1, :2] - motion.start[first.first, :2]).max()
    if gap > RESOLUTION:
        raise Skip("it does not close to the axis resolution")
    if any(not _same(motion, first, loop) for loop in chain.loops[1:]):
        raise Skip("its levels are not one and the same contour")
    lifts = chain.lifted > chain.last
    if not lifts or motion.end[chain.lifted - 1, 2] <= motion.start[chain.last, 2]:
        raise Skip("no rapid lifts the tool straight up behind it")


def _loops(motion: Motion, cut: Cut) -> list[ContourLoop]:
    """Return the rounds of a cut, one for each level."""
    found = levels(motion, cut.first, cut.last)
    if len(found) == 1:
        led = (found[0].body, found[0].last) != (cut.body_first, cut.body_last)
        return [ContourLoop(cut.body_first, cut.body_last, led)]
    loops = []
    for level in found:
        loop = find_loop(motion, level.body, level.last) or (level.body, level.last)
        loops.append(ContourLoop(*loop, led=loop != (level.body, level.last)))
    return loops


def _same(motion: Motion, one: ContourLoop, other: ContourLoop) -> bool:
    """Return whether two rounds are the same contour, whatever their Z."""
    left, right = slice(one.first, one.last), slice(other.first, other.last)
    if one.last - one.first != other.last - other.first:
        return False
    if (motion.kind[left] != motion.kind[right]).any():
        return False
    for column in (motion.start, motion.end, motion.centre):
        apart = np.abs(column[left, :2] - column[right, :2])
        if (apart > _SAME).any():
            return False
    return bool((np.abs(motion.sweep[left] - motion.sweep[right]) <= _SAME).all())


def _upright(motion: Motion, first: int, last: int) -> bool:
    rows = slice(first, last)
    rapid = (motion.kind[rows] == Kind.RAPID).all()
    return bool(rapid and slopes_of(motion, rows).upright.all())


def _lifted(motion: Motion, row: int, calls: Collection[int]) -> int:
    """Return one past the upright rapids from a row on; a call or a return ends them."""
    while row < len(motion) and row not in calls and _upright(motion, row, row + 1):
        row += 1
    return row
