"""Two programs are not the same motion where they differ in what cannot be followed."""

import pytest

from gpre.comparison.diff import diff
from gpre.source.text import SourceText

HEAD = "G21 G90 F300\nG1 X10\n"


def compared(before, after):
    return diff(SourceText.of(before.encode(), "a"), SourceText.of(after.encode(), "b"))


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        # behind a jump nothing is followed
        ("GOTO 20\nG1 X5\nN20 G1 X0\nM2\n", "GOTO 20\nG1 X5\nN20 G1 X1\nM2\n", "line 5"),
        ("GOTO 20\nN20 G1 X0\nM2\n", "GOTO 30\nN20 G1 X0\nM2\n", "line 3"),
        # an arc that cannot be is no move, so no move differs
        ("G2 X5 Y3\nM2\n", "G2 X7 Y3\nM2\n", "line 3 of the first program differs"),
        ("G1 X[1/0]\nM2\n", "G1 X[2/0]\nM2\n", "is not understood"),
    ],
)
def test_a_change_that_no_move_shows_is_a_difference(before, after, words):
    result = compared(HEAD + before, HEAD + after)
    assert not result.same_motion
    assert words in result.first_difference


def test_what_stands_behind_the_end_does_not_count():
    assert compared(HEAD + "M2\nG1 X9\n", HEAD + "M2\nG1 X8\n").same_motion


def test_the_same_program_is_the_same_even_where_it_is_not_followed():
    text = HEAD + "GOTO 20\nN20 G2 X1\nM2\n"
    assert compared(text, text).same_motion
