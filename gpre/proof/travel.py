"""The mill's travel, and how often its axes turn while cutting."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.tolerance import RESOLUTION
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import AXES

Floats = NDArray[np.float64]

ROUNDING = 0.1  # share of the approach distance: room for round numbers


def travel(pair: Pair) -> Obligation:
    """Show that the mill can reach all: within its travel, or no farther than the original went.

    Travel is in machine coordinates, so it is only known where the origin of the work system is,
    and in Z the length of the tool. Otherwise new moves stay within the box of the original's,
    grown by the approach distance, upwards but not downwards.
    """
    checks = [_outside(pair, axis) for axis in range(3)]
    far = [float(over.max(initial=0.0)) for over, _, _ in checks]
    axis = int(np.argmax(far))
    over, rows, manner = checks[axis]
    ways = sorted({manner for _, _, manner in checks})
    if far[axis] <= RESOLUTION:
        return Obligation("travel", holds=True, figure=f"within {' and '.join(ways)}", value=0.0)
    row = int(rows[np.argmax(over)])
    return Obligation(
        "travel",
        holds=False,
        figure=f"{AXES[axis].upper()} runs {far[axis]:.3f} mm out of {manner}",
        value=far[axis],
        limit=0.0,
        after=int(pair.after.motion.block[row]),
    )


def _outside(pair: Pair, axis: int) -> tuple[Floats, NDArray[np.intp], str]:
    """(k,) mm, (k,) rows of `after`: how far each move leaves its room; and what room that is."""
    before, after = pair.before, pair.after
    rows = np.flatnonzero(after.ordinary & after.moves)
    least, greatest = (bound[:, axis] for bound in paths.bounds(paths.take(after.motion, rows)))
    limits = pair.mill.axes[axis].travel
    placed = bool(after.motion.placed[after.motion.state[rows], axis].all())
    if limits is not None and placed:
        # how far the original overran is the user's own
        own = np.flatnonzero(before.ordinary & before.moves)
        own = own[before.motion.placed[before.motion.state[own], axis]]
        reached = paths.bounds(paths.take(before.motion, own))
        first, last = (
            bound[:, axis] + before.motion.origins[before.motion.state[own], axis]
            for bound in reached
        )
        low, high = first.min(initial=limits[0]), last.max(initial=limits[1])
        origin = after.motion.origins[after.motion.state[rows], axis]
        over = np.maximum(low - (least + origin), (greatest + origin) - high)
        manner = "the travel of the profile"
        if max(limits[0] - low, high - limits[1]) > RESOLUTION:
            manner += f" or where the original leaves it along {AXES[axis].upper()}"
        return np.maximum(over, 0.0), rows, manner
    more = pair.mill.overshoot(axis) * (1.0 + ROUNDING)
    over = np.zeros(len(rows))
    old_rows = np.flatnonzero(before.ordinary)
    old_low, old_high = (
        bound[:, axis] for bound in paths.bounds(paths.take(before.motion, old_rows))
    )
    old_frame, frame = _frames(pair, 0)[old_rows], _frames(pair, 1)[rows]
    for number in np.unique(frame).tolist():
        mine, theirs = frame == number, old_frame == number
        low, high = old_low[theirs].min(initial=np.inf), old_high[theirs].max(initial=-np.inf)
        low -= more if axis < 2 else 0.0
        over[mine] = np.maximum(low - least[mine], greatest[mine] - (high + more))
    return np.maximum(over, 0.0), rows, "the box of the original's moves and an approach"


def _frames(pair: Pair, which: int) -> NDArray[np.int64]:
    """(n,): a number for the origin and the tool length in force at each move."""
    side = (pair.before, pair.after)[which]
    lengths = side.of_state([state.length_offset for state in side.motion.states])
    frames: NDArray[np.int64] = pair.frames[which] * 100_000 + lengths
    return frames


def reversals(pair: Pair) -> Obligation:
    """Show that the axes turn no more often while cutting than they did."""
    resolution = (pair.mill.x.resolution, pair.mill.y.resolution, pair.mill.z.resolution)
    counts = []
    for side in (pair.before, pair.after):
        found = find_reversals(side.motion, resolution)
        counts.append(np.bincount(found.axis[found.in_cut], minlength=3))
    old, new = int(counts[0].sum()), int(counts[1].sum())
    figure = ", ".join(
        f"{axis.upper()} {was} to {now}"
        for axis, was, now in zip(AXES, counts[0].tolist(), counts[1].tolist(), strict=True)
    )
    return Obligation(
        "reversals", holds=new <= old, figure=f"while cutting: {figure}", value=float(new),
        limit=float(old),
    )  # fmt: skip
