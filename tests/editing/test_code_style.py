"""The manner of a program, as its words show it."""

import pytest

from gpre.editing.code_style import CodeStyle, Numbering, manner_of
from gpre.editing.number_style import NumberStyle
from gpre.motion.trace import trace
from gpre.program.read import read


def manner(text: bytes) -> CodeStyle:
    program = read(text)
    return manner_of(program, trace(program))


def test_a_plain_metric_program():
    found = manner(b"G21 G90\nG0 X10 Y5.25\nG1 Z-1 F100\nX0\n")
    assert found.newline == b"\n"
    assert found.blank == " "
    assert not found.padded
    assert not found.lower
    assert not found.repeats
    assert found.numbering is None
    assert found.length == NumberStyle(3, 0, point=False, leading_zero=True)


def test_packed_with_points_and_no_leading_zero():
    found = manner(b"g20g90\r\ng00x1.y-.25\r\ng01z-.1f4.\r\n")
    assert found.newline == b"\r\n"
    assert found.blank == ""
    assert found.padded
    assert found.lower
    assert found.length.point
    assert not found.length.leading_zero
    assert found.length.decimals == 4


def test_whole_lengths_get_a_point_where_every_length_has_one():
    # no whole number shows how they are written, and zero stands without a point
    found = manner(b"G21 G90\nG0 X0 Y0 Z5.5\nG1 Z-0.5 F100\nG1 X10.5\nG3 X20.25 I4.875 J0\n")
    assert [found.length.write(each) for each in (12.0, -3.0, 0.0)] == ["12.", "-3.", "0"]
    assert [found.centre.write(each) for each in (5.0, 2.5)] == ["5.", "2.5"]
    assert found.feed.write(120.0) == "120"
    assert manner(b"G0 X0. Y1.5\n").length.write(0.0) == "0."
    assert "." in manner(b"G0 Y1.5\n").length.write(0.0)


def test_whole_lengths_get_a_point_where_some_have_one():
    found = manner(b"G0 X10. Y5 Z7\nX20 Y5\nG2 X9.5 I5 J2.5\n")
    assert found.length.write(30.0) == "30."
    assert found.centre.write(30.0) == "30"
    assert manner(b"G0 X10.5 Y5\nG2 X9.5 I2.5\n").centre.write(30.0) == "30"


def test_as_many_decimals_as_are_seen():
    assert manner(b"G21\nG1 X1.23456 Y2 F100\n").length.decimals == 5
    assert manner(b"G21\nG1 X1.2 Y2 F100\n").length.decimals == 3
    assert manner(b"G20\nG1 X1.2 Y2 F100\n").length.decimals == 4


def test_fixed_decimals_keep_their_zeros():
    found = manner(b"G21\nG1 X1.000 Y2.500 F100.0\nX10.000\n")
    assert found.length == NumberStyle(3, 3, point=True, leading_zero=True)
    assert found.keeps_zeros
    assert found.length.write(5.0) == "5.000"
    assert found.length.write(1.23456) == "1.235"


def test_zeros_are_kept_where_most_numbers_keep_them():
    text = b"G21\nG1 X1.5970 Y29.0850 F100\nX53. Y2.1230\nX2.4000 Y7.2500\n"
    assert manner(text).length.write(98.397) == "98.3970"


def test_zeros_are_dropped_where_numbers_drop_them():
    lines = b"X1.111 Y1.25\nX2.5 Y2.375\nX3.333 Y3.5\nX4.125 Y4.75\n"
    assert manner(b"G21\nG1 F100\n" + lines).length.write(98.4) == "98.4"


def test_signs_are_kept_where_numbers_bear_them():
    found = manner(b"G21\nG1 X+1.500 Y-2.250 Z+3.000 F100\nX+4.000\n").length
    assert [found.write(value) for value in (2.5, -2.5, 0.0)] == ["+2.500", "-2.500", "0.000"]
    assert not manner(b"G21\nG1 X1.5 Y+2.5 F100\n").length.plus


def test_whole_numbers_without_a_point_stay_so():
    found = manner(b"G21\nG1 X1 Y2 F100\nX10 Y0.25\n")
    assert found.length.write(5.0) == "5"
    assert found.length.write(5.5) == "5.5"


@pytest.mark.parametrize(
    ("text", "width", "step"),
    [
        (b"N10 G21\nN20 G0 X1\nN30 X2\n", 1, 10),
        (b"N0005 G21\nN0010 G0 X1\nN0015 X2\n", 4, 5),
        (b"N1 G21\nN2 G0 X1\nN3 X2\n", 1, 1),
    ],
)
def test_block_numbers(text: bytes, width: int, step: int):
    assert manner(text).numbering == Numbering(step, width)


def test_a_few_numbers_are_no_numbering():
    assert manner(b"G21\nN50 G0 X1\nX2\nX3\nX4\n").numbering is None


def test_arcs_by_radius_or_centre():
    assert manner(b"G21\nG0 X0 Y0\nG2 X10 Y10 R10 F100\nG3 X20 Y20 R10\n").radius
    assert not manner(b"G21\nG0 X0 Y0\nG2 X10 Y10 I10 J0 F100\n").radius


def test_centre_offsets_of_zero_are_written_or_left_out():
    assert manner(b"G21\nG0 X0 Y0\nG2 X10 Y10 I10 J0 F100\n").writes_zero_centre
    assert not manner(b"G21\nG0 X0 Y0\nG2 X10 Y10 I10 F100\n").writes_zero_centre


def test_repeated_motion_codes():
    assert manner(b"G21\nG0 X1\nG0 X2\nG0 X3\nG1 X4 F100\nG1 X5\n").repeats
    assert not manner(b"G21\nG0 X1\nX2\nX3\nG1 X4 F100\nX5\n").repeats


def test_comment_styles():
    assert manner(b"G21 ; plate\nG0 X1\n").semicolon
    assert not manner(b"G21 (plate)\nG0 X1\n").semicolon
    assert not manner(b"G21 (PLATE)\nG0 X1\n").lower_comments
    assert manner(b"G21 (PLATE)\nG0 X1\n").comment("approach X+") == "(APPROACH X+)"
    assert manner(b"G21 ; plate\nG0 X1\n").comment("approach X+") == "; approach X+"


def test_codes_with_tenths():
    assert CodeStyle().code("G", 901) == "G90.1"
    assert CodeStyle(padded=True, lower=True).code("G", 10) == "g01"


def test_an_empty_program_has_the_plain_manner():
    assert manner(b"").blank == " "
    assert manner(b"(only a comment)\n").length.decimals == 3


def test_every_digit_counts_as_a_decimal():
    assert manner(b"G21\nG1 X1.99999 Y2.090 F100\n").length.decimals == 5


def test_as_many_with_a_point_as_without_keep_their_zeros():
    assert manner(b"G21\nG1 X1.500 Y2.500 F100\nX3.000 Y4\n").length.write(2.5) == "2.500"
