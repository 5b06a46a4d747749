"""A table that twists, and a program that carries the backlash alone: what the twist leaves.

The program is proved as on a table that does not twist. But then the part must come no worse, as
the twist goes, than it did.
"""

from __future__ import annotations

from gpre.geometry.tolerance import POINT
from gpre.mill.mill import Mill
from gpre.prediction.deviation import deviation, deviation_from
from gpre.prediction.sensitivity import window_of
from gpre.prediction.table_path import table_path
from gpre.program.take_up_mark import find_mark
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair
from gpre.reversals.twist import twists

NAME = "twist of the table"


def leaves_twist(pair: Pair) -> bool:
    """Return whether `after` carries take-ups without the twist that the table has."""
    mark = find_mark(pair.after.program)
    return bool(twists(pair.mill.twist)) and mark is not None and not mark.has_twist


def twist_left(pair: Pair) -> Obligation:
    """Show that the table leaves the intended path by no more than under the original."""
    if not _is_placed(pair):
        figure = "how far it moves the tool is not known: an origin is not in the profile"
        return Obligation(NAME, holds=True, figure=figure)
    old, new = pair.before.motion, pair.after.motion
    mill: Mill = pair.mill
    was = deviation(old, table_path(old, mill)).greatest
    now = deviation_from(new, table_path(new, mill), old, window_of(mill)).greatest
    figure = f"with it the table leaves the intended path by {now:.4f} mm, before by {was:.4f} mm"
    holds = now <= was + POINT
    return Obligation(NAME, holds=holds, figure=figure, value=now, limit=was)


def _is_placed(pair: Pair) -> bool:
    """Return whether it is known where on the table the program cuts."""
    feeding = pair.before.feeding
    placed = pair.before.motion.placed[pair.before.motion.state[feeding]]
    return bool(placed[:, :2].all())
