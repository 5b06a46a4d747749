"""Which moves at feed count for the cutting path, and as how true arcs may be written."""

from __future__ import annotations

import pytest
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.proof.cutting import cutting_path, true_arcs
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nS1000 M3\n"
CUT = "G0 X10 Y20\nG0 Z-4\nG1 Z-6 F100\nG1 X50 F300\nG0 Z-4\nG0 X0 Y0\nG0 Z0\nM30\n"


def pair_of(before: str, after: str) -> Pair:
    sides = (Side.of(SourceText.of((HEAD + each).encode()), KNOWN) for each in (before, after))
    return Pair(*sides, KNOWN, Job())


def path(before: str, after: str) -> Obligation:
    return cutting_path(pair_of(before, after))


def test_a_new_move_at_feed_in_the_air_cuts_nothing() -> None:
    """On or above the height at which the program travels, but for a tenth of a micron."""
    travels = "G0 Z5\nG0 X8 Y8\n" + CUT.replace("G0 Z-4\nG0 X0 Y0\nG0 Z0", "G0 Z5\nG0 X0 Y0")
    for new, holds in (("", True), (" Z5", True), (" Z6", True), (" Z4.99", False)):
        after = travels.replace("G0 X8 Y8", f"G1 X8 Y8{new} F300")
        assert path(travels, after).holds == holds, new
    assert not path(travels.replace("G0 X8 Y8", "G1 X8 Y8 F300"), travels).holds


def test_a_first_move_at_feed_that_both_programs_make_is_no_new_one() -> None:
    """It goes up from where the tool is taken to stand, above the height of travel, Z0."""
    first = "G1 Z5 F300\nG0 X10 Y20\nG0 Z0\nG0 X12\nG1 Z-6 F100\nG1 X50 F300\nG0 Z5\nM30\n"
    pieces = first.replace("G1 X50 F300", "G1 X30 F300\nX50")
    assert path(first, pieces).holds
    assert not path(first, pieces.replace("G1 Z5 F300", "G0 Z5")).holds


@pytest.mark.parametrize(("off", "holds"), [("0.001", True), ("0.0021", False)])
def test_what_is_added_and_what_is_left_out(off: str, *, holds: bool) -> None:
    """The default tolerance, 0.002 mm."""
    found = path(CUT, CUT.replace("G1 X50 F300", f"G1 X50 Y{20 + float(off):g} F300"))
    assert found.holds == holds
    assert found.value == pytest.approx(float(off), abs=1e-4)
    longer = path(CUT, CUT.replace("X50", "X51"))
    assert not longer.holds
    assert "left out at most 0.0000 mm, added at most 1.0000 mm" in longer.figure
    assert "X51.0000 Y20.0000 Z-6.0000 was not cut" in longer.figure
    assert (longer.before, longer.after) == (None, 5)
    shorter = path(CUT, CUT.replace("X50", "X49"))
    assert "left out at most 1.0000 mm, added at most 0.0000 mm" in shorter.figure
    assert "X50.0000 Y20.0000 Z-6.0000 is no longer cut" in shorter.figure
    assert (shorter.before, shorter.after) == (5, None)


ARC = "G0 X10 Y0\nG0 Z-4\nG1 Z-6 F100\nG3 X{x} Y0 I-10 J0 F300\nG3 X10 Y0 I10 J0\nM30\n"


@pytest.mark.parametrize(
    ("was", "now", "holds"),
    [
        ("-10", "-10.0019", True),
        ("-10", "-10.003", False),
        ("-10", "-9.997", False),
        ("-10.004", "-10.0039", True),
        ("-10.004", "-10.006", False),
    ],
)
def test_radii_may_differ_by_two_microns_or_as_the_originals_do(
    was: str, now: str, *, holds: bool
) -> None:
    """NISTIR 6556, 3.5.3."""
    found = true_arcs(pair_of(ARC.format(x=was), ARC.format(x=now)))
    assert found.holds == holds
    assert found.limit == pytest.approx(max(0.002, abs(float(was) + 10.0)))
    assert found.value == pytest.approx(abs(float(now) + 10.0))
    assert found.after == (None if holds else 5)
