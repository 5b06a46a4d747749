"""Comments of one block: where they stand, and which of them is a message (NISTIR 6556, 3.3.4)."""

from __future__ import annotations

import re
from dataclasses import dataclass

from gpre.diagnostics.diagnostic import Span
from gpre.program.program import Program

GAP = b"\x01"  # what a comment leaves behind: it parts two numbers, but nothing else

_OPENING = re.compile(rb"[(;]")
_BRACKET = re.compile(rb"[()]")
_MESSAGE = re.compile(rb"\(\s*m\s*s\s*g\s*,(.*)\)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Comments:
    """The comments of a line. Offsets count from the line's start.

    spans: each with its brackets or its semicolon. fault: "" or `open` (never closed), `nested`
    (brackets within, all of them closed) or `tangled` (brackets within, one of them not closed);
    fault_at: the bracket that is at fault.
    """

    spans: tuple[Span, ...] = ()
    fault: str = ""
    fault_at: int = 0

    def blanked(self, line: bytes) -> bytes:
        """Return the line with each byte of a comment replaced by GAP, found nowhere else."""
        if GAP in line:
            line = line.replace(GAP, b"\x02")
        if not self.spans:
            return line
        result = bytearray(line)
        for start, end in self.spans:
            result[start:end] = GAP * (end - start)
        return bytes(result)


def find_comments(line: bytes) -> Comments:
    """Find the comments of a line: `( ... )`, and `;` up to its end.

    A comment with brackets within reaches to the bracket that closes the first one. One that is
    never closed reaches to the end of the line.
    """
    spans: list[Span] = []
    fault, fault_at = "", 0
    at = 0
    while opening := _OPENING.search(line, at):
        start = opening.start()
        if line[start] == ord(";"):
            spans.append(Span(start, len(line)))
            break
        at, nested_at = _closing(line, start)
        if at < 0:
            at = len(line)
            tangled = b")" in line[start:]
            fault, fault_at = ("tangled", start) if tangled else ("open", start)
        elif nested_at and not fault:
            fault, fault_at = "nested", nested_at
        spans.append(Span(start, at))
    return Comments(tuple(spans), fault, fault_at)


def _closing(line: bytes, start: int) -> tuple[int, int]:
    """Return the offset past the bracket that closes `start`, or -1, and of a bracket within."""
    depth, nested_at = 0, 0
    for bracket in _BRACKET.finditer(line, start):
        if bracket.group() == b"(":
            depth += 1
            if depth == 2 and not nested_at:
                nested_at = bracket.start()
        else:
            depth -= 1
            if depth == 0:
                return bracket.end(), nested_at
    return -1, nested_at


def comments(program: Program, block: int) -> tuple[Span, ...]:
    """Return the comments of a block in order, each with its brackets or its semicolon."""
    base = int(program.source.starts[block])
    found = find_comments(program.source.block_bytes(block))
    return tuple(Span(base + start, base + end) for start, end in found.spans)


def message(program: Program, block: int) -> str:
    """Return the text of a block's `(MSG, ...)`, or "".

    Only the last comment of a block counts (NISTIR 6556, 3.3.5), so a message before another
    comment is none.
    """
    line = program.source.block_bytes(block)
    spans = find_comments(line).spans
    if not spans:
        return ""
    return message_of(line[spans[-1].start : spans[-1].end], program.source.encoding)


def message_of(comment: bytes, encoding: str) -> str:
    """Return what a comment, its brackets included, says as `(MSG, ...)`, or ""."""
    found = _MESSAGE.fullmatch(comment)
    return found.group(1).decode(encoding, "replace").strip() if found else ""
