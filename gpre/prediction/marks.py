"""Dwell marks: where the turning cutter stands against the metal, how long, and how many turns.

`controller`: it takes the backlash up at every reversal while the tool stands. Two axes that turn
at one place stand one after the other here, the longer of the two manners in use. `none` and
`program`: the tool does not stop for the backlash, only where the path itself makes it: in exact
stop (G61.1) at the end of every move, in exact path (G61) at corners, and where a path goes
straight back (its speed must pass through 0).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.arc import Floats, Ints
from gpre.mill.backlash import half_backlash
from gpre.mill.mill import Mill
from gpre.motion.motion import Kind, Motion
from gpre.reversals.reversals import Reversals

_TANGENT = np.cos(np.radians(1.0))  # moves within a degree run on into one another
_BACK = -np.cos(np.radians(1.0))


class MarkKind(IntEnum):
    """Why the tool stands."""

    TAKE_UP = 0  # the controller takes the backlash up
    STOP = 1  # the path itself stops there, for a moment


@dataclass(frozen=True)
class Marks:
    """k marks in order of the motion; lost seconds are those of take-ups in the air too.

    reversal: (k,) row of Reversals. row, axis: (k,). kind: (k,) of MarkKind. seconds: (k,) how
    long the tool stands; 0 for a moment. turns: (k,) of the spindle meanwhile.
    lost_seconds, lost_in_cut: s, all take-ups, and those while cutting. take_ups: their number.
    """

    reversal: Ints
    row: Ints
    axis: NDArray[np.uint8]
    kind: NDArray[np.uint8]
    seconds: Floats
    turns: Floats
    lost_seconds: float
    lost_in_cut: float
    take_ups: int

    def __len__(self) -> int:
        """Return the number of marks."""
        return len(self.row)


def marks_of(motion: Motion, reversals: Reversals, mill: Mill) -> Marks:
    """Find the dwell marks that a program leaves on a mill."""
    if mill.compensation.by == "controller":
        seconds = take_up_seconds(motion, reversals, mill)
        marked = reversals.in_cut & (seconds > 0.0)
        kind = MarkKind.TAKE_UP
    else:
        seconds = np.zeros(len(reversals))
        marked = _stops(motion, reversals)
        kind = MarkKind.STOP
    at = np.flatnonzero(marked)
    row = reversals.move[at].astype(np.intp)
    turning = np.array([each.spindle * abs(each.spindle_way) for each in motion.states])
    return Marks(
        reversal=at,
        row=row,
        axis=reversals.axis[at],
        kind=np.full(len(at), kind, np.uint8),
        seconds=seconds[at],
        turns=seconds[at] * turning[motion.state[row]] / 60.0,
        lost_seconds=float(seconds.sum()),
        lost_in_cut=float(seconds[reversals.in_cut].sum()),
        take_ups=int(np.count_nonzero(seconds)),
    )


def take_up_seconds(motion: Motion, reversals: Reversals, mill: Mill) -> Floats:
    """(n,) s: how long the controller's take-up stops the tool at each reversal.

    backlash / take-up feed + pause, with the backlash at the position; 0 without backlash, and for
    a gravity-loaded axis.
    """
    move = reversals.move.astype(np.intp)
    origins = motion.origins
    seconds = np.zeros(len(reversals))
    for axis, each in enumerate(mill.axes):
        some = np.flatnonzero(reversals.axis == axis)
        if not len(some):
            continue
        machine = reversals.position[some, axis] + origins[motion.state[move[some]], axis]
        backlash = 2.0 * half_backlash(each, np.nan_to_num(machine))
        time = backlash / mill.compensation.take_up_feed * 60.0 + mill.compensation.pause
        seconds[some] = np.where(backlash > 0.0, time, 0.0)
    return seconds


def _stops(motion: Motion, reversals: Reversals) -> NDArray[np.bool_]:
    """(n,) bool: the reversals while cutting where the path itself comes to a stop."""
    result = np.zeros(len(reversals), np.bool_)
    at = np.flatnonzero(reversals.in_cut & (reversals.along == 0.0))
    row = reversals.move[at].astype(np.intp)
    before = _moving_before(motion, row)
    cut = (before >= 0) & (motion.kind[before] != Kind.RAPID)
    at, row, before = at[cut], row[cut], before[cut]
    one = paths.tangents(paths.take(motion, before), np.ones(len(at)))
    other = paths.tangents(paths.take(motion, row), np.zeros(len(at)))
    straight_on = np.einsum("ij,ij->i", one, other)
    mode = np.array([each.path for each in motion.states])[motion.state[row]]
    stops = (mode == 611) | ((mode == 610) & (straight_on < _TANGENT)) | (straight_on <= _BACK)
    result[at] = stops
    return result


def _moving_before(motion: Motion, row: Ints) -> Ints:
    """(k,): the last move before each that goes anywhere, -1 for none."""
    moving = (motion.start != motion.end).any(axis=1) | (motion.sweep != 0.0)
    last = np.maximum.accumulate(np.where(moving, np.arange(len(motion)), -1))
    result: Ints = np.where(row > 0, last[row - 1], -1) if len(row) else row
    return result
