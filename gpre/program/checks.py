"""Checks that look at a whole text or at all the words of a block."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag, Statement
from gpre.source.text import BYTE_ORDER_MARK

LINE_LIMIT = 256  # characters of a line, NISTIR 6556, 3.3
M_LIMIT = 4  # M words of a block, NISTIR 6556, 3.3.5

CALLS = frozenset({("G", 65.0), ("G", 66.0), ("G", 66.1), ("G", 67.0), ("M", 97.0)})

_FLOW = np.uint16(BlockFlag.FLOW)
_UNREADABLE = np.uint16(BlockFlag.UNREADABLE)
_OUTSIDE = np.uint16(BlockFlag.OUTSIDE)


def _ranks(order: bytes, many: bytes) -> tuple[bytes, bytes]:
    """Give two tables of ranks by letter, for the left and the right one of two neighbours.

    Where the right rank is not above the left one a letter may come twice in the block; those of
    `many` may follow themselves.
    """
    left, right = bytearray(256), bytearray(256)
    for place, letter in enumerate(order):
        left[letter] = right[letter] = 2 * place + 1
        if letter in many:
            right[letter] += 1
    return bytes(left), bytes(right)


_LEFT, _RIGHT = _ranks(b"OGXYZUVWABCIJKRPQLDHEFSTM", b"GM")
_BIT = np.array(
    [1 << code - 65 if 65 <= code <= 90 and code not in b"GM" else 0 for code in range(256)],
    np.int64,
)


def check_text(program: Program) -> list[Diagnostic]:
    """Look at the text as bytes: NUL bytes, long lines, a byte order mark, nothing at all."""
    source, findings = program.source, []
    if not len(source):
        findings.append(Diagnostic("SRC104", "the text is empty"))
    if source.data.startswith(BYTE_ORDER_MARK):
        span = Span(0, len(BYTE_ORDER_MARK))
        findings.append(
            Diagnostic(
                "SRC105",
                "a byte order mark before the first block",
                span,
                help="a controller may not know it: save as UTF-8 without it, or as ASCII",
            )
        )
    nul = source.data.find(b"\0")
    if nul >= 0:
        findings.append(
            Diagnostic(
                "SRC101",
                f"{source.data.count(0)} NUL bytes: this may be no text at all",
                Span(nul, nul + 1),
                help="is this a part program, and in one byte a character?",
            )
        )
    lengths = source.ends - source.starts
    if len(lengths) and int(lengths.max()) > LINE_LIMIT:
        long = np.flatnonzero(lengths > LINE_LIMIT)
        start = int(source.starts[long[0]])
        findings.append(
            Diagnostic(
                "SRC102",
                f"{len(long)} lines of more than {LINE_LIMIT} characters, here the first",
                Span(start + LINE_LIMIT, int(source.ends[long[0]])),
                help="a controller may cut them off: make them shorter",
            )
        )
    return findings


def check_words(program: Program) -> list[Diagnostic]:
    """Look for letters that come twice, too many M words, and calls of macros."""
    flags = program.blocks.flags
    calls = _calls(program)
    flags[calls] |= _FLOW
    findings = [_call(program, block) for block in calls]
    for block in _doubles(program):
        flags[block] |= _UNREADABLE
        findings.append(_double(program, block))
    findings += [_many(program, block) for block in _many_ms(program)]
    return findings


def runs(program: Program, block: int) -> bool:
    """Tell whether a block lies inside the program."""
    return not program.blocks.flags[block] & _OUTSIDE


def code_rows(program: Program, letter: str) -> NDArray[np.int64]:
    """Give the rows of the words of a letter in the columns."""
    return np.flatnonzero(program.words.letter == ord(letter))


def _calls(program: Program) -> list[int]:
    found: set[int] = set()
    for letter in "GM":
        rows = code_rows(program, letter)
        values = program.words.value[rows]
        high = values >= 65
        rows, values = rows[high], values[high]
        wanted = [value for name, value in CALLS if name == letter]
        found.update(program.words.block[rows[np.isin(values, wanted)]].tolist())
    statements = program.statements
    for block, statement in statements.items():
        if any(_code(word.letter, word.value) in CALLS for word in statement.words):
            found.add(block)
            if not statement.flow and isinstance(statements, dict):
                statements[block] = replace(statement, flow="CALL")
    return sorted(block for block in found if runs(program, block))


def _code(letter: str, value: object) -> tuple[str, float] | None:
    return (letter, value.value) if isinstance(value, Number) else None


def _call(program: Program, block: int) -> Diagnostic:
    for word in block_words(program, block):
        if _code(word.letter, word.value) in CALLS:
            break
    return Diagnostic(
        "REA222",
        "a macro is called: what it does is not known here",
        word.span,
        help="the block is left alone, and so is what depends on it",
    )


def _doubles(program: Program) -> list[int]:
    """Give the blocks in which a letter other than G and M comes twice."""
    blocks = program.blocks
    octets = program.words.letter.tobytes()
    left = np.frombuffer(octets.translate(_LEFT), np.uint8)
    right = np.frombuffer(octets.translate(_RIGHT), np.uint8)
    falls = right[1:] <= left[:-1]
    borders = blocks.first_word[1:-1]
    borders = borders[(borders > 0) & (borders < len(right))]
    falls[borders - 1] = False
    found: list[int] = []
    if falls.any():
        candidates = np.unique(program.words.block[np.flatnonzero(falls)])
        first, last = blocks.first_word[candidates], blocks.first_word[candidates + 1]
        rows = np.repeat(first - np.cumsum(last - first) + (last - first), last - first)
        rows += np.arange(len(rows))
        bits = _BIT[program.words.letter[rows]]
        bounds = np.cumsum(last - first) - (last - first)
        double = np.add.reduceat(bits, bounds) != np.bitwise_or.reduceat(bits, bounds)
        found = candidates[double].tolist()
    for block, statement in program.statements.items():
        if _repeated(statement):
            found.append(block)
    skipped = int(BlockFlag.FLOW | BlockFlag.OUTSIDE)
    return sorted(block for block in found if not int(blocks.flags[block]) & skipped)


def _repeated(statement: Statement) -> bool:
    letters = [word.letter for word in statement.words if word.letter not in "GM"]
    return len(set(letters)) < len(letters)


def _double(program: Program, block: int) -> Diagnostic:
    seen: set[str] = set()
    for word in block_words(program, block):
        if word.letter in seen and word.letter not in "GM":
            break
        seen.add(word.letter)
    return Diagnostic(
        "REA212",
        f"the letter {word.letter} comes twice in one block",
        word.span,
        help="keep the one that is meant; only G and M may come more than once",
    )


def _many_ms(program: Program) -> list[int]:
    found = program.words.block[code_rows(program, "M")]
    many = set(found[M_LIMIT:][found[M_LIMIT:] == found[:-M_LIMIT]].tolist())
    for block, statement in program.statements.items():
        if Counter(word.letter for word in statement.words)["M"] > M_LIMIT:
            many.add(block)
    return sorted(block for block in many if runs(program, block))


def _many(program: Program, block: int) -> Diagnostic:
    words = [word for word in block_words(program, block) if word.letter == "M"]
    return Diagnostic(
        "REA213",
        f"{len(words)} M words in one block, the standard allows {M_LIMIT}",
        words[M_LIMIT].span,
        help="spread them over two blocks",
    )
