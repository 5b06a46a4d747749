"""Lets an axis turn clear of a curved wall: off on the tangent, up, over, and on again.

At the quadrant of a circle round a boss a controller that takes backlash up stands at the wall.
Here the tool leaves on the tangent, or on an arc that bends off the wall where that runs on
straight, lifts, and comes back in the same way with the backlash taken up. A circle of 23 mm round
a boss, cut closer than a rough one of 24 mm, at X-23::

    G2 X-23 Y0 I0 J23
    G1 Y3 (lift over)
    G0 Z5
    G0 X-24.25 Y-4.25
    G0 X-23 Y-3
    G0 Z-1
    G1 Z-2 F100
    G1 Y0 F300
    G2 X0 Y23 I23 J0

Tangent on tangent at one place, both ways touch the wall for a short length: that is the overlap.
More of it would turn the axis at the wall again. For the same reason nothing can be done in a bore
(see `loops_off`).
"""

from __future__ import annotations

from collections.abc import Iterator

from gpre.cuts.cuts import Shape
from gpre.editing.context import Context
from gpre.editing.proposal import Proposal, Refusal
from gpre.reversals.reversals import ReversalKind
from gpre.rewrites.loops_off.looper import CONTOURS, LoopManner, loops_off

_MANNER = LoopManner(
    "lift-over",
    frozenset((ReversalKind.QUADRANT, ReversalKind.HELIX, ReversalKind.JOIN)),
    "lift over",
    at_once=False,
    shapes=CONTOURS | {Shape.SURFACE},  # an outline with bridges is one, too
)


def lift_over(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose to lift over each turn at a curved wall that the tool can leave on its tangent."""
    return loops_off(context, _MANNER)
