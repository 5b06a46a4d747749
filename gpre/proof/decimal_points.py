"""No measure may lose its decimal point: `Z-1.` is a millimetre, `Z-1` a thousandth to some.

The lengths, the feeds and the times of dwells are looked at each for themselves, as many programs
write a point with every length and none with a feed. See `gpre.program.measures` for who reads
them so. A block that is the same bytes in both programs is never at fault, nor is a number that the
block it comes from wrote without a point as well.
"""

from __future__ import annotations

import re
from collections import Counter

import numpy as np
from numpy.typing import NDArray

from gpre.program.measures import (
    FEEDS,
    LENGTHS,
    TIMES,
    Measures,
    measures_of,
    writes_points,
)
from gpre.program.program import Program
from gpre.proof.blocks import Hunk, compare_blocks
from gpre.proof.number_values import by_value
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair

_MEASURES = {LENGTHS: "length", FEEDS: "feed", TIMES: "time"}
_BLANKS = re.compile(rb"[ \t]+")

Rows = NDArray[np.intp]
Bools = NDArray[np.bool_]


def lost_points(pair: Pair) -> Obligation | None:
    """Return what to say of measures of `after` that lost their point or are new without one.

    None: there are none, or the profile says that a point makes no difference.
    """
    if pair.mill.controller.decimal_point_optional:
        return None
    _, changed = _changed(pair)
    found = (_lost_points(pair, changed, letters) for letters in _MEASURES)
    return next((each for each in found if each is not None), None)


def gained_points(pair: Pair) -> tuple[int, int | None]:
    """Return how many measures that had no point have one in `after`, and the first one's block.

    They are counted by their letter and value over all blocks that differ.
    """
    if pair.mill.controller.decimal_point_optional:
        return 0, None
    letters = b"".join(_MEASURES)
    old, new = (
        measures_of(side.program, changed, letters=letters)
        for side, changed in zip((pair.before, pair.after), _changed(pair), strict=True)
    )
    had, has = _count(old), _count(new)
    gained = {
        name: more
        for name, pointed in has
        if pointed
        and (more := min(has[name, True] - had[name, True], had[name, False] - has[name, False]))
        > 0
    }
    if not gained:
        return 0, None
    rows = np.flatnonzero(new.pointed & np.isin(_names(new), list(gained)))
    return sum(gained.values()), int(new.block[rows[0]])


def _lost_points(pair: Pair, changed: Bools, letters: bytes) -> Obligation | None:
    new = measures_of(pair.after.program, changed, letters=letters)
    if new.pointed.all():
        return None
    old = measures_of(pair.before.program, letters=letters)
    # a calculated block may hold plain numbers in brackets, which need no point anywhere
    calculated = np.zeros(len(pair.before.program), np.bool_)
    calculated[list(pair.before.program.statements)] = True
    always = writes_points(old.take(~calculated[old.block]))
    rows = _at_fault(pair, old, new, always=always)
    every = f"every {_MEASURES[letters]}" if always else ""
    return _obligation(pair, new.take(rows), every) if len(rows) else None


def _changed(pair: Pair) -> tuple[Bools, Bools]:
    """(m,), (n,): the blocks of `before` and of `after` that differ."""
    old, new = (np.zeros(len(side.program), np.bool_) for side in (pair.before, pair.after))
    for hunk in pair.blocks.hunks:
        old[hunk.before : hunk.before_end] = True
        new[hunk.after : hunk.after_end] = True
    return old, new


def _obligation(pair: Pair, faults: Measures, every: str) -> Obligation:
    source, block = pair.after.program.source, int(faults.block[0])
    word = source.data[int(faults.start[0]) : int(faults.end[0])].decode(source.encoding, "replace")
    what = (
        f"{word} has no decimal point, though the program writes one with {every}"
        if every
        else f"{word} has lost its decimal point"
    )
    more = f" (and {len(faults) - 1} more words)" if len(faults) > 1 else ""
    return Obligation(
        "readable",
        holds=False,
        figure=f"{what}{more}: {source.line_text(block + 1).strip()}; some older controllers read "
        "it as thousandths. If yours does not, say so in the profile: decimal_point_optional = "
        "true under [controller]",
        value=float(len(faults)),
        limit=0.0,
        before=next((h.before for h in pair.blocks.hunks if h.after <= block < h.after_end), None),
        after=block,
    )


def _names(words: Measures) -> NDArray[np.complex128]:
    """(k,): the name of each word."""
    return words.value + 1j * words.letter.astype(np.float64)


def _at_fault(pair: Pair, old: Measures, new: Measures, *, always: bool) -> Rows:
    """Return the rows of `new` at fault, in order; always: the program writes all points."""
    with_point, without = _names(old.take(old.pointed)), _names(old.take(~old.pointed))
    doubtful = ~new.pointed
    if not always:  # of a program that mixes only those that it writes with a point too
        doubtful &= np.isin(_names(new), with_point)
    strict = doubtful if always else doubtful & ~np.isin(_names(new), without)
    if not doubtful.any():
        return np.zeros(0, np.intp)
    found = []
    blocks = new.block[doubtful]
    bounds = [(hunk.after, hunk.after_end) for hunk in pair.blocks.hunks]
    for at in np.flatnonzero(np.diff(np.searchsorted(blocks, bounds))[:, 0]).tolist():
        hunk = pair.blocks.hunks[at]
        same, others = _stretches(pair, hunk)
        ours, theirs = _rows(old, same[:, 0]), _rows(new, same[:, 1])
        if np.array_equal(_names(old)[ours], _names(new)[theirs]):
            found.append(theirs[doubtful[theirs] & old.pointed[ours]])
        else:  # one of the blocks is not read, for it stands outside its program
            others = [hunk]
        found += [_more_than_before(old, new, each, doubtful, strict) for each in others]
    return np.sort(np.concatenate(found))


def _more_than_before(
    old: Measures, new: Measures, stretch: Hunk, doubtful: Bools, strict: Bools
) -> Rows:
    """Return rows of `new` without a point that the blocks they replace have not as often.

    strict: those that are at fault then in any case; others are where words with a point went.
    """
    ours = _rows(old, np.arange(stretch.before, stretch.before_end))
    theirs = _rows(new, np.arange(stretch.after, stretch.after_end))
    had, has = _count(old.take(ours)), _count(new.take(theirs))
    names = _names(new)[theirs].tolist()
    result = []
    for row, name in reversed(list(zip(theirs.tolist(), names, strict=True))):
        fewer = had[name, True] > has[name, True]
        if doubtful[row] and has[name, False] > had[name, False] and (strict[row] or fewer):
            has[name, False] -= 1
            result.append(row)
    return np.array(result, np.intp)


def _count(words: Measures) -> Counter[tuple[complex, bool]]:
    """Return how often each word stands there with a point and without."""
    return Counter(zip(_names(words).tolist(), words.pointed.tolist(), strict=True))


def _rows(words: Measures, blocks: Rows) -> Rows:
    """Return the rows of the words of some blocks, given in order."""
    first, last = np.searchsorted(words.block, blocks), np.searchsorted(words.block, blocks + 1)
    each = last - first
    begins = np.cumsum(each) - each
    result: Rows = np.arange(int(each.sum())) + np.repeat(first - begins, each)
    return result


def _stretches(pair: Pair, hunk: Hunk) -> tuple[Rows, list[Hunk]]:
    """Return (k, 2) blocks of a changed stretch that say the same, and the stretches between."""
    low, first = hunk.before, hunk.after
    blocks = compare_blocks(
        _spoken(pair.before.program, low, hunk.before_end),
        _spoken(pair.after.program, first, hunk.after_end),
    )
    same = np.array(blocks.same, np.intp).reshape(-1, 2) + np.array((low, first))
    others = [
        Hunk(each.before + low, each.before_end + low, each.after + first, each.after_end + first)
        for each in blocks.hunks
    ]
    return same, others


def _spoken(program: Program, first: int, last: int) -> list[bytes]:
    """Return what each of the blocks `first` to `last` says, however its numbers are written."""
    words, rows = program.words, program.blocks.first_word[first : last + 1].tolist()
    result = []
    for at, block in enumerate(range(first, last)):
        if block in program.statements:
            text = _BLANKS.sub(b"", program.source.block_bytes(block)).upper()
            result.append(by_value(text))
        else:
            mine = slice(rows[at], rows[at + 1])
            result.append(words.letter[mine].tobytes() + words.value[mine].tobytes())
    return result
