"""The blocks of a program as the scalar interpreter asks for them: one number at a time."""

from __future__ import annotations

from typing import NamedTuple

from gpre.diagnostics.diagnostic import Span
from gpre.motion.content import Value
from gpre.program.comments import find_comments
from gpre.program.program import Program

_AXIS_LETTERS = {b"X": 0, b"Y": 1, b"Z": 2, b"A": 3, b"B": 4, b"C": 5, b"U": 0, b"V": 1, b"W": 2}


class OddText(NamedTuple):
    """What can be told of a block that is not understood. axes: those that its letters name.

    text: in capitals, without comments. parameter, code: a # stands in it, or a G.
    """

    text: str
    axes: frozenset[int]
    parameter: bool
    code: bool

    @classmethod
    def of(cls, line: bytes, encoding: str) -> OddText:
        """Look at the bytes of a block."""
        text = find_comments(line).blanked(line).replace(b"\x01", b" ").upper()
        return cls(
            text.decode(encoding, "replace").strip(),
            frozenset([axis for letter, axis in _AXIS_LETTERS.items() if letter in text]),
            b"#" in text,
            b"G" in text,
        )


class Lines:
    """Columns of a program behind views, which give plain numbers quicker than arrays do.

    flags, starts, ends: by block.
    """

    def __init__(self, program: Program) -> None:
        words = program.words
        self.data = program.source.data
        self.flags = program.blocks.flags.data
        self.starts = program.source.starts.data
        self.ends = program.source.ends.data
        self._first_word = program.blocks.first_word.data
        self._letter = words.letter.data
        self._value = words.value.data
        self._start = words.start.data
        self._end = words.end.data

    def text(self, index: int) -> bytes:
        """Return the bytes of a block without its line end."""
        return self.data[self.starts[index] : self.ends[index]]

    def span(self, index: int) -> Span:
        """Return the span of a block's text without blanks at its ends."""
        text, start = self.text(index), self.starts[index]
        return Span(start + len(text) - len(text.lstrip()), start + len(text.rstrip()))

    def wordless(self, index: int) -> bool:
        """Return whether a block has no words in the columns."""
        return bool(self._first_word[index] == self._first_word[index + 1])

    def values(self, index: int) -> list[Value]:
        """Return the words of a plain block, straight from the columns; spans from its start."""
        rows = slice(self._first_word[index], self._first_word[index + 1])
        base = self.starts[index]
        return [
            Value(chr(letter), value, Span(start - base, end - base))
            for letter, value, start, end in zip(
                self._letter[rows].tolist(),
                self._value[rows].tolist(),
                self._start[rows].tolist(),
                self._end[rows].tolist(),
                strict=True,
            )
        ]
