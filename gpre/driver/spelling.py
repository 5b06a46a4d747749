"""What two texts say, apart from how they spell it: comments, blanks, block numbers, zeros.

A *silent* block says nothing to the controller or the operator: it is blank, holds a comment
alone that is not the text of a stop, or stands before the first % or after the last one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.driver.counting import Counted
from gpre.motion.events import EventKind
from gpre.motion.jumps import goes_to_numbers
from gpre.program.comments import GAP, find_comments
from gpre.program.operator_text import messages, plain, stop_blocks, text_blocks, texts_of
from gpre.program.program import Program
from gpre.program.take_up_mark import HEAD
from gpre.program.words import BlockFlag
from gpre.proof.blocks import compare_blocks
from gpre.source.text import SourceText

# the words of such a block do not stand in the columns, or do not tell all of it
NOT_PLAIN = int(BlockFlag.STATEMENT | BlockFlag.UNREADABLE | BlockFlag.FLOW | BlockFlag.LATHE)
_NUMBER = re.compile(rb"(/?)[Nn]\d+(?:\.\d*)?(?![\d.])")
_BLANKS = re.compile(rb"[ \t]+")
_GAPS = re.compile(re.escape(GAP) + rb"+")
_MARK = HEAD[-8:].encode()  # as find_mark looks for it


@dataclass(frozen=True)
class Bare:
    """Two texts without silent blocks, and with the first one's spelling where both say the same.

    before, after: the texts. lines: for each of the two the block of the full text at each block.
    """

    before: SourceText
    after: SourceText
    lines: tuple[NDArray[np.intp], NDArray[np.intp]]

    def block(self, which: int, block: int | None) -> int | None:
        """Return the block of the full text for one of the bare text, 0 before and 1 after."""
        lines = self.lines[which]
        return int(lines[block]) if block is not None and block < len(lines) else None


def goes_by_numbers(counted: Counted) -> bool:
    """Return whether a program may go to blocks by their numbers, or cannot be followed to its end.

    Then a block number is more than spelling.
    """
    program, motion = counted.program, counted.motion
    if goes_to_numbers(program, motion):
        return True
    ended = any(event.kind is EventKind.END for event in motion.events)
    return not ended and motion.followed_to < len(program)


def said(program: Program, *, numbers: bool) -> list[bytes]:
    """(m,): what each block says, spelled in one manner; b"" for a silent block.

    numbers: block numbers count too.
    """
    words, blocks = program.words, program.blocks
    stops = text_blocks(program, stop_blocks(program))
    texts = {block for spoken in stops.values() for block in spoken}
    rows = blocks.first_word.tolist()
    letters, values = words.letter.tobytes(), words.value.tolist()
    flags, number = blocks.flags.tolist(), blocks.number.tolist()
    result = []
    for block in range(len(program)):
        flag = flags[block]
        if flag & int(BlockFlag.OUTSIDE):
            result.append(b"")  # never run
            continue
        if flag & NOT_PLAIN:
            text = _as_written(program, block, numbers=numbers)
            result.append(text + _of_stop(program, block) if block in texts else text)
            continue
        parts = [
            f"{chr(letters[row])}{values[row]!r}" for row in range(rows[block], rows[block + 1])
        ]
        if flag & int(BlockFlag.DELETE):
            parts.insert(0, "/")
        if flag & int(BlockFlag.PERCENT):
            parts.append("%")
        if flag & int(BlockFlag.COMMENT):
            parts.append(_of_comment(program, block))
        if numbers and number[block] >= 0:
            parts.insert(0, f"N{number[block]}")
        if block in texts:
            parts.append(_of_stop(program, block).decode())
        result.append(" ".join(filter(None, parts)).encode())
    return result


def _of_stop(program: Program, block: int) -> bytes:
    """Return what a block says of the text of a stop, in one manner."""
    told = plain(texts_of(program, block))
    return f"({told})".encode() if told else b""


def _of_comment(program: Program, block: int) -> str:
    """Return what the operator or gpre itself reads in the comments of a block, or ""."""
    text = program.source.block_bytes(block)
    if _MARK in text.lower():
        return text.decode("latin-1")
    return " ".join(f"(MSG,{told})" for told in messages(program, block))


def _as_written(program: Program, block: int, *, numbers: bool) -> bytes:
    """Return a block that is not plain, without comments and blanks."""
    line = program.source.block_bytes(block)
    text = find_comments(line).blanked(line)
    text = _BLANKS.sub(b"", _GAPS.sub(GAP, text)).strip(GAP)
    if not numbers:
        text = _NUMBER.sub(rb"\1", text, count=1) if _NUMBER.match(text) else text
    told = _of_comment(program, block)
    return text + told.encode() if told else text


def same_words(before: Sequence[bytes], after: Sequence[bytes]) -> bool:
    """Return whether two programs say the same, block by block, silent blocks apart."""
    return [each for each in before if each] == [each for each in after if each]


def bare_texts(before: Program, after: Program, keys: Sequence[list[bytes]]) -> Bare:
    """Take away what is only spelling; see Bare. keys: what `said` finds in both."""
    programs = before, after
    lines = [np.array([block for block, key in enumerate(some) if key], np.intp) for some in keys]
    old, new = (
        [program.source.block_bytes(block) for block in some.tolist()]
        for program, some in zip(programs, lines, strict=True)
    )
    spoken = [
        [some[block] for block in rows.tolist()] for some, rows in zip(keys, lines, strict=True)
    ]
    for one, other in compare_blocks(*spoken).same:
        new[other] = old[one]
    return Bare(
        SourceText.of(_joined(old), before.source.name),
        SourceText.of(_joined(new), after.source.name),
        (lines[0], lines[1]),
    )


def _joined(blocks: list[bytes]) -> bytes:
    return b"".join(block + b"\n" for block in blocks)
