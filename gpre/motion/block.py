"""A block at work, with its values known."""

from __future__ import annotations

import math
from collections.abc import Iterable

from gpre.diagnostics.diagnostic import Span
from gpre.motion.content import NEAR_WHOLE, Content
from gpre.motion.lines import Lines


class BlockError(Exception):
    """A block cannot be run as it stands. One place adds the block and its span.

    letters: the words at fault; empty for the block as a whole.
    """

    def __init__(
        self, code: str, message: str, letters: Iterable[str] = (), *, advice: str = ""
    ) -> None:
        """Keep what a Diagnostic needs."""
        super().__init__(message)
        self.code = code
        self.message = message
        self.letters = tuple(letters)
        self.advice = advice


class Block:
    """A block at work: its content, and what becomes of it.

    base: the byte of the source from which the spans of the content count.
    """

    __slots__ = (
        "axes",
        "base",
        "broken",
        "content",
        "coolant",
        "g",
        "index",
        "lines",
        "m",
        "special",
        "used",
        "words",
    )

    def __init__(self, content: Content, lines: Lines, index: int, base: int) -> None:
        self.content = content
        self.lines = lines
        self.index = index
        self.base = base
        self.g = content.g
        self.m = content.m
        self.words = content.words
        self.coolant = content.coolant
        self.axes = content.axes
        self.special = content.special
        self.broken = content.broken
        self.used: set[str] = set()

    @property
    def span(self) -> Span:
        """The block's text without blanks at its ends."""
        return self.lines.span(self.index)

    def placed(self, span: Span) -> Span:
        """Return a span of the content as one of the source."""
        return Span(span.start + self.base, span.end + self.base)

    def take(self, letter: str) -> float | None:
        """Return the value of a word, which counts as used then, or None."""
        value = self.words.get(letter)
        if value is not None:
            self.used.add(letter)
        return value

    def whole(self, letter: str, what: str) -> int | None:
        """Return a word that must be a whole number not below zero, or None without it."""
        value = self.take(letter)
        if value is None:
            return None
        nearest = math.floor(value + 0.5) if math.isfinite(value) else -1
        if nearest < 0 or abs(value - nearest) > NEAR_WHOLE:
            fault = (
                "is not known" if math.isnan(value) else f"must be a whole number, not {value:g}"
            )
            raise BlockError("INT315", f"{what} {fault}", (letter,))
        return nearest

    def span_of(self, letters: Iterable[str]) -> Span:
        """Return the span over some of its words, or that of the block."""
        known = self.content.spans
        spans = [known[letter] for letter in letters if letter in known]
        if not spans:
            return self.span
        return Span(
            min([span.start for span in spans]) + self.base,
            max([span.end for span in spans]) + self.base,
        )
