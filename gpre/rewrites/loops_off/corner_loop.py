"""Turns a reversal at an outside corner between straight moves into a loop off the part.

The tool runs straight on past the corner until it is clear of the metal, which at a sharp corner
it is at once, lifts, and comes back on the line of the next move from outside. It lifts because a
loop at feed would count as cutting, and because there it needs room only over the part::

    G1 Y43
    G0 Z20 (corner loop)
    G0 X-4.25 Y44.25
    G0 X-3 Y43
    G0 Z-1
    G1 Z-2 F100
    G1 X53

The passes of a raster are left to `one-way`.
"""

from __future__ import annotations

from collections.abc import Iterator

from gpre.editing.context import Context
from gpre.editing.proposal import Proposal, Refusal
from gpre.reversals.reversals import ReversalKind
from gpre.rewrites.loops_off.looper import LoopManner, loops_off

_MANNER = LoopManner("corner-loop", frozenset((ReversalKind.CORNER,)), "corner loop", at_once=True)


def corner_loop(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a loop for each reversal at a corner that the tool can leave straight on."""
    return loops_off(context, _MANNER)
