"""What must hold of the two texts as texts: readable, same form, all but motion still there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.codes import TABLE, is_error
from gpre.diagnostics.diagnostic import Diagnostic
from gpre.motion.order import run_order
from gpre.program.comments import comments
from gpre.program.program import Program
from gpre.program.words import MORE_THAN_WORDS, BlockFlag
from gpre.proof.blocks import compare_blocks
from gpre.proof.decimal_points import gained_points, lost_points
from gpre.proof.jump_targets import moved_target
from gpre.proof.proof import Obligation
from gpre.proof.readings import doubtful_readings
from gpre.proof.semicolons import new_semicolons
from gpre.proof.side import Pair, Side
from gpre.source.text import BYTE_ORDER_MARK

# words that only move the tool; a block of others must stay as it is
_MOTION_LETTERS = np.isin(np.arange(256), np.frombuffer(b"GXYZIJKRFQPLABC", np.uint8))
_MOTION_G = (0, 1, 2, 3, 17, 18, 19, 73, *range(80, 90), 90, 90.1, 91, 91.1, 98, 99)


def readable(pair: Pair) -> Obligation:
    """Show no new faults or doubts, and that `after` is followed as far as `before`.

    What never runs is the same bytes, so nothing new stands where it is not reached.
    """
    old, new = _errors(pair.before), _errors(pair.after)
    more = new - old
    idle = [_idle(side) for side in (pair.before, pair.after)]
    if more:
        code = next(iter(more))
        block = _first_block(pair.after, code)
        return Obligation(
            "readable",
            holds=False,
            figure=f"{sum(more.values())} new faults, the first {code}: {TABLE[code].title}",
            value=float(sum(more.values())),
            limit=0.0,
            after=block,
        )
    if doubt := doubts(pair):
        return doubt
    if idle[0] != idle[1]:
        return Obligation(
            "readable",
            holds=False,
            figure="the program is no longer followed to the same place: other blocks never run",
            before=pair.before.motion.followed_to,
            after=pair.after.motion.followed_to,
        )
    figure = "no new faults, nothing new that controllers read differently"
    gained, first = gained_points(pair)
    if first is not None:
        have = "1 number has" if gained == 1 else f"{gained:,} numbers have"
        figure += (
            f"; {have} a decimal point that had none, from line {first + 1} on: the same by the "
            "standard, not to some older controllers"
        )
    return Obligation("readable", holds=True, figure=figure, value=0.0, limit=0.0, after=first)


def doubts(pair: Pair) -> Obligation | None:
    """Return what to say where controllers may read `after` otherwise than gpre, or None.

    It depends on how the words are spelled, so both texts must be those that were written.
    """
    return doubtful_readings(pair) or lost_points(pair) or new_semicolons(pair)


def _idle(side: Side) -> list[bytes]:
    """Return the blocks that never run: those behind the end, and subprograms that nobody calls."""
    runs = run_order(len(side.program), side.motion).runs
    texts = side.program.source.blocks()
    return [texts[block] for block in np.flatnonzero(runs == 0).tolist()]


def _errors(side: Side) -> Counter[str]:
    return Counter(finding.code for finding in _faults(side))


def _faults(side: Side) -> list[Diagnostic]:
    """Return the findings of a program that are errors."""
    return [
        finding for finding in (*side.program.findings, *side.motion.findings) if is_error(finding)
    ]


def _first_block(side: Side, code: str) -> int | None:
    for finding in _faults(side):
        if finding.code == code and finding.span is not None:
            return side.program.source.block_of(finding.span.start)
    return None


def kept_comments(pair: Pair) -> Obligation:
    """Show that all comments of the original are still there, in their order."""
    old, new = _comments(pair.before.program), _comments(pair.after.program)
    lost = first_missing([text for text, _ in old], [text for text, _ in new])
    if lost is None:
        added = len(new) - len(old)
        return Obligation("comments", holds=True, figure=f"all {len(old)} kept, {added} added")
    # where the same comment stands several times, the one that is gone may be an earlier one
    at, _ = _first_lost([text for text, _ in old], [text for text, _ in new], lost)
    text, block = old[at]
    shown = text.decode(pair.before.program.source.encoding, "replace")
    return Obligation("comments", holds=False, figure=f"lost or moved: {shown}", before=block)


def _comments(program: Program) -> list[tuple[bytes, int]]:
    data = program.source.data
    rows = np.flatnonzero(program.blocks.flags & BlockFlag.COMMENT)
    return [
        (data[span.start : span.end], block)
        for block in rows.tolist()
        for span in comments(program, block)
    ]


def untouched_blocks(pair: Pair) -> Obligation:
    """Show that every block that does more than move is there, byte for byte, in order.

    And no others: what is new only moves the tool, or is a comment.
    """
    blocks = pair.blocks
    sides = pair.before, pair.after
    texts = [side.program.source.blocks() for side in sides]
    stay = [np.flatnonzero(_must_stay(side)).tolist() for side in sides]
    kept = [[text[block] for block in rows] for text, rows in zip(texts, stay, strict=True)]
    figure = (
        f"{len(blocks.same)} blocks the same, {blocks.changed} changed, "
        f"{blocks.added} added, {blocks.gone} gone"
    )
    if wrong := moved_target(pair):
        return Obligation("untouched blocks", holds=False, figure=f"{figure}; {wrong}")
    lost = first_missing(kept[0], texts[1])
    if lost is not None:
        one, other = _first_lost(kept[0], kept[1], lost)
        figure += "; " + _lost(pair, kept[0][one], None if other is None else kept[1][other])
        return Obligation(
            "untouched blocks",
            holds=False,
            figure=figure,
            before=stay[0][one],
            after=None if other is None else stay[1][other],
        )
    comments_only = [_comments_only(side.program) for side in sides]
    ours, theirs = (
        [block for block, row in zip(blocks_kept, rows, strict=True) if not only[row]]
        for blocks_kept, rows, only in zip(kept, stay, comments_only, strict=True)
    )
    if ours != theirs:
        rows = [row for row in stay[1] if not comments_only[1][row]]
        added = (hunk.after for hunk in compare_blocks(ours, theirs).hunks)
        new = rows[min(next(added, 0), len(rows) - 1)] if rows else 0
        figure += f"; new though it is more than motion: {_shown(pair, texts[1][new])}"
        return Obligation("untouched blocks", holds=False, figure=figure, after=new)
    return Obligation("untouched blocks", holds=True, figure=figure)


def _first_lost(old: list[bytes], new: list[bytes], lost: int) -> tuple[int, int | None]:
    """Return the first block that is changed or gone, and what stands in its place, or None."""
    for first, end, at, at_end in compare_blocks(old, new).hunks:
        if first < end:
            return first, at if at < at_end else None
    return lost, None


def _lost(pair: Pair, old: bytes, new: bytes | None) -> str:
    if new is None:
        return f"gone though it is more than motion: {_shown(pair, old)}"
    return f"changed though it is more than motion: {_shown(pair, old)} became {_shown(pair, new)}"


def _shown(pair: Pair, block: bytes) -> str:
    return block.decode(pair.before.program.source.encoding, "replace").strip()


def _comments_only(program: Program) -> NDArray[np.bool_]:
    """(m,): the blocks that hold a comment and nothing else."""
    wordless = program.blocks.first_word[1:] == program.blocks.first_word[:-1]
    flags = program.blocks.flags
    plain = (flags & int(BlockFlag.COMMENT)) != 0
    result: NDArray[np.bool_] = wordless & plain & ((flags & MORE_THAN_WORDS) == 0)
    return result


def _must_stay(side: Side) -> NDArray[np.bool_]:
    """(m,): the blocks that hold anything but words of motion, or faults; blank ones may go."""
    program = side.program
    flags, words = program.blocks.flags, program.words
    strange = ~_MOTION_LETTERS[words.letter]
    is_g = words.letter == ord("G")
    strange |= is_g & ~np.isin(np.rint(words.value * 10), _TENTHS)
    stay = (flags & MORE_THAN_WORDS) != 0
    stay[words.block[strange]] = True
    stay |= _comments_only(program)
    for finding in _faults(side):
        if finding.span is not None:
            stay[program.source.block_of(finding.span.start)] = True
    result: NDArray[np.bool_] = stay
    return result


_TENTHS = np.rint(np.array(_MOTION_G) * 10)


def first_missing(wanted: Sequence[bytes], there: Iterable[bytes]) -> int | None:
    """Return the first of `wanted` that does not follow its predecessor in `there`, or None."""
    rest = iter(there)
    for at, each in enumerate(wanted):
        if each not in rest:
            return at
    return None


def same_form(pair: Pair) -> Obligation:
    """Show the same line ends, byte order mark and last line end."""
    old, new = pair.before.program.source.data, pair.after.program.source.data
    faults = []
    if old.startswith(BYTE_ORDER_MARK) != new.startswith(BYTE_ORDER_MARK):
        faults.append("byte order mark")
    ends_old, ends_new = _line_ends(old), _line_ends(new)
    if not ends_new <= (ends_old or {b"\n"}):
        faults.append("line ends")
    if bool(old) and old.endswith((b"\n", b"\r")) != new.endswith((b"\n", b"\r")):
        faults.append("last line end")
    figure = "changed: " + ", ".join(faults) if faults else "line ends as they were"
    return Obligation("line ends and layout", holds=not faults, figure=figure)


def _line_ends(data: bytes) -> set[bytes]:
    crlf = data.count(b"\r\n")
    found = {b"\r\n"} if crlf else set()
    if data.count(b"\n") > crlf:
        found.add(b"\n")
    if data.count(b"\r") > crlf:
        found.add(b"\r")
    return found
