"""Runs: moves at feed one after another, between air moves and places that are not known."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.geometry.arc import Ints
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.motion import Motion


class FeedRuns(NamedTuple):
    """head, tail: (r,) rows of Motion, half open. of: (n,) the run of each move, -1 for none."""

    head: Ints
    tail: Ints
    of: Ints


def runs_of(motion: Motion) -> FeedRuns:
    """Find the runs of a motion; where coordinates are set anew another one begins."""
    feed = motion.at_feed & np.isfinite(motion.start + motion.end).all(axis=1)
    head, last = feed.copy(), feed.copy()
    if len(motion):
        apart = (np.abs(motion.end[:-1] - motion.start[1:]) > RESOLUTION).any(axis=1)
        head[1:] &= ~feed[:-1] | apart
        last[:-1] &= ~feed[1:] | apart
    number = np.cumsum(head) - 1
    return FeedRuns(np.flatnonzero(head), np.flatnonzero(last) + 1, np.where(feed, number, -1))
