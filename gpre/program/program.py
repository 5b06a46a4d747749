"""A program, read without loss."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

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
        """Return the number of blocks."""
        return len(self.source)

    def without_words(self) -> Program:
        """Return the same program without its words, for those who need its text and flags alone.

        Most of what a large program takes in memory are its words.
        """
        first_word = np.broadcast_to(np.int32(0), len(self) + 1)
        blocks = replace(self.blocks, first_word=first_word)
        none = {name: np.zeros(0, column.dtype) for name, column in vars(self.words).items()}
        return replace(self, words=Words(**none), blocks=blocks)

    @property
    def text(self) -> bytes:
        """The bytes of the program, unchanged."""
        return self.source.data
