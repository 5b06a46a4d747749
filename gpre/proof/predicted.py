"""What the backlash does to the part: the new program may not come out worse on this mill.

Only moves that take metal count, so that it can be told only where the stock is followed. A
difference within what is known of the backlash itself is none.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.prediction.samples import sample
from gpre.prediction.sensitivity import held
from gpre.prediction.table_path import table_path
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side

NAME = "predicted error"


def predicted_error(pair: Pair, taking: tuple[NDArray[np.bool_], NDArray[np.bool_]]) -> Obligation:
    """Hold the greatest deviation of both table paths against one another.

    taking: (n,) and (m,), the moves of both programs that take metal.
    """
    old, _ = _greatest(pair, pair.before, taking[0])
    new, row = _greatest(pair, pair.after, taking[1])
    by = pair.mill.compensation.by
    limit = old + pair.tolerance + max(axis.uncertainty for axis in pair.mill.axes)
    return Obligation(
        NAME,
        holds=new <= limit,
        figure=f"{old:.3f} to {new:.3f} mm where metal is taken, compensation `{by}`",
        value=new,
        limit=limit,
        after=pair.after.block_of(row),
    )


def _greatest(pair: Pair, side: Side, taking: NDArray[np.bool_]) -> tuple[float, int]:
    """Return the greatest deviation at a right angle to the path, mm, and its move or -1."""
    motion, mill = side.motion, pair.mill
    samples = sample(motion, mill)
    found = held(motion, table_path(motion, mill, samples=samples), mill, None)
    here = np.flatnonzero(taking[found.row] & side.ordinary[found.row])
    if not len(here):
        return 0.0, -1
    worst = int(here[np.argmax(found.size[here])])
    return float(found.size[worst]), int(found.row[worst])
