"""Blocks to which a program goes by their numbers: they must stand where they stood.

What runs from such a block on runs a second time, from another place: a number that has slipped
down from the approach to the cut sends the tool there through the part.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.tolerance import POINT
from gpre.motion.jumps import goes_to_numbers
from gpre.motion.order import run_order
from gpre.program.expression import Number
from gpre.program.program import Program
from gpre.proof.side import Pair, Side

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_MOST = 1000  # numbers; of more it is not asked how often the tool has set out from there
_JUMPS = (97.0, 99.0)  # the M codes that go to the number of their P word


def moved_target(pair: Pair) -> str:
    """Return what is wrong with a block number that the program goes to, or ""."""
    before, after = pair.before, pair.after
    if not goes_to_numbers(before.program, before.motion):
        return ""
    if twice := number_twice(pair):
        return twice
    named = _named(before.program)
    places = [_places(side, named) for side in (before, after)]
    for number, place in places[0].items():
        other = places[1].get(number)
        if other is None:
            return f"block number {number} has gone, and the program may jump there"
        if place[:3] != other[:3] or not _close(place[3], other[3]):
            return f"block number {number} has moved, and the program may jump there"
    return ""


def number_twice(pair: Pair) -> str:
    """Say which block number of `after` stands twice that did not in `before`, or ""."""
    old, new = (
        Counter(number[number >= 0].tolist())
        for number in (side.program.blocks.number for side in (pair.before, pair.after))
    )
    for number, times in new.items():
        if times > max(old[number], 1):
            return f"block number {number} stands twice, and the program jumps by numbers"
    return ""


def _named(program: Program) -> frozenset[int] | None:
    """Return the numbers that jumps and returns name, None where one of them is computed.

    A macro that is called may come back to another; those are not known.
    """
    words = program.words
    codes = (words.letter == ord("M")) & np.isin(words.value, _JUMPS)
    named = words.value[(words.letter == ord("P")) & np.isin(words.block, words.block[codes])]
    found = set(named.tolist())
    for each in program.statements.values():
        targets = [] if each.target is None else [each.target]
        codes_of = [word.value for word in each.words if word.letter == "M"]
        if any(not isinstance(code, Number) or code.value in _JUMPS for code in codes_of):
            targets += [word.value for word in each.words if word.letter == "P"]
        if not all(isinstance(target, Number) for target in targets):
            return None
        found |= {target.value for target in targets if isinstance(target, Number)}
    return frozenset(int(each) for each in found if float(each).is_integer())


def _close(some: Floats, other: Floats) -> Bools:
    """(...): whether places, (..., 3) mm, are the same; what is not known is like its like."""
    same: Bools = np.asarray(np.isclose(some, other, rtol=0.0, atol=POINT, equal_nan=True))
    return np.asarray(same.all(axis=-1))


def _places(side: Side, named: frozenset[int] | None) -> dict[int, tuple[bytes, int, int, Floats]]:
    """Return for each number named, or each of all, its first block: its text and where it runs.

    That is how many events come before it, how often the tool has set out from there before, and
    from where it sets out, (3,) mm.
    """
    program, motion = side.program, side.motion
    order = run_order(len(program), motion)
    steps = order.of_events(motion.events) if motion.events else np.zeros(0, np.int64)
    steps = np.sort(steps)
    result: dict[int, tuple[bytes, int, int, Floats]] = {}
    wanted = program.blocks.number >= 0
    if named is not None:
        wanted &= np.isin(program.blocks.number, list(named))
    blocks = np.flatnonzero(wanted).tolist()
    for block in blocks:
        number = int(program.blocks.number[block])
        if number in result:
            continue
        step = int(order.first[block])
        row = int(order.row_at[step])
        if row < len(motion):
            place = motion.start[row]
        else:
            place = motion.end[-1] if len(motion) else np.full(3, np.nan)
        happened = int(np.searchsorted(steps, step, side="left"))
        set_out = motion.start[: row if len(blocks) <= _MOST else 0]
        again = int(np.count_nonzero(_close(set_out, place)))
        result[number] = program.source.block_bytes(block).strip(), happened, again, place
    return result
