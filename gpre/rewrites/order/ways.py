"""Which order of places is the shortest to go about, with the loops that some of them then need.

A place that is reached against its side, on X or on Y, needs a loop: beyond it and back. Lengths
mm. What is found is settled: a second look from there finds nothing better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import NEAR, POINT, RESOLUTION

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_MOST_SWAPPED = 120  # places; beyond that only whole patterns are tried
_BETTER = POINT
CLOSED = 1e6  # mm
_RUN = 3  # places that are moved together
_ROUNDS = 200


@dataclass(frozen=True)
class Ways:
    """cost: (n + 1, n) mm, from each place, in the last row from the start, to each.

    loops: (n + 1, n) bool, the ways that need one. after: (n,) mm, from each place to what follows.
    last: the place that stays the last, or None. Ways that nobody may take cost CLOSED more.
    """

    place: Floats
    cost: Floats
    loops: NDArray[np.bool_]
    after: Floats
    last: int | None

    def total(self, order: Sequence[int]) -> float:
        """Return the length of an order with its loops, mm."""
        ways = self.cost[[len(self.place), *order[:-1]], order].sum()
        return float(ways + self.after[order[-1]])

    def count(self, order: Sequence[int]) -> int:
        """Count the loops of an order."""
        return int(self.loops[[len(self.place), *order[:-1]], order].sum())


def ways_between(
    place: Floats,
    sides: tuple[int, int],
    overshoot: tuple[float, float],
    *,
    lift: float,
    start: tuple[Floats, NDArray[np.bool_]],
    goal: Floats | None,
    last: int | None,
    clear: tuple[Bools, Bools] | None = None,
) -> Ways:
    """Measure all ways. place: (n, 2). sides: +1 or -1 of X and Y.

    start: (2,) where the tool stands, and (n, 2) the axes that need a loop from there. goal: (2,)
    where it goes behind the last place, if that is known. clear: (n + 1, n) and (n,), the ways and
    the ways to the goal that may be taken; None: all.
    """
    froms = np.vstack((place, start[0]))
    travel = place[None, :, :] - froms[:, None, :]
    against = travel * np.array(sides) < -RESOLUTION
    against[-1] = start[1]
    beyond = place[None, :, :] - np.where(against, np.array(sides) * np.array(overshoot), 0.0)
    out = np.linalg.norm(beyond - froms[:, None, :], axis=2)
    back = np.linalg.norm(beyond - place[None, :, :], axis=2)
    loops = against.any(axis=2)
    after = np.zeros(len(place)) if goal is None else np.linalg.norm(place - goal, axis=1)
    cost = out + back + np.where(loops, 2.0 * lift, 0.0)
    if clear is not None:
        cost, after = cost + np.where(clear[0], 0.0, CLOSED), after + np.where(clear[1], 0, CLOSED)
    return Ways(place, cost, loops, after, last)


def best_order(ways: Ways, order: Sequence[int], sides: tuple[int, int]) -> list[int]:
    """Return the shortest order that is found; the given one where none is shorter.

    The places must be numbered by coordinate, not by the order in which they stand.
    """
    found = _improved(ways, list(order))
    for each in _patterns(ways, sides):
        better = _improved(ways, each)
        if ways.total(better) < ways.total(found) - _BETTER:
            found = better
    return found


def _patterns(ways: Ways, sides: tuple[int, int]) -> list[list[int]]:
    """Return rows and columns one way and there and back, and always to the nearest."""
    patterns = [_nearest(ways)]
    for axis in (0, 1):
        lines = _lines(ways.place, axis)
        for way in (sides[1 - axis], -sides[1 - axis]):
            ordered = lines[::way]
            runs = [sorted(line, key=lambda at: ways.place[at, axis]) for line in ordered]
            patterns += [
                [at for run in runs for at in run[:: sides[axis]]],
                [at for number, run in enumerate(runs) for at in run[:: 1 - 2 * (number % 2)]],
                [at for number, run in enumerate(runs) for at in run[:: 2 * (number % 2) - 1]],
            ]
    return [_closed(ways, each) for each in patterns]


def _lines(place: Floats, axis: int) -> list[list[int]]:
    """Return the places by lines along an axis, in order of the other coordinate."""
    across = place[:, 1 - axis]
    lines: list[list[int]] = []
    for at in np.argsort(across, kind="stable").tolist():
        if lines and across[at] - across[lines[-1][-1]] <= NEAR:
            lines[-1].append(at)
        else:
            lines.append([at])
    return lines


def _nearest(ways: Ways) -> list[int]:
    count = len(ways.place)
    here, order = count, []
    free = np.ones(count, bool)
    for _ in range(count):
        cost = np.where(free, ways.cost[here], np.inf)
        here = int(np.argmin(cost))
        free[here] = False
        order.append(here)
    return order


def _closed(ways: Ways, order: list[int]) -> list[int]:
    """Put the place that stays the last there."""
    if ways.last is None:
        return order
    return [at for at in order if at != ways.last] + [ways.last]


def _improved(ways: Ways, order: list[int]) -> list[int]:
    """Move places, up to three together, as long as that makes the order shorter."""
    if len(order) > _MOST_SWAPPED:
        return order
    for _ in range(_ROUNDS):
        better = _one_move(ways, order)
        if better is None:
            break
        order = better
    return order


def _one_move(ways: Ways, order: list[int]) -> list[int] | None:
    """Return the order with the move that gains most, or None where none gains."""
    count = len(order)
    movable = count if ways.last is None else count - 1
    cost = np.hstack((ways.cost, np.append(ways.after, 0.0)[:, None]))
    best, gain = None, _BETTER
    for size in range(1, min(_RUN, movable - 1) + 1):
        for first in range(movable - size + 1):
            run = order[first : first + size]
            rest = np.array(order[:first] + order[first + size :], np.intp)
            before = np.concatenate(([count], rest))
            after = np.concatenate((rest, [count]))
            left = order[first - 1] if first else count
            right = order[first + size] if first + size < count else count
            freed = cost[left, run[0]] + cost[run[-1], right] - cost[left, right]
            if left == count and right == count:
                continue
            added = cost[before, run[0]] + cost[run[-1], after] - cost[before, after]
            if ways.last is not None:
                added[-1] = np.inf
            at = int(np.argmin(added))
            if freed - added[at] > gain:
                gain = float(freed - added[at])
                best = [*rest[:at].tolist(), *run, *rest[at:].tolist()]
    return best
