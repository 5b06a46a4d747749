"""Where the proof looks at moves of the rewritten program, and what has been cut there by then.

The programs are invented: lands and a long slot of a dovetail shoe.
"""

from __future__ import annotations

import numpy as np
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.proof.columns import Passes, tops, visits
from gpre.proof.moves import Verdicts
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X-20 Y-20 Z5\n"


def test_a_long_slot_is_looked_at_where_a_short_cut_went_before_it() -> None:
    """A move of 400 mm is looked at each 10 mm, and where a land of 2 mm was cut between."""
    land = "G0 X{x} Y0\nG0 Z1\nG1 Z-1 F100\nG1 X{end} F300\nG0 Z5\n"
    slot = "G0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X400 F300\nY5\nX0\nY9\nG0 Z5\n"
    elsewhere = land.format(x=500, end=500.5)
    for start in (193.0, 194.5):
        first = land.format(x=start, end=start + 2.0)
        texts = first + slot, slot + elsewhere + first
        sides = (Side.of(SourceText.of((HEAD + text + "M30\n").encode()), KNOWN) for text in texts)
        found = Verdicts(Pair(*sides, KNOWN, Job())).depth_order()
        assert not found.holds
        assert "full metal" in found.figure


def test_passes_of_the_second_cut_over_a_place_are_one_visit() -> None:
    """Over one place: a cut at Z-1, and another cut in two moves, the first one deeper."""
    row = np.arange(3)
    height, along = np.array([-1.0, -3.0, -2.0]), np.array([0.0, 50.0, 50.5])
    chain = np.array([4, 7, 7])
    passes = Passes(
        np.zeros(3, np.intp), row, height, along, chain, np.ones(3, bool), np.zeros(3), row
    )
    assert visits(passes, 1.0).tolist() == [0, 1, 1]
    assert tops(passes, 1.0).tolist() == [np.inf, -1.0, -1.0]
