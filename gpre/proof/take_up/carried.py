"""Two programs that both carry their take-ups: the table must do the same under both.

What they command is compared as of any two programs. But a loop in the air that takes the backlash
up may be gone without a trace in the cutting path, and then the table stands beside it by the
backlash. The backlash is the profile's where it is taken up by the program, else that of the mark
in the head.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.mill import Axis, Compensation, Mill, Twist
from gpre.prediction.table_path import TablePath, table_path
from gpre.program.take_up_mark import find_mark
from gpre.proof.proof import Obligation
from gpre.proof.side import Floats, Ints, Pair

NAME = "table path"
_BACKLASH = re.compile(r"([XYZ])(?:[\d.]+\.\.)?(\d+(?:\.\d+)?)", re.IGNORECASE)


def both_carry(pair: Pair) -> bool:
    """Return whether both programs say in their head that they carry take-ups."""
    return all(find_mark(side.program) is not None for side in (pair.before, pair.after))


def same_table(pair: Pair) -> Obligation:
    """Show that the table stands where it stood at both ends of each move at feed."""
    mill = _mill(pair)
    paths = [table_path(side.motion, mill) for side in (pair.before, pair.after)]
    rows = pair.after.feeding
    new = rows[pair.partner[rows] < 0]
    if len(new):
        return Obligation(
            NAME,
            holds=False,
            figure="a move at feed is not the original's; both programs carry take-ups, and what "
            "the table does in a new one is not known",
            after=pair.after.block_of(int(new[0])),
        )
    was = pair.partner[rows]
    far = np.zeros(len(rows))
    olds, news = (_ends(path, some) for path, some in zip(paths, (was, rows), strict=True))
    for old, now in zip(olds, news, strict=True):
        far = np.maximum(far, np.abs(now - old).max(axis=1, initial=0.0))
    worst = int(np.argmax(far)) if len(far) else -1
    much = float(far[worst]) if len(far) else 0.0
    if much <= pair.tolerance + RESOLUTION:
        figure = f"the table stands where it stood within {much:.4f} mm"
        return Obligation(NAME, holds=True, figure=figure, value=much, limit=pair.tolerance)
    x, y, z = pair.after.motion.start[rows[worst]]
    return Obligation(
        NAME,
        holds=False,
        figure=f"from X{x:.4f} Y{y:.4f} Z{z:.4f} the table may stand {much:.4f} mm from where it "
        "stood: the backlash is not taken up as it was",
        value=much,
        limit=pair.tolerance,
        before=pair.before.block_of(int(was[worst])),
        after=pair.after.block_of(int(rows[worst])),
    )


def _ends(path: TablePath, rows: Ints) -> tuple[Floats, Floats]:
    """(k, 6) each: the bounds of the table's place at the starts and the ends of moves."""
    first = np.searchsorted(path.samples.row, rows, "left")
    last = np.searchsorted(path.samples.row, rows, "right") - 1
    bounds = np.column_stack((path.low, path.high))
    return bounds[first], bounds[last]


def _mill(pair: Pair) -> Mill:
    """Return the mill whose backlash both programs carry."""
    mark = find_mark(pair.before.program)
    if pair.mill.compensation.by == "program" or mark is None:
        return pair.mill
    backlash = {name.upper(): float(value) for name, value in _BACKLASH.findall(mark.text)}
    x, y, z = (Axis(lost_motion=backlash.get(name, 0.0), uncertainty=0.0) for name in "XYZ")
    return replace(pair.mill, x=x, y=y, z=z, twist=Twist(), compensation=Compensation(by="program"))
