"""Edits that move vertices of a chain of straight moves, number by number."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from gpre.editing.editable import Editable
from gpre.editing.modes import Modes
from gpre.editing.number_style import MOST_DECIMALS
from gpre.editing.word_edits import added, exact, find_word, renumber, words_of, written
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.source.edit import Edit

AXES = "XYZ"
CLOSE = 1e-7  # units; a coordinate that the program wrote is this near to its decimals


def edits_of(
    editable: Editable,
    blocks: NDArray[np.int32],
    old: Floats,
    new: Floats,
    span: tuple[int, int],
) -> list[Edit]:
    """Return the edits for vertices `span[0]` to `span[1]`. Raises Skip where they cannot be made.

    blocks: (n - 1,), the block whose move ends at each vertex but the first. old, new: (n, 3) mm.
    In G91 the increment behind the last vertex changes too.
    """
    first, last = span
    modes = editable.modes.after(int(blocks[first - 1]))
    relative = modes.distance == 91
    edits: list[Edit] = []
    for vertex in range(first, last + 1 + relative):
        block = int(blocks[vertex - 1])
        still = np.abs(new[vertex] - new[vertex - 1]).max() <= DUST
        was_still = np.abs(old[vertex] - old[vertex - 1]).max() <= DUST
        if still and not was_still and _may_go(editable, block):
            edits.append(editable.dropped(block))
            continue
        for axis in range(3):
            places = (old[vertex - 1 : vertex + 1, axis], new[vertex - 1 : vertex + 1, axis])
            edits += _edit(editable, block, axis, places, modes)
    return edits


def _edit(
    editable: Editable, block: int, axis: int, places: tuple[Floats, Floats], modes: Modes
) -> list[Edit]:
    """Change one number of one block; nothing where it stays."""
    old, new = places
    word = find_word(editable, block, AXES[axis])
    if modes.distance == 91:
        shift = (new - old) / modes.scale
        value = exact(editable, word) if word else Decimal(0)
        step = _decimal(float(shift[1])) - _decimal(float(shift[0]))
        if step == 0:
            return []
        value += step
    else:
        if abs(new[1] - old[1]) <= DUST:
            return []
        value = _decimal(float(new[1] / modes.scale))
        if word is None and abs(new[1] - new[0]) <= DUST:
            return []
    if word is not None:
        return [renumber(editable, word, value)]
    return [added(editable, block, [written(editable, AXES[axis], value)])]


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
