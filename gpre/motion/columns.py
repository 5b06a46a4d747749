"""Runs stretches of plain blocks in columns: the fast way to what the scalar interpreter makes.

The blocks are taken a window at a time, so that what is in between stays small. A window stops
before its first block that would need a finding; see `gpre.motion.entry`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.column_arcs import ArcLimits, bend, full_circles
from gpre.motion.controller import Controller
from gpre.motion.entry import Stretch, StretchEntry
from gpre.motion.motion import Kind
from gpre.motion.plain_words import Column, Floats, Ints, PlainWindow, open_window
from gpre.motion.state import State
from gpre.program.program import Program

FIRST_WINDOW = 1024  # blocks; a stretch that stops early has not cost much then
WINDOW = 32_768
ROOM = 4096  # moves

_KIND_OF = np.full(31, Kind.ARC, np.uint8)
_KIND_OF[[0, 10]] = Kind.RAPID, Kind.LINE


def run_plain(
    program: Program, first: int, last: int, entry: StretchEntry, controller: Controller
) -> Stretch | None:
    """Run the plain blocks `first` to `last`; None where not one of them can be run here."""
    if not entry.motion_stated or entry.state.feed_mode != 94:
        return None
    if entry.state.motion not in {0, 10, 20, 30}:
        return None
    moves = _Moves(program, controller, entry, last - first)
    at, size = first, FIRST_WINDOW
    with np.errstate(all="ignore"):  # numbers too large go the same way as in plain floats
        while at < last:
            end = upto = min(at + size, last)
            while (reached := moves.run(at, upto)) < upto:
                upto = reached
            at, size = upto, WINDOW
            if upto < end:
                break
    return moves.stretch(at) if at > first else None


class _Moves:
    """The columns of a stretch while they grow. entry: what is in force behind the last window."""

    def __init__(
        self, program: Program, controller: Controller, entry: StretchEntry, capacity: int
    ) -> None:
        self.program = program
        self.entry = entry
        self.limits = ArcLimits(
            entry.state.scale,
            controller.arc_radius_tolerance,
            entry.state.arc_distance == 901,
        )
        # rows left free at both ends, for what comes before and behind a long stretch
        self.room = ROOM if capacity >= 16 * ROOM else 0
        self.count = self.room
        capacity += 2 * self.room
        self.mode = np.empty(capacity, np.uint8)
        self.distance = np.empty(capacity, np.uint8)
        # each move starts where the one before ended, so that both columns are views of one
        points = np.empty((capacity + 1, 3))
        self.start, self.end = points[:-1], points[1:]
        self.centre: Floats | None = None  # till the first arc comes
        self.sweep = np.zeros(capacity)  # what is not written to takes no memory
        self.plane = np.empty(capacity, np.uint8)
        self.feed = np.empty(capacity)
        self.block = np.empty(capacity, np.int32)
        self.findings: list[Diagnostic] = []

    def run(self, first: int, last: int) -> int:
        """Add the moves of the blocks `first` to `last`, and give `last`.

        Where a block in between is not as plain as it looks, add none and give that block.
        """
        entry = self.entry
        before = entry.state.motion, entry.plane, entry.state.distance
        window = open_window(self.program, first, last, before)
        if window.faulty < window.size:
            return first + window.faulty
        if not window.size:
            return last
        asking, faulty = _asking(window)
        if faulty < window.size:
            return first + faulty
        moving = np.flatnonzero(asking)
        until: Ints = np.cumsum(asking, dtype=np.intp)  # moves up to and with each block
        here = slice(self.count, self.count + len(moving))
        feed = self._fill_feed(window, asking, until, here)
        position = self._fill_position(window, until, here)
        self.mode[here] = window.modes.motion[moving]
        self.plane[here] = window.modes.plane[moving]
        self.distance[here] = window.modes.distance[moving]
        self.block[here] = moving + first
        faulty = min(self._unfed(window, moving, here), self._at_zero(window, moving, here))
        if faulty == window.size:
            faulty = self._bend(window, moving, here)
        if faulty < window.size:
            return first + faulty
        self.count += len(moving)
        state = replace(
            entry.state,
            motion=int(window.modes.motion[-1]),
            distance=int(window.modes.distance[-1]),
        )
        self.entry = replace(
            entry,
            position=position,
            state=state,
            plane=int(window.modes.plane[-1]),
            feed=feed,
            zero_noted=entry.zero_noted and not len(window.letters["F"].block),
        )
        return last

    def _fill_feed(
        self, window: PlainWindow, asking: NDArray[np.bool_], until: Ints, here: slice
    ) -> float:
        """Fill the feeds of a window and give the last one stated."""
        words = window.letters["F"]
        value = words.value * self.limits.scale
        place = until[words.block] - asking[words.block]
        self.feed[here] = _held(place, value, self.entry.feed, here.stop - here.start)
        return float(value[-1]) if len(value) else self.entry.feed

    def _fill_position(
        self, window: PlainWindow, until: Ints, here: slice
    ) -> tuple[float, float, float]:
        """Fill starts and ends of a window and give the last position."""
        size = here.stop - here.start
        start, end = self.start[here], self.end[here]
        last = list(self.entry.position)
        for axis, letter in enumerate("XYZ"):
            words = window.letters[letter]
            value = self._targets(window, words, last[axis])
            if len(value) == size:  # every move has one
                end[:, axis] = value
            else:
                end[:, axis] = _held(until[words.block] - 1, value, last[axis], size)
            if len(value):
                last[axis] = float(value[-1])
        start[:1] = self.entry.position  # as the move before ended, or the first of all
        return last[0], last[1], last[2]

    def _targets(self, window: PlainWindow, words: Column, position: float) -> Floats:
        """(w,) mm: where each axis word leads to; G91 adds to where the axis stands."""
        value = words.value if self.limits.scale == 1.0 else words.value * self.limits.scale
        relative = window.modes.distance[words.block] == 91
        if not relative.any():
            return value
        value = value.copy()
        edges = np.flatnonzero(relative[1:] != relative[:-1]) + 1
        for first, last in zip([0, *edges.tolist()], [*edges.tolist(), len(value)], strict=True):
            if relative[first]:
                # added one by one as the scalar interpreter does, so that the digits agree
                value[first] += position
                np.add.accumulate(value[first:last], out=value[first:last])
            position = float(value[last - 1])
        return value

    def _bend(self, window: PlainWindow, moving: Ints, here: slice) -> int:
        """Fill centres and sweeps; give the first block with an arc that is none."""
        rows = np.flatnonzero(self.mode[here] >= 20)
        if not len(rows):
            if self.centre is not None:
                self.centre[here] = math.nan
            return window.size
        block, place = moving[rows], rows + here.start
        bent = bend(window, block, self.start[place], self.end[place], self.limits)
        if bent.faulty < window.size:
            return bent.faulty
        if self.centre is None:
            self.centre = np.empty((len(self.mode), 3))
            self.centre[self.room : self.count] = math.nan
        self.centre[here] = math.nan
        self.centre[place] = bent.centre
        self.sweep[place] = bent.sweep
        if bent.full.any():
            self.findings += full_circles(window, block[bent.full], self.program.words)
        return window.size

    def _unfed(self, window: PlainWindow, moving: Ints, here: slice) -> int:
        """Return the first block that moves at feed without one, where that was not noted yet."""
        if self.entry.feed_noted or not math.isnan(self.entry.feed):
            return window.size
        unfed = np.isnan(self.feed[here]) & (self.mode[here] != 0)
        return int(moving[unfed][0]) if unfed.any() else window.size

    def _at_zero(self, window: PlainWindow, moving: Ints, here: slice) -> int:
        """Return the first block that moves at feed under an F0 of which nothing was said yet."""
        stated = window.letters["F"].block
        if self.entry.feed and not (window.letters["F"].value == 0.0).any():
            return window.size
        zero = (self.feed[here] == 0.0) & (self.mode[here] != 0)
        if self.entry.zero_noted:  # it holds up to the next F word
            zero &= moving >= (stated[0] if len(stated) else window.size)
        return int(moving[zero][0]) if zero.any() else window.size

    def stretch(self, last: int) -> Stretch:
        """Make the record of all moves so far; `last` is the first block not run."""
        rows = slice(self.room, self.count)
        few = self.count - self.room < len(self.mode) // 2  # do not hold on to room for the others
        columns = {
            name: getattr(self, name)[rows].copy() if few else getattr(self, name)[rows]
            for name in ("sweep", "plane", "feed", "block")
        }
        start, end = self.start[rows], self.end[rows]
        if few:
            points = np.concatenate((start[:1], end))
            start, end = points[:-1], points[1:]
        if self.centre is None:
            centre = np.broadcast_to(math.nan, (len(end), 3))
        else:
            centre = self.centre[rows].copy() if few else self.centre[rows]
        mode = self.mode[rows]
        key = mode // 10 + (self.distance[rows] - 90) * 4
        number = np.zeros(8, np.int32)
        states: list[State] = []
        for value in _in_order(key):
            number[value] = len(states)
            motion, distance = value % 4 * 10, 90 + value // 4
            states.append(replace(self.entry.state, motion=motion, distance=distance))
        return Stretch(
            last=last,
            exit=self.entry,
            kind=_KIND_OF[mode],
            state=number[key],
            states=tuple(states),
            findings=tuple(self.findings),
            room=0 if few else self.room,
            start=start,
            end=end,
            centre=centre,
            **columns,
        )


def _asking(window: PlainWindow) -> tuple[NDArray[np.bool_], int]:
    """(size,) bool: the blocks that ask for a move; and the first with a word that nothing uses."""
    asking = np.zeros(window.size, bool)
    for letter in "XYZ":
        asking[window.letters[letter].block] = True
    faulty = window.size
    for letter in "IJKR":
        block = window.letters[letter].block
        if len(block):
            asking[block] = True
            idle = block[window.modes.motion[block] < 20]
            faulty = min(faulty, int(idle[0]) if len(idle) else faulty)
    return asking, faulty


def _held(place: Ints, value: Floats, start: float, size: int) -> Floats:
    """(size,): each value from its place on until the next; `start` before the first."""
    if not len(place):
        return np.full(size, start)
    counts = np.empty(len(place) + 1, np.intp)
    counts[0] = place[0]
    np.subtract(place[1:], place[:-1], out=counts[1:-1])
    counts[-1] = size - place[-1]
    return np.repeat(np.concatenate(([start], value)), counts)


def _in_order(key: NDArray[np.uint8]) -> list[int]:
    """Return the values of a column in the order in which they first come."""
    counts = np.zeros(8, np.intp)
    for at in range(0, len(key), WINDOW):  # in pieces: they are widened to be counted
        counts += np.bincount(key[at : at + WINDOW], minlength=8)
    present = np.flatnonzero(counts).tolist()
    return sorted(present, key=lambda value: int(np.argmax(key == value)))
