"""The judge of the adversaries: what it calls harmless, and what damage, by hand-made pairs."""

from __future__ import annotations

import pytest
from own_judge import (
    AGAIN,
    AIR,
    AT_FEED,
    BESIDE,
    BITES,
    DWELL,
    ELSEWHERE,
    OVER,
    RAMP,
    SAME,
    SLOWER,
    STOP,
    SWITCHED,
    Stock,
    judge,
)
from own_mills import Known, machines
from short_programs import TWO_SYSTEMS as SLOT

STOCK = Stock((0.0, 0.0, -10.0), (60.0, 40.0, 0.0), {1: 6.0})
LENGTHS = {number: 50.0 + number for number in range(100)}
KNOWN = Known(
    {system: (100.0 * system, 50.0, -200.0) for system in range(1, 10)},
    LENGTHS, (0.0, 0.0, 150.0), (0.0, 0.0, 150.0), 21, 90, 17, change="none",
)  # fmt: skip


def judged(old: str, new: str, stock: Stock | None = None, known: Known = KNOWN):
    assert SLOT.count(old) >= 1
    after = SLOT.replace(old, new, 1)
    return judge(SLOT.encode(), after.encode(), machines(known, 8), stock)


LAST = "Z2\nG1 Z-1.5 F100\nX66 F250\nG0 Z20\nM9"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("G0 Z2\nG1", "G00 Z2.0\nG01", SAME),
        ("X66 F250\nG0", "X30 F250\nX66\nG0", SAME),
        ("S2000 M3\nG54\nG0 X-6 Y10", "G54\nG0 X-6 Y10 S2000 M3", SAME),
        ("X66 F250", "X66 F200", SLOWER),
        ("M8\nG0 Z2", "M8\nG1 Z2 F99", AT_FEED),
        ("X66 F250\nG0 Z20\nM9", "X66 F250\nM9\nG0 Z20", SWITCHED),
        ("G43 H1 Z20", "G43 H1 Z20\nG0 X-4 Y8\nX-6 Y10", AIR),
        ("G55\nG0", "G0 X-6 Y10 Z2\nZ20\nG55\nG0", OVER),
        ("X66 F250\nG0", "X66 F250\nX-6\nX66\nG0", AGAIN),
        (LAST, LAST.replace("Z20", "Z40"), ELSEWHERE),
    ],
)  # fmt: skip
def test_harmless_changes_have_a_class(old, new, told):
    assert judged(old, new).harmless == told


def test_a_rapid_beside_the_stock_is_harmless_where_the_stock_is_known():
    old, new = "Z2\nG1 Z-1.5 F100\nX66 F250\nG0 Z20\nM9", "Z-1.5\nG1 X66 F250\nG0 Z20\nM9"
    assert judged(old, new).damage  # nobody knows better
    pair = "G0 Z2\nG1 Z-1", "G0 Z2\nZ-1\nZ2\nG1 Z-1"
    assert judged(*pair, stock=STOCK).harmless == BESIDE
    assert "rapid" in judged(*pair).damage


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G55\nG0 X-6 Y30", "G55"),
        ("G55\nG0 X-6 Y30\nZ2", "G0 X-6 Y30\nG55\nZ2"),
        ("G55\nG0 X-6 Y30", "G55\nG0 X-6"),
        ("G55\nG0 X-6 Y30\nZ2", "G55\nG0 X-6 Y30 Z2"),
        ("G55\nG0 X-6 Y30\nZ2", "G55\nZ2\nG0 X-6 Y30"),
        (
            "Z2\nG1 Z-1.5 F100\nX66 F250\nG0 Z20\nM9",
            "G91 Z-18\nG90 G1 Z-1.5 F100\nX66 F250\nG0 Z20\nM9",
        ),
        ("G43 H1 Z20", "G43 Z20"),
        ("G43 H1 Z20", "G43 H2 Z20"),
        ("X66 F250\nG0", "X66 F250\nG0 X-6\nX66\nG0"),
        ("X66 F250\nG0 Z20", "X66.1 F250\nG0 Z20"),
        ("X66 F250", "X66 F251"),
        ("X66 F250", "X66 F0"),
        ("X66 F250", "X66 F2"),
        ("M8", "M9"),
        ("M8", "M0"),
        ("S2000", "S2100"),
        ("G90 G94", "G94"),
        ("G21 ", ""),
        ("X66 F250", "X66 H2 F250"),
        ("X66 F250", "X6 6 F250"),
        ("X66 F250", "X66 F250\nO1234"),
        ("X66 F250", "X66 (SIDE F250"),
    ],
)
def test_damage_is_seen_where_nothing_is_known(old, new):
    assert judged(old, new, known=Known()).damage


HOLE = """\
G21 G17 G90 G94 G54
T1 M6
S2000 M3
G0 X10 Y10
G43 H1 Z20
Z5
G99 G83 X10 Y10 Z-6 R2 Q3 F90
X20
G80
G0 Z20
G4 P1
M5
M30
"""


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("Q3", "Q2", BITES),
        ("R2", "R3", AIR),
        ("G4 P1", "M1", DWELL),
        ("G4 P1", "M1\nG4 P1", STOP),
        ("Q3", "Q4", ""),
        ("Z-6", "Z-7", ""),
        ("X20\n", "", ""),
    ],
)
def test_holes_stops_and_dwells(old, new, told):
    after = HOLE.replace(old, new, 1)
    assert after != HOLE
    found = judge(HOLE.encode(), after.encode(), machines(Known(units=21), 8))
    assert found.harmless == told, found


def test_a_steeper_helix_is_harmless_where_the_tool_may_go_down_so():
    head = "G21 G17 G90 G94 G54\nT1 M6\nS2000 M3\nG0 X36 Y20\nG43 H1 Z20\nZ1\nG1 Z0 F90\n"
    helix = head + "{}G0 Z20\nM30\n"
    fine = helix.format("G3 Z-1 I-6 F90\nZ-2 I-6\nZ-3 I-6\nI-6\n").encode()
    steep = helix.format("G3 Z-1 I-6 F90\nZ-3 I-6\nI-6\n").encode()
    steel = Stock(STOCK.least, STOCK.greatest, {1: 6.0}, {1: 0.04})
    soft = Stock(STOCK.least, STOCK.greatest, {1: 6.0}, {1: 0.06})  # 2 mm a turn of 37.7
    mills = machines(Known(units=21), 6)
    assert judge(fine, steep, mills, soft).harmless == RAMP
    for stock in (steel, STOCK, None):
        assert judge(fine, steep, mills, stock).damage


def test_what_is_known_makes_a_change_harmless():
    """The step down from the old zero ends at another height, but where both zeros are as high."""
    pair = LAST, f"G91 Z-18\nG90{LAST[2:]}"
    assert judged(*pair, known=Known()).damage
    assert judged(*pair).harmless == SAME


def test_a_turn_the_other_way_is_damage():
    square = "G21 G90 G17 G94 G54 G0\nX0 Y0\nZ5\nG1 Z-1 F90\n{}\nG0 Z5\nM2"
    one, two = "X9\nY9\nX0\nY0", "Y9\nX9\nY0\nX0"
    before, after = (square.format(way).encode() for way in (one, two))
    assert judge(before, after, machines(Known(), 4)).damage
