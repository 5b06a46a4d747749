"""Where the proof looks at moves of the rewritten program, and what has been cut there by then.

The programs are invented: lands and a long slot of a dovetail shoe.
"""

from __future__ import annotations

import numpy as np
import pytest
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.proof.columns import Passes, tops, visits
from gpre.proof.moves import Verdicts
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X-20 Y-20 Z5\n"


def depth_order(before: str, after: str, job: Job | None = None) -> Obligation:
    texts = (SourceText.of((HEAD + each + "M30\n").encode()) for each in (before, after))
    sides = (Side.of(each, KNOWN) for each in texts)
    return Verdicts(Pair(*sides, KNOWN, job or Job())).depth_order()


@pytest.mark.parametrize(
    ("floor", "holds"), [("-2.5", True), ("-2", True), ("-1.9985", True), ("-1.994", False)]
)
def test_a_pass_over_a_floor_of_its_own_depth_finds_no_metal(floor: str, *, holds: bool) -> None:
    """Another tool left the floor; the original passed over it when it was cut deeper already."""
    way = "G0 X0 Y0\nG0 Z1\nG1 Z{} F100\nG1 X40 F300\nG0 Z5\n"
    first = "T2 M6\n" + way.format(floor) + "T1 M6\n"
    deep, level = way.format(-4), way.format(-2)
    assert depth_order(first + deep + level, first + level + deep).holds == holds


def test_a_long_slot_is_looked_at_where_a_short_cut_went_before_it() -> None:
    """A move of 400 mm is looked at each 10 mm, and where a land of 2 mm was cut between."""
    land = "G0 X{x} Y0\nG0 Z1\nG1 Z-1 F100\nG1 X{end} F300\nG0 Z5\n"
    slot = "G0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X400 F300\nY5\nX0\nY9\nG0 Z5\n"
    elsewhere = land.format(x=500, end=500.5)
    for start in (193.0, 194.5):
        first = land.format(x=start, end=start + 2.0)
        found = depth_order(first + slot, slot + elsewhere + first)
        assert not found.holds
        assert "full metal" in found.figure


@pytest.mark.parametrize("pieces", [1, 2, 8])
def test_a_long_slot_may_not_come_before_a_short_cut_that_stays(pieces: int) -> None:
    """One cut: a slope all along but for a land of 5 mm, then the land, then the slope deeper.

    Nothing of it is level, and the more moves the land has, the more surely it is the slot that
    is taken to have moved.
    """
    first = "G0 X0 Y0\nG1 Z-1 F100\nX193 Z-2.93 F300\nZ3\nX198\nZ-2.98\nX400 Z-5\nZ3\n"
    ends = (199.0 - 7.0 * at / pieces for at in range(1, pieces + 1))
    land = "X199\nZ-2.99\n" + "".join(f"X{x:.3f} Z{-1 - x / 100:.5f}\n" for x in ends) + "Z3\n"
    slot = "X0\nZ-2\nX400 Z-6\nZ3\n"
    assert depth_order(
        first + land + slot, first + land + slot.replace("X400", "X300 Z-5\nX400")
    ).holds
    found = depth_order(first + land + slot, first + slot + land)
    assert not found.holds
    assert "more metal above it where the original had cut first" in found.figure


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


@pytest.mark.parametrize("depth", ["-0.5", "-1"])
def test_a_short_cut_that_stays_counts_however_high_over_a_long_slot_it_runs(depth: str) -> None:
    """The slot is come to in short steps; its one long move runs lower than the land."""
    steps = "".join(f"G1 Z{z:g} F100\n" for z in (0.15, -0.6, -1.35))
    back = "".join(f"G1 Z{z:g}\n" for z in (-1.35, -0.6, 0.15, 0.9))
    slot = f"G0 X0 Y0\n{steps}Z-2.1\nX400 F300\n{back}"
    ends = "".join(f"X{194 + at / 2:g}\n" for at in range(10))
    land = f"G0 X193.5 Y0\nG1 Z{depth} F100\n{ends}G0 Z0.9\n"
    head = "G0 Z0.9\nG0 Y-10\n"
    assert depth_order(head + land + slot, head + land + slot).holds
    found = depth_order(head + land + slot, head + slot + land)
    assert not found.holds
    assert "where the original had cut first" in found.figure
