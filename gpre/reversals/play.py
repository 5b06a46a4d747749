"""The play operator: where the table stands when its screw has lost motion.

With a backlash of b the table follows its screw as w[k] = clamp(w[k-1], u[k] - r[k], u[k] + r[k])
with r = b/2: it rests while the screw crosses the backlash, then it is pushed. This is the
symmetric convention: a table that runs in plus stands b/2 behind its screw, in minus b/2 before it;
a zero touched off in the middle of the backlash is meant. (The other convention in use, no lag one
way and b the other, differs by a shift of b/2 that goes into the touch-off.)

A clamp followed by a clamp is a clamp, so the state behind any stretch is one pair (low, high) that
does not depend on what came before. Pairs are combined in doubling steps, never sample by sample.
The update is exact as long as every turning point of the screw is a sample, and every corner of a
backlash table over position. (Hysteresis and Phase Transitions, 1996, 2.3.)

The weight on a gravity-loaded axis keeps its backlash on one side: w = u + constant, and the
constant goes into the touch-off. So it has no lash here, unless the cut lifts it by force, which
nothing here foresees.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import DUST

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Bounds(NamedTuple):
    """(n,) each: the least and the greatest that a quantity can be; equal once it is known."""

    low: Floats
    high: Floats

    @property
    def known(self) -> NDArray[np.bool_]:
        """(n,) bool: the two bounds have met."""
        result: NDArray[np.bool_] = self.high - self.low <= DUST
        return result


class Engaged(NamedTuple):
    """(k,) each: take-ups that end between sample `after` and the next, at that share of the way.

    side: +1 where the screw pushes the table in plus, -1 in minus.
    """

    after: Ints
    share: Floats
    side: NDArray[np.int8]


def play(
    screw: Floats, reach: Floats | float, start: float | tuple[float, float] | Bounds | None = None
) -> Bounds:
    """Return where the table stands at each sample: (n,) mm each.

    screw: (n,) mm, every turning point among them; NaN where the position is not known, and behind
    it the table may stand anywhere within the backlash. reach: (n,) or one number, mm, half the
    backlash. start: where the table stood before the first sample, mm, or the least and the
    greatest place; None: not known. As Bounds, (n,) mm each: between which places it stands at a
    sample that has no known one before it.
    """
    half = np.broadcast_to(np.asarray(reach, np.float64), screw.shape)
    low, high = screw - half, screw + half
    if not len(screw):
        return Bounds(low, high)
    node = _nodes(low, high)
    first = _chain_starts(screw[node])
    least, greatest = _combined(low[node], high[node], first)
    if isinstance(start, Bounds):
        begin = node[first]
        least, greatest = (np.clip(each[begin], least, greatest) for each in start)
    elif start is not None:
        before = start if isinstance(start, tuple) else (start, start)
        known = first == 0
        least[known], greatest[known] = (
            np.clip(each, least[known], greatest[known]) for each in before
        )
    # between two nodes the screw runs one way, so one clamp leads from the node to each sample
    at = np.repeat(np.arange(len(node)), np.diff(node, append=len(screw)))
    return Bounds(np.clip(least[at], low, high), np.clip(greatest[at], low, high))


def engaged(screw: Floats, reach: Floats, table: Floats) -> Engaged:
    """Find where take-ups end between two neighbouring samples.

    screw, reach, table: (n,) mm, `table` one of the bounds that `play` gives. Between samples the
    screw and its backlash run straight. A take-up that ends at a sample is not among them.
    """
    low, high = screw - reach, screw + reach
    found: list[tuple[Ints, Floats, int]] = []
    for side, edge, way in ((1, low, 1.0), (-1, high, -1.0)):
        before, behind = (edge[:-1] - table[:-1]) * way, (edge[1:] - table[:-1]) * way
        after = np.flatnonzero((before < -DUST) & (behind > DUST))
        found.append((after, -before[after] / (behind[after] - before[after]), side))
    after = np.concatenate([each[0] for each in found])
    order = np.argsort(after, kind="stable")
    side_of = np.concatenate([np.full(len(each[0]), each[2], np.int8) for each in found])
    return Engaged(after[order], np.concatenate([each[1] for each in found])[order], side_of[order])


def _nodes(low: Floats, high: Floats) -> Ints:
    """(m,): the samples between which both edges of the backlash run one way; and the first."""
    down_low, down_high = np.diff(low), np.diff(high)
    rises = (down_low >= 0.0) & (down_high >= 0.0)
    falls = (down_low <= 0.0) & (down_high <= 0.0)
    # 1 up, -1 down, 2 anything else: a backlash that changes faster than the screw moves, or NaN
    way = np.where(rises, 1, np.where(falls, -1, 2)).astype(np.int8)
    moving = np.flatnonzero(~(rises & falls))  # a rest belongs to the run before it
    way = way[moving]
    turns = np.append(True, (way[1:] != way[:-1]) | (way[1:] == 2)) if len(way) else way == 0
    node = np.zeros(len(low), np.bool_)
    node[0] = True
    node[moving[turns]] = True  # each run starts at the sample before its first step
    node[moving[way == 2] + 1] = True
    return np.flatnonzero(node)


def _chain_starts(screw: Floats) -> Ints:
    """(m,): for each node the first one of its chain; an unknown position breaks the chain."""
    unknown = np.isnan(screw)
    breaks = unknown.copy()
    breaks[1:] |= unknown[:-1]
    breaks[0] = True
    return np.maximum.accumulate(np.where(breaks, np.arange(len(screw)), 0))


def _combined(low: Floats, high: Floats, first: Ints) -> tuple[Floats, Floats]:
    """(m,) each: the clamp that all samples from the chain's first to each node make together."""
    low, high = low.copy(), high.copy()
    stride = 1
    node = np.arange(len(low))
    active = node[(node - stride >= first) & (low < high)]
    while len(active):
        before = active - stride
        here_low, here_high = low[active], high[active]
        least = np.clip(low[before], here_low, here_high)
        greatest = np.clip(high[before], here_low, here_high)
        low[active], high[active] = least, greatest
        stride *= 2
        active = active[(least < greatest) & (active - stride >= first[active])]
    return low, high
