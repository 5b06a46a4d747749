"""All rewrites, in the order in which they are run.

First what only changes numbers, then what changes the cuts' order and starts, and last the way to
each cut, which must know where the cuts start in the end.
"""

from __future__ import annotations

from gpre.editing.context import Rewrite
from gpre.rewrites.approach import approach
from gpre.rewrites.helix.rewrite import helix
from gpre.rewrites.loops_off.corner_loop import corner_loop
from gpre.rewrites.loops_off.lift_over import lift_over
from gpre.rewrites.one_way.rewrite import one_way
from gpre.rewrites.order.rewrite import order
from gpre.rewrites.start_point.rewrite import start_point
from gpre.rewrites.straighten.rewrite import straighten
from gpre.rewrites.take_up.rewrite import take_up
from gpre.rewrites.turn_round import turn_round

CATALOGUE: tuple[tuple[str, Rewrite], ...] = (
    ("straighten", straighten),
    ("helix", helix),
    ("one-way", one_way),
    ("turn-round", turn_round),
    ("order", order),
    ("start-point", start_point),
    ("approach", approach),
    ("corner-loop", corner_loop),
    ("lift-over", lift_over),
    ("take-up", take_up),
)
LAST = ("take-up",)  # run once, when nothing else finds anything to do: it shifts all coordinates
NOT_WITH_TAKE_UP = ("order", "approach")  # a carried take-up needs no loops to reach a place
NAMES: tuple[str, ...] = tuple(name for name, _ in CATALOGUE)
