"""Reaches each open cut with the backlash taken up, by a loop above its start.

Where X or Y would turn with the first travel of the cut, the tool goes a little farther first and
comes back the way in which it goes on. `X40`, `G1 Z-2`, `X0`, with X+ before it, becomes::

    X40
    X41.25 (take up backlash)
    X40
    G1 Z-2
    X0
"""

from collections.abc import Iterator

from gpre.cuts.cuts import Cut, Shape
from gpre.editing.at_each import at_each
from gpre.editing.context import Context
from gpre.editing.draft import Draft
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.editing.skip import Skip, skip_if
from gpre.room.entries import first_ways, reach_of

NAME = "loop-above"
OPEN = {Shape.OPEN, Shape.PASS}


def loop_above(context: Context) -> Iterator[Proposal | Refusal]:
    """Propose a loop above each open cut at whose start an axis turns, or say why there is none."""
    cuts = [cut for cut in context.cuts if cut.shape in OPEN]
    return at_each(NAME, context, cuts, lambda cut: _propose(context, cut))


def _propose(context: Context, cut: Cut) -> Proposal | None:
    reach = reach_of(context.motion, cut)
    if reach is None:
        raise Skip("no rapid leads straight down to it")
    above = context.motion.start[reach.first]
    draft = Draft(context)
    track = draft.track(reach.first)  # before the way down; a Skip where nothing can be put there
    ways = first_ways(context.motion, cut.first, cut.last)
    turning = draft.turning(track, ways)
    if not turning:
        return None
    for axis, name in enumerate("XYZ"):
        if not context.clearance.known_before(reach.first, axis):
            raise Skip(f"the program has not said where {name} stands above it")
    skip_if(*context.clearance.why_not_level(float(above[2]), reach.first))
    draft.arrive(track, above, ways, reach.first)
    draft.insert(reach.first, track)
    brings = draft.preview()
    if brings.gained <= 0:
        raise Skip("a loop would not reduce the reversals while cutting")
    named = " and ".join("XY"[axis] for axis in turning)
    summary = f"{named} taken up above its start"
    return draft.proposal(NAME, Claim.SAME_CUTS, summary, (cut.first, cut.last), brings)
