"""What two programs have in common and where they differ."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.proof.blocks import Hunk
from gpre.source.text import SourceText


@dataclass(frozen=True, slots=True)
class Figures:
    """One program in numbers.

    total, in_cut: reversals of X, Y and Z. feed_length, rapid_length: mm, of moves whose place is
    known; unknown: how many moves that leaves out.
    """

    blocks: int
    moves: int
    total: tuple[int, int, int]
    in_cut: tuple[int, int, int]
    feed_length: float
    rapid_length: float
    unknown: int


@dataclass(frozen=True)
class Comparison:
    """Two programs side by side.

    hunks: stretches of blocks that differ, half open, from 0. blocks_same, _changed, _added,
    _gone: how many blocks. moves_added, moves_gone: moves that only one of the two makes, whatever
    their order and way. left_out, added: mm, no point of the cutting path of `before` lies farther
    from that of `after`, and the other way round; `inf` where it is more than 10 mm or there is
    none. left_out_at, added_at: the blocks of those points, None where the distance is 0.
    same_motion: both make the same moves, in order, within the axis resolution, with the same in
    force and the same events. first_difference: in words, "" where there is none.
    """

    before: SourceText
    after: SourceText
    before_figures: Figures
    after_figures: Figures
    hunks: tuple[Hunk, ...]
    blocks_same: int
    blocks_changed: int
    blocks_added: int
    blocks_gone: int
    moves_added: int
    moves_gone: int
    left_out: float
    added: float
    left_out_at: int | None
    added_at: int | None
    same_motion: bool
    first_difference: str
