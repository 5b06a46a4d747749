"""Moves that are the same in two paths, found without measuring; lengths mm."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.path import Path
from gpre.geometry.tolerance import POINT

Ints = NDArray[np.intp]
Keys = NDArray[np.int64]


def whole(numbers: NDArray[np.float64]) -> Keys:
    """Round to whole numbers; what is too great for one keeps its bits, which are greater still."""
    far = np.abs(numbers) >= 2.0**62
    result: Keys = np.rint(np.where(far, 0.0, numbers)).astype(np.int64)
    result[far] = np.sign(numbers[far]).astype(np.int64) * np.abs(numbers[far]).view(np.int64)
    return result


def keys_of(path: Path, *extra: NDArray[np.int64]) -> Keys:
    """(n, 11 + k) int64: one row for each move; equal rows are the same curve run the same way.

    extra: (n,) each, whatever else must agree.
    """
    straight = path.sweep == 0.0
    centre = np.where(straight[:, None], 0.0, path.centre)
    normal = np.array([2, 1, 0])[path.plane.astype(np.intp) - 17]
    centre[np.arange(len(straight)), normal] = 0.0  # has the start's coordinate, says nothing
    numbers = np.column_stack((path.start, path.end, centre, path.sweep))
    rounded = whole(np.nan_to_num(numbers, nan=1e9) / POINT)
    plane = np.where(straight, 0, path.plane).astype(np.int64)
    return np.column_stack((rounded, plane, *extra)).astype(np.int64)


def undirected(keys: Keys) -> Keys:
    """Turn keys so that a move and the same move run backwards have equal rows."""
    start, end = keys[:, 0:3], keys[:, 3:6]
    swap = _later(start, end)
    closed = (start == end).all(axis=1)
    swap |= closed & (keys[:, 9] < 0)
    result = keys.copy()
    result[swap, 0:3], result[swap, 3:6] = end[swap], start[swap]
    result[swap, 9] *= -1
    return result


def numbered(left: Keys, right: Keys) -> tuple[Ints, Ints]:
    """(n,) and (m,): a number for each row; equal rows, within and across, share theirs."""
    both = np.ascontiguousarray(np.concatenate((left, right)))
    if not len(both):
        return np.zeros(0, np.intp), np.zeros(0, np.intp)
    rows = both.view(np.dtype((np.void, both.dtype.itemsize * both.shape[1]))).ravel()
    number = np.unique(rows, return_inverse=True)[1].astype(np.intp)
    return number[: len(left)], number[len(left) :]


def paired(left: Ints, right: Ints) -> Ints:
    """(n,): for each number of `left` its partner's row in `right`, or -1.

    The first of a number goes to the first, the second to the second, and so on.
    """
    partner = np.full(len(left), -1, np.intp)
    by_left, by_right = _ranked(left), _ranked(right)
    order = np.lexsort((by_right, right))
    sorted_right = np.stack((right[order], by_right[order]), axis=1)
    low = np.searchsorted(sorted_right[:, 0], left, side="left")
    high = np.searchsorted(sorted_right[:, 0], left, side="right")
    has = by_left < high - low
    partner[has] = order[low[has] + by_left[has]]
    return partner


def _ranked(numbers: Ints) -> Ints:
    """(n,): how many equal numbers stand before each."""
    order = np.argsort(numbers, kind="stable")
    ordered = numbers[order]
    first = np.searchsorted(ordered, ordered, side="left")
    rank = np.empty(len(numbers), np.intp)
    rank[order] = np.arange(len(numbers)) - first
    return rank


def _later(start: Keys, end: Keys) -> NDArray[np.bool_]:
    """(n,): the start sorts behind the end."""
    x, y, z = (start[:, axis] - end[:, axis] for axis in range(3))
    later: NDArray[np.bool_] = (x > 0) | ((x == 0) & ((y > 0) | ((y == 0) & (z > 0))))
    return later
