"""Holes in a row that are all alike: they may trade places.

A *station* is one hole with the block that goes over it. Stations are alike where all but their
place is the same: depths, feeds, pecks, the words of the cycle in force.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.levels import slopes
from gpre.editing.cycle_words import RESTATED, CycleWords
from gpre.editing.editable import Editable
from gpre.editing.word_edits import letters_in
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Kind, Motion, Role

LEAST = 3  # holes that can be ordered at all


@dataclass(frozen=True)
class Station:
    """One hole. block: the one whose X and Y lead to it. first, last: its rows, half open.

    place: (2,) mm. level: Z, mm, at which the tool goes on to the next one. lift: mm, up from there
    to where the way is clear for a loop, 0 where it is clear at the level. moves: its block moves X
    or Y. alike: equal for stations that may trade places.
    """

    block: int
    first: int
    last: int
    place: NDArray[np.float64]
    level: float
    lift: float
    moves: bool
    alike: tuple[Any, ...]


@dataclass(frozen=True)
class Row:
    """Stations one behind the other, all alike, nothing between them."""

    stations: tuple[Station, ...]

    @property
    def first(self) -> int:
        """The first row of the first hole."""
        return self.stations[0].first

    @property
    def last(self) -> int:
        """One past the row that goes over the last hole."""
        return self.stations[-1].first + 1


def find_rows(editable: Editable, cycles: Mapping[int, CycleWords]) -> Iterator[Row]:
    """Return all rows of at least three stations, in order."""
    row: list[Station] = []
    for each in _stations(editable, cycles):
        if row and not _follows(editable, row[-1], each):
            if len(row) >= LEAST:
                yield Row(tuple(row))
            row = []
        row.append(each)
    if len(row) >= LEAST:
        yield Row(tuple(row))


def _follows(editable: Editable, one: Station, other: Station) -> bool:
    if one.alike != other.alike or one.last != other.first:
        return False
    return not editable.barrier_between(one.first, other.last - 1)


def _stations(editable: Editable, cycles: Mapping[int, CycleWords]) -> Iterator[Station]:
    motion = editable.motion
    found = [*_of_cycles(editable, cycles), *_by_hand(editable)]
    for each in sorted(found, key=lambda one: one.first):
        usable = not editable.why_not_touch(each.block) and not editable.events_in(each.block)
        if usable and np.isfinite(motion.end[each.first : each.last]).all():
            yield each


def _of_cycles(editable: Editable, cycles: Mapping[int, CycleWords]) -> Iterator[Station]:
    motion = editable.motion
    for block, cycle in cycles.items():
        if not cycle.plain or cycle.code not in RESTATED or "L" in letters_in(editable, block):
            continue
        first = int(editable.first_row[block])
        last = first + int(editable.row_count[block])
        role = motion.role[first:last]
        feed = first + np.flatnonzero(role == Role.FEED)
        state = motion.state_of(first)
        if not len(feed) or int(motion.plane[first]) != 17 or (role == Role.NONE).any():
            continue
        depths = np.round(np.column_stack((motion.start[feed, 2], motion.end[feed, 2])), 6)
        level = float(motion.end[last - 1, 2])
        yield Station(
            block,
            first,
            last,
            motion.end[last - 1, :2].copy(),
            level,
            max(cycle.initial - level, 0.0),
            bool((role == Role.POSITION).any()),
            (
                cycle.first,
                cycle.code,
                tuple(sorted(cycle.words.items())),
                tuple(depths.ravel().tolist()),
                round(float(np.nan_to_num(motion.feed[first])), 6),
                int(motion.state[last - 1]),
                state.distance,
                round(level, 6),
            ),
        )


def _by_hand(editable: Editable) -> Iterator[Station]:
    motion = editable.motion
    with np.errstate(invalid="ignore"):
        aside = np.abs(motion.end[:, :2] - motion.start[:, :2]).max(axis=1, initial=0.0)
    rows = np.flatnonzero(~(aside <= RESOLUTION))
    upright = slopes(motion).upright
    for first, last in pairwise([*rows.tolist(), len(motion)]):
        block = motion.block_of(first)
        level = float(motion.end[first, 2])
        own = motion.kind[first] == Kind.RAPID and editable.row_count[block] == 1
        flat = abs(level - float(motion.start[first, 2])) <= RESOLUTION
        if not (own and flat) or (motion.role[first:last] != Role.NONE).any():
            continue
        feed = first + 1 + np.flatnonzero(motion.at_feed[first + 1 : last])
        if not len(feed) or not upright[first + 1 : last].all():
            continue
        done = int(feed[-1]) + 1
        if done >= last or not _rises(motion, done, last, level):
            continue
        steps = tuple(
            (int(kind), round(z, 6), round(fed, 6) if kind != Kind.RAPID else 0.0)
            for kind, z, fed in zip(
                motion.kind[first + 1 : done].tolist(),
                motion.end[first + 1 : done, 2].tolist(),
                np.nan_to_num(motion.feed[first + 1 : done]).tolist(),
                strict=True,
            )
        )
        state = motion.state_of(first)
        alike = (round(level, 6), steps, state, motion.state_of(int(feed[0])))
        yield Station(
            block, first, last, motion.end[first, :2].copy(), level, 0.0, moves=True, alike=alike
        )


def _rises(motion: Motion, first: int, last: int, level: float) -> bool:
    """Return whether the rows only rise, at rapid, to the level or higher."""
    rise = motion.end[first:last, 2] - motion.start[first:last, 2]
    rapid = (motion.kind[first:last] == Kind.RAPID).all()
    return bool(
        rapid and (rise >= -RESOLUTION).all() and motion.end[last - 1, 2] >= level - RESOLUTION
    )
