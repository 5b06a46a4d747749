"""Which block of the original each block of a rewritten program goes back to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.source.edit import EditSet
from gpre.source.text import SourceText


@dataclass(frozen=True)
class Origins:
    """blocks: (m,) the original's block for each block; new blocks have that of their place."""

    blocks: NDArray[np.int64]

    @classmethod
    def same(cls, count: int) -> Origins:
        """Begin with the original itself."""
        return cls(np.arange(count, dtype=np.int64))

    def block(self, block: int) -> int:
        """Return the original's block for a block of the program as it is now."""
        if not len(self.blocks):
            return 0
        return int(self.blocks[min(max(block, 0), len(self.blocks) - 1)])

    def after(self, edits: EditSet, old: SourceText, new: SourceText) -> Origins:
        """Follow the blocks through a splice from `old` to `new`."""
        starts = np.array([edit.start for edit in edits.edits], np.int64)
        ends = np.array([edit.end for edit in edits.edits], np.int64)
        sizes = np.array([len(edit.replacement) for edit in edits.edits], np.int64)
        growth = np.concatenate(([0], np.cumsum(sizes - (ends - starts))))
        begins = starts + growth[:-1]  # where each replacement stands in the new text
        at = np.searchsorted(begins, new.starts, side="right") - 1
        edit = np.maximum(at, 0)
        inside = (at >= 0) & (new.starts < (begins + sizes)[edit]) if len(starts) else at >= 0
        offset = new.starts - growth[at + 1]
        if len(starts):
            offset = np.where(inside, starts[edit], offset)
        block = np.searchsorted(old.starts, offset, side="right") - 1
        last = max(len(self.blocks) - 1, 0)
        return Origins(self.blocks[np.clip(block, 0, last)] if len(self.blocks) else self.blocks)
