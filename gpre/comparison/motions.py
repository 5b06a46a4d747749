"""Whether two programs make the same motion, move by move."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import ANGLE, SHARE
from gpre.mill.mill import Mill
from gpre.proof.side import Side, force_of

Ints = NDArray[np.intp]


def first_difference(before: Side, after: Side, mill: Mill) -> str:
    """Say in words where two motions first differ, or "" where they do not.

    Moves that go nowhere do not count. Positions may differ by the resolution of their axis.
    """
    events = _events(before), _events(after)
    rows = _rows(before), _rows(after)
    count = min(len(rows[0]), len(rows[1]))
    left, right = rows[0][:count], rows[1][:count]
    faults = _moves_differ(before, after, left, right, mill)
    if faults:
        return faults
    if len(rows[0]) != len(rows[1]):
        which, side, row = (
            ("first", before, rows[0][count])
            if len(rows[0]) > count
            else ("second", after, rows[1][count])
        )
        return f"the {which} program goes on with line {side.motion.block[row] + 1}"
    for one, other in zip(*events, strict=False):
        if one[:2] != other[:2]:
            return f"{one[1]} on line {one[3] + 1} became {other[1]} on line {other[3] + 1}"
        if one[2] != other[2]:
            return f"{one[1]} on line {one[3] + 1} comes at another move, line {other[3] + 1}"
    if len(events[0]) != len(events[1]):
        odd = max(events, key=len)[min(map(len, events))]
        return f"only one of the two has {odd[1]}, line {odd[3] + 1}"
    return ""


def _rows(side: Side) -> Ints:
    return np.flatnonzero(side.moves | ~side.ordinary)


def _events(side: Side) -> list[tuple[str, str, int, int]]:
    """Kind, name, how many moves that go anywhere come before, block."""
    counted = np.concatenate(([0], np.cumsum(side.moves | ~side.ordinary)))
    return [
        (
            event.kind.value,
            f"{event.kind.value} {event.value}".strip(),
            int(counted[event.move]),
            event.block,
        )
        for event in side.motion.events
    ]


def _moves_differ(before: Side, after: Side, left: Ints, right: Ints, mill: Mill) -> str:
    one, other = before.motion, after.motion
    resolution = np.array([axis.resolution for axis in mill.axes])
    forces = [
        np.array([hash(force_of(state)) for state in side.motion.states] or [0], np.int64)
        for side in (before, after)
    ]
    radii = [np.nan_to_num(side.motion.centre[r]) for side, r in ((before, left), (after, right))]
    checks: dict[str, NDArray[np.bool_]] = {
        "is another kind of move": one.kind[left] != other.kind[right],
        "ends at another place": _apart(one.end[left], other.end[right], resolution),
        "starts at another place": _apart(one.start[left], other.start[right], resolution),
        "turns by another angle": np.abs(one.sweep[left] - other.sweep[right]) > ANGLE,
        "turns about another centre": np.logical_or.reduce(
            np.abs(radii[0] - radii[1]) > 10.0 * resolution, axis=1
        ),
        "runs at another feed": _feeds_differ(one.feed[left], other.feed[right])
        & (other.at_feed[right]),
        "has something else in force": forces[0][one.state[left]] != forces[1][other.state[right]],
    }
    if len(one.rotary) or len(other.rotary):
        checks["turns a rotary axis otherwise"] = _rotary_differs(before, after, left, right)
    firsts = {what: int(np.argmax(bad)) for what, bad in checks.items() if bad.any()}
    if not firsts:
        return ""
    what = min(firsts, key=lambda each: firsts[each])
    row = firsts[what]
    lines = one.block[left[row]] + 1, other.block[right[row]] + 1
    return f"the move of line {lines[0]} against that of line {lines[1]}: the second {what}"


def _apart(
    one: NDArray[np.float64], other: NDArray[np.float64], resolution: NDArray[np.float64]
) -> NDArray[np.bool_]:
    unknown = np.isnan(one) != np.isnan(other)
    far = np.abs(np.nan_to_num(one) - np.nan_to_num(other)) > resolution * (1.0 + SHARE)
    result: NDArray[np.bool_] = (unknown | far).any(axis=1)
    return result


def _feeds_differ(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.bool_]:
    result: NDArray[np.bool_] = ~np.isclose(one, other, rtol=SHARE, atol=0.0, equal_nan=True)
    return result


def _rotary_differs(before: Side, after: Side, left: Ints, right: Ints) -> NDArray[np.bool_]:
    tables = [
        side.motion.rotary if len(side.motion.rotary) else np.zeros((len(side.motion), 6))
        for side in (before, after)
    ]
    same = np.isclose(tables[0][left], tables[1][right], atol=SHARE, rtol=0.0, equal_nan=True)
    result: NDArray[np.bool_] = ~np.logical_and.reduce(same, axis=1)
    return result
