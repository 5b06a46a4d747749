"""How far two cutting paths lie apart, sampled densely; it shares no part with the proof."""

import numpy as np

from gpre.geometry import path as paths
from gpre.motion.motion import Motion


def farthest(motion: Motion, other: Motion, *, below: bool = False) -> float:
    """How far the feed moves of one motion leave those of another, mm, by dense sampling.

    below: a move straight under a point covers it, since the tool runs on upwards.
    Points every 0.1 mm at the most on one, distance to the chords of the other; no part of it is
    shared with the proof.
    """
    points, chords = dense(motion), dense(other)
    if not len(points):
        return 0.0
    if not len(chords):
        return float("inf")
    middle = (points[:, 0] + points[:, 1]) / 2.0
    probes = np.unique(np.round(np.vstack((points[:, 0], points[:, 1], middle)), 9), axis=0)
    worst = 0.0
    start, along = chords[:, 0], chords[:, 1] - chords[:, 0]
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    for probe in probes:
        share = np.clip(((probe - start) * along).sum(axis=1) / square, 0.0, 1.0)
        between = start + along * share[:, None] - probe
        if below:
            between[:, 2] = np.maximum(between[:, 2], 0.0)
        gap = np.linalg.norm(between, axis=1).min()
        worst = max(worst, float(gap))
    return worst


def dense(motion: Motion) -> np.ndarray:
    """(k, 2, 3) mm: short chords of the moves at feed whose place is known."""
    known = np.isfinite(motion.start).all(axis=1) & np.isfinite(motion.end).all(axis=1)
    rows = np.flatnonzero(motion.at_feed & known)
    moves = paths.take(motion, rows)
    pieces = []
    for count in range(len(rows)):
        one = paths.take(moves, slice(count, count + 1))
        length = float(paths.lengths(one)[0])
        steps = max(
            int(np.ceil(length / (0.1 if one.sweep[0] else 0.5))), 64 if one.sweep[0] else 1
        )
        share = np.linspace(0.0, 1.0, steps + 1)
        many = paths.take(one, np.zeros(steps + 1, np.intp))
        at = paths.points(many, share)
        pieces.append(np.stack((at[:-1], at[1:]), axis=1))
    return np.concatenate(pieces) if pieces else np.zeros((0, 2, 3))
