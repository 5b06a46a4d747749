"""Which of the ways to make a loop does for a place: the plainest that the program allows."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from gpre.editing.loops import Loop, Looper, Sides
from gpre.editing.skip import Skip
from gpre.motion.motion import Kind, Role
from gpre.source.decimals import UnwritableError


def loop_to(looper: Looper, first: int, link: int, last: int | None, sides: Sides) -> Loop:
    """Make a loop to where the cut of row `first` starts. Raises Skip where there can be none.

    link: the first row of the air moves before it. last: the last of them that moves X or Y, or
    None. Where no way is open, the reason to tell is the first that the user can do something
    about, else the first.
    """
    refused: Skip | None = None
    for way, row in _ways(looper, first, link, last):
        try:
            return way(row, sides)
        except Skip as why:
            if refused is None or (why.needs and not refused.needs):
                refused = why
        except UnwritableError as fault:
            refused = refused or Skip(str(fault))
    raise refused or Skip("no rapid leads to the place")


def _ways(
    looper: Looper, first: int, link: int, last: int | None
) -> Iterator[tuple[Callable[[int, Sides], Loop], int]]:
    motion = looper.editable.motion
    if last is not None and motion.role[last] != Role.NONE:
        yield looper.before_cycle, first
        return
    if last is not None and motion.kind[last] == Kind.RAPID:
        if motion.state_of(last).distance == 91:
            yield looper.split_increment, last
        else:
            yield looper.before_rapid, last
            yield looper.before_dive, last
    if link == first:
        return
    begin = link if last is None else last + 1
    heights = motion.start[begin : first + 1, 2]
    order = np.argsort(-np.nan_to_num(heights, nan=-np.inf), kind="stable")
    for place in order:
        yield looper.there_and_back, begin + int(place)
