"""Every hole of a cycle must be made as it was: place, depth, R, P, Q, as often, in its place.

The programs are invented: holes of a focuser plate.
"""

from __future__ import annotations

import pytest

from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.proof.cutting import same_holes
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

PLATE = """G21 G90 G17 G94
T1 M6
S1000 M3
G0 X0 Y0 Z25
G98 G83 X10 Y10 Z-12 R2 Q4 F80
X30
X30 Y25
G82 X50 Y10 Z-3 R2 P0.5 F60
X60
G80
G0 Z25
M30
"""


def holes_of(after: str, before: str = PLATE) -> Obligation:
    sides = (Side.of(SourceText.of(text.encode()), Mill()) for text in (before, after))
    return same_holes(Pair(*sides, Mill(), Job()))


# what stands there, what instead, what is said of it, its block; None where it is new
CHANGED = {
    "deeper": ("Z-12", "Z-12.001", "G83 at X10.0000 Y10.0000 to Z-12.0000 is not the same", 4),
    "less deep": ("Z-3 ", "Z-2.9 ", "G82 at X50.0000 Y10.0000 to Z-3.0000 is not the same", 7),
    "elsewhere": ("X30 Y25", "X30 Y25.01", "X30.0000 Y25.0000 to Z-12.0000 is not the same", 6),
    "another cycle": ("G82", "G81", "G82 at X50.0000 Y10.0000", 7),
    "a lower R": ("R2 Q4", "R1 Q4", "starts from Z1.0000, not Z2.0000", 4),
    "a deeper peck": ("Q4", "Q5", "is made with another P or Q", 4),
    "a shorter dwell": ("P0.5", "P0.4", "Y10.0000 to Z-3.0000 is made with another P", 7),
    "one left out": ("X30\n", "", "G83 at X30.0000 Y10.0000 to Z-12.0000 is gone", 5),
    "one more": ("X60\n", "X60\nX70\n", "G82 at X70.0000 Y10.0000 to Z-3.0000 is new", None),
    "one twice": ("X30\n", "X30\nX30\n", "Y10.0000 to Z-12.0000 is not made as often", 5),
    "one thrice by L": ("X30\n", "X30 L3\n", "X30.0000 Y10.0000 to Z-12.0000 is not made as", 5),
    "the last one twice": ("X30 Y25\n", "X30 Y25\nX30 Y25\n", "is not made as often", 6),
    "after a stop": ("X60\n", "M0\nX60\n", "is made at another time", 8),
}


@pytest.mark.parametrize("name", CHANGED)
def test_a_hole_that_is_made_in_another_way_is_named(name: str) -> None:
    old, new, figure, block = CHANGED[name]
    assert old in PLATE
    found = holes_of(PLATE.replace(old, new, 1))
    assert not found.holds
    assert figure in found.figure
    assert found.before == block
    if block is None:
        assert found.after == 9


SAME = {
    "words said again": ("X30 Y25", "G83 X30 Y25 Z-12 R2 Q4 F80"),
    "in another order": ("X30\nX30 Y25\n", "X30 Y25\nX30 Y10\n"),
    "less than is written of it": ("X30 Y25", "X30.000001 Y25"),
    "a move between": ("X30\n", "G80\nG0 X28 Y8\nG83 X30 Y10 Z-12 R2 Q4\n"),
}


@pytest.mark.parametrize("name", SAME)
def test_the_same_holes(name: str) -> None:
    old, new = SAME[name]
    found = holes_of(PLATE.replace(old, new, 1))
    assert found.holds, found.figure
    assert found.figure == "all 5 holes of cycles are the same"


def test_a_repeated_hole_in_increments_is_as_many_holes() -> None:
    row = PLATE.replace("X60\n", "G91 X10 Z-5 R0 L3\nG90\n")
    assert holes_of(row, row).figure == "all 7 holes of cycles are the same"
    assert not holes_of(row.replace("L3", "L4"), row).holds
    assert not holes_of(row, row.replace("L3", "L4")).holds


def test_holes_at_places_that_are_not_known_are_the_same_where_both_are() -> None:
    far = PLATE.replace("G0 X0 Y0 Z25\n", "G28 X0 Y0 Z0\n").replace("X10 Y10 Z-12", "Y10 Z-12")
    assert holes_of(far, far).holds
    assert not holes_of(far.replace("G83 Y10", "G83 X10 Y10"), far).holds
    assert not holes_of(far, far.replace("G83 Y10", "G83 X10 Y10")).holds


def test_a_program_without_cycles() -> None:
    plain = "G21 G90 G17\nG0 X1\nM30\n"
    assert holes_of(plain, plain).figure == "no holes of cycles"
    assert not holes_of(plain, PLATE).holds
