"""What a program says to the operator: the text of a stop, and messages.

The text of a stop (M0, M1, M60) stands in its own block, or in blocks of comments alone directly
before it: many hands write it on the line before (common practice, no source). Blank blocks
between do not part them. `(MSG, ...)` speaks wherever it stands (NISTIR 6556, 3.3.4).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from gpre.program.comments import comments, message_of
from gpre.program.program import Program
from gpre.program.take_up_mark import HEAD
from gpre.program.words import MORE_THAN_WORDS, BlockFlag

_STOPS = (0.0, 1.0, 60.0)
_LONGEST = 60  # characters of a text that are shown


def stop_blocks(program: Program) -> list[int]:
    """Return the blocks with M0, M1 or M60, and those that may compute such a code."""
    words = program.words
    stops = (words.letter == ord("M")) & np.isin(words.value, _STOPS)
    found = set(words.block[stops].tolist())
    for block, statement in program.statements.items():
        if any(word.letter == "M" for word in statement.words):
            found.add(block)
    return sorted(found)


def text_blocks(program: Program, stops: Iterable[int]) -> dict[int, tuple[int, ...]]:
    """Return for each stop's block the blocks that its text stands in, its own last."""
    flags = program.blocks.flags
    wordless = program.blocks.first_word[1:] == program.blocks.first_word[:-1]
    silent = wordless & ((flags & MORE_THAN_WORDS) == 0)
    result: dict[int, tuple[int, ...]] = {}
    for stop in stops:
        first = stop
        while first > 0 and silent[first - 1]:
            first -= 1
        spoken = [at for at in range(first, stop + 1) if flags[at] & BlockFlag.COMMENT]
        result[stop] = tuple(spoken)
    return result


def texts_of(program: Program, block: int) -> list[str]:
    """Return the comments of a block without their brackets, gpre's own mark left out."""
    result = []
    for start, end in comments(program, block):
        text = program.source.data[start:end].decode(program.source.encoding, "replace")
        text = text[1:].strip() if text.startswith(";") else text[1:].removesuffix(")").strip()
        if text and not text.lower().startswith(HEAD):
            result.append(text)
    return result


def messages(program: Program, block: int) -> list[str]:
    """Return the text of every `(MSG, ...)` of a block.

    Only the last comment of a block counts by the standard (NISTIR 6556, 3.3.5), but not every
    controller keeps to that.
    """
    data, encoding = program.source.data, program.source.encoding
    found = (message_of(data[start:end], encoding) for start, end in comments(program, block))
    return [text for text in found if text]


def plain(texts: Iterable[str]) -> str:
    """Return texts as they are compared: without blanks, in one case, in one piece."""
    return "".join("".join(texts).split()).casefold()


def shown(texts: Iterable[str]) -> str:
    """Return texts as people read them, cut where they are long."""
    text = " ".join(" ".join(texts).split())
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
