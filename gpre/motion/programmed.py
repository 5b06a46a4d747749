"""Which moves say where an axis goes to: before the first of them its place is only assumed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Kind, Motion
from gpre.program.program import Program

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def last_said(program: Program, motion: Motion, axes: str = "XYZ") -> tuple[Ints, ...]:
    """Per axis, (n,): the last move up to each whose block names it, -1 where none does.

    Steps of G91 do not count: they are the same from anywhere.
    """
    rows = np.arange(len(motion))
    absolute = np.array([state.distance == 90 for state in motion.states], bool)
    words = program.words

    def said(axis: str) -> Ints:
        named = np.zeros(len(program), bool)
        named[words.block[words.letter == ord(axis)]] = True
        for block, statement in program.statements.items():
            named[block] |= any(word.letter == axis for word in statement.words)
        says = named[motion.block] & absolute[motion.state]
        return np.maximum.accumulate(np.where(says, rows, -1))

    return tuple(said(axis) for axis in axes)


def unsaid(program: Program, motion: Motion) -> Bools:
    """(n, 2): whether X and Y are still where the operator left them as each move starts."""
    said = np.column_stack(last_said(program, motion, "XY"))
    result: Bools = np.concatenate((np.full((1, 2), -1), said))[:-1] < 0
    return result


def arrivals(motion: Motion) -> Ints:
    """Return the rapids, (k,), that come from a place that is not known to one that is."""
    known = [np.isfinite(column).all(axis=1) for column in (motion.start, motion.end)]
    result: Ints = np.flatnonzero(~known[0] & known[1] & (motion.kind == Kind.RAPID))
    return result


def first_in_z(motion: Motion) -> int:
    """Return the first move in Z, or the first to a known Z: before it Z is only assumed.

    The number of moves if there is none.
    """
    rise = np.abs(motion.end[:, 2] - motion.start[:, 2])
    moved = np.flatnonzero((rise > RESOLUTION) | (np.isnan(rise) & np.isfinite(motion.end[:, 2])))
    return int(moved[0]) if len(moved) else len(motion)
