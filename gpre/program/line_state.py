"""One line on its way through the one-line scanner, and what comes of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.comments import find_comments
from gpre.program.moved import moved_span, moved_statement
from gpre.program.words import BlockFlag, Statement

WORD = re.compile(
    rb"[ \t\x01]*([A-Za-z])[ \t\x01]*"
    rb"((?:[+-][ \t]*)?(?:\d[\d \t]*(?:\.[\d \t]*)?|\.[ \t]*\d[\d \t]*))"
)
_BLANKS = re.compile(rb"[ \t\x01]*")


@dataclass(slots=True)
class Line:
    """What the scanner made of one line.

    flags: of BlockFlag. number: the N word's value, -1 where there is none. long_number: where an N
    word of more than five digits stands. words: (letter, value, start, end) of a plain block.
    """

    flags: int = 0
    number: int = -1
    long_number: Span | None = None
    words: list[tuple[int, float, int, int]] = field(default_factory=list)
    statement: Statement | None = None
    findings: list[Diagnostic] = field(default_factory=list)

    def moved(self, by: int) -> Line:
        """Return what the same line is where it stands so many bytes further on."""
        return Line(
            int(self.flags),
            self.number,
            self.long_number and moved_span(self.long_number, by),
            [(letter, value, start + by, end + by) for letter, value, start, end in self.words],
            self.statement and moved_statement(self.statement, by),
            [
                Diagnostic(
                    each.code,
                    each.message,
                    each.span and moved_span(each.span, by),
                    each.label,
                    each.help,
                )
                for each in self.findings
            ],
        )


class LineState:
    """A line: `text` has its comments blanked, `base` is its offset in the source."""

    def __init__(self, raw: bytes, base: int) -> None:
        self.base = base
        self.line = Line()
        self.comments = find_comments(raw)
        self.text = self.comments.blanked(raw)

    def skip(self, at: int) -> int:
        """Return the place of the first byte from `at` on that is neither blank nor comment."""
        found = _BLANKS.match(self.text, at)
        return found.end() if found else at

    def say(self, code: str, message: str, at: int, end: int, help: str = "") -> None:  # noqa: A002
        """Add a finding at bytes of the line."""
        span = Span(self.base + at, self.base + max(end, at))
        self.line.findings.append(Diagnostic(code, message, span, help=help))

    def refuse(self, code: str, message: str, at: int, end: int, help: str = "") -> None:  # noqa: A002
        """Add a finding, and flag the block as not understood."""
        self.say(code, message, at, end, help)
        self.line.flags |= BlockFlag.UNREADABLE

    def readable(self, first: int, last: int) -> bool:
        """Return whether words with plain numbers fill the rest of the line."""
        at = first
        while found := WORD.match(self.text, at, last):
            at = found.end()
        return self.skip(at) >= last
