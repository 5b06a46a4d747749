"""A header that is gone is missed, although the motion is the same on a controller as assumed."""

import pytest
from known_mill import KNOWN

from gpre.driver.proving import prove_programs
from gpre.mill.job import Job
from gpre.proof.modes_stated import modes_stated
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = b"G21 G17 G90 G94 G40 G49 G80 G54\n"
BODY = b"T1 M6\nS900 M3\nG0 X0 Y0 Z5\nG1 Z-1 F100\nG2 X10 Y0 I5 J0\nG0 Z5\nM2\n"


def stated(before, after):
    sides = (Side.of(SourceText.of(each), KNOWN) for each in (before, after))
    return modes_stated(Pair(*sides, KNOWN, Job()))


@pytest.mark.parametrize("word", [b"G21 ", b"G17 ", b"G90 ", b"G94 ", b"G40 ", b"G49 ", b" G54"])
def test_each_word_of_the_header_is_missed(word):
    found = prove_programs(
        SourceText.of(HEAD + BODY), SourceText.of(HEAD.replace(word, b"") + BODY), KNOWN
    )
    assert [each.name for each in found.failed] == ["modal codes set"]
    (failed,) = found.failed
    assert failed.figure.startswith(word.decode().strip() + " (")
    assert (failed.before, failed.after) == (0, None)


def test_a_header_may_be_split_moved_and_said_again():
    assert stated(HEAD + BODY, b"G54\nG21 G17\nG90 G94 G40 G49\n" + BODY).holds
    assert stated(HEAD + BODY, b"T1 M6\n" + HEAD + BODY).holds
    assert stated(HEAD + BODY, HEAD + HEAD + BODY).holds
    assert stated(HEAD + BODY, BODY.replace(b"G0 X0", HEAD.strip() + b" G0 X0")).holds
    assert stated(BODY, HEAD + BODY).holds


def test_a_mode_stated_later_than_it_was_is_missed():
    found = stated(HEAD + BODY, BODY.replace(b"G1 Z-1", HEAD + b"G1 Z-1"))
    assert not found.holds
    assert "later" in found.figure
    assert (found.before, found.after) == (0, 3)


def test_where_the_first_program_was_late_itself_no_more_may_be_cut_before():
    late = BODY.replace(b"G1 Z-1", b"G17\nG1 Z-1")
    assert stated(late, late).holds
    assert stated(late, late.replace(b"Z5\nG17", b"Z5\nG0 X0\nG17")).holds
    assert not stated(late, BODY.replace(b"G2 X10", b"G17\nG2 X10")).holds


def test_another_mode_first_is_missed():
    assert not stated(HEAD + BODY, b"G91\n" + HEAD + BODY).holds
    assert stated(HEAD + BODY, HEAD.replace(b"G21", b"G71") + BODY).holds  # mm in an older manner


def test_a_statement_that_a_switch_may_skip_is_none():
    assert not stated(HEAD + BODY, b"/" + HEAD + BODY).holds
    assert stated(b"/" + HEAD + BODY, b"/" + HEAD + BODY).holds


def test_what_stands_in_a_subprogram_or_behind_the_end_counts_when_it_runs():
    calling = b"M98 P9\n" + BODY + b"O9\n" + HEAD + b"M99\n"
    assert stated(HEAD + BODY, calling).holds
    assert not stated(HEAD + BODY, BODY + HEAD).holds


LOOP = b"G2 X5 Y5 I5 J0\nG1 X7\nG0 Z5\nG0 X3\nG0 Z0\nG1 Z-1\nG1 X5\nG2 X10 Y0 I0 J-5\n"


@pytest.mark.parametrize("late", [b"G99 G81 X30 Y0 Z-3 R2 F90\n", b"G64\nX30\n", b"G91 G28 Z0\n"])
def test_a_loop_among_cuts_that_ran_before_a_statement_needs_it_no_more_than_they(late):
    body = HEAD.replace(b"G90 ", b"") + BODY.replace(b"M2\n", late + b"G1 X40\nM2\n")
    assert stated(body, body.replace(b"G2 X10 Y0 I5 J0\n", LOOP)).holds
    # the first to state it may be another block
    assert stated(body, body.replace(b"G2 X10 Y0 I5 J0\n", LOOP).replace(late, b"N1 " + late)).holds


@pytest.mark.parametrize("cut", [b"G1 X40\n", b"G1 X35\n", b"G1 X32\nX40\n", b"G1 X39 Z-1.001\n"])
def test_neither_a_cut_from_behind_a_statement_nor_a_piece_of_one_runs_before_it(cut):
    body = HEAD + BODY.replace(b"M2\n", b"G0 X30\nG1 Z-1\nG64\nG1 X40\nM2\n")
    looped = body.replace(b"G2 X10 Y0 I5 J0\n", LOOP)
    assert stated(body, looped).holds
    assert not stated(body, looped.replace(b"G64\n", cut + b"G64\n")).holds
    swapped = looped.replace(b"G1 X40\n", b"").replace(b"G64\n", cut + b"G64\n")
    assert not stated(body, swapped).holds


@pytest.mark.parametrize(("cut", "holds"), [(b"X35 Y35", False), (b"X29 Y35", True)])
def test_a_new_cut_across_one_from_behind_a_statement_is_a_piece_of_it(cut, holds):
    """It begins and ends elsewhere; three eighths along it crosses the cut at Y0, or passes by."""
    body = HEAD + BODY.replace(b"M2\n", b"G0 X30\nG1 Z-1\nG64\nG1 X40\nG0 Z5\nM2\n")
    start = cut.split()[0] + b" Y-21"
    across = b"G0 Z5\nG0 " + start + b"\nG0 Z-1\nG1 " + cut + b"\nG0 Z5\nG0 X30 Y0\nG0 Z-1\n"
    assert stated(body, body.replace(b"G64\n", across + b"G64\n")).holds == holds


@pytest.mark.parametrize(
    ("was", "now", "holds"),
    [(b"", b"", True), (b"/", b"/", True), (b"/", b"", True), (b"", b"/", False)],
)
def test_behind_a_macro_a_mode_that_a_switch_may_skip_is_not_stated(was, now, holds):
    body = HEAD + BODY.replace(b"G0 Z5\nM2", b"G0 Z5\nG65 P9010\n%sG90\nG1 X3\nM2")
    assert stated(body % was, body % now).holds == holds
