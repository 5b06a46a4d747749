"""The motion of a program in columns; everything downstream reads only this.

Lengths are mm, angles radians, feeds mm/min. Positions are program coordinates: what the program
would write, offsets in force included, in mm; `State.origin` leads to machine coordinates.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.events import Event, EventKind
from gpre.motion.state import State
from gpre.motion.unknown import Unknown


class Kind(IntEnum):
    """What a move is."""

    RAPID = 0
    LINE = 1  # straight, at feed
    ARC = 2  # plane arc or helix, at feed


class Role(IntEnum):
    """What a move is for within a canned cycle."""

    NONE = 0
    POSITION = 1  # rapid over the hole
    DOWN = 2  # rapid to R, or back down after a peck
    FEED = 3  # feed into the hole
    OUT = 4  # out of the hole, rapid or at feed


@dataclass(frozen=True)
class Motion:
    """Moves in the order in which the mill makes them. n moves, one row each.

    kind: (n,) uint8 of Kind. start, end: (n, 3) float64, mm; NaN where not known (after a home
    move, a macro); views of one array where they can be, so not to be written to. rotary: (n, 6)
    float64, degrees, A B C at start and end, or (0, 6) where the program has none. centre: (n, 3)
    float64, mm, NaN for straight moves; along the plane's normal it has the start's coordinate.
    sweep: (n,) float64, radians, counter-clockwise positive seen from the positive end of the
    plane's normal, 0 for straight moves; beyond 2 pi for an arc of several turns. plane: (n,)
    uint8, 17, 18 or 19. feed: (n,) float64, mm/min along the path in force at the move (rapids too;
    NaN where none is set). role: (n,) uint8 of Role. block: (n,) int32. state: (n,) int32, row of
    `states`. called: (n,) bool, in a subprogram. walked: (k, 3) int32, the stretches of blocks in
    the order in which they ran, a new one at each call and return: first block, one past the last,
    and the row of the first move from there on. unknown: why places are NaN, in order of the moves.
    """

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    rotary: NDArray[np.float64]
    centre: NDArray[np.float64]
    sweep: NDArray[np.float64]
    plane: NDArray[np.uint8]
    feed: NDArray[np.float64]
    role: NDArray[np.uint8]
    block: NDArray[np.int32]
    state: NDArray[np.int32]
    called: NDArray[np.bool_]
    states: tuple[State, ...]
    events: tuple[Event, ...] = ()
    findings: tuple[Diagnostic, ...] = ()
    followed_to: int = 0  # blocks from here on are not executed, or cannot be followed
    walked: NDArray[np.int32] = field(default_factory=lambda: np.zeros((0, 3), np.int32))
    unknown: tuple[Unknown, ...] = ()

    def __len__(self) -> int:
        """Return the number of moves."""
        return len(self.kind)

    def state_of(self, move: int) -> State:
        """Return the modal state in which a move is made."""
        return self.states[int(self.state[move])]

    def block_of(self, move: int) -> int:
        """Return the block that makes a move."""
        return int(self.block[move])

    def blocks_of(self, first: int, last: int) -> tuple[int, int]:
        """Return the first and the last block of rows `first` to `last`, half open."""
        return int(self.block[first]), int(self.block[last - 1])

    def line(self, move: int) -> int:
        """Return the line of a move, from 1, for people."""
        return int(self.block[move]) + 1

    def moves_at(self, kinds: Container[EventKind]) -> NDArray[np.intp]:
        """(k,), in order: the moves before which an event of some kinds happens."""
        return np.array([each.move for each in self.events if each.kind in kinds], np.intp)

    @cached_property
    def origins(self) -> NDArray[np.float64]:
        """(s, 3) mm: for each of `states` where its zero stands in machine coordinates.

        With the tool's length, in Z. What is not known of it counts as 0: see `placed`.
        """
        rows = [
            (*state.origin[:2], state.origin[2] + (state.length or 0.0)) for state in self.states
        ]
        return np.array(rows, np.float64).reshape(-1, 3)

    @cached_property
    def placed(self) -> NDArray[np.bool_]:
        """(s, 3) bool: for each of `states` the axes whose machine coordinates are known."""
        rows = [
            (*state.placed[:2], state.placed[2] and state.length is not None)
            for state in self.states
        ]
        return np.array(rows, np.bool_).reshape(-1, 3)

    def zero(self, move: int) -> NDArray[np.float64]:
        """(3,) mm: machine coordinates of the program's zero at a move, without the tool's length.

        What is not known of it counts as 0.
        """
        return np.array(self.state_of(move).origin, np.float64)

    def machine_end(self, move: int) -> NDArray[np.float64]:
        """(3,) mm: where a move ends, machine coordinates; NaN where that is not known."""
        state = int(self.state[move])
        known = np.where(self.placed[state], self.origins[state], np.nan)
        result: NDArray[np.float64] = self.end[move] + known
        return result

    def travel(self, rows: int | slice | NDArray[np.intp]) -> NDArray[np.float64]:
        """(3,) or (k, 3) mm: from the start to the end of a move, or of some."""
        result: NDArray[np.float64] = self.end[rows] - self.start[rows]
        return result

    @cached_property
    def known(self) -> NDArray[np.bool_]:
        """(n,) bool: the moves of which it is known where they start and where they end."""
        start, end = np.isfinite(self.start).all(axis=1), np.isfinite(self.end).all(axis=1)
        return np.asarray(start & end, np.bool_)

    @property
    def at_feed(self) -> NDArray[np.bool_]:
        """(n,) bool: the moves that count as cutting where nothing is known of the stock."""
        result: NDArray[np.bool_] = self.kind != Kind.RAPID
        return result
