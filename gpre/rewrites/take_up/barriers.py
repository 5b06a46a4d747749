"""Where the command must be back at the intended place, as something there counts from it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gpre.motion.events import Effect, Event, EventKind, kinds
from gpre.motion.motion import Motion
from gpre.rewrites.take_up.rows import not_carried

LENGTHS = ("G43", "G49")  # these count Z anew and leave X and Y alone


class Barrier(NamedTuple):
    """What happens before move `move`, stated in `block`; `where`: that, in words."""

    move: int
    block: int
    where: str


def barriers_of(motion: Motion, blocks: int, *, z: bool) -> list[Barrier]:
    """Find all barriers, in order; blocks: of the program; z: Z carries a shift at all.

    They are the events that need the place, and those behind which an axis is at an unknown place,
    so that its way on must stay; the moves to an unknown place, and those at feed that stay as they
    are; and the end of the program.
    """
    found = [
        _barrier(one.move, one.block, f"{one.kind.value} {one.value}".strip(), blocks)
        for one in motion.events
        if _undone_before(one, z=z) or not _known_after(motion, one)
    ]
    if not any(one.kind is EventKind.END for one in motion.events):
        found.append(_barrier(len(motion), blocks, "end", blocks))
    stay = not_carried(motion) | ~motion.known
    firsts = np.flatnonzero(stay & np.isfinite(motion.start).all(axis=1)).tolist()
    found += [_barrier(row, motion.block_of(row), "move that stays", blocks) for row in firsts]
    return sorted(found, key=lambda one: one.move)


def _barrier(move: int, block: int, what: str, blocks: int) -> Barrier:
    return Barrier(move, block, f"before the {what} in line {min(block, blocks - 1) + 1}")


def _undone_before(event: Event, *, z: bool) -> bool:
    """Return whether no axis may carry a shift when an event happens."""
    if event.kind is EventKind.OFFSET and event.value.startswith(LENGTHS):
        return z
    return event.kind in kinds(Effect.NEEDS_PLACE)


def _known_after(motion: Motion, event: Event) -> bool:
    return bool(np.isfinite(motion.start[event.move : event.move + 1]).all())
