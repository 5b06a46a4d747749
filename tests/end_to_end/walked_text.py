"""Programs walked from their texts by the independent mill, and what can be seen of them then.

It shares no code with gpre: the path in short straight pieces, reversals counted on it, the play
operator w = max(u - r, min(u + r, w)), and the distance of two paths. Machine coordinates, mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from own_machine import run
from own_mills import Point, plain_machine
from own_steps import Move

Floats = NDArray[np.float64]
FINE = math.radians(0.5)  # of an arc in one piece: 4e-4 mm off a radius of 40 mm
STEP = 0.05  # mm, the longest piece that the play is followed over
REACH = 0.1  # mm; farther off is not near
RESOLUTION = 1e-4  # mm; an axis that comes back by less has not turned


@dataclass(frozen=True)
class Walk:
    """n straight pieces in their order. start, end: (n, 3). feed: (n,) mm/min, 0 at rapid."""

    start: Floats
    end: Floats
    feed: Floats
    line: NDArray[np.int64]
    tool: Floats

    @property
    def cuts(self) -> NDArray[np.bool_]:
        return self.feed > 0.0


def walk(
    text: bytes,
    *,
    origins: Mapping[int, Point] | None = None,
    lengths: Mapping[int, float] | None = None,
) -> Walk:
    """Run a program on a mill whose tools are changed by hand; its zeros at machine zero, or told.

    It must run through: a fault of the program is one of the test.
    """
    plain = plain_machine()
    machine = plain_machine(origins={**plain.origins, **(origins or {})}, lengths=lengths or {})
    steps = run(text, machine)
    assert not [each for each in steps if getattr(each, "what", "") in {"fault", "not ended"}]
    moves = [each for each in steps if isinstance(each, Move)]
    places = [np.array(each.arc.chords(FINE) if each.arc else each.path) for each in moves]
    counts = [len(each) - 1 for each in places]
    return Walk(
        np.concatenate([each[:-1] for each in places]),
        np.concatenate([each[1:] for each in places]),
        np.repeat([each.feed for each in moves], counts),
        np.repeat([each.line for each in moves], counts),
        np.repeat([each.force.tool for each in moves], counts),
    )


def reversals(walked: Walk) -> tuple[list[int], list[int]]:
    """How often X, Y and Z turn, in all and at feed: the first piece the new way decides."""
    every, cutting = [], []
    cuts = walked.cuts.tolist()
    for axis in range(3):
        way, extreme, first = 0, float(walked.start[0, axis]), 0
        total = at_feed = 0
        for row, place in enumerate(walked.end[:, axis].tolist()):
            away = place - extreme
            if way == 0:
                if abs(away) > RESOLUTION:
                    way, extreme, first = int(math.copysign(1, away)), place, row + 1
            elif away * way >= 0.0:
                if away:
                    extreme = place
                first = row + 1
            elif abs(away) > RESOLUTION:
                total += 1
                # pieces that rest on the axis are no start of the new way
                while abs(walked.end[first, axis] - walked.start[first, axis]) <= 1e-12:
                    first += 1
                at_feed += cuts[first]
                way, extreme, first = -way, place, row + 1
        every.append(total)
        cutting.append(at_feed)
    return every, cutting


def apart(of: Walk, by: Walk, *, sideways: bool = False) -> float:
    """How far the cuts of one walk leave those of another, mm; infinite beyond `REACH`.

    sideways: straight down and up do not count.
    """
    return _apart(_dense(of, sideways=sideways), by.start[by.cuts], by.end[by.cuts])


def _dense(walked: Walk, *, sideways: bool) -> Floats:
    """(k, 3) places on the pieces at feed, their ends among them, no more than 0.25 mm apart."""
    flat = np.abs(walked.end[:, :2] - walked.start[:, :2]).max(axis=1) > 1e-9
    rows = np.flatnonzero(walked.cuts & (flat | (not sideways)))
    length = np.linalg.norm(walked.end[rows] - walked.start[rows], axis=1)
    count = np.maximum(np.ceil(length / 0.25), 1).astype(int)
    row = np.repeat(rows, count)
    share = np.concatenate([np.arange(1, n + 1) / n for n in count.tolist()])
    inner = walked.start[row] + (walked.end[row] - walked.start[row]) * share[:, None]
    return np.concatenate((walked.start[rows], inner))


def _apart(points: Floats, start: Floats, end: Floats) -> float:
    lines = shapely.linestrings(np.stack((start[:, :2], end[:, :2]), axis=1))
    found = shapely.STRtree(lines).query(
        shapely.points(points[:, :2]), predicate="dwithin", distance=REACH
    )
    point, near = found
    along = end[near] - start[near]
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    share = np.clip(((points[point] - start[near]) * along).sum(axis=1) / square, 0.0, 1.0)
    gap = np.linalg.norm(start[near] + along * share[:, None] - points[point], axis=1)
    least = np.full(len(points), np.inf)
    np.minimum.at(least, point, gap)
    return float(least.max(initial=0.0))


def table(walked: Walk, backlash: tuple[float, float, float], side: float) -> Walk:
    """Where the table goes while the screws make the walk; side: of the play at first, -1 to 1."""
    length = np.linalg.norm(walked.end - walked.start, axis=1)
    count = np.maximum(np.ceil(length / STEP), 1).astype(int)
    row = np.repeat(np.arange(len(length)), count)
    share = np.concatenate([np.arange(1, n + 1) / n for n in count.tolist()])
    screw = walked.start[row] + (walked.end[row] - walked.start[row]) * share[:, None]
    made = np.empty((len(screw) + 1, 3))
    for axis, whole in enumerate(backlash):
        half = whole / 2.0
        at = float(walked.start[0, axis]) + side * half
        column = [at]
        for place in screw[:, axis].tolist():
            at = max(place - half, min(place + half, at))
            column.append(at)
        made[:, axis] = column
    return Walk(made[:-1], made[1:], walked.feed[row], walked.line[row], walked.tool[row])
