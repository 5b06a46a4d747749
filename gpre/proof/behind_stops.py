"""What is stated behind a stop before the next cut is still stated there, Z as early as it was.

While the program stands at M0, M1, M60 or in G88 the operator may move the tool by hand: to change
it, to measure, to turn the part over. Where it stands then only the words behind the stop tell.
(Common practice, no source.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.events import Event, EventKind
from gpre.motion.programmed import last_said
from gpre.proof.event_order import named
from gpre.proof.proof import Obligation
from gpre.proof.side import Ints, Pair, Side

_AXES = "XYZ"


def stated_behind_stops(pair: Pair, name: str) -> Obligation | None:
    """Return what is no longer stated behind a stop, as an obligation of a name that fails."""
    stops = [
        [event for event in side.motion.events if event.kind is EventKind.STOP]
        for side in (pair.before, pair.after)
    ]
    if not stops[0] or not stops[1]:
        return None
    was, now = _StatedThere.of(pair.before), _StatedThere.of(pair.after)
    for one, other in zip(*stops, strict=False):
        what = _lost(was.behind(one), now.behind(other))
        if what:
            return Obligation(
                name,
                holds=False,
                figure=f"after {named(one)} {what}: the operator may have moved the tool",
                before=one.block,
                after=other.block,
            )
    return None


def _lost(was: dict[str, int], now: dict[str, int]) -> str:
    """Return what one order of the axes stated has that another has not, or ""."""
    for axis in _AXES:
        if axis in was and axis not in now:
            return f"{axis} is no longer stated before the next cut"
    for axis in "XY":
        if axis in was and "Z" in was and was["Z"] <= was[axis] and now["Z"] > now[axis]:
            return f"Z is no longer stated before {axis}"
    return ""


@dataclass(frozen=True)
class _StatedThere:
    """What a program states of the axes.

    cuts: (k,), the moves at feed. last: per axis (n,), the last move up to each that names it.
    block: (n,), as in Motion.
    """

    cuts: Ints
    last: tuple[Ints, ...]
    block: NDArray[np.int32]

    @classmethod
    def of(cls, side: Side) -> _StatedThere:
        """Look at a program."""
        last = tuple(each.astype(np.intp) for each in last_said(side.program, side.motion))
        return cls(np.flatnonzero(side.motion.at_feed), last, side.motion.block)

    def behind(self, stop: Event) -> dict[str, int]:
        """Return the axes that are named between a stop and the next cut, and how far behind it."""
        move = stop.move
        while move < len(self.block) and self.block[move] == stop.block:
            move += 1  # a cycle that stops in the hole goes on to where it came from
        at = int(np.searchsorted(self.cuts, move))
        end = int(self.cuts[at]) if at < len(self.cuts) else len(self.last[0])
        found: dict[str, int] = {}
        for axis, last in zip(_AXES, self.last, strict=True):
            row = int(np.searchsorted(last, move))  # never falls: the first that is new
            if row < end:
                found[axis] = row - move
        return found
