"""Where a program itself goes at rapid, and so where another may; shares no code with gpre."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from own_mills import Point
from own_steps import Move, Step

NEAR = 0.003  # mm; as far as paths may lie apart
ROOM = 0.5  # mm; what a rapid keeps from metal (common practice, no source)
ROUND = 10.0  # mm, round what is cut, known to be clear as inside

AIR = "air move within what the original clears"
OVER = "air move over what was cut, as high as the original comes down at rapid"
BESIDE = "rapid beside the stock, where the original goes at feed"

_Key = tuple[float, Point]  # a tool and a zero
_NOTHING = (math.inf, math.inf, -math.inf, -math.inf)  # least X and Y, greatest X and Y


@dataclass(frozen=True)
class Stock:
    """A box in program coordinates, mm; by the numbers of the tools their diameters, mm, and ramps.

    ramps: how steeply a tool may go down on a helix, rad, where that is known.
    """

    least: Point
    greatest: Point
    diameters: Mapping[int, float]
    ramps: Mapping[int, float] = field(default_factory=dict)


class Clear:
    """Where the original itself goes at rapid on this mill.

    For each tool and zero there is a box round what it cuts: inside, all is clear at or above the
    height at which the original goes across there. Outside there may be clamps and other vises:
    only as high as the original comes and goes.
    """

    def __init__(self, steps: list[Step], stock: Stock | None) -> None:
        self._stock = stock
        self._ways = [each for each in steps if isinstance(each, Move)]
        self.rapids = [each for each in self._ways if each.rapid]
        self._boxes: dict[_Key, list[float]] = {}
        for each in self._ways:
            if not each.rapid:
                _widen(
                    self._boxes.setdefault(_key(each), [math.inf, math.inf, *[-math.inf] * 2]), each
                )
        self._planes: dict[tuple[_Key | float, bool], float] = {}
        for each in self.rapids:
            if math.dist(each.path[0][:2], each.path[-1][:2]) > NEAR:
                within, low = self._within(each), min(place[2] for place in each.path)
                for key in (_key(each), within), (each.force.tool, within):
                    self._planes[key] = min(low, self._planes.get(key, math.inf))
        self.highest = max(
            (place[2] for each in self.rapids for place in each.path), default=math.inf
        )

    def _within(self, step: Step) -> bool:
        """Whether a step stays in the box round what is cut."""
        box = self._boxes.get(_key(step))
        path = step.path if isinstance(step, Move) else (step.place,)
        return box is not None and all(
            box[0] - ROUND <= x <= box[2] + ROUND and box[1] - ROUND <= y <= box[3] + ROUND
            for x, y, _ in path
        )

    def plane(self, step: Step) -> float:
        """The height at or above which a step is clear."""
        other_zeros = self._planes.get((step.force.tool, False), self.highest)
        outside = self._planes.get((_key(step), False), other_zeros)
        if not self._within(step):
            return outside
        result = self._planes.get((_key(step), True), outside)
        if self._stock is not None:
            result = min(result, step.zero[2] + self._stock.greatest[2] + ROOM)
        return result

    def above(self, step: Step) -> bool:
        """Whether all of a step lies there."""
        path = step.path if isinstance(step, Move) else (step.place,)
        return min(place[2] for place in path) >= self.plane(step) - NEAR

    def allows(self, move: Move, cut: Sequence[Move]) -> str:
        """Name why a rapid of the other program may be made, or "" where it may not.

        cut: what that program has cut before.
        """
        part = low_part(move, self)
        if part is None or self.run_at_rapid(part):
            return AIR
        same = [each for each in self._ways if each.force.tool == move.force.tool]
        if self._over(part, [each for each in cut if _key(each) == _key(move)]):
            return OVER
        return BESIDE if self._beside(part, ROOM) and covered(part, same) else ""

    def _over(self, move: Move, cut: Sequence[Move]) -> bool:
        """Whether a rapid runs above cuts, no lower than rapids come down under the same zero."""
        downs = [
            each.path[-1][2]
            for each in self.rapids
            if _key(each) == _key(move) and each.path[-1][2] < each.path[0][2]
        ]
        low = min(place[2] for place in move.path)
        if low < min(downs, default=math.inf) - NEAR:
            return False
        return covered(_flat(move), [_flat(each) for each in cut if _highest(each) <= low])

    def may_ramp(self, move: Move) -> bool:
        """Whether the tool may go down as steeply as a move does."""
        ramp = self._stock.ramps.get(int(move.force.tool)) if self._stock else None
        drop = move.path[0][2] - move.path[-1][2]
        length = sum(math.dist(a, b) for a, b in zip(move.path, move.path[1:], strict=False))
        return ramp is not None and drop <= length * math.sin(ramp) + NEAR

    def touches_nothing(self, move: Move) -> bool:
        """Whether a cut is none: beside a stock that is known, where the original goes."""
        same = [each for each in self._ways if each.force.tool == move.force.tool]
        return self._beside(move, 0.0) and covered(move, same)

    def _beside(self, move: Move, room: float) -> bool:
        """Whether the tool keeps off the stock all along."""
        if self._stock is None or move.force.tool not in self._stock.diameters:
            return False
        reach = self._stock.diameters[int(move.force.tool)] / 2.0 + room
        for place in places(move):
            x, y, z = (one - zero for one, zero in zip(place, move.zero, strict=True))
            away = [
                max(low - value, value - high, 0.0)
                for value, low, high in zip(
                    (x, y), self._stock.least, self._stock.greatest, strict=False
                )
            ]
            if z < self._stock.greatest[2] + room and math.hypot(*away) < reach:
                return False
        return True

    def run_at_rapid(self, move: Move) -> bool:
        """Whether the original goes that whole way at rapid, so, with the same tool."""
        same = [
            each
            for each in self.rapids
            if each.force.tool == move.force.tool and _along(each, move) > 0.0
        ]
        return covered(move, same)


def _key(step: Step) -> _Key:
    return step.force.tool, step.zero


def _widen(box: list[float], move: Move) -> None:
    for x, y, _ in move.path:
        box[:] = [min(box[0], x), min(box[1], y), max(box[2], x), max(box[3], y)]


def _highest(move: Move) -> float:
    return max(place[2] for place in move.path)


def _flat(move: Move) -> Move:
    return replace(move, path=tuple((x, y, 0.0) for x, y, _ in move.path))


def low_part(move: Move, clear: Clear) -> Move | None:
    """Return what of a move lies below the plane, None where nothing does; an arc as a whole."""
    if clear.above(move):
        return None
    plane = clear.plane(move)
    start, end = move.path[0], move.path[-1]
    if len(move.path) > 2 or max(start[2], end[2]) <= plane + NEAR:
        return move
    part = (plane - start[2]) / (end[2] - start[2])
    middle = tuple(a + (b - a) * part for a, b in zip(start, end, strict=True))
    path = (middle, end) if start[2] > end[2] else (start, middle)
    return replace(move, path=path)  # type: ignore[arg-type]


def _along(one: Move, other: Move) -> float:
    """Return how far one move goes in the direction of another; more than 0 for the same."""
    return sum(
        (b - a) * (d - c)
        for a, b, c, d in zip(one.path[0], one.path[-1], other.path[0], other.path[-1], strict=True)
    )


def covered(move: Move, by: Sequence[Move]) -> bool:
    """Whether each place of a move lies on one of others; looked at every half millimetre."""
    pieces = [(a, b) for each in by for a, b in zip(each.path, each.path[1:], strict=False)]
    return all(any(_distance(place, *piece) <= NEAR for piece in pieces) for place in places(move))


def places(move: Move) -> list[Point]:
    result = []
    for start, end in zip(move.path, move.path[1:], strict=False):
        count = max(1, math.ceil(math.dist(start, end) / 0.5))
        for number in range(count + 1):
            part = number / count
            place = tuple(a + (b - a) * part for a, b in zip(start, end, strict=True))
            result.append(place)
    return result  # type: ignore[return-value]


def _distance(place: Point, start: Point, end: Point) -> float:
    along = [b - a for a, b in zip(start, end, strict=True)]
    square = sum(value * value for value in along)
    if square < 1e-18:
        return math.dist(place, start)
    part = sum((p - a) * d for p, a, d in zip(place, start, along, strict=True)) / square
    part = min(max(part, 0.0), 1.0)
    return math.dist(place, [a + d * part for a, d in zip(start, along, strict=True)])
