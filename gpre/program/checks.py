"""Checks that look at a whole text or at all the words of a block."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.codes import Codes
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.repeats import M_LIMIT, OFTEN
from gpre.program.words import BlockFlag
from gpre.source.text import BYTE_ORDER_MARK

LINE_LIMIT = 256  # characters of a line, NISTIR 6556, 3.3
SAMPLE, LEAST_SAMPLE = 1 << 16, 1 << 10  # bytes; fewer than the least tell nothing
CONTROL_SHARE = 50  # one control character in so many: a picture, or text of two bytes a character

CALLS = {"G": (65.0, 66.0, 66.1, 67.0), "M": (97.0,)}  # codes that call what stands elsewhere

_CONTROLS = bytes(code for code in range(32) if code not in b"\t\n\r")
_FLOW = np.uint16(BlockFlag.FLOW)
_UNREADABLE = np.uint16(BlockFlag.UNREADABLE)
_OUTSIDE = np.uint16(BlockFlag.OUTSIDE)
_SKIPPED = np.uint16(BlockFlag.FLOW | BlockFlag.OUTSIDE)


def is_text(data: bytes) -> bool:
    """Tell from the start of the data whether they can be a program at all."""
    sample = data[:SAMPLE]
    strange = len(sample) - len(sample.translate(None, _CONTROLS))
    return len(sample) < LEAST_SAMPLE or strange * CONTROL_SHARE <= len(sample)


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
    return findings + _long_lines(program)


def _long_lines(program: Program) -> list[Diagnostic]:
    """Name every line of the program that is longer than the standard allows."""
    source = program.source
    lengths = source.ends - source.starts
    long = np.flatnonzero((lengths > LINE_LIMIT) & ((program.blocks.flags & _OUTSIDE) == 0))
    return [
        Diagnostic(
            "SRC102",
            f"the line has {length} characters, the standard allows {LINE_LIMIT}",
            Span(start + LINE_LIMIT, start + length),
            help="a controller may cut it off: make it shorter",
        )
        for start, length in zip(source.starts[long].tolist(), lengths[long].tolist(), strict=True)
    ]


def check_words(
    program: Program, codes: Codes, doubled: list[int], crowded: list[int]
) -> list[Diagnostic]:
    """Look for calls of macros, letters that come twice, and too many M words.

    doubled, crowded: plain blocks in which they do; those of statements are found here.
    """
    flags = program.blocks.flags
    findings: list[Diagnostic] = []
    for block in sorted(_calls(program, codes)):
        flags[block] |= _FLOW
        findings.append(_call(program, block))
    doubled = doubled.copy()
    crowded = crowded.copy()
    for block, statement in program.statements.items():
        if len(statement.words) < 2:
            continue
        letters = [word.letter for word in statement.words]
        if letters.count("M") > M_LIMIT:
            crowded.append(block)
        once = [letter for letter in letters if letter not in OFTEN]
        if len(set(once)) < len(once):
            doubled.append(block)
    for block in sorted(doubled):
        if not flags[block] & _SKIPPED:  # arguments of a macro may repeat a letter
            flags[block] |= _UNREADABLE
            findings.append(_double(program, block))
    findings += [_many(program, block) for block in sorted(crowded) if runs(program, block)]
    return findings


def runs(program: Program, block: int) -> bool:
    """Return whether a block lies inside the program."""
    return not program.blocks.flags[block] & _OUTSIDE


def _calls(program: Program, codes: Codes) -> set[int]:
    """Return the blocks that call a macro; say so in those that are statements."""
    found: set[int] = set()
    for letter, values in CALLS.items():
        found |= codes.blocks(letter, values)
    statements = program.statements
    for block in found:
        if block in statements and not statements[block].flow and isinstance(statements, dict):
            statements[block] = replace(statements[block], flow="CALL")
    return found


def _call(program: Program, block: int) -> Diagnostic:
    for word in block_words(program, block):
        value = word.value
        if isinstance(value, Number) and value.value in CALLS.get(word.letter, ()):
            break
    return Diagnostic(
        "REA222",
        "a macro is called: what it does is not known here",
        word.span,
        help="the block is left alone, and so is what depends on it",
    )


def _double(program: Program, block: int) -> Diagnostic:
    seen: set[str] = set()
    for word in block_words(program, block):
        if word.letter in seen and word.letter not in OFTEN:
            break
        seen.add(word.letter)
    return Diagnostic(
        "REA212",
        f"the letter {word.letter} comes twice in one block",
        word.span,
        help="keep the one that is meant; only G and M may come more than once",
    )


def _many(program: Program, block: int) -> Diagnostic:
    words = [word for word in block_words(program, block) if word.letter == "M"]
    return Diagnostic(
        "REA213",
        f"{len(words)} M words in one block, the standard allows {M_LIMIT}",
        words[M_LIMIT].span,
        help="spread them over two blocks",
    )
