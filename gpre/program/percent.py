"""Which blocks lie outside the program: before the % that opens it, behind the one that ends it.

The standard (NISTIR 6556, 3.1) knows a % on the first line, and then needs one on the last;
what stands behind the second is ignored. Programs in use differ, so:

- Words before the first %, and M2, M30 or M99 among them or no words behind it: this % ends the
  program.
- Words before the first %, no such end among them, and more words behind it: where a line of plain
  text comes before them all, no controller can read that part, so it is a leader and lies outside.
  Without such a line the words are taken as part of the program, with a warning.
- No words before it: it opens the program, and what stands before it is a leader.
- A second % with no words since the first still opens it, unless nothing follows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.program import Program
from gpre.program.words import BlockFlag

_ENDS = (2.0, 30.0, 99.0)
_OUTSIDE = np.uint16(BlockFlag.OUTSIDE)


def mark_outside(program: Program) -> list[Diagnostic]:
    """Set OUTSIDE in the flags of the program's blocks; say where that is not plain."""
    marks = np.flatnonzero(program.blocks.flags & np.uint16(BlockFlag.PERCENT)).tolist()
    return _Marks(program, marks).find() if marks else []


class _Marks:
    """The blocks with a %, and which of the others hold something that would be executed."""

    def __init__(self, program: Program, marks: list[int]) -> None:
        self.program = program
        self.marks = marks
        self.flags = program.blocks.flags
        counts = np.diff(program.blocks.first_word)
        self.numbered = (self.flags & np.uint16(BlockFlag.PROGRAM_NUMBER)) != 0
        self.active: NDArray[np.bool_] = counts > self.numbered
        self.active |= (self.flags & np.uint16(BlockFlag.STATEMENT)) != 0
        self.strange = (self.flags & np.uint16(BlockFlag.UNREADABLE)) != 0
        self.findings: list[Diagnostic] = []

    def say(self, code: str, message: str, block: int, help: str = "") -> None:  # noqa: A002
        """Add a finding at a block."""
        source = self.program.source
        span = Span(int(source.starts[block]), int(source.ends[block]))
        self.findings.append(Diagnostic(code, message, span, help=help))

    def leads(self, mark: int) -> bool:
        """Return whether the % stands before the words of its own block."""
        return self.program.source.block_bytes(mark).lstrip(b" \t").startswith(b"%")

    def border(self, mark: int) -> int:
        """Return the first block behind a %: its own one if the % leads it."""
        return mark if self.leads(mark) else mark + 1

    def find(self) -> list[Diagnostic]:
        """Go from mark to mark."""
        first = self.marks[0]
        border = self.border(first)
        before = bool(self.active[:border].any())
        behind = bool(self.active[border:].any())
        if before and (not behind or self.ends(border)):
            self.close(first)
            return self.findings
        if before and not self.titled(border):
            self.say(
                "REA246",
                "words before the first %: read as part of the program",
                int(np.flatnonzero(self.active)[0]),
                "a controller that waits for the % skips them: put them behind it",
            )
        else:
            self.leader(border)
        opened = first
        for mark in self.marks[1:]:
            border = self.border(mark)
            if self.active[self.border(opened) : border].any() or not self.active[border:].any():
                self.close(mark)
                return self.findings
            self.say(
                "REA247",
                "a second % before any word; read as one with the first",
                mark,
                "a controller that keeps to the standard ends the program here: take one out",
            )
            opened = mark
        self.say(
            "REA249", "the % that opens the program has none to end it", first, "add a last line %"
        )
        return self.findings

    def titled(self, border: int) -> bool:
        """Return whether plain text comes before all words up to a block."""
        strange = np.flatnonzero(self.strange[:border])
        return bool(len(strange)) and not self.active[: int(strange[0])].any()

    def ends(self, border: int) -> bool:
        """Return whether M2, M30 or M99 stands before a block."""
        words = self.program.words
        last = int(self.program.blocks.first_word[border])
        values = words.value[:last]
        found = (words.letter[:last] == ord("M")) & np.isin(values, _ENDS)
        return bool(found.any())

    def leader(self, border: int) -> None:
        """Leave out what stands before the % that opens the program."""
        said = np.flatnonzero((self.active | self.strange | self.numbered)[:border])
        if len(said):
            self.say(
                "REA245", "text before the first %: a leader, taken as not executed", int(said[0])
            )
        self.flags[:border] |= _OUTSIDE

    def close(self, mark: int) -> None:
        """Leave out what stands behind the % that ends the program."""
        border = self.border(mark)
        behind = np.flatnonzero(self.active[border:] | self.strange[border:])
        if len(behind):
            self.say(
                "REA248",
                "blocks behind the % that ends the program are not executed",
                border + int(behind[0]),
                "cut them out, or make two files of the two programs",
            )
        alone = self.leads(mark) and not self.active[mark] and not self.strange[mark]
        self.flags[mark + 1 if alone else border :] |= _OUTSIDE
