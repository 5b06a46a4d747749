"""A program, read without loss."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.program.words import Blocks, Statement, Words
from gpre.source.text import SourceText


@dataclass(frozen=True)
class Program:
    """The whole text and what the reader made of it; `text` gives the same bytes back."""

    source: SourceText
    words: Words
    blocks: Blocks
    statements: Mapping[int, Statement]
    findings: tuple[Diagnostic, ...] = ()

    def __len__(self) -> int:
        """Give the number of blocks."""
        return len(self.source)

    @property
    def text(self) -> bytes:
        """The bytes of the program, unchanged."""
        return self.source.data
