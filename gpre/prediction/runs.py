"""Runs: moves at feed one after another, between air moves and places that are not known."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry.arc import Ints
from gpre.motion.motion import Motion


class Runs(NamedTuple):
    """head, tail: (r,) rows of Motion, half open. of: (n,) the run of each move, -1 for none."""

    head: Ints
    tail: Ints
    of: Ints


def runs_of(motion: Motion) -> Runs:
    """Find the runs of a motion."""
    known = np.isfinite(motion.start).all(axis=1) & np.isfinite(motion.end).all(axis=1)
    feed = (motion.at_feed & known).astype(np.int8)
    change = np.diff(feed, prepend=0, append=0)
    head, tail = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    number = np.cumsum(change[:-1] == 1) - 1
    return Runs(head, tail, np.where(feed == 1, number, -1))
