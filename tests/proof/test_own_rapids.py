"""Which rapids of the original a piece of a new one goes along, as low; plain geometry."""

from __future__ import annotations

import numpy as np
import pytest
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.motion.motion import Kind
from gpre.proof.metal.own_rapids import OwnRapids
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS1000 M3\nG0 Z20\nX-30 Y-30\n"


def side(text: str) -> Side:
    return Side.of(SourceText.of((HEAD + text + "M30\n").encode()), KNOWN)


def told(before: str, after: str) -> list[tuple[list[float], list[float], bool]]:
    """The pieces of the last rapid of `after`: from, to, and whether the original went there."""
    pair = Pair(side(before), side(after), KNOWN, Job())
    motion = pair.after.motion
    row = int(np.flatnonzero(motion.kind == Kind.RAPID)[-1])
    pieces = OwnRapids(pair).pieces(row, motion.start[row], motion.end[row])
    return [
        (each.start.round(6).tolist(), each.end.round(6).tolist(), each.own >= 0) for each in pieces
    ]


def at(*places: float) -> list[float]:
    return list(places)


ALONG = "G0 X0 Y0\nZ5\nX50\nZ20\n"


def test_along_the_same_line_as_far_as_the_original_went() -> None:
    assert told(ALONG, "G0 X-10 Y0\nZ5\nX60\n") == [
        (at(-10, 0, 5), at(0, 0, 5), False),
        (at(0, 0, 5), at(50, 0, 5), True),
        (at(50, 0, 5), at(60, 0, 5), False),
    ]
    # the other way, too
    assert told(ALONG, "G0 X40 Y0\nZ5\nX10\n") == [(at(40, 0, 5), at(10, 0, 5), True)]


@pytest.mark.parametrize(("height", "own"), [("5.001", True), ("9", True), ("4.99", False)])
def test_no_lower_than_the_original(height: str, *, own: bool) -> None:
    z = float(height)
    assert told(ALONG, f"G0 X10 Y0\nZ{height}\nX40\n") == [(at(10, 0, z), at(40, 0, z), own)]


@pytest.mark.parametrize(("aside", "own"), [("0.001", True), ("0.01", False), ("-0.01", False)])
def test_on_its_line_within_the_tolerance(aside: str, *, own: bool) -> None:
    found = told(ALONG, f"G0 X10 Y{aside}\nZ5\nX40\n")
    assert [each[2] for each in found] == [own]
    # a line that only crosses it, and one that comes from it
    assert [each[2] for each in told(ALONG, "G0 X10 Y-10\nZ5\nY10\n")] == [False]
    assert [each[2] for each in told(ALONG, "G0 X10 Y0\nZ5\nX40 Y1\n")] == [False]


def test_straight_down_as_deep_as_the_original_went_down() -> None:
    down = "G0 X7 Y9\nZ2\nZ20\n"
    assert told(down, "G0 X7 Y9\nZ25\nZ1\n") == [
        (at(7, 9, 25), at(7, 9, 20), False),
        (at(7, 9, 20), at(7, 9, 1.998), True),  # the tolerance lower
        (at(7, 9, 1.998), at(7, 9, 1), False),
    ]
    # no farther than the stretch itself, where the original went on
    assert told(down, "G0 X7 Y9\nZ15\nZ5\n") == [(at(7, 9, 15), at(7, 9, 5), True)]
    assert told(down, "G0 X7 Y9\nZ22\nZ5\n") == [
        (at(7, 9, 22), at(7, 9, 20), False),
        (at(7, 9, 20), at(7, 9, 5), True),
    ]
    assert [each[2] for each in told(down, "G0 X7.01 Y9\nZ2\n")] == [False]
    assert [each[2] for each in told(down, "G0 X7 Y9.01\nZ2\n")] == [False]
    # where the original only came up nobody knows that it may go down at rapid
    up = "G0 X7 Y9\nG1 Z2 F100\nG0 Z20\n"
    assert [each[2] for each in told(up, "G0 X7 Y9\nZ2\n")] == [False]


def test_down_a_slope_where_the_original_went_down_it() -> None:
    slope = "G0 X0 Y0\nX20 Z0\nZ20\n"
    assert told(slope, "G0 X5 Y0\nZ15\nX15 Z5\n") == [(at(5, 0, 15), at(15, 0, 5), True)]
    assert [each[2] for each in told(slope, "G0 X5 Y0\nZ15\nX15 Z4.9\n")].count(False) == 1
    assert [each[2] for each in told(slope, "G0 X5 Y0\nZ14.9\nX15 Z4.9\n")] == [False]
    # it came up there: what it left behind may be what it had cut
    up = "G0 X20 Y0\nG1 Z0 F100\nG0 X0 Z20\n"
    assert [each[2] for each in told(up, "G0 X5 Y0\nZ15\nX15 Z5\n")] == [False]
    # and up the slope it may go where the original went down
    assert told(slope, "G0 X15 Y0\nZ5\nX5 Z15\n") == [(at(15, 0, 5), at(5, 0, 15), True)]


@pytest.mark.parametrize("change", ["T2 M6\n", "G55\n", "G92 X1\nG92.1\nG55\n"])
def test_only_of_the_same_tool_in_the_same_setup(change: str) -> None:
    after = "G0 X10 Y0\nZ5\nX40\n"
    assert [each[2] for each in told(ALONG, change + after)] == [False]
    assert [each[2] for each in told(ALONG + change, after)] == [True]


def test_the_first_of_several_is_named() -> None:
    """When most metal stood."""
    pair = Pair(side(ALONG + ALONG), side("G0 X10 Y0\nZ5\nX40\n"), KNOWN, Job())
    motion = pair.after.motion
    row = len(motion) - 1
    (piece,) = OwnRapids(pair).pieces(row, motion.start[row], motion.end[row])
    rows = [
        at
        for at in range(len(pair.before.motion))
        if pair.before.motion.start[at].tolist() == [0.0, 0.0, 5.0]
    ]
    assert piece.own == rows[0]


def test_a_rapid_that_comes_slanting_to_a_place_does_not_show_the_way_straight_down_to_it() -> None:
    slanting = "G0 X10 Y0\nX0 Z5\nZ20\n"
    assert told(slanting, "G0 X0 Y0\nZ5\n") == [(at(0, 0, 20), at(0, 0, 5), False)]
    upright = "G0 X0 Y0\nZ5\nZ20\n"
    assert told(upright, "G0 X0 Y0\nZ5\n") == [(at(0, 0, 20), at(0, 0, 5), True)]
