"""The one-line scanner: reads any block, however odd; the bulk scanner leaves those to it.

What it knows of a line it says in flags, words and findings; a line that it cannot read is
flagged, named and kept.
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import isfinite

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.heads import (
    block_delete,
    block_mark,
    block_number,
    comment_fault,
    percent,
    slashes,
)
from gpre.program.line_state import WORD, Line, LineState
from gpre.program.statement import looks_like_flow, read_statement
from gpre.program.word_faults import name_fault
from gpre.program.words import BlockFlag, Statement

LONGEST = 65_536  # bytes; a longer line is no block of any program
SHORT = 24  # bytes; lines up to it come again and again, longer ones hardly ever do
KEPT = 2048  # short lines

# Words alone, blanks between them and behind letters, neither N nor O: the commonest odd line.
_SIMPLE = re.compile(rb"(?:[ \t]*+[A-MP-Za-mp-z][ \t]*+[+-]?(?:\d++\.?\d*+|\.\d++))++[ \t]*+")
_SIMPLE_WORD = re.compile(rb"([A-Za-z])[ \t]*+([+-]?[\d.]++)")
_PROGRAM = re.compile(rb"[ \t\x01]*[oO][ \t\x01]*(\d[\d \t]*+)(?!\.)")
_SPLIT = re.compile(rb"[-+\d.][ \t]")


def scan_line(data: bytes, start: int, end: int) -> Line:
    """Read the block `data[start:end]`, given without its line end."""
    if end - start > LONGEST:
        line = Line(BlockFlag.UNREADABLE)
        line.findings.append(
            Diagnostic(
                "SRC103",
                f"the line is {end - start} bytes long, {LONGEST} at most are read",
                Span(start, start + 1),
                help="is this a part program? If so, its line ends are lost",
            )
        )
        return line
    raw = data[start:end]
    if end - start <= SHORT:
        return _short_line(raw).moved(start)
    return _read_line(raw, start)


@lru_cache(KEPT)
def _short_line(raw: bytes) -> Line:
    """Read a line as if it stood at the start of the source."""
    return _read_line(raw, 0)


def _read_line(raw: bytes, base: int) -> Line:
    if _SIMPLE.fullmatch(raw) and (simple := _simple(raw, base)):
        return simple
    state = LineState(raw, base)
    _scan(state)
    return state.line


def _simple(raw: bytes, base: int) -> Line | None:
    """Read a line of words alone; None where a number is out of range."""
    line = Line()
    for found in _SIMPLE_WORD.finditer(raw):
        letter, number = found.groups()
        value = float(number.translate(None, b" \t"))
        if not isfinite(value):
            return None
        line.words.append((letter[0] & 0xDF, value, base + found.start(), base + found.end()))
    return line


def _scan(state: LineState) -> None:
    """Read the line."""
    if state.comments.spans:
        state.line.flags |= BlockFlag.COMMENT
    if state.comments.fault and not comment_fault(state):
        return
    first = state.skip(0)
    if first == len(state.text):
        return
    last = len(state.text)
    if b"%" in state.text:
        first, last = percent(state, first)
        if first >= last:
            return
    if state.text[first] == ord("/"):
        first = block_delete(state, first, last)
    if first < last:
        _block(state, first, last)


def _block(state: LineState, first: int, last: int) -> None:
    """Read what stands behind block delete and %."""
    at = block_mark(state, first, last) if state.text[first] == ord(":") else first
    if at < 0:
        return
    at = block_number(state, at, last)
    if 0 <= at < last and state.text[at] == ord("/") and at > first:
        state.say(
            "REA256",
            "a block delete behind the block number; read as one before it",
            at,
            at + 1,
            "put the / first on the line, as the standard wants it",
        )
        at = block_delete(state, at, last)
    if at < 0 or at >= last:
        return
    program = state.text[at] in b"oO" and _PROGRAM.match(state.text, at, last)
    if b"#" in state.text or b"[" in state.text or b"<" in state.text:
        _statement(state, at, last)
        return
    fault = _words(state, at, last)
    if fault < 0:
        if program:
            state.line.flags |= BlockFlag.PROGRAM_NUMBER
        return
    if looks_like_flow(state.text[at:last]):
        state.line.words.clear()
        _statement(state, at, last)
        return
    if state.text.startswith(b"//", fault):
        slashes(state, fault, fault + 1, last)
        return
    del state.line.words[1 if program and state.line.words else 0 :]
    if program:
        state.line.flags |= BlockFlag.PROGRAM_NUMBER
    name_fault(state, fault, last)


def _words(state: LineState, first: int, last: int) -> int:
    """Read words with plain numbers; give the place of the first fault, or -1."""
    text, base, at = state.text, state.base, first
    while found := WORD.match(text, at, last):
        letter = found.group(1)[0] & 0xDF
        number = found.group(2).rstrip()
        end = found.start(2) + len(number)
        if b" " in number or b"\t" in number:
            if _SPLIT.search(number):
                _split_number(state, letter, found.start(2), found.start(2) + len(number))
            number = number.replace(b" ", b"").replace(b"\t", b"")
        value = float(number)
        if not isfinite(value):
            return found.start(1)
        state.line.words.append((letter, value, base + found.start(1), base + end))
        at = found.end()
        if letter == ord("N"):
            return found.start(1)
    rest = state.skip(at)
    return rest if rest < last else -1


def _split_number(state: LineState, letter: int, first: int, end: int) -> None:
    """Say that a number has blanks within: legal, but a letter may be missing."""
    state.say(
        "REA236",
        f"blanks within the number behind {chr(letter)}; read as one number",
        first,
        end,
        "write it without blanks; or is a letter missing?",
    )


def _statement(state: LineState, first: int, last: int) -> None:
    """Hand the rest of the line to the grammar."""
    reading = read_statement(state.text, first, last, state.base)
    line = state.line
    line.findings += reading.findings
    if reading.flow:
        state.say(
            "REA221",
            f"{reading.flow} steers the run of the program: it is not followed",
            first,
            last,
            "the block is left alone, and so is what depends on it",
        )
    if reading.program_number:
        line.flags |= BlockFlag.PROGRAM_NUMBER
    if reading.flow:
        line.flags |= BlockFlag.FLOW
    if reading.statement is None:
        line.flags |= BlockFlag.UNREADABLE
        if reading.flow:
            line.flags |= BlockFlag.STATEMENT
            line.statement = Statement(flow=reading.flow)
        return
    line.flags |= BlockFlag.STATEMENT
    line.statement = reading.statement
