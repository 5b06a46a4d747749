"""What controllers read in more than one way: new, it fails; as it was, it does not.

Each pair goes to the proof that `gpre rewrite` asks and to the one for hand edits, which forgives
what is only spelling.
"""

import re

import pytest

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Severity
from gpre.driver.proving import prove_programs
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.proof.decimal_points import lost_points
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

# Two passes over a clamp ring blank, with a point in every length; invented demo program.
POINTS = """%
O2101 (CLAMP RING TRIAL, INVENTED)
N10 G21 G17 G90 G94 G40 G49 G80
N20 G54
N30 T1 M6 (END MILL 6)
N40 S2000 M3
N50 G0 X-5. Y10.
N60 G43 H1 Z10.
N70 M8
N80 G0 Z2.5
(FIRST PASS)
N90 G1 Z-1. F200
N100 G1 X30. F300
N110 G3 X40. Y20. I0 J10.
N120 G1 Y45.500
N130 G0 Z2.5
N140 G0 X-5. Y10.
(SECOND PASS)
N150 G1 Z-2. F200
N160 G1 X30. F300
N170 G3 X40. Y20. I0 J10.
N180 G1 Y45.500
N190 G0 Z2.5
N200 G0 X10. Y30.
N210 M9
N220 G0 Z10.
N230 M5
N240 M30
%
"""
WHOLE = re.sub(r"([XYZJ]-?\d+)\.(?!\d)", r"\1", POINTS)  # X30, but Z2.5: the commonest style
MIXED = POINTS.replace("J10.", "J10")
JOB = Job({1: Tool(6.0, flutes=2)}, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
OPTIONAL = Mill(controller=Controller(decimal_point_optional=True))


def text(program: str) -> SourceText:
    return SourceText.of(program.encode())


def readable(before: str, after: str, mill: Mill | None = None) -> list:
    """Return the obligation as the strict proof has it and as the one for hand edits has it."""
    proofs = (
        prove(text(before), text(after), mill, JOB),
        prove_programs(text(before), text(after), mill, JOB).proof,
    )
    return [next(each for each in proof.obligations if each.name == "readable") for proof in proofs]


def fails(before: str, after: str, words: str, line: str) -> None:
    """Check that both proofs fail on some words, at the line of `after` that begins with `line`."""
    assert before != after
    block = next(at for at, each in enumerate(after.splitlines()) if each.startswith(line))
    for each in readable(before, after):
        assert not each.holds
        assert words in each.figure
        assert each.after == block
        assert each.limit == 0.0
    assert not prove_programs(text(before), text(after), None, JOB).holds


def proved(before: str, after: str, mill: Mill | None = None) -> None:
    """Check that nothing is said against the reading, and that both make the same part."""
    assert before != after
    assert [each.figure for each in readable(before, after, mill) if not each.holds] == []
    found = prove_programs(text(before), text(after), mill, JOB)
    assert [(each.name, each.figure) for each in found.failed] == []


def replaced(program: str, old: str, new: str) -> str:
    assert old in program
    return program.replace(old, new, 1)


DOUBTS = {
    "a comment lost its bracket": ("(FIRST PASS)", "(FIRST PASS", "(FIRST PASS", "REA206"),
    "a comment behind words lost it": ("END MILL 6)", "END MILL 6", "N30", "REA206"),
    "a new comment without its bracket": ("N90 ", "(SLOW\nN90 ", "(SLOW", "REA206"),
    "a comment within a comment": ("(FIRST PASS)", "(FIRST (G0) PASS)", "(FIRST", "REA207"),
    "words within a comment": ("(END MILL 6)", "(END (6) G0 Z-5)", "N30", "REA207"),
    "brackets in a comment behind a cut": ("J10.", "J10. (R(10) Z-9)", "N110", "REA207"),
    "a blank within a number": ("X30.", "X3 0.", "N100", "REA236"),
    "a blank before the point": ("Z-2.", "Z-2 .", "N150", "REA236"),
    "a blank behind the sign": ("Z-2.", "Z- 2.", "N150", "REA236"),
    "a blank behind the point": ("Z2.5", "Z2. 5", "N80", "REA236"),
    "a word beyond column 256": ("G1 X30.", "G1" + 260 * " " + "X30.", "N100", "SRC102"),
    "a word behind a long comment": ("G1 Z-1.", f"G1 ({'A' * 250}) Z-1.", "N90", "SRC102"),
    "a comment over column 256": ("N80 G0 Z2.5", f"N80 G0 Z2.5 ({'A' * 250})", "N80", "SRC102"),
    "a program number between cuts": ("N100 ", "O1234\nN100 ", "O1234", "REA257"),
    "a program number before words": ("N120 G1", "O12 G1", "O12", "REA257"),
    "a program number at the end": ("N220 ", ":7\nN220 ", ":7", "REA25"),
    "an H word under G43": ("G1 X30.", "G1 X30. H2", "N100", "INT327"),
    "an H word at rapid": ("N190 G0", "N190 H2 G0", "N190", "INT327"),
    "an H word alone": ("N120 ", "H2\nN120 ", "H2", "INT327"),
    "a D word": ("G1 Y45.500", "G1 Y45.500 D2", "N120", "INT327"),
    "an H word beside G49": ("G49", "G49 H2", "N10", "INT327"),
    "a Q word that no cycle asks for": ("X30. F300", "X30. Q3. F300", "N100", "INT327"),
    "the same code twice": ("N100 G1", "N100 G1 G1", "N100", "INT339"),
    "a length without its number": ("G43 H1", "G43", "N60", "INT341"),
    "a switch of its own": ("N130 ", "/2 ", "/2", "REA253"),
}


@pytest.mark.parametrize("name", DOUBTS)
def test_what_controllers_read_differently_fails_where_it_is_new(name):
    old, new, line, code = DOUBTS[name]
    fails(POINTS, replaced(POINTS, old, new), code, line)


@pytest.mark.parametrize("name", DOUBTS)
def test_it_is_no_fault_where_it_was_there_nor_is_taking_it_out(name):
    old, new, _, _ = DOUBTS[name]
    doubtful = replaced(POINTS, old, new)
    for each in readable(doubtful, replaced(doubtful, "N200 G0 X10. Y30.", "N200 G0 Y30. X10.")):
        assert each.holds, each.figure
    for each in readable(doubtful, POINTS):
        assert each.holds, each.figure


def test_the_mark_that_ends_the_file_may_not_be_lost():
    fails(POINTS, POINTS.removesuffix("%\n"), "REA249", "%")


def test_the_same_words_on_another_block_are_new():
    before = replaced(POINTS, "N100 G1 X30.", "N100 G1 X30. H2")
    fails(before, replaced(POINTS, "N120 G1 Y45.500", "N120 G1 Y45.500 H2"), "INT327", "N120")
    before = replaced(POINTS, "N100 G1 X30.", "N100 G1 X3 0.")
    fails(before, replaced(POINTS, "Y45.500", "Y45.5 00"), "REA236", "N120")


def test_one_more_of_the_same_words_is_new():
    before = replaced(POINTS, "N100 G1 X30.", "N100 G1 X30. H2")
    fails(before, replaced(before, "N160 G1 X30.", "N160 G1 X30. H2"), "INT327", "N160")


def test_a_doubtful_block_may_not_move():
    before = replaced(POINTS, "N100 G1 X30.", "N100 G1 X30. H2")
    after = replaced(POINTS, "N160 G1 X30.", "N160 G1 X30. H2")  # the same block, a pass later
    fails(before, after, "moved", "N160")
    before = replaced(POINTS, "(SECOND PASS)", "(SECOND PASS")
    gone = before.replace("(SECOND PASS\n", "")
    for line in ("N90 ", "N120 ", "N140 ", "N160 ", "N190 "):
        fails(before, replaced(gone, line, "(SECOND PASS\n" + line), "moved", "(SECOND")


def test_cuts_may_not_change_sides_across_a_doubtful_block():
    # two slots side by side, the second one before the words that a controller may take
    slot = "G0 X{0}\nG1 Z-1 F100\nG1 Y30\nG0 Z5\nG0 Y0\n"
    head = "G21 G90 G17\nT1 M6\nS2000 M3\nG0 X0 Y0 Z5\n"
    doubtful, end = "G0 X60\nG0 X60 H2\n", "G0 X0\nM5\nM30\n"
    before = head + slot.format(10) + doubtful + slot.format(30) + end
    after = head + slot.format(30) + doubtful + slot.format(10) + end
    for each in readable(before, after):
        assert not each.holds
        assert "INT327" in each.figure
    free = [each.replace("G0 X60 H2\n", "") for each in (before, after)]
    for each in readable(*free):
        assert each.holds, each.figure


def test_the_spelling_of_a_doubtful_block_is_free_where_it_says_nothing():
    before = replaced(POINTS, "N100 G1 X30. F300", "N100 G1 X30. H2 F300 (LONG SIDE)")
    for new in ("N100 g1 x30. h2 f300 (LONG SIDE)", "G01X30.00H2F300(LONG SIDE)"):
        proved(before, replaced(before, "N100 G1 X30. H2 F300 (LONG SIDE)", new))
    proved(before, replaced(before, "(LONG SIDE)", "(LONG SIDE, SLOW)"))
    blank = replaced(POINTS, "N100 G1 X30.", "N100 G1 X3 0.")
    proved(blank, replaced(blank, "N100 G1 X3 0.", "N101  g1 x3  0."))


def test_what_a_comment_holds_matters_where_its_end_is_doubtful():
    before = replaced(POINTS, "(END MILL 6)", "(END (MILL) 6)")
    fails(before, replaced(before, "(MILL) 6)", "(MILL) G0 Z-6)"), "REA207", "N30")


def test_a_note_that_is_made_once_a_program_may_stand_elsewhere():
    before = "G21 G90\nG0 X0 Y0 Z5\nG1 Z1\nG1 X20\nG0 Z5\nM30\n"  # no feed is ever set
    for each in readable(before, before.replace("G1 Z1\n", "G0 Z1\n")):
        assert each.holds, each.figure


HONEST = {
    "a zero less": ("Y45.500", "Y45.50"),
    "no zeros": ("Y45.500", "Y45.5"),
    "a zero more": ("Z-1.", "Z-1.0"),
    "three more": ("X30.", "X30.000"),
    "zeros before": ("Z-1.", "Z-01."),
    "a zero with a point": ("I0", "I0."),
    "blanks between words": ("N100 G1 X30. F300", "N100  G1   X30.\tF300"),
    "no blanks": ("N100 G1 X30. F300", "N100G1X30.F300"),
    "a blank behind a letter": ("X30.", "X 30."),
    "small letters": ("N100 G1 X30. F300", "n100 g1 x30. f300"),
    "two digits": ("N100 G1", "N100 G01"),
    "a comment changed": ("(FIRST PASS)", "(FIRST OF TWO PASSES)"),
    "a comment lost": (" (END MILL 6)", ""),
    "a comment more": ("N90 ", "(SLOWLY NOW)\nN90 "),
    "a longer comment": ("(FIRST PASS)", f"({'FIRST PASS ' * 20})"),
    "a block number lost": ("N100 ", ""),
    "a longer block number": ("N100 ", "N00100 "),
    "words in another order": ("X40. Y20. I0 J10.", "Y20. X40. J10. I0"),
    "a plus sign": ("X30.", "X+30."),
    "a code once more": ("N120 G1", "N120 G90 G1"),
}


@pytest.mark.parametrize("program", [POINTS, WHOLE, MIXED], ids=["points", "whole", "mixed"])
@pytest.mark.parametrize("name", HONEST)
def test_honest_spelling_is_proved(name, program):
    old, new = HONEST[name]
    if program is not POINTS and old not in program:
        old, new = (re.sub(r"(\d)\.(?!\d)", r"\1", each) for each in (old, new))
    if program is not POINTS and old in program and old == new:
        pytest.skip("says nothing of a program without these points")
    after = replaced(program, old, new) if old in program else program.replace("J10", "J 10")
    proved(program, after)


def test_the_whole_program_may_be_spelled_otherwise():
    numbers = re.sub(r"(?m)^N\d+ ", "", POINTS)
    for after in (
        POINTS.lower(),
        numbers,
        numbers.lower().replace(" ", ""),
        POINTS.replace(".\n", ".00\n"),
    ):
        proved(POINTS, after)


LOST = {
    "down": ("Z-1.", "Z-1", "N90"),
    "across": ("X30.", "X30", "N100"),
    "a centre": ("J10.", "J10", "N110"),
    "three zeros": ("Z-2.", "Z-2", "N150"),
    "a rapid": ("Z10.", "Z10", "N60"),
    "written otherwise": ("N90 G1 Z-1. F200", "n90  g1 z-01 f200", "n90"),
    "with a point in a comment": ("Z-1.", "Z(.)-1", "N90"),
}


@pytest.mark.parametrize("name", LOST)
def test_a_length_that_lost_its_point_fails(name):
    old, new, line = LOST[name]
    fails(POINTS, replaced(POINTS, old, new), "decimal point", line)
    fails(
        POINTS.replace("Z-2.", "Z-2.000"),
        replaced(POINTS.replace("Z-2.", "Z-2.000"), "Z-2.000", "Z-2"),
        "Z-2 ",
        "N150",
    )


@pytest.mark.parametrize("name", LOST)
def test_it_fails_too_where_every_block_is_spelled_otherwise(name):
    old, new, _ = LOST[name]
    after = replaced(POINTS, old, new).lower()
    for each in readable(POINTS, after):
        assert not each.holds
        assert "decimal point" in each.figure


@pytest.mark.parametrize("name", LOST)
def test_the_profile_may_say_that_points_are_optional(name):
    old, new, _ = LOST[name]
    proved(POINTS, replaced(POINTS, old, new), OPTIONAL)


def test_a_length_fails_that_lost_its_point_in_a_program_that_mixes():
    for old, new, line in (
        ("Z-1.", "Z-1", "N90"),
        ("Z-2.", "Z-2", "N150"),
        ("X40.", "X40", "N110"),
    ):
        fails(MIXED, replaced(MIXED, old, new), "lost its decimal point", line)
        low = replaced(MIXED, old, new).lower()
        assert not any(each.holds for each in readable(MIXED, low))
    # the point went to the other pass
    swapped = replaced(POINTS, "N100 G1 X30.", "N100 G1 X30")
    after = replaced(POINTS, "N160 G1 X30.", "N160 G1 X30")
    fails(swapped, after, "lost its decimal point", "N160")
    assert not any(each.holds for each in readable(swapped, after.lower()))


def test_new_whole_numbers_without_a_point_fail_where_all_have_one():
    for new in ("N190 G0 Z3\nG0 Z2.5\n", "N190 G0 Z2.5\nG0 X41\n", "N190 G0 Z2.5\nG0 Y44 Z12.\n"):
        after = replaced(POINTS, "N190 G0 Z2.5\n", new)
        for each in readable(POINTS, after):
            assert not each.holds
            assert "no decimal point" in each.figure
        for each in readable(MIXED, after.replace("J10.", "J10")):
            assert each.holds, each.figure


def test_a_number_that_is_written_both_ways_may_be_so_once_more():
    before = replaced(POINTS, "N160 G1 X30.", "N160 G1 X30")
    for new in ("N190 G0 Z2.5\nG0 X30\n", "N190 G0 Z2.5\nG0 X30.\n"):
        for each in readable(before, replaced(before, "N190 G0 Z2.5\n", new)):
            assert each.holds, each.figure
    other = replaced(before, "N190 G0 Z2.5\n", "N190 G0 Z2.5\nG0 X40\n")  # only with a point
    fails(before, other, "X40 has lost its decimal point", "G0 X40")


def test_a_program_without_points_may_stay_so():
    after = replaced(WHOLE, "N190 G0 Z2.5\n", "N190 G0 Z2.5\nG0 Z3\n")
    for each in readable(WHOLE, after):
        assert each.holds, each.figure


def test_a_point_that_a_number_gained_is_told():
    after = replaced(replaced(WHOLE, "N100 G1 X30", "N100 G1 X30."), "F300", "F300.")
    for each in readable(WHOLE, after):
        assert each.holds
        assert "2 numbers have a decimal point that had none, from line 13 on" in each.figure
    earlier = replaced(after, "N80 G0 Z2.5", "N80  G0 Z2.5")  # it had its point already
    for each in readable(WHOLE, earlier):
        assert "2 numbers have a decimal point that had none, from line 13 on" in each.figure
    for each in (*readable(WHOLE, after, OPTIONAL), *readable(POINTS, POINTS.lower())):
        assert "point" not in each.figure
    proved(WHOLE, after)


def test_zero_is_zero_with_and_without_a_point():
    before = POINTS.replace("I0 ", "I0. ")
    proved(before, POINTS)
    proved(before, before.replace("I0. ", "I0.000 "))
    proved(before, before.lower().replace("i0. ", "i-0 "))


def test_codes_and_speeds_need_no_point():
    proved(POINTS.replace("S2000", "S2000."), POINTS)


DWELL = "N90 G1 Z-1. F200\nN95 G4 P500.\n"


def test_feeds_and_times_are_looked_at_each_for_themselves():
    new_feed = readable(POINTS, POINTS.replace("N190 G0 Z2.5", "N190 G1 Z2.5 F310"))
    assert all(each.holds for each in new_feed)  # its feeds have no points
    all_have = POINTS.replace("F200", "F200.").replace("F300", "F300.")
    fails(all_have, replaced(all_have, "X30. F300.", "X30. F300"), "F300 ", "N100")
    fails(all_have, all_have.replace("N190 G0 Z2.5", "N190 G1 Z2.5 F310"), "every feed", "N190")
    one_has = replaced(POINTS, "X30. F300", "X30. F300.")
    fails(one_has, POINTS, "F300 has lost its decimal point", "N100")
    before = replaced(POINTS, "N90 G1 Z-1. F200\n", DWELL)
    fails(before, replaced(before, "P500.", "P500"), "every time", "N95")


def test_calculated_blocks_count_too():
    before = POINTS.replace("N40 ", "#1=30\nN40 ").replace("N200 G0 X10. Y30.", "N200 G0 X10. Y#1")
    assert all(each.holds for each in readable(before, replaced(before, "X10. Y#1", "X10.0 Y#1")))
    fails(before, replaced(before, "X10. Y#1", "X10 Y#1"), "X10 ", "N200")


def test_every_warning_and_note_of_reader_and_interpreter_was_decided_on():
    """Left out: nothing runs there, nothing has moved yet, or gpre takes the place as unknown."""
    harmless = {
        "SRC104",  # no block at all
        "SRC105",  # before the first block: it stops before anything has moved
        "REA248",  # it stands behind the end
        "INT320",  # the place is taken as unknown
        "INT321",  # likewise: which system is in force is an event
        "INT328",  # the place is taken as unknown
        *("INT351", "INT352", "INT353"),  # the proof is made for all that may be in force
    }
    asked = {code for code in TABLE if code[:3] in {"SRC", "REA", "INT"}}
    found = {code for code in asked if not TABLE[code].doubtful}
    assert found == harmless
    errors = {code for code in asked if TABLE[code].severity is Severity.ERROR}
    assert not any(TABLE[code].controllers_differ for code in errors)


def test_words_count_with_a_point_and_without_each_for_themselves():
    """X30 stands elsewhere without a point; here one of two loses it, where blocks changed too."""
    program = (
        "%\nO1\nN10 G21 G90 G17 G54\nN20 T1 M6\nN30 S3000 M3\nN40 G0 X0. Y0.\nN50 Z5.\n"
        "N60 G1 Z-1. F100.\n{}N900 G0 Z5.\nN910 X30 (aside)\nN920 X0.\nN930 M30\n%\n"
    )
    before = program.format("N70 X30.\nN80 Y10.\nN90 X30. Y20.\n")
    after = program.format("N70 X29.\nN75 X30.\nN80 X30 Y10.\nN90 Y20.\n")
    fails(before, after, "X30 has lost its decimal point", "N80")
    for each in readable(before, after.replace("N80 X30 ", "N80 X30. ")):
        assert each.holds, each.figure


@pytest.mark.parametrize(
    ("new", "holds"),
    [
        ("N190 G0 Z2.5 ; out\n", True),
        ("N190 (OUT) G0 Z2.5 ; out\n", True),  # the `;` stands behind the words, not within ( )
        ("N190 G0 Z2.5 (OUT; AND ON)\n", True),  # nothing is lost where the block ends there
        ("N190 (OUT; AND ON) G0 Z2.5\n", False),
    ],
)
def test_a_new_semicolon_may_stand_where_no_words_are_lost(new: str, *, holds: bool):
    before = replaced(POINTS, "N80 G0 Z2.5\n", "N80 G0 Z2.5 ; down\n")
    for each in readable(before, replaced(before, "N190 G0 Z2.5\n", new)):
        assert each.holds == holds, each.figure
    for each in readable(POINTS, replaced(POINTS, "N190 G0 Z2.5\n", new)):
        assert each.holds == (holds and "; out" not in new), each.figure


def test_a_number_that_never_had_a_point_is_found_again_in_a_changed_stretch() -> None:
    """The block that it comes from is told by what it says, however that is spelled."""
    head, tail = "G21 G90\nS1000 M3\nG0 Z5.\n", "G0 Z9.\nM30\n"
    for was, lost in (("X20", False), ("X20.", True)):
        before = f"{head}G1 X10. F100.\n{was}\n{tail}"
        after = f"{head}Y5.\nG1 X10.0 F100.\nX020\n{tail}"
        pair = Pair(Side.of(text(before), Mill()), Side.of(text(after), Mill()), Mill(), Job())
        assert (lost_points(pair) is not None) == lost


def test_a_point_that_goes_to_another_block_of_a_changed_stretch_is_lost() -> None:
    """As many words with it and without as before; the blocks are told by what they say."""
    before = replaced(POINTS, "N160 G1 X30.", "N155 G1 Y12. X30\nN160 G1 X30.")
    after = replaced(
        before, "N155 G1 Y12. X30\nN160 G1 X30. ", "N152 G1 Y11.\nN155 G1 Y12. X30.\nN160 G1 X30 "
    )
    fails(before, after, "X30 has lost its decimal point", "N160")
