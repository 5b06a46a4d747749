"""Where nothing states units, distance mode or plane, a proof must hold whatever they are."""

import pytest
from known_mill import KNOWN, known

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Limits, Mill
from gpre.motion.controller import Controller
from gpre.proof.open_settings import readings
from gpre.proof.proof import Obligation, Proof
from gpre.proof.prove import prove
from gpre.proof.side import Side
from gpre.source.text import SourceText

HOLES = (
    b"G90 G17\nG0 Z0.1\nG0 X1.0000 Y1.0000\nG1 Z-0.2500 F12.\nG0 Z0.1\n"
    b"G0 X2.0000 Y1.5000\nG1 Z-0.2500\nG0 Z0.1\nM30\n"
)
NEAR = HOLES.replace(b"X1.0000", b"X1.0005")
INCH = Mill(controller=Controller(units=20, stated=frozenset(("units",))))
MM = Mill(controller=Controller(stated=frozenset(("units",))))


UNSTATED = Mill(controller=Controller())  # it knows where the tool stands, and no more


def failed(before, after, mill=UNSTATED, job=None):
    """What fails, but for what the text alone has to do with (G21 is no motion)."""
    found = prove(SourceText.of(before), SourceText.of(after), mill, job)
    return {each.name: each for each in found.failed if each.name != "untouched blocks"}


def names(before, after, mill=None):
    mill = mill or Mill()
    sides = (Side.of(SourceText.of(each), mill) for each in (before, after))
    return [each.name for each in readings(*sides, mill)]


def test_one_thing_that_fails_is_a_proof_that_fails():
    good, bad = Obligation("a", holds=True, figure=""), Obligation("b", holds=False, figure="")
    assert Proof((good, good)).holds
    for each in ((good, bad), (bad, good), (bad,)):
        assert not Proof(each).holds
        assert Proof(each).failed == (bad,)
    assert Proof((good,)).changed_places == 0


def test_an_edit_within_the_tolerance_in_mm_alone_fails():
    """0.0005 is within 0.002 mm as mm, and 0.0127 mm as inches (25.4 mm, NISTIR 6556, 2.1.2.10)."""
    assert Limits().tolerance == 0.002
    found = failed(HOLES, NEAR)
    assert "left out at most 0.0127 mm" in found["cutting path"].figure
    assert found["cutting path"].figure.endswith("(read in inches)")
    assert (found["cutting path"].before, found["entry moves"].after) == (3, 3)
    assert failed(HOLES, NEAR, MM) == {}
    assert "read in" not in failed(HOLES, NEAR, INCH)["cutting path"].figure
    assert failed(b"G21\n" + HOLES, b"G21\n" + NEAR) == {}


def test_what_fails_either_way_is_told_without_a_reading():
    found = failed(HOLES, HOLES.replace(b"X1.0000", b"X1.5000"))
    assert "read in" not in found["cutting path"].figure


def test_what_fails_only_as_it_is_taken_says_so():
    found = failed(HOLES, NEAR, Mill(controller=Controller(units=20)))
    assert found["cutting path"].figure.endswith("(read in inches)")


def test_an_edit_that_is_sound_in_both_is_proved():
    assert failed(HOLES, HOLES.replace(b"X2.0000 Y1.5000", b"X2. Y1.5")) == {}


def test_units_that_are_dropped_or_added_fail_for_the_other():
    for before, after in ((b"G21\n" + HOLES, HOLES), (HOLES, b"G21\n" + HOLES)):
        assert any("(read in inches)" in each.figure for each in failed(before, after).values())
    for before, after in ((b"G20\n" + HOLES, HOLES), (HOLES, b"G20\n" + HOLES)):
        assert failed(before, after)
    assert failed(HOLES, b"G21\n" + HOLES, MM) == {}


def test_distances_that_are_not_stated_are_proved_as_increments_too():
    """G0 X5 twice is the same place in G90, and five farther in G91."""
    text = b"G21 G17\nG0 Z5\nG0 X5 Y5\nG1 Z-1 F100\nG1 X9\nG0 Z5\nM2\n"
    twice = text.replace(b"G1 X9\n", b"G1 X9\nG1 X9\n")
    assert failed(text, twice, KNOWN) == {}
    assert failed(text, twice)["cutting path"].figure.endswith("(read in G91)")
    late = b"G21 G17\nG0 Z5\nG0 X5 Y5\nG90\n" + text.split(b"Y5\n")[1]
    assert failed(late, late.replace(b"G0 Z5\nG0 X5", b"G0 Z5\nG0 Z5\nG0 X5", 1))
    assert failed(late, late.replace(b"X9", b"X9 Z-1")) == {}


def test_the_plane_is_looked_at_where_the_arc_makes_sense_in_another_one():
    """Half a circle with I alone is one in ZX as well (NISTIR 6556, 3.5.3.2)."""
    head = b"G21 G90\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F100\n"
    arc, line = b"G2 X10 I5\n", b"G1 X0\nG0 Z5\nM2\n"
    before, after = head + arc + line, head + arc + b"G17\n" + line
    assert names(before, after) == [" (read in G17)", " (read in G18)"]
    # with a J that is not 0 it can be G17 alone
    bent = b"G2 X8 Y4 I5 J0\nG2 X5 Y5 I-3 J-4\n"
    assert names(head + bent + line, head + bent + line) == [""]
    full = head + b"G2 I5 J0\n" + line
    stated = full.replace(b"G90", b"G90 G17")
    assert failed(full, stated, KNOWN) == {}
    assert "arcs" in failed(stated, full) or "cutting path" in failed(stated, full)


def test_a_setting_that_the_second_program_alone_leaves_open_counts_in_full():
    """That its arcs make no sense in G91 is no excuse: the first program ran there."""
    before = b"G21 G17 G90\nG0 X1 Y1 Z5\nG1 Z-1 F100\nG2 X11 Y1 I5 J0\nG0 Z5\nM2\n"
    after = before.replace(b" G90", b"")
    assert names(before, after) == [" (read in G90)", " (read in G91)"]
    assert names(after, before) == [""]  # here they are an excuse
    found = failed(before, after)
    assert any("(read in G91)" in each.figure for each in found.values())


def test_readings_are_those_of_what_is_open_and_no_more():
    stated = b"G21 G90 G17\n" + HOLES
    assert names(stated, stated) == [""]
    assert names(HOLES, HOLES) == [" (read in mm)", " (read in inches)"]
    assert names(HOLES, stated) == [" (read in mm)", " (read in inches)"]
    both = HOLES.replace(b"G90 G17\n", b"")
    assert names(both, both) == [
        *(" (read in mm and in G90)", " (read in G91)"),
        *(" (read in inches)", " (read in inches and in G91)"),
    ]
    assert names(both, both, known(Mill())) == [""]
    deletable = HOLES.replace(b"G0 Z0.1\nM30", b"/G0 Z0.1\nM30")
    assert names(deletable, deletable) == [
        *(" (read in mm)", " (read in inches)"),
        *(" (read in mm) (block delete on)", " (read in inches) (block delete on)"),
    ]


def test_small_errors_that_add_up_in_increments_and_grow_in_inches():
    """0.00007 off is 0.0018 mm in inches, three of them in a row 0.0053 mm: only both show it."""
    steps = b"G0 Z1\nG0 X1 Y1\nG1 Z-1 F10\n" + b"G1 X1 Y1\n" * 3 + b"G0 Z3\nM2\n"
    off = steps.replace(b"G1 X1 Y1\n", b"G1 X1.00007 Y1\n")
    found = failed(steps, off)["cutting path"]
    assert found.figure.endswith("(read in inches and in G91)")


@pytest.mark.parametrize("units", [21, 20])
def test_the_metal_is_looked_at_in_each_reading(units):
    """A stock given in mm, and a depth that is a nick in mm and through the part in inches."""
    job = Job({1: Tool(6.0)}, Box((-300.0, -300.0, -60.0), (300.0, 300.0, 0.0)))
    text = b"G90 G17\nT1 M6\nS900 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F100\nG1 X2\nG0 Z5\nM30\n"
    back = text.replace(b"G1 X2\n", b"G1 X2\nG1 X2.0001\nG1 X2\n")
    mill = Mill(controller=Controller(units=units))
    found = prove(SourceText.of(text), SourceText.of(back), mill, job)
    assert {each.name for each in found.obligations if each.looked} >= {"metal removed"}
    assert [each.name for each in found.failed if "inches" not in each.figure] == []


@pytest.mark.parametrize("switch", [False, True])
def test_where_both_carry_take_ups_the_events_may_differ_in_one_reading(switch):
    """A dwell that the block delete switch skips is gone: with the switch on all is the same."""
    carried = (
        b"(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)\n"
        b"G21 G17 G90\nG0 X0 Y0\nG0 Z5\n/G4 P1\nG1 Z-1 F100\nG1 X20\nG0 Z5\nM30\n"
    )
    mill = Mill(controller=Controller(block_delete=switch))
    found = failed(carried, carried.replace(b"/G4 P1\n", b""), mill)
    told = "" if switch is False else " (block delete off)"
    assert found["stops and switches"].figure.endswith(f"a dwell of 1 s is gone{told}")
    assert found["table path"].figure == f"not shown: the moves could not be compared{told}"
