"""Where a program leaves the travel of the mill's table."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.geometry import path
from gpre.mill.mill import Mill
from gpre.motion.motion import Motion
from gpre.source.text import SourceText

_AT_ONCE = 65_536  # moves; a long program would fill the memory


def overtravel(source: SourceText, motion: Motion, mill: Mill) -> Iterator[Diagnostic]:
    """Name the move that goes farthest out along X, and along Y, if any does.

    Travel is in machine coordinates, so only moves in work systems whose origin is known are
    looked at. Z is left out: what reaches the table's end there depends on the tool's length.
    """
    table = [mill.axes[axis].travel for axis in range(2)]
    over = np.zeros(2)
    worst = np.zeros(2, np.intp)
    for first in range(0, len(motion), _AT_ONCE) if any(table) else ():
        rows = slice(first, first + _AT_ONCE)
        out = _out(path.take(motion, rows), motion.state[rows], motion, mill)
        at = np.argmax(out, axis=0)
        farther = out[at, (0, 1)] > over
        worst = np.where(farther, first + at, worst)
        over = np.where(farther, out[at, (0, 1)], over)
    for axis, name in enumerate("XY"):
        if over[axis] <= mill.axes[axis].resolution:
            continue
        block = int(motion.block[worst[axis]])
        yield Diagnostic(
            "MIL510",
            f"{name} runs {over[axis]:.3f} mm out of the travel of the profile",
            Span(int(source.starts[block]), int(source.ends[block])),
            help="set the part elsewhere, or put travel and origin in the profile right",
        )


def _out(
    moves: path.Moves, state: NDArray[np.int32], motion: Motion, mill: Mill
) -> NDArray[np.float64]:
    """(n, 2) mm: how far moves run out of the travel of X and of Y, 0 where that is not known."""
    least, greatest = (bound + motion.origins[state] for bound in path.bounds(moves))
    result = np.zeros((len(state), 2))
    for axis in range(2):
        travel = mill.axes[axis].travel
        if travel is not None:
            over = np.maximum(travel[0] - least[:, axis], greatest[:, axis] - travel[1])
            result[:, axis] = np.where(motion.placed[state, axis] & (over > 0.0), over, 0.0)
    return result
