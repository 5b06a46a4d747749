"""Any two programs compared with each other: hand edits that do no harm, and those that do."""

import re

import pytest

from gpre.driver.proving import prove_programs
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Compensation, Mill
from gpre.motion.controller import Controller
from gpre.source.text import SourceText

# Two passes, each 1 mm deep, from outside the stock and out of it again; invented demo program.
BASE = b"""%
O2101 (CLAMP RING TRIAL, INVENTED)
N10 G21 G17 G90 G94 G40 G49 G80
N20 G54
N30 T1 M6 (END MILL 6)
N40 S2000 M3
N50 G0 X-5 Y10
N60 G43 H1 Z10
N70 M8
N80 G0 Z2
(FIRST PASS)
N90 G1 Z-1 F200
N100 G1 X30 F300
N110 G3 X40 Y20 I0 J10
N120 G1 Y45
N130 G0 Z2
N140 G0 X-5 Y10
(SECOND PASS)
N150 G1 Z-2 F200
N160 G1 X30 F300
N170 G3 X40 Y20 I0 J10
N180 G1 Y45
N190 G0 Z2
N200 G0 X10 Y30
N210 M9
N220 G0 Z10
N230 M5
N240 M30
%
"""
JOB = Job({1: Tool(6.0, flutes=2)}, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
MANNERS = {"comments", "untouched blocks", "line ends and layout"}


def proved(before, after, job=JOB, mill=None):
    return prove_programs(SourceText.of(before, "a.ngc"), SourceText.of(after, "b.ngc"), mill, job)


def renumbered(text, first=1, step=1):
    numbers = iter(range(first, 10_000, step))
    return re.sub(rb"(?m)^N\d+", lambda _: b"N%d" % next(numbers), text)


HARMLESS = {
    "comment changed": (BASE.replace(b"END MILL", b"ROUGHER"), {"comments", "untouched blocks"}),
    "comments lost": (re.sub(rb" ?\([^)]*\)", b"", BASE), {"comments", "untouched blocks"}),
    "comment added": (BASE.replace(b"N90 ", b"(SLOWLY NOW)\nN90 "), set()),
    "renumbered": (renumbered(BASE), {"untouched blocks"}),
    "numbers lost": (re.sub(rb"(?m)^N\d+ ", b"", BASE), {"untouched blocks"}),
    "blanks lost": (BASE.replace(b" ", b""), {"comments", "untouched blocks"}),
    "lower case": (BASE.lower(), {"comments", "untouched blocks"}),
    "zeros": (
        BASE.replace(b"G0 ", b"G00 ").replace(b"M6", b"M06").replace(b"X30", b"X30.000"),
        {"untouched blocks"},
    ),
    "blank lines": (BASE.replace(b"\nN", b"\n\nN"), set()),
    "line ends": (BASE.replace(b"\n", b"\r\n"), {"line ends and layout"}),
    "byte order mark": (b"\xef\xbb\xbf" + BASE, {"line ends and layout"}),
    "program number": (BASE.replace(b"O2101", b"O2102"), {"untouched blocks"}),
    "feed lowered": (BASE.replace(b"F300", b"F240"), set()),
    "modal words left out": (BASE.replace(b"N120 G1 Y45", b"N120 G1 Y45 F300"), set()),
    "header split": (BASE.replace(b"G21 G17 ", b"G21\nG17 "), {"untouched blocks"}),
    "coolant off one rapid later": (
        BASE.replace(b"N210 M9\nN220 G0 Z10\n", b"N220 G0 Z10\nN210 M9\n"),
        set(),
    ),
    "last rapid left out": (BASE.replace(b"N200 G0 X10 Y30\n", b""), set()),
    "text behind the end": (BASE + b"RAN WELL, TWICE\n", {"untouched blocks"}),
}
HARMFUL = {
    "Z off by 0.1": (BASE.replace(b"Z-2 ", b"Z-2.1 "), "cutting path"),
    "a pass dropped": (BASE[: BASE.index(b"(SECOND")] + BASE[BASE.index(b"N200") :], "passes"),
    "passes swapped": (
        BASE.replace(b"Z-1 ", b"Z-9 ").replace(b"Z-2 ", b"Z-1 ").replace(b"Z-9 ", b"Z-2 "),
        "depth order",
    ),
    "feed raised": (BASE.replace(b"X30 F300", b"X30 F330", 1), "feed"),
    "speed raised": (BASE.replace(b"S2000", b"S3000"), "stops and switches"),
    "coolant lost": (BASE.replace(b"N70 M8\n", b""), "stops and switches"),
    "spindle lost": (BASE.replace(b"S2000 M3", b"S2000"), "stops and switches"),
    "G2 for G3": (BASE.replace(b"G3", b"G2", 1), "cutting path"),
    "rapid through metal": (BASE.replace(b"N160 G1 X30", b"N160 G0 X30"), "cutting path"),
    "lift lost": (BASE.replace(b"N130 G0 Z2\n", b""), "air moves"),
    "lift too low": (BASE.replace(b"N130 G0 Z2", b"N130 G0 Z-0.5"), "air moves"),
    "another offset": (BASE.replace(b"H1", b"H2"), "stops and switches"),
    "another system": (BASE.replace(b"G54", b"G55"), "stops and switches"),
    "another unit": (BASE.replace(b"G21", b"G20"), "stops and switches"),
    "spindle never stopped": (BASE.replace(b"N230 M5\n", b""), "stops and switches"),
    "an H word under G43": (BASE.replace(b"N120 G1", b"N120 H2 G1", 1), "readable"),
    "a program number between cuts": (BASE.replace(b"N120 ", b"O7\nN120 ", 1), "readable"),
    "a switch of its own": (BASE.replace(b"N130 G0", b"/2 G0", 1), "readable"),
    "a way back": (BASE.replace(b"N120 ", b"X38\nN120 ", 1), "cutting path"),
}


@pytest.mark.parametrize("name", HARMLESS)
def test_an_edit_that_does_no_harm_is_proved_and_said(name):
    after, differs = HARMLESS[name]
    assert after != BASE
    found = proved(BASE, after)
    assert [(each.name, each.figure) for each in found.failed] == []
    assert found.holds
    assert set(found.differs) == differs
    assert not found.weaker


@pytest.mark.parametrize("name", HARMFUL)
def test_an_edit_that_does_harm_is_not_proved(name):
    after, first = HARMFUL[name]
    assert after != BASE
    found = proved(BASE, after)
    assert not found.holds
    assert first in {each.name for each in found.failed}


@pytest.mark.parametrize("name", HARMFUL)
def test_harm_is_found_under_another_spelling_too(name):
    after = renumbered(re.sub(rb"\([^)]*\)", b"", HARMFUL[name][0]).replace(b" ", b"").lower())
    found = proved(BASE, after)
    assert not found.holds
    assert HARMFUL[name][1] in {each.name for each in found.failed}


# In the bare texts that are asked again, these would be spelled as the first program is.
SPELLED = {
    "a blank within a number": (BASE, b"N100 G1 X30", b"N100 G1 X3 0"),
    "a comment alone on its line": (BASE, b"(FIRST PASS)", b"(FIRST PASS"),
    "a comment within a comment": (BASE, b"(FIRST PASS)", b"(FIRST (SLOW) PASS)"),
    "words beyond column 256": (BASE, b"N100 G1", b"N100 G1" + b" " * 256),
    "a long comment": (BASE, b"(FIRST PASS)", b"(" + b"FIRST PASS " * 24 + b")"),
    "a point lost": (BASE.replace(b"Z-1 ", b"Z-1. "), b"Z-1. ", b"Z-1 "),
    "a point and zeros lost": (BASE.replace(b"X-5 ", b"X-5.000 "), b"X-5.000 ", b"X-5 "),
    "a point lost in an arc": (BASE.replace(b"J10", b"J10."), b"J10.", b"J10"),
}


@pytest.mark.parametrize("respelled", [False, True])
@pytest.mark.parametrize("name", SPELLED)
def test_spelling_that_controllers_read_differently_is_no_spelling(name, respelled):
    before, old, new = SPELLED[name]
    assert old in before
    after = before.replace(old, new, 1)
    found = proved(before, after.lower() if respelled else after)
    assert [each.name for each in found.failed] == ["readable"]
    line = next(at for at, each in enumerate(after.splitlines()) if new in each + b" ")
    assert found.failed[0].after == line
    assert "readable" not in found.differs
    back = proved(after, before)  # put right
    assert back.holds


def test_the_same_bytes_are_proved_and_nothing_differs():
    found = proved(BASE, BASE)
    assert found.holds
    assert found.differs == ()


def test_a_feed_lowered_in_a_block_that_does_more_is_no_harm():
    before = BASE.replace(b"N70 M8\n", b"").replace(b"X30 F300", b"X30 F300 M8", 1)
    found = proved(before, before.replace(b"F300 M8", b"F250 M8"))
    assert found.holds
    assert found.differs == ("untouched blocks",)
    (feed,) = [each for each in found.proof.obligations if each.name == "feed"]
    assert "nowhere above the original's" in feed.figure
    assert not proved(before, before.replace(b"F300 M8", b"F350 M8")).holds


def test_what_no_move_shows_must_stay():
    """How near to the corners G64 P lets the controller go shows in no move."""
    before = BASE.replace(b"N20 G54", b"N20 G54 G64 P0.01")
    respelled = before.replace(b"G54 G64 P0.01", b"G64 P0.010 G54")
    assert proved(before, respelled).holds
    for after in (
        before.replace(b"P0.01", b"P0.5"),
        before.replace(b" P0.01", b""),
        before.replace(b"N160 ", b"G64 P0.5\nN160 "),
        before.replace(b" P0.01", b"").replace(b"N160 ", b"G64 P0.01\nN160 "),
    ):
        found = proved(before, after)
        assert not found.holds
        (failed,) = [each for each in found.failed if each.name == "untouched blocks"]
        assert "no move shows" in failed.figure
        assert failed.before is not None or failed.after is not None


def test_compensation_may_be_respelled_and_keeps_its_number():
    body = BASE.replace(b"N90 G1 Z-1 F200\n", b"N90 G1 Z-1 F200\nG41 D1\n")
    body = body.replace(b"N130 G0 Z2\n", b"N130 G0 Z2\nG40\n")
    assert proved(body, renumbered(body)).holds
    assert proved(body, re.sub(rb" ?\([^)]*\)", b"", body)).holds
    assert not proved(body, body.replace(b"D1", b"D2")).holds
    assert not proved(body, body.replace(b"X30 F300", b"X30.01 F300", 1)).holds


def test_block_numbers_are_no_spelling_where_the_program_jumps():
    before = BASE.replace(b"N210 M9", b"N205 GOTO 210\nN210 M9")
    assert proved(before, before.replace(b"(FIRST PASS)\n", b"")).holds
    found = proved(before, renumbered(before))
    assert not found.holds
    assert "jumps" in next(e.figure for e in found.failed if e.name == "untouched blocks")


def test_a_message_to_the_operator_is_no_comment():
    before = BASE.replace(b"(SECOND PASS)", b"(MSG, TURN THE CLAMP)")
    assert proved(before, before.replace(b"(FIRST PASS)", b"")).holds
    assert not proved(before, before.replace(b"(MSG, TURN THE CLAMP)", b"")).holds
    assert not proved(before, before.replace(b"TURN", b"LEAVE")).holds


def test_places_are_those_of_the_full_texts():
    """Two lines more stand in front of the fault in the second program."""
    after = BASE.replace(b"(FIRST PASS)\n", b"(ONE)\n\n(TWO)\n").replace(b"Z-2 ", b"Z-2.1 ")
    found = proved(BASE, after)
    (path,) = [each for each in found.failed if each.name == "cutting path"]
    second_pass = after.splitlines()[20:24]
    assert second_pass[0] == b"N150 G1 Z-2.1 F200"
    assert after.splitlines()[path.after] in second_pass
    (metal,) = [each for each in found.failed if each.name == "metal removed"]
    assert after.splitlines()[metal.after] in second_pass


def test_without_the_tool_the_proof_is_the_weaker_one():
    found = proved(BASE, renumbered(BASE).replace(b"F300", b"F250"), Job())
    assert found.holds
    assert found.weaker
    assert found.unnamed == (1,)


def test_a_lost_mark_of_take_ups_is_no_lost_comment():
    mark = b"(gpre take-up: X0.090 Y0.060 Z0 mm in the program, controller compensation OFF)\n"
    before = BASE.replace(b"N10 ", mark + b"N10 ")
    mill = Mill(compensation=Compensation("program"))
    assert proved(before, before.replace(b"(FIRST PASS)\n", b""), mill=mill).holds
    found = proved(before, BASE)
    assert not found.holds
    assert [each.name for each in found.failed] == ["comments"]


def test_blocks_to_be_skipped_are_proved_with_the_switch_both_ways():
    before = BASE.replace(b"N200 G0", b"/N200 G0")
    assert proved(before, renumbered(before)).holds
    assert not proved(BASE, BASE.replace(b"N130 G0 Z2", b"/N130 G0 Z2")).holds
    off = Mill(controller=Controller(block_delete=True))
    assert not proved(BASE, BASE.replace(b"N130 G0 Z2", b"/N130 G0 Z2"), mill=off).holds


# The same two passes, each made by a subprogram that is called by its program number.
CALLING = (
    BASE[: BASE.index(b"(FIRST")]
    + b"N90 G1 Z-1 F200\nN100 M98 P2102\nN110 G1 Z-2 F200\nN120 M98 P2102\n"
    + BASE[BASE.index(b"N200") :].removesuffix(b"%\n")
    + b"O2102 (ONE PASS)\nN300 G1 X30 F300\nN310 G3 X40 Y20 I0 J10\nN320 G1 Y45\nN330 G0 Z2\n"
    b"N340 G0 X-5 Y10\nN350 M99\n%\n"
)


def test_programs_that_call_subprograms_may_be_respelled():
    assert proved(CALLING, renumbered(CALLING)).holds
    assert proved(CALLING, re.sub(rb" ?\([^)]*\)", b"", CALLING).replace(b" ", b"")).holds
    assert proved(CALLING, CALLING.replace(b"F300", b"F280")).holds
    for after in (
        CALLING.replace(b"N120 M98 P2102\n", b""),
        CALLING.replace(b"X30 F300", b"X30.1 F300"),
        CALLING.replace(b"F300", b"F310"),
        CALLING.replace(b"N330 G0 Z2\n", b""),
    ):
        assert not proved(CALLING, after).holds


def test_calls_by_block_number_keep_their_numbers():
    before = CALLING.replace(b"M98 P2102", b"M97 P300")
    assert proved(before, before.replace(b"(ONE PASS)", b"")).holds
    found = proved(before, renumbered(before))
    assert not found.holds
