"""Moves vertices of a chain of straight moves, number by number."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from gpre.editing.draft import Draft
from gpre.editing.editable import Editable
from gpre.editing.modes import Modes
from gpre.editing.number_style import MOST_DECIMALS
from gpre.editing.word_edits import exact, find_word, words_of
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST

AXES = "XYZ"
CLOSE = 1e-7  # units; a coordinate that the program wrote is this near to its decimals


def move_vertices(
    draft: Draft, blocks: NDArray[np.int32], old: Floats, new: Floats, span: tuple[int, int]
) -> None:
    """Write vertices `span[0]` to `span[1]` at their new places. Raises Skip where that cannot be.

    blocks: (n - 1,), the block whose move ends at each vertex but the first. old, new: (n, 3) mm.
    In G91 the increment behind the last vertex changes too.
    """
    editable, (first, last) = draft.context.editable, span
    modes = editable.modes.after(int(blocks[first - 1]))
    for vertex in range(first, last + 1 + (modes.distance == 91)):
        block, piece = int(blocks[vertex - 1]), slice(vertex - 1, vertex + 1)
        still = np.abs(new[vertex] - new[vertex - 1]).max() <= DUST
        was_still = np.abs(old[vertex] - old[vertex - 1]).max() <= DUST
        if still and not was_still and _may_go(editable, block):
            draft.drop(block)
        else:
            draft.restate(block, _numbers(editable, block, (old[piece], new[piece]), modes))


def _numbers(
    editable: Editable, block: int, ends: tuple[Floats, Floats], modes: Modes
) -> dict[str, Decimal]:
    """Return the numbers that a block must state. ends: (2, 3) mm each, its move, old and new."""
    (start, end), shift = ends[1], ends[1] - ends[0]
    numbers: dict[str, Decimal] = {}
    for axis, letter in enumerate(AXES):
        word = find_word(editable, block, letter)
        if modes.distance == 91:
            before, behind = (_decimal(float(each / modes.scale)) for each in shift[:, axis])
            if behind != before:
                numbers[letter] = (exact(editable, word) if word else Decimal(0)) + behind - before
        elif abs(shift[1, axis]) > DUST and (word or abs(end[axis] - start[axis]) > DUST):
            numbers[letter] = _decimal(float(end[axis] / modes.scale))
    return numbers


def _decimal(value: float) -> Decimal:
    """Return the short decimal that a coordinate in program units was written as."""
    for places in range(MOST_DECIMALS + 1):
        if abs(round(value, places) - value) <= CLOSE:
            return Decimal(f"{value:.{places}f}")
    return Decimal(f"{value:.{MOST_DECIMALS + 1}f}")


def _may_go(editable: Editable, block: int) -> bool:
    """Return whether a block that moves nothing says nothing else either."""
    if editable.why_not_replace(block, block):
        return False
    modes = editable.modes.before(block)
    for word in words_of(editable, block):
        is_mode = word.letter == "G" and round(word.value * 10) == 10 and modes.motion == 10
        if word.letter not in AXES and not is_mode:
            return False
    return True
