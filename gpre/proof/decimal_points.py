"""No length may lose its decimal point: `Z-1.` is a millimetre, `Z-1` a thousandth to some.

See `gpre.program.length_words` for who reads it so. A block that is the same bytes in both programs
is never at fault, nor is a number that the block it comes from wrote without a point as well.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.program.length_words import LengthWords, length_words, writes_points
from gpre.program.program import Program
from gpre.proof.blocks import Hunk, compare_blocks
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair

_NUMBER = re.compile(rb"\d+\.?\d*|\.\d+")
_BLANKS = re.compile(rb"[ \t]+")

Name = complex  # letter and value of a word, as one number


class _Fault(NamedTuple):
    """A word without its point: its bytes, and its block; blocks of `before` it may come from."""

    start: int
    end: int
    block: int
    before: int | None


def lost_points(pair: Pair) -> Obligation | None:
    """Return what to say of lengths of `after` that lost their point or are new without one.

    None: there are none, or the profile says that a point makes no difference.
    """
    if pair.mill.controller.point_optional:
        return None
    changed = np.zeros(len(pair.after.program), np.bool_)
    for hunk in pair.blocks.hunks:
        changed[hunk.after : hunk.after_end] = True
    new = length_words(pair.after.program, changed)
    if new.pointed.all():
        return None
    old = length_words(pair.before.program)
    # a calculated block may hold plain numbers in brackets, which need no point anywhere
    calculated = np.zeros(len(pair.before.program), np.bool_)
    calculated[list(pair.before.program.statements)] = True
    always = writes_points(old.take(~calculated[old.block]))
    if not always and not np.isin(_names(new.take(~new.pointed)), _names(old)).any():
        return None  # the program mixes, and these numbers are new to it
    faults = list(_faults(pair, old, new, always=always))
    return _obligation(pair, faults, always=always) if faults else None


def _obligation(pair: Pair, faults: list[_Fault], *, always: bool) -> Obligation:
    first = min(faults)
    source = pair.after.program.source
    word = source.data[first.start : first.end].decode(source.encoding, "replace")
    line = source.line_text(first.block + 1).strip()
    what = (
        f"{word} has no decimal point, though the program writes one with every length"
        if always
        else f"{word} has lost its decimal point"
    )
    more = f" (and {len(faults) - 1} more words)" if len(faults) > 1 else ""
    return Obligation(
        "readable",
        holds=False,
        figure=f"{what}{more}: {line}; some older controllers read it as thousandths. If yours "
        "does not, say so in the profile: point_optional = true under [controller]",
        value=float(len(faults)),
        limit=0.0,
        before=first.before,
        after=first.block,
    )


def _names(words: LengthWords) -> NDArray[np.complex128]:
    """(k,): the name of each word."""
    return words.value + 1j * words.letter.astype(np.float64)


def _faults(pair: Pair, old: LengthWords, new: LengthWords, *, always: bool) -> Iterator[_Fault]:
    """Yield the words at fault; always: the program writes a point with every length."""
    elsewhere = set(_names(old.take(~old.pointed)).tolist())
    with_point = set(_names(old.take(old.pointed)).tolist())
    for stretch in _stretches(pair, new):
        ours = _within(old, stretch.before, stretch.before_end)
        theirs = _within(new, stretch.after, stretch.after_end)
        had, has = _count(ours), _count(theirs)
        only = stretch.before if stretch.before_end == stretch.before + 1 else None
        for name, number in has[False].items():
            more = number - had[False][name]
            lost = had[True][name] > has[True][name]
            lost |= name in with_point and name not in elsewhere
            if more > 0 and (always or lost):
                rows = np.flatnonzero((_names(theirs) == name) & ~theirs.pointed)[-more:]
                for row in rows.tolist():
                    start, end = int(theirs.start[row]), int(theirs.end[row])
                    yield _Fault(start, end, int(theirs.block[row]), only)


def _count(words: LengthWords) -> dict[bool, Counter[Name]]:
    """Return how often each word stands there, with a point (True) and without."""
    names = _names(words)
    return {pointed: Counter(names[words.pointed == pointed].tolist()) for pointed in (True, False)}


def _within(words: LengthWords, first: int, last: int) -> LengthWords:
    """Return the words of the blocks `first` to `last`, half open."""
    rows = np.searchsorted(words.block, (first, last))
    return words.take(np.arange(rows[0], rows[1]))


def _stretches(pair: Pair, new: LengthWords) -> Iterator[Hunk]:
    """Yield what was changed and holds words without a point, in stretches as short as can be.

    Blocks that say the same are a stretch of their own, however they are spelled.
    """
    bare = new.block[~new.pointed]
    for hunk in pair.blocks.hunks:
        if not _any_within(bare, hunk.after, hunk.after_end):
            continue
        low, first = hunk.before, hunk.after
        blocks = compare_blocks(
            _spoken(pair.before.program, low, hunk.before_end),
            _spoken(pair.after.program, first, hunk.after_end),
        )
        pairs = [Hunk(one, one + 1, other, other + 1) for one, other in blocks.same]
        for each in (*pairs, *blocks.hunks):
            moved = Hunk(
                each.before + low, each.before_end + low, each.after + first, each.after_end + first
            )
            if _any_within(bare, moved.after, moved.after_end):
                yield moved


def _any_within(rows: NDArray[np.int64], first: int, last: int) -> bool:
    low, high = np.searchsorted(rows, (first, last)).tolist()
    return bool(high > low)


def _spoken(program: Program, first: int, last: int) -> list[bytes]:
    """Return what each of the blocks `first` to `last` says, however its numbers are written."""
    words, rows = program.words, program.blocks.first_word.tolist()
    result = []
    for block in range(first, last):
        if block in program.statements:
            text = _BLANKS.sub(b"", program.source.block_bytes(block)).upper()
            result.append(_NUMBER.sub(lambda found: b"%r" % float(found.group()), text))
        else:
            mine = slice(rows[block], rows[block + 1])
            result.append(words.letter[mine].tobytes() + words.value[mine].tobytes())
    return result
