"""Which blocks of two texts are the same bytes, found in near linear time.

BlockPairs that stand once in each text are anchors; the longest run of anchors in the same order is
kept and what lies between two anchors is looked at again. Small stretches without anchors are
compared in full.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import NamedTuple

_SMALL = 60_000  # rows times rows that are compared in full


class Hunk(NamedTuple):
    """A stretch that differs: blocks `before` to `before_end` gave way to `after` to `after_end`.

    Half open, from 0; one of the two may be empty.
    """

    before: int
    before_end: int
    after: int
    after_end: int


@dataclass(frozen=True)
class BlockPairs:
    """How two lists of blocks fit together. same: pairs of equal blocks, in order."""

    same: tuple[tuple[int, int], ...]
    hunks: tuple[Hunk, ...]

    @property
    def changed(self) -> int:
        """How many blocks of the first text gave way to another."""
        return sum(min(b1 - b0, a1 - a0) for b0, b1, a0, a1 in self.hunks)

    @property
    def gone(self) -> int:
        """How many blocks of the first text have nothing in their place."""
        return sum(max((b1 - b0) - (a1 - a0), 0) for b0, b1, a0, a1 in self.hunks)

    @property
    def added(self) -> int:
        """How many blocks of the second text have nothing in their place."""
        return sum(max((a1 - a0) - (b1 - b0), 0) for b0, b1, a0, a1 in self.hunks)


def compare_blocks(before: Sequence[bytes], after: Sequence[bytes]) -> BlockPairs:
    """Find the blocks that are the same bytes in the same order, and the stretches between."""
    return _fitted(_same(*_numbered(before, after)), len(before), len(after))


def compare_by_rank(
    before: Sequence[bytes], after: Sequence[bytes], lesser: Callable[[bytes], bool]
) -> BlockPairs:
    """Compare likewise, but fit the others together first, and then the `lesser` blocks between.

    So that of two that trade places the lesser one is what has moved.
    """
    kept = [[at for at, each in enumerate(some) if not lesser(each)] for some in (before, after)]
    found = compare_blocks([before[at] for at in kept[0]], [after[at] for at in kept[1]])
    anchors = [(kept[0][one], kept[1][other]) for one, other in found.same]
    return _filled(anchors, before, after, compare_blocks)


def fill_between(
    anchors: Sequence[tuple[int, int]],
    before: Sequence[bytes],
    after: Sequence[bytes],
    lesser: Callable[[bytes], bool],
) -> BlockPairs:
    """Compare likewise, where some pairs of equal blocks, in order, are given."""
    return _filled(anchors, before, after, lambda one, other: compare_by_rank(one, other, lesser))


def _filled(
    anchors: Sequence[tuple[int, int]],
    before: Sequence[bytes],
    after: Sequence[bytes],
    compare: Callable[[Sequence[bytes], Sequence[bytes]], BlockPairs],
) -> BlockPairs:
    """Fit together what lies between pairs that are given."""
    same: list[tuple[int, int]] = []
    at_left = at_right = 0
    for one, other in (*anchors, (len(before), len(after))):
        if one > at_left and other > at_right:
            found = compare(before[at_left:one], after[at_right:other])
            same += [(at_left + first, at_right + second) for first, second in found.same]
        if one < len(before):
            same.append((one, other))
        at_left, at_right = one + 1, other + 1
    return _fitted(same, len(before), len(after))


def _numbered(before: Sequence[bytes], after: Sequence[bytes]) -> tuple[list[int], list[int]]:
    numbers: dict[bytes, int] = {}
    left, right = (
        [numbers.setdefault(block, len(numbers)) for block in some] for some in (before, after)
    )
    return left, right


def _fitted(same: list[tuple[int, int]], size: int, other_size: int) -> BlockPairs:
    hunks: list[Hunk] = []
    at_left = at_right = 0
    for one, other in (*same, (size, other_size)):
        if one > at_left or other > at_right:
            hunks.append(Hunk(at_left, one, at_right, other))
        at_left, at_right = one + 1, other + 1
    return BlockPairs(tuple(same), tuple(hunks))


def increasing(values: Sequence[int]) -> list[int]:
    """Return the places of a longest strictly increasing run of values, in order."""
    tails: list[int] = []
    places: list[int] = []
    previous = [-1] * len(values)
    for place, value in enumerate(values):
        rank = bisect_left(tails, value)
        if rank == len(tails):
            tails.append(value)
            places.append(place)
        else:
            tails[rank], places[rank] = value, place
        previous[place] = places[rank - 1] if rank else -1
    result: list[int] = []
    place = places[-1] if places else -1
    while place >= 0:
        result.append(place)
        place = previous[place]
    return result[::-1]


def _same(left: list[int], right: list[int]) -> list[tuple[int, int]]:
    result: list[tuple[int, int]] = []
    waiting = [(0, len(left), 0, len(right))]
    while waiting:
        low, high, first, last = waiting.pop()
        while low < high and first < last and left[low] == right[first]:
            result.append((low, first))
            low, first = low + 1, first + 1
        while low < high and first < last and left[high - 1] == right[last - 1]:
            high, last = high - 1, last - 1
            result.append((high, last))
        if low >= high or first >= last:
            continue
        stretch = Hunk(low, high, first, last)
        anchors = _anchors(left, right, stretch)
        if not anchors:
            result += _without_anchors(left, right, stretch)
            continue
        result += anchors
        at_left, at_right = low, first
        for one, other in (*anchors, (high, last)):
            waiting.append((at_left, one, at_right, other))
            at_left, at_right = one + 1, other + 1
    return sorted(result)


def _anchors(left: list[int], right: list[int], stretch: Hunk) -> list[tuple[int, int]]:
    """Pairs of blocks that stand once in both stretches, the longest run in the same order."""
    low, high, first, last = stretch
    count_left, count_right = Counter(left[low:high]), Counter(right[first:last])
    where = {right[at]: at for at in range(first, last) if count_right[right[at]] == 1}
    pairs = [
        (at, where[left[at]])
        for at in range(low, high)
        if count_left[left[at]] == 1 and left[at] in where
    ]
    return [pairs[at] for at in increasing([other for _, other in pairs])]


def _without_anchors(left: list[int], right: list[int], stretch: Hunk) -> list[tuple[int, int]]:
    low, high, first, last = stretch
    if (high - low) * (last - first) <= _SMALL:
        matcher = SequenceMatcher(None, left[low:high], right[first:last], autojunk=False)
        return [
            (low + one + step, first + other + step)
            for one, other, size in matcher.get_matching_blocks()
            for step in range(size)
        ]
    # many blocks, all of them repeated: the first of a kind goes to the first, and so on
    queues: dict[int, list[int]] = {}
    for at in range(last - 1, first - 1, -1):
        queues.setdefault(right[at], []).append(at)
    pairs = [(at, queues[left[at]].pop()) for at in range(low, high) if queues.get(left[at])]
    return [pairs[at] for at in increasing([other for _, other in pairs])]
