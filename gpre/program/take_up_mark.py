"""The mark of a program that carries its own take-up: a comment in its head.

`(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)`: the backlash of
each axis is in the coordinates. Whoever reads the program again, with whatever profile, must not
take the backlash up a second time. The mark is found by its first words alone, in capitals or not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from gpre.program.comments import comments
from gpre.program.program import Program
from gpre.program.words import BlockFlag

HEAD = "gpre take-up:"
TWIST = "and twist"
_MARK = re.compile(rb"[(;]\s*gpre\s+take-up\s*:\s*(.*?)\)?\s*", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class TakeUpMark:
    """block: where the mark stands. text: what it says behind its first words."""

    block: int
    text: str

    @property
    def has_twist(self) -> bool:
        """True where the twist of the table is in the coordinates as well."""
        return TWIST in " ".join(self.text.lower().split())


def backlash_text(backlash: float | tuple[tuple[float, float], ...]) -> str:
    """Return the backlash of an axis as a mark has it, mm: a number, or a table's ends.

    backlash: mm, or a table of (position, mm).
    """
    if isinstance(backlash, tuple):
        values = [value for _, value in backlash]
        return f"{min(values):.3f}..{max(values):.3f}"
    return f"{backlash:.4f}".removesuffix("0")


def mark_text(backlash: tuple[str, str, str], *, twist: bool) -> str:
    """Return the words of a mark; `backlash` is what is in the coordinates of X, Y and Z, mm."""
    axes = " ".join(f"{name}{value}" for name, value in zip("XYZ", backlash, strict=True))
    more = f" {TWIST}" if twist else ""
    return f"{HEAD} {axes} mm{more} in the program, controller compensation OFF"


def find_mark(program: Program) -> TakeUpMark | None:
    """Find the mark of a program, or None."""
    if HEAD[-8:].encode() not in program.text.lower():  # most programs have none
        return None
    flags = program.blocks.flags
    outside = int(BlockFlag.OUTSIDE)
    for block in np.flatnonzero(flags & BlockFlag.COMMENT).tolist():
        if int(flags[block]) & outside:
            continue
        for span in comments(program, block):
            found = _MARK.fullmatch(program.text[span.start : span.end])
            if found:
                text = found.group(1).decode(program.source.encoding, "replace")
                return TakeUpMark(block, text.strip())
    return None
