"""Edits as byte ranges: what no edit names is kept, byte for byte, by construction."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class OverlapError(ValueError):
    """Two edits claim the same bytes, or the same place to insert."""


@dataclass(frozen=True, slots=True, order=True)
class Edit:
    """Replace the bytes from `start` to `end` (half open); an empty range inserts."""

    start: int
    end: int
    replacement: bytes


@dataclass(frozen=True, slots=True)
class EditSet:
    """Edits in order of place that do not touch one another.

    Two edits collide where their ranges overlap or where both start at the same byte: then the
    order of what they write would be left to chance.
    """

    edits: tuple[Edit, ...] = ()

    @classmethod
    def of(cls, edits: Iterable[Edit]) -> EditSet:
        """Sort the edits; raise OverlapError where two collide."""
        ordered = tuple(sorted(edits))
        for left, right in zip(ordered, ordered[1:], strict=False):
            if collide(left, right):
                raise OverlapError(f"edits at {left.start} and {right.start} overlap")
        return cls(ordered)

    def apply(self, data: bytes) -> bytes:
        """Splice the replacements into `data`; raise IndexError for a range outside it."""
        pieces: list[bytes] = []
        at = 0
        for edit in self.edits:
            if not 0 <= edit.start <= edit.end <= len(data):
                raise IndexError(f"edit {edit.start}..{edit.end} lies outside the text")
            pieces += (data[at : edit.start], edit.replacement)
            at = edit.end
        pieces.append(data[at:])
        return b"".join(pieces)


def collide(left: Edit, right: Edit) -> bool:
    """Return whether two edits claim the same bytes or the same place."""
    if left.start > right.start:
        left, right = right, left
    return right.start < left.end or left.start == right.start
