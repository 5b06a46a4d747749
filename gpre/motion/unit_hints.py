"""What in a program speaks for inch or for mm, where nothing states its units.

Habits of the trade, common practice, no source: a part in inches is cut at F0.5 to F60 and a part
in mm above F100; rapids clear it by Z0.1 to Z1, or by Z2 to Z25; inches are written with four
decimals and mm with three. None of them is sure, so nothing is ever decided by them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.motion.groups import UNITS
from gpre.motion.motion import Kind, Motion, Role
from gpre.program.comments import comments
from gpre.program.program import Program
from gpre.program.words import BlockFlag

INCH, MM = 20, 21
SHOWN = 3  # of each unit, the strongest first
_LOOKED_AT = 2000  # words and comments, from the first on
_SLOW, _QUICK = 60.0, 100.0  # F up to the one in inches, above the other in mm
_NEAR, _HIGH = 0.5, 2.0  # clearances: up to the one in inches, from the other on in mm
_SHALLOW, _DEEP = 1.0, 3.0  # greatest depths, likewise
_NARROW, _WIDE = 4.0, 40.0  # how far X and Y spread, likewise
_COORDINATES = np.frombuffer(b"XYZIJKR", np.uint8)
_COUNTS = {3: "three", 4: "four"}
_TOOL = re.compile(
    r"\b(?:T\d+|TOOL|DIA\w*|E\.?M|ENDMILL|MILL|DRILL|TAP|REAMER|CUTTER|BIT)\b", re.IGNORECASE
)
_FRACTION = re.compile(r"(?<![\d/.])(?:\d+[ -])?(\d{1,2})/(2|4|8|16|32|64)(?![\d/])")
_SAYS_MM = re.compile(r"\d\s?MM\b|\b(?:MM|MILLIMET(?:ER|RE)S?|METRIC)\b", re.IGNORECASE)
_SAYS_INCH = re.compile(r'\d\s?"|\d\s?IN\b|\bINCH(?:ES)?\b', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Hint:
    """One thing that speaks for a unit. units: 20 or 21. what: in words. block: where it stands."""

    units: int
    what: str
    block: int


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A hint, and how much it says compared with others."""

    weight: int
    hint: Hint


def unit_hints(program: Program, motion: Motion) -> tuple[Hint, ...]:
    """Find what speaks for inch and for mm, the strongest first, at most SHOWN of each.

    motion: that of the program, in whatever units were taken. The program needs its words.
    """
    found = sorted(_Looker(program, motion).all(), key=lambda each: -each.weight)
    return tuple(
        each.hint
        for units in (INCH, MM)
        for each in [one for one in found if one.hint.units == units][:SHOWN]
    )


@dataclass(frozen=True, eq=False)
class _Looker:
    program: Program
    motion: Motion

    def all(self) -> Iterator[_Weighed]:
        yield from self._stated_later()
        yield from self._comments()
        yield from self._feeds()
        yield from self._clearance()
        yield from self._depth()
        yield from self._decimals()
        yield from self._spread()

    def _rows(self, *letters: str) -> NDArray[np.intp]:
        """(k,): rows of the words with one of some letters, of blocks that run."""
        words, flags = self.program.words, self.program.blocks.flags
        wanted = np.isin(words.letter, [ord(letter) for letter in letters])
        return np.flatnonzero(wanted & ((flags[words.block] & int(BlockFlag.OUTSIDE)) == 0))

    def _stated_later(self) -> Iterator[_Weighed]:
        words = self.program.words
        for row in self._rows("G").tolist():
            units = UNITS.get(round(float(words.value[row]) * 10.0))
            if units is not None:
                what = f"G{words.value[row]:g} comes later"
                yield _Weighed(9, Hint(units, what, int(words.block[row])))
                return

    def _comments(self) -> Iterator[_Weighed]:
        """Look for a unit in words, and for fractions and mm beside the name of a tool."""
        program = self.program
        rows = np.flatnonzero(program.blocks.flags & int(BlockFlag.COMMENT))[:_LOOKED_AT]
        seen: set[int] = set()
        for block in rows.tolist():
            for span in comments(program, block):
                text = program.text[span.start : span.end].decode(
                    program.source.encoding, "replace"
                )
                for units, weight, said in _said(text):
                    if units not in seen:
                        seen.add(units)
                        yield _Weighed(weight, Hint(units, f"the comment {said}", block))

    def _feeds(self) -> Iterator[_Weighed]:
        words = self.program.words
        codes = words.value[self._rows("G")]
        rows = self._rows("F")
        rows = rows[words.value[rows] > 0.0]
        if not len(rows) or np.isin(codes, (93.0, 95.0)).any():
            return
        values = words.value[rows]
        low, high = float(values.min()), float(values.max())
        what = f"a feed of {low:g}" if low == high else f"feeds of {low:g} to {high:g}"
        if high <= _SLOW:
            yield _Weighed(4, Hint(INCH, what, int(words.block[rows[0]])))
        elif high > _QUICK:
            yield _Weighed(4, Hint(MM, what, int(words.block[rows[values.argmax()]])))

    def _clearance(self) -> Iterator[_Weighed]:
        """Look at how near rapids come to Z0, and at the R words of cycles."""
        words, motion = self.program.words, self.motion
        heights = self._raw(motion.end[:, 2])
        found: list[tuple[float, int, str]] = []
        # within a cycle the controller says how far it lifts between pecks
        stated = (motion.kind == Kind.RAPID) & (motion.role == Role.NONE)
        rapid = np.flatnonzero(stated & (heights > 0.0))
        if len(rapid):
            row = rapid[heights[rapid].argmin()]
            found.append((float(heights[row]), motion.block_of(row), "Z"))
        rows = self._rows("R") if self._has_cycles() else rapid[:0]
        rows = rows[words.value[rows] > 0.0]
        if len(rows):
            row = rows[words.value[rows].argmin()]
            found.append((float(words.value[row]), int(words.block[row]), "R"))
        if not found:
            return
        height, block, letter = min(found)
        what = f"clearance {letter}{round(height, 4):g}"
        if height <= _NEAR:
            yield _Weighed(3, Hint(INCH, what, block))
        elif height >= _HIGH:
            yield _Weighed(3, Hint(MM, what, block))

    def _has_cycles(self) -> bool:
        values = self.program.words.value[self._rows("G")]
        return bool(np.isin(values, (73, *range(81, 90))).any())

    def _depth(self) -> Iterator[_Weighed]:
        motion = self.motion
        heights = np.where(motion.at_feed, self._raw(motion.end[:, 2]), np.nan)
        if not (heights < 0.0).any():
            return
        row = int(np.nanargmin(heights))
        depth = -float(heights[row])
        what = f"depths down to Z{-round(depth, 4):g}"
        if depth <= _SHALLOW:
            yield _Weighed(1, Hint(INCH, what, motion.block_of(row)))
        elif depth >= _DEEP:
            yield _Weighed(2, Hint(MM, what, motion.block_of(row)))

    def _decimals(self) -> Iterator[_Weighed]:
        words, text = self.program.words, self.program.text
        rows = self._rows(*_COORDINATES.tobytes().decode())[:_LOOKED_AT]
        most, at = 0, 0
        for row in rows.tolist():
            _, _, behind = text[words.start[row] : words.end[row]].partition(b".")
            if len(behind.strip()) > most:
                most, at = len(behind.strip()), row
        if most in _COUNTS:
            units = INCH if most == 4 else MM
            yield _Weighed(2, Hint(units, f"{_COUNTS[most]} decimals", int(words.block[at])))

    def _spread(self) -> Iterator[_Weighed]:
        motion = self.motion
        rows = np.flatnonzero(motion.at_feed & np.isfinite(motion.end[:, :2]).all(axis=1))
        if not len(rows):
            return
        places = np.stack([self._raw(motion.end[:, axis])[rows] for axis in (0, 1)])
        wide = float(np.ptp(places, axis=1).max())
        axis = int(np.ptp(places, axis=1).argmax())
        block = int(motion.block[rows[places[axis].argmax()]])
        what = f"{'XY'[axis]} spreads over {round(wide, 3):g}"
        if wide >= _WIDE:
            yield _Weighed(2, Hint(MM, what, block))
        elif 0.0 < wide <= _NARROW:
            yield _Weighed(1, Hint(INCH, what, block))

    def _raw(self, lengths: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n,): lengths of moves as the program writes them."""
        motion = self.motion
        scale = np.array([state.scale for state in motion.states] or [1.0])
        result: NDArray[np.float64] = lengths / scale[motion.state]
        return result


def _said(text: str) -> Iterator[tuple[int, int, str]]:
    """Yield what a comment says of units: the units, how much that says, the words themselves."""
    shown = text.strip()
    shown = shown if len(shown) <= 32 else f"{shown[:29]}..."
    mm, inch = _SAYS_MM.search(text), _SAYS_INCH.search(text)
    if mm and not inch:
        yield MM, 5, shown
    elif inch and not mm:
        yield INCH, 5, shown
    elif not mm and _TOOL.search(text):
        fraction = _FRACTION.search(text)
        if fraction and int(fraction[1]) < int(fraction[2]) and int(fraction[1]) % 2:
            yield INCH, 5, shown
