"""On which side of a cut's travel the wall stands that its tool must leave, told from the metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.metal_beside import Beside, metal_beside
from gpre.cuts.milling_side import Milled, MillingSide, milling_sides
from gpre.mill.job import Job
from gpre.motion.motion import Motion

_SHAPES = frozenset((Shape.CLOSED, Shape.OPEN, Shape.HELIX))


class Hand(Enum):
    """Where the metal is, seen along the travel."""

    NONE = "none"  # the tool touches nothing
    LEFT = "left"
    RIGHT = "right"
    BOTH = "both sides"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Wall:
    """The wall along the body of a cut. everywhere: metal was found at all places looked at."""

    hand: Hand
    everywhere: bool = False


def walls_of(motion: Motion, cuts: Sequence[Cut], job: Job) -> tuple[Wall, ...]:
    """Tell for each cut where its wall is; only contours and helices are looked at."""
    looked = [cut for cut in cuts if cut.shape in _SHAPES]
    if job.stock is None or not looked:
        return (Wall(Hand.UNKNOWN),) * len(cuts)
    stretches = _stretches(motion, looked, job)
    ends = [ends for mine in stretches.values() for ends in mine]
    beside = metal_beside(motion, job, job.stock, ends)
    result = dict.fromkeys(range(len(cuts)), Wall(Hand.UNKNOWN))
    at = 0
    for number, cut in enumerate(cuts):
        mine = stretches.get(cut.first, [])
        if mine:
            result[number] = _wall([beside.of(at + each) for each in range(len(mine))])
        at += len(mine)
    return tuple(result.values())


def _stretches(motion: Motion, cuts: Sequence[Cut], job: Job) -> dict[int, list[tuple[int, int]]]:
    """Return the stretches of each cut's body, by its first row, where metal can be looked for."""
    sides = milling_sides(motion, cuts, job)
    result: dict[int, list[tuple[int, int]]] = {}
    at = 0
    for cut in cuts:
        mine: list[Milled] = []
        while at < len(sides) and sides[at].first < cut.last:
            if cut.body_first <= sides[at].first < cut.body_last:
                mine.append(sides[at])
            at += 1
        plain = motion.state_of(cut.first).compensation == 40
        known = plain and all(each.side is not MillingSide.UNKNOWN for each in mine)
        result[cut.first] = [(each.first, each.last) for each in mine] if known else []
    return result


def _wall(places: list[Beside]) -> Wall:
    """Judge by the sides on which metal is: what is there all along counts for the wall."""
    left = np.concatenate([each.left > 0.0 for each in places])
    right = np.concatenate([each.right > 0.0 for each in places])
    if not len(left):
        return Wall(Hand.UNKNOWN)
    if left.all() or right.all():
        both = left.all() and right.all()
        hand = Hand.BOTH if both else Hand.LEFT if left.all() else Hand.RIGHT
        return Wall(hand, everywhere=True)
    if left.any() and right.any():
        return Wall(Hand.UNKNOWN)
    if left.any() or right.any():
        return Wall(Hand.LEFT if left.any() else Hand.RIGHT)
    return Wall(Hand.NONE)
