"""One program with and without an edit, run through: what moves, what is in force, what is clear.

A place is *clear* at or above the plane in which the original program itself travels at rapid, or
above the stock. A place that is not known is not clear.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.motion.differing import same_values
from gpre.motion.events import Event
from gpre.motion.motion import Kind, Motion
from gpre.motion.programmed import first_in_z
from gpre.motion.state import State
from gpre.proof.blocks import compare_blocks
from gpre.proof.planes import one_zero, travel_planes
from gpre.proof.side import BREAKS, Side

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Place = tuple[int, int]
Others = list[tuple[bytes, int]]  # keys of events, and the moves before which they happen

_COLUMNS = ("kind", "start", "end", "rotary", "centre", "sweep", "plane", "feed", "role")


@dataclass(frozen=True)
class ProgramRun:
    """One of the two programs, with the original that says at what heights it is clear."""

    side: Side
    original: Side
    mill: Mill
    job: Job

    @property
    def motion(self) -> Motion:
        """Its moves."""
        return self.side.motion

    @cached_property
    def _planes(self) -> Floats:
        """(e + 1,) mm: after so many events, the plane of the setup of the original."""
        planes = travel_planes(self.original, self.job)
        keys = [[event.key for event in side.motion.events] for side in (self.original, self.side)]
        breaks = [event.kind in BREAKS for event in self.original.motion.events]
        setup = np.concatenate(([0], np.cumsum(breaks))).astype(np.intp)
        after = np.zeros(len(keys[1]) + 1, np.intp)
        for one, other in compare_blocks(*keys).same:
            after[other + 1] = setup[one + 1]
        result: Floats = planes[np.maximum.accumulate(after)]
        return result

    @cached_property
    def ends_clear(self) -> tuple[Bools, Bools]:
        """(n,) and (n,): whether each move starts and ends clear of all work."""
        motion = self.motion
        rows = np.arange(len(motion))
        plane = self._planes[self.side.section] - RESOLUTION
        stock = self.job.stock if one_zero(self.original) else None
        top = np.inf if stock is None else stock.max[2] + RESOLUTION
        first = first_in_z(motion)  # before it the height is only assumed
        with np.errstate(invalid="ignore"):
            starts, ends = (
                (place[:, 2] >= plane) | (place[:, 2] > top) for place in (motion.start, motion.end)
            )
        return starts & (rows > first), ends & (rows >= first)

    @cached_property
    def clear(self) -> Bools:
        """(n,): the moves that are clear all the way."""
        starts, ends = self.ends_clear
        level = (self.motion.kind != Kind.ARC) | (self.motion.plane == 17)
        result: Bools = starts & ends & level
        return result

    @cached_property
    def cuts(self) -> Bools:
        """(n,): the moves at feed that may touch metal."""
        result: Bools = self.motion.at_feed & ~self.clear
        return result

    def parted(self, chosen: Callable[[Event], bool]) -> tuple[Others, list[tuple[int, Event]]]:
        """Return the other events, and the chosen ones with how many others stand before each."""
        others: Others = []
        found: list[tuple[int, Event]] = []
        for event in self.motion.events:
            if chosen(event):
                found.append((len(others), event))
            else:
                others.append((event.key, event.move))
        return others, found

    def compensated(self, event: Event) -> bool:
        """Return whether the controller looks ahead for cutter compensation at an event."""
        states, rows = (
            self.motion.states,
            self.motion.state[max(event.move - 1, 0) : event.move + 1],
        )
        return any(states[row].compensation != 40 for row in rows.tolist())

    def height(self, event: Event) -> str:
        """Return where the tool stands when something happens, where that is known, for people."""
        return self.shown(event.move - 1, float(self.motion.end[event.move - 1, 2]))

    def shown(self, row: int, z: float) -> str:
        """Return a height in the units in force at a move."""
        return f"Z{round(z / self.motion.state_of(row).scale, 4):g}"


@dataclass(frozen=True)
class ProgramRuns:
    """The second program without an edit (`was`) and with it (`now`); they differ in it alone.

    places: the blocks of the edit in both, half open, for each part of it.
    """

    was: ProgramRun
    now: ProgramRun
    mill: Mill
    places: tuple[tuple[Place, Place], ...]

    @cached_property
    def same_moves(self) -> bool:
        """True where both make the same moves, whatever is in force at them."""
        old, new = self.was.motion, self.now.motion
        return len(old) == len(new) and bool(self.same_rows(np.arange(len(old))).all())

    @cached_property
    def all_the_same(self) -> bool:
        """True where both make the same moves with the same in force at them."""
        return self.same_moves and not self.states_differ(np.arange(len(self.now.motion))).any()

    def same_rows(self, rows: Ints) -> Bools:
        """(k,): whether the moves in some rows of both are the same, whatever is in force."""
        result = np.ones(len(rows), bool)
        for name in _COLUMNS if len(rows) else ():
            one, other = (getattr(run.motion, name) for run in (self.was, self.now))
            if len(one) != len(self.was.motion) or len(other) != len(self.now.motion):
                result &= len(one) == len(other)  # no rotary axis at all
                continue
            result &= same_values(one[rows], other[rows])
        return result

    def states_differ(self, rows: Ints) -> Bools:
        """(k,): whether something else is in force at some rows of both."""
        old, new = self._states
        result: Bools = old[rows] != new[rows]
        return result

    def pairs_differ(self, old: Ints, new: Ints) -> bool:
        """Return whether something else is in force at some moves of `now` than of `was`."""
        one, other = self._states
        return len(old) != len(new) or bool((one[old] != other[new]).any())

    @cached_property
    def _states(self) -> tuple[Ints, Ints]:
        """(n,) and (m,): a number for what is in force at each move, shared by both."""
        numbers: dict[State, int] = {}
        result = []
        for run in (self.was, self.now):
            table = [numbers.setdefault(state, len(numbers)) for state in run.motion.states]
            result.append(np.array([*table, 0], np.intp)[run.motion.state])
        return result[0], result[1]

    def new_events(self) -> list[Event]:
        """Return the events of `now` that `was` has not, before the same move."""
        return _more(self.now.motion.events, self.was.motion.events)

    def lost_events(self) -> list[Event]:
        """Return the events of `was` that `now` has not, before the same move."""
        return _more(self.was.motion.events, self.now.motion.events)


def _more(some: tuple[Event, ...], others: tuple[Event, ...]) -> list[Event]:
    old, new = ([event.key + b"%d" % event.move for event in each] for each in (others, some))
    return [some[at] for hunk in compare_blocks(old, new).hunks for at in range(*hunk[2:])]
