"""All rewrites, in the order in which they are run.

First what only changes numbers, then what changes the cuts' order and starts, and last the way to
each cut, which must know where the cuts start in the end.
"""

from __future__ import annotations

from gpre.rewrites.approach import approach
from gpre.rewrites.one_way import one_way
from gpre.rewrites.proposal import Rewrite
from gpre.rewrites.start_point import start_point
from gpre.rewrites.straighten import straighten

CATALOGUE: tuple[tuple[str, Rewrite], ...] = (
    ("straighten", straighten),
    ("one-way", one_way),
    ("start-point", start_point),
    ("approach", approach),
)
NAMES: tuple[str, ...] = tuple(name for name, _ in CATALOGUE)
