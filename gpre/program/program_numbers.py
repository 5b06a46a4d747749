"""Program numbers where the run of a program comes past them.

A program number opens a program or a subprogram, so an end stands before it: M2, M30 or M99. One
that stands between other blocks names nothing.
"""

from __future__ import annotations

import numpy as np

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.program.expression import Number
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag

_ENDS = (2.0, 30.0, 99.0)
_SPOKEN = np.uint16(BlockFlag.STATEMENT | BlockFlag.UNREADABLE)
_DELETE = int(BlockFlag.DELETE)


def misplaced_numbers(program: Program) -> list[Diagnostic]:
    """Name each program number that stands in the middle of a program."""
    flags = program.blocks.flags
    inside = (flags & np.uint16(BlockFlag.OUTSIDE)) == 0
    titled = inside & ((flags & np.uint16(BlockFlag.PROGRAM_NUMBER)) != 0)
    titles = np.flatnonzero(titled)
    if not len(titles):
        return []
    spoken = np.diff(program.blocks.first_word) > titled
    spoken |= (flags & _SPOKEN) != 0
    rows = np.flatnonzero(spoken & inside)
    found = []
    for title, past in zip(titles.tolist(), np.searchsorted(rows, titles).tolist(), strict=True):
        if past and not _ends(program, int(rows[past - 1])):
            found.append(_misplaced(program, title))
    return found


def _ends(program: Program, block: int) -> bool:
    """Return whether a program or a subprogram surely ends with a block."""
    if int(program.blocks.flags[block]) & _DELETE:
        return False  # a switch on the controller skips it
    return any(
        word.letter == "M" and isinstance(word.value, Number) and word.value.value in _ENDS
        for word in block_words(program, block)
    )


def _misplaced(program: Program, block: int) -> Diagnostic:
    words = block_words(program, block)
    source = program.source
    whole = Span(int(source.starts[block]), int(source.ends[block]))
    return Diagnostic(
        "REA257",
        "a program number in the middle of a program; read as a name that does nothing",
        words[0].span if words else whole,
        help="take it out, or end what stands before it with M30 or M99",
    )
