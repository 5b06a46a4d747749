"""What speaks for inch or mm. Habits of the trade, common practice: there is no source to check."""

import pytest

from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.motion.unit_hints import INCH, MM, SHOWN, unit_hints
from gpre.program.read import read


def told(text, units=None):
    program = read(text)
    found = unit_hints(program, trace(program))
    return [(each.what, each.block) for each in found if units in (None, each.units)]


INCHES = b"G0 Z0.1\nG0 X1.0000 Y2.0000\nG1 Z-0.25 F12\nX2.5000 F20\nG0 Z0.1\n"
MILLIMETRES = b"G0 Z5\nG0 X10.000 Y20.000\nG1 Z-6 F300\nX85.500 F600\nG0 Z5\n"
EITHER = b"G0 Z1.5\nG0 X10 Y20\nG1 Z-2 F80\nX15\nG0 Z1.5\n"


def test_a_program_in_inches_speaks_for_inch():
    assert told(INCHES, INCH) == [
        ("feeds of 12 to 20", 2),
        ("clearance Z0.1", 0),
        ("four decimals", 1),
    ]
    assert told(INCHES, MM) == []


def test_a_program_in_mm_speaks_for_mm():
    assert told(MILLIMETRES, MM) == [
        ("feeds of 300 to 600", 3),
        ("clearance Z5", 0),
        ("depths down to Z-6", 2),
    ]
    assert told(MILLIMETRES, INCH) == []


def test_feeds_below_one_speak_for_inch():
    text = EITHER.replace(b"F80", b"F0.5")
    assert told(text) == [("a feed of 0.5", 2)]
    assert told(text.replace(b"X15", b"X15 F1")) == [("feeds of 0.5 to 1", 2)]
    assert told(text.replace(b"F0.5", b"F0")) == []


def test_what_may_be_either_speaks_for_neither():
    assert told(EITHER) == []


def test_hints_do_not_depend_on_what_was_taken():
    for text in (INCHES, MILLIMETRES):
        program = read(text)
        as_mm, as_inch = (
            unit_hints(program, trace(program, Controller(units=units))) for units in (21, 20)
        )
        assert as_mm == as_inch


@pytest.mark.parametrize(
    ("comment", "units"),
    [
        ("(T1 6MM END MILL)", MM),
        ("(all in mm)", MM),
        ("(1/4 END MILL)", INCH),
        ("(T2 3/8 drill)", INCH),
        ('(5" PLATE)', INCH),
        ("(DIMENSIONS IN INCHES)", INCH),
        ("(T1 6MM, was 1/4 INCH)", None),
        ("(PART 1/2)", None),
        ("(2/4 END MILL)", None),
        ("(DRILL, 3/8/2020)", None),
        ("(HAMMER IN THE PIN)", None),
        ("(T1 6 FLUTES)", None),
    ],
)
def test_comments(comment, units):
    found = told(EITHER + comment.encode() + b"\n")
    if units is None:
        assert found == []
    else:
        assert found == told(EITHER + comment.encode() + b"\n", units)
        assert found == [(f"the comment {comment}", 5)]


def test_units_that_come_later_speak_loudest():
    assert told(INCHES + b"G21\n", MM) == [("G21 comes later", 5)]


def test_feeds_that_are_no_speeds_say_nothing():
    assert told(b"G93\nG0 X10 Y20\nG1 X15 F12\n", INCH) == []


def test_cycles_clear_by_their_r():
    text = b"G0 Z3\nG81 X10 Y20 Z-2 R0.1 F80\nX15\nG80\n"
    assert ("clearance R0.1", 1) in told(text, INCH)


def test_no_more_than_three_of_each():
    text = b"(T1 6MM)\n(1/4 DRILL)\n" + INCHES + b"G0 X100\nG1 Z-12\nX200\n"
    assert len(told(text, INCH)) == SHOWN
    assert len(told(text, MM)) == SHOWN


@pytest.mark.parametrize(
    "text", [b"", b"%\n", b"M2\n", b"G0 X#1\n", b"G28\nG1 X1\n", b"G92 X0\nF0\n"]
)
def test_programs_that_say_nothing(text):
    assert told(text) == []


def test_a_comment_counts_however_many_blocks_come_before_it():
    text = EITHER * 500 + b"(ALL DIMENSIONS IN INCH)\n"
    assert told(text, INCH) == [("the comment (ALL DIMENSIONS IN INCH)", 2500)]


@pytest.mark.parametrize(
    "low", [b"G1 Z0.3 F80\nX9\n", b"G83 X1 Y1 Z-2 R1.5 Q1 F80\nG80\n", b"G0 Z0\n", b"G0 Z-1\n"]
)
def test_how_near_rapids_come_is_not_told_by_moves_at_feed_or_within_a_cycle(low):
    assert told(EITHER + low) == []
    assert told(EITHER + b"G0 Z0.4\n", INCH) == [("clearance Z0.4", 5)]
