"""Reads a text into a Program, without loss.

Plain blocks are read in bulk. What the bulk scanner declines goes to the one-line scanner, and
from there to the grammar if it holds parameters, expressions or flow words. Then come the checks
that look at whole blocks or at the whole program.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

import numpy as np

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.bulk import CHUNK, scan_bulk
from gpre.program.checks import check_text, check_words, is_text
from gpre.program.codes import find_codes
from gpre.program.columns import Bulk, Columns
from gpre.program.lathe import mark_lathe
from gpre.program.line import scan_line
from gpre.program.percent import mark_outside
from gpre.program.program import Program
from gpre.program.program_numbers import misplaced_numbers
from gpre.program.words import BlockFlag, Blocks, Offsets, Statement, Words
from gpre.source.text import SourceText

_WORDLESS = np.uint16(
    BlockFlag.COMMENT | BlockFlag.PERCENT | BlockFlag.STATEMENT | BlockFlag.UNREADABLE
)


def read(
    data: bytes | SourceText,
    name: str = "-",
    *,
    chunk: int = CHUNK,
    decline: Callable[[int], bool] | None = None,
) -> Program:
    """Read a program; any bytes will do, and what is wrong with them stands in its findings.

    name: what diagnostics call the file. chunk: bytes that the bulk scanner takes at once.
    decline: tells of a block, by its index, whether to leave it to the one-line scanner though it
    may be plain. Neither changes what is read.
    """
    source = data if isinstance(data, SourceText) else SourceText.of(data, name)
    if not is_text(source.data):
        return _unread(source)
    bulk = scan_bulk(source, chunk, decline)
    statements: dict[int, Statement] = {}
    findings: list[Diagnostic] = []
    words = _odd_lines(source, bulk, statements, findings)
    empty = bulk.counts == 0  # before they are summed up
    empty &= (bulk.flags & _WORDLESS) == 0
    bulk.flags[empty] |= np.uint16(BlockFlag.BLANK)
    program = Program(source, words, bulk.blocks(), statements)
    marks = mark_outside(program)
    findings = _inside(program, findings)
    findings += marks
    findings += check_text(program)
    findings += misplaced_numbers(program)
    findings += _long_numbers(source, bulk.long_numbers)
    codes = find_codes(program, bulk.codes)
    findings += check_words(program, codes, bulk.doubled, bulk.crowded)
    findings += mark_lathe(program, codes)
    findings.sort(key=_place)
    return Program(source, words, program.blocks, statements, tuple(findings))


def _unread(source: SourceText) -> Program:
    """Make a program of what is none: every block is flagged, none is looked at."""
    count = len(source)
    blocks = Blocks(
        np.zeros(count + 1, np.int64),
        np.full(count, BlockFlag.UNREADABLE, np.uint16),
        np.full(count, -1, np.int64),
    )
    words = Columns(0).words()
    finding = Diagnostic(
        "SRC106",
        "this is no text: one byte in fifty or more is a control character",
        Span(0, 1),
        help="is this a part program, and in one byte a character?",
    )
    return Program(source, words, blocks, {}, (finding,))


def _inside(program: Program, findings: list[Diagnostic]) -> list[Diagnostic]:
    """Return the findings about blocks that lie inside the program."""
    places = np.array([each.span.start if each.span else 0 for each in findings], np.int64)
    blocks = np.searchsorted(program.source.starts, places, side="right") - 1
    outside = program.blocks.flags[np.maximum(blocks, 0)] & np.uint16(BlockFlag.OUTSIDE)
    return [each for each, out in zip(findings, outside.tolist(), strict=True) if not out]


def _place(finding: Diagnostic) -> tuple[int, str]:
    return (finding.span.start if finding.span else -1, finding.code)


def _long_numbers(source: SourceText, blocks: list[int]) -> list[Diagnostic]:
    """Name the first block number of more than five digits, and count them."""
    if not blocks:
        return []
    first = min(blocks)
    line = scan_line(source.data, int(source.starts[first]), int(source.ends[first]))
    return [
        Diagnostic(
            "REA211",
            f"{len(blocks)} block numbers of more than five digits, here the first",
            line.long_number,
            help="a controller may refuse them: number anew, or leave the numbers out",
        )
    ]


def _odd_lines(
    source: SourceText,
    bulk: Bulk,
    statements: dict[int, Statement],
    findings: list[Diagnostic],
) -> Words:
    """Read the blocks that the bulk scanner declined; give the words of all blocks together."""
    rows: list[tuple[int, float, int, int]] = []
    blocks: list[int] = []
    counts: list[int] = []
    flags: list[int] = []
    declined = np.array(bulk.declined, np.intp)
    starts, ends = source.starts[declined].tolist(), source.ends[declined].tolist()
    for block, start, end in zip(bulk.declined, starts, ends, strict=True):
        line = scan_line(source.data, start, end)
        rows += line.words
        blocks += [block] * len(line.words)
        flags.append(line.flags)
        counts.append(len(line.words))
        if line.number >= 0 or bulk.number is not None:
            bulk.name(block, line.number)
        findings += line.findings
        if line.long_number:
            bulk.long_numbers.append(block)
        if line.statement is not None:
            statements[block] = line.statement
    bulk.flags[declined] = np.array(flags, np.uint16)
    bulk.counts[declined] = counts
    return _merge(bulk, rows, blocks) if rows else bulk.columns.words()


def _merge(bulk: Bulk, rows: list[tuple[int, float, int, int]], blocks: list[int]) -> Words:
    """Put the words of odd blocks between those of the others."""
    words = bulk.columns.words()
    letter, value, start, end = (np.array(column) for column in zip(*rows, strict=True))
    block = np.array(blocks, np.int32)
    bulk.look_at(letter.astype(np.uint8), value.astype(np.float64), block)
    at = np.searchsorted(words.block, block)
    return Words(
        np.insert(words.letter, at, letter),
        np.insert(words.value, at, value),
        cast("Offsets", np.insert(words.start, at, start)),
        cast("Offsets", np.insert(words.end, at, end)),
        np.insert(words.block, at, block),
    )
