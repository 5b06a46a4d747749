"""What controllers may read in more than one way: none of it may be new, or stand elsewhere.

The table of diagnostic codes says which findings speak of that (`Entry.doubtful`).
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import TABLE, severity_of
from gpre.diagnostics.diagnostic import Severity, Span
from gpre.geometry.tolerance import DUST
from gpre.motion.order import run_order
from gpre.program.comments import GAP, find_comments
from gpre.proof.number_values import by_value
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side

# blanks say nothing but between the digits of one number
_BLANKS = re.compile(rb"(?<![\d. \t])[ \t]+|[ \t]+(?![\d. \t])")
_WIDE = re.compile(rb"[ \t]+")
_SHOWN = 60  # characters of a line
_NUMBERED = re.compile(rb"(/?)N[\d.]+")


Key = tuple[str, bytes]


class Doubt(NamedTuple):
    """A finding that makes the reading of a block doubtful."""

    code: str
    block: int
    span: Span | None


def doubtful_readings(pair: Pair) -> Obligation | None:
    """Return what to say of blocks of `after` that controllers may read differently.

    A block is not at fault where `before` has the same one with the same finding, the tool stands
    at the same place behind it, and no cut has changed sides. None: no block is at fault.
    """
    new = _doubts(pair.after)
    if not new:
        return None
    pairs, new_rest, old_rest = _paired(pair, _doubts(pair.before), new)
    waiting: dict[Key, deque[Doubt]] = {}
    for doubt in old_rest:
        waiting.setdefault(_key(pair.before, doubt), deque()).append(doubt)
    unknown = []
    for doubt in new_rest:
        if those := waiting.get(_key(pair.after, doubt)):
            pairs.append((those.popleft(), doubt))
        else:
            unknown.append(doubt)
    if unknown:
        return _fails(pair, len(unknown), unknown[0], "new")
    return _moved(pair, pairs)


def _doubts(side: Side) -> list[Doubt]:
    """Return the doubts of a program in the order of the text, one of a code for each block."""
    source = side.program.source
    findings = [
        finding
        for finding in (*side.program.findings, *side.motion.findings)
        if finding.code not in TABLE or TABLE[finding.code].doubtful
    ]
    starts = [finding.span.start if finding.span is not None else 0 for finding in findings]
    blocks = np.maximum(np.searchsorted(source.starts, starts, side="right") - 1, 0).tolist()
    found: dict[tuple[str, int], Doubt] = {}
    for block, finding in zip(blocks, findings, strict=True):
        found.setdefault((finding.code, block), Doubt(finding.code, block, finding.span))
    return sorted(found.values(), key=lambda doubt: doubt.block)


def _paired(
    pair: Pair, old: list[Doubt], new: list[Doubt]
) -> tuple[list[tuple[Doubt, Doubt]], list[Doubt], list[Doubt]]:
    """Pair the doubts about blocks that are the same bytes; return the rest of new and old too."""
    at = {(doubt.code, doubt.block): doubt for doubt in old}
    origin = {other: one for one, other in pair.blocks.same}
    found, rest = [], []
    for doubt in new:
        same = at.pop((doubt.code, origin.get(doubt.block, -1)), None)
        if same is None:
            rest.append(doubt)
        else:
            found.append((same, doubt))
    return found, rest, list(at.values())


def _key(side: Side, doubt: Doubt) -> Key:
    """Return what must be equal in two doubts: the code, and the words unless it comes once."""
    entry = TABLE.get(doubt.code)
    once = doubt.span is None or (entry is not None and entry.once)
    return doubt.code, b"" if once else _words(side, doubt)


def _words(side: Side, doubt: Doubt) -> bytes:
    """Return the text of a block in one manner; comments only where the doubt touches them.

    Where neither a comment nor the whole block is in doubt, its numbers count by their value.
    """
    source = side.program.source
    text = source.block_bytes(doubt.block)
    found = find_comments(text)
    base = int(source.starts[doubt.block])
    if doubt.span is None or not _touches(found.spans, doubt.span, base):
        text = found.blanked(text).replace(GAP, b" ")
        if severity_of(doubt.code) is not Severity.ERROR:
            text = by_value(text)
    text = _NUMBERED.sub(rb"\1", text.strip().upper(), count=1)
    return _WIDE.sub(b" ", _BLANKS.sub(b"", text.strip()))


def _touches(spans: tuple[Span, ...], span: Span, base: int) -> bool:
    return any(start < span.end - base and span.start - base < end for start, end in spans)


def _fails(
    pair: Pair, number: int, doubt: Doubt, what: str, before: int | None = None
) -> Obligation:
    source = pair.after.program.source
    title = TABLE[doubt.code].title if doubt.code in TABLE else "a fault"
    shown = " ".join(source.line_text(doubt.block + 1).split())
    if len(shown) > _SHOWN:
        shown = f"{shown[:_SHOWN]} ..."
    count = f", the first of {number} blocks" if number > 1 else ""
    return Obligation(
        "readable",
        holds=False,
        figure=f"{what}{count}, and controllers may read it in different ways: {shown} "
        f"({doubt.code}, {title})",
        value=float(number),
        limit=0.0,
        before=before,
        after=doubt.block,
    )


def _moved(pair: Pair, pairs: Sequence[tuple[Doubt, Doubt]]) -> Obligation | None:
    """Look for doubtful blocks that are the same words at another place of the program."""
    pairs = [(a, b) for a, b in pairs if b.code not in TABLE or not TABLE[b.code].once]
    if not pairs:
        return None
    before, after = (
        _Placed.of(side, np.array([each[which].block for each in pairs], np.intp))
        for which, side in enumerate((pair.before, pair.after))
    )
    partner = np.where(pair.after.motion.at_feed, pair.partner, -1)
    far = len(pair.before.motion)
    # of the cuts before each row the last partner, of those from it on the first one
    last = np.maximum.accumulate(np.concatenate(([-1], partner)))
    ahead = np.concatenate((np.where(partner >= 0, partner, far), [far]))
    first = np.minimum.accumulate(ahead[::-1])[::-1]
    wrong = (last[after.row] >= before.row) | (first[after.row] < before.row)
    near = np.isclose(after.place, before.place, rtol=0.0, atol=_reach(pair), equal_nan=True)
    wrong |= ~near.all(axis=1)
    if not wrong.any():
        return None
    one, other = pairs[int(np.argmax(wrong))]
    return _fails(pair, int(wrong.sum()), other, "moved to another place", before=one.block)


def _reach(pair: Pair) -> float:
    """Return how far the tool may stand from where it stood, mm: tolerance, and what is taken up.

    Whether the table stands where it should is for the obligations of the path to say.
    """
    axes = pair.mill.axes
    return (
        pair.tolerance + DUST + max(axis.greatest_lost_motion + axis.uncertainty for axis in axes)
    )


@dataclass(frozen=True)
class _Placed:
    """Where k blocks stand in the run of a program, the first time that they run.

    row: (k,) the first move made from each on. place: (k, 3) mm, where the tool then is behind it.
    """

    row: NDArray[np.int64]
    place: NDArray[np.float64]

    @classmethod
    def of(cls, side: Side, blocks: NDArray[np.intp]) -> _Placed:
        """Find blocks of a side."""
        order = run_order(len(side.program), side.motion)
        row_at = np.append(order.row_at, len(side.motion))
        ends = np.concatenate((np.reshape(side.begins, (1, 3)), side.motion.end))
        step = order.first[blocks]
        return cls(row_at[step], ends[row_at[step + 1]])
