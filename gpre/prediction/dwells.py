"""Where the table stands while the path goes on: all moving axes cross their backlash at once.

With `none` and `program` nothing stops the screws at a reversal, but while they cross the backlash
the cutter stands on the part as it does in a dwell. With `controller` the take-ups are marks
already.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.motion.motion import Motion
from gpre.prediction.table_path import TablePath

_SHORTEST = 0.005  # s; a fifth of a turn at 2400 rev/min


@dataclass(frozen=True)
class Standing:
    """k places on moves at feed. row: (k,) where each begins. seconds: (k,). turns: (k,).

    turns: of the spindle meanwhile, 0 where it stands or its speed is not stated.
    """

    row: Ints
    seconds: Floats
    turns: Floats

    def __len__(self) -> int:
        """Return the number of places."""
        return len(self.row)


def standing(motion: Motion, path: TablePath) -> Standing:
    """Find where the table stands while cutting while the program moves on.

    The yaw of the table, which may swing meanwhile, is left out. Where the state of the backlash is
    not known, one of the states that are possible is taken.
    """
    samples = path.samples
    step = np.flatnonzero(samples.inner & motion.at_feed[samples.row[:-1]])
    along = samples.point[step + 1] - samples.point[step]
    table = along + path.lag[step + 1] - path.lag[step]
    length = np.sqrt(np.einsum("ij,ij->i", along, along))
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds = length / motion.feed[samples.row[step]] * 60.0
    stands = (length > DUST) & (np.abs(table) <= DUST).all(axis=1) & np.isfinite(seconds)
    at = np.flatnonzero(stands)
    if not len(at):
        nothing = np.zeros(0)
        return Standing(np.zeros(0, np.intp), nothing, nothing)
    # one number more from step to step: each move has a sample at both of its ends
    number = step[at] - samples.row[step[at]]
    heads = np.flatnonzero(np.append(True, np.diff(number) != 1))
    long = np.add.reduceat(seconds[at], heads)
    row = samples.row[step[at[heads]]]
    turning = np.array([each.spindle * abs(each.spindle_way) for each in motion.states])
    some = long >= _SHORTEST
    row, long = row[some], long[some]
    return Standing(row, long, long * turning[motion.state[row]] / 60.0)
