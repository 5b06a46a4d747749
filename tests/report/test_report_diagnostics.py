"""Findings as people see them: place, block, words, advice, never more than fits."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from steps import steps

from gpre.diagnostics.codes import TABLE
from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.diagnostics.faults import FileFault, UsageFault
from gpre.report.diagnostics import in_order, render_finding, render_findings, summary
from gpre.report.fault import render_fault
from gpre.report.records.encode import plain
from gpre.report.records.findings import fault_record, finding_record
from gpre.source.text import SourceText

PROGRAM = b"G0 X0 Y0\nN20 G2 X2 Y2 I0.4 J0.1\nM2\n"


def shown(
    data, span, message="this is wrong", label="", advice="", code="MIL504", name="plate.ngc"
):
    source = SourceText.of(data, name)
    return render_finding(source, Diagnostic(code, message, span, label, advice)).plain


def block_of(text):
    """The line with the brackets, without its indent."""
    return text.splitlines()[1].removeprefix(" " * 9)


def test_a_finding_has_the_block_number_first_and_the_words_in_brackets():
    start = PROGRAM.index(b"I0.4")
    text = shown(
        PROGRAM,
        Span(start, start + 9),
        "the two radii of the arc differ by 0.31",
        "start radius 0.412, end radius 0.722",
        "the profile accepts 0.01; see arc_radius_tolerance",
    )
    assert text == (
        "FAULT    plate.ngc  line 2, block N20                                     MIL504\n"
        "         N20 G2 X2 Y2 [I0.4 J0.1]\n"
        "         the two radii of the arc differ by 0.31\n"
        "         in brackets: start radius 0.412, end radius 0.722\n"
        "  Do     the profile accepts 0.01; see arc_radius_tolerance\n"
    )


@pytest.mark.parametrize("block", [b"N20G1X5", b" n 20 G1 X5", b"/N20 G1 X5", b"/1 N20 G1 X5"])
def test_the_block_number_is_found_however_it_is_written(block):
    text = shown(b"G0 X0\n" + block + b"\n", Span(6 + len(block) - 2, 6 + len(block)))
    assert text.startswith("FAULT    plate.ngc  line 2, block N20 ")


def test_a_block_without_a_number_has_its_line_alone():
    head = shown(b"G1 N1.X5 (N20)\n", Span(6, 8)).splitlines()[0]
    assert head.split() == ["FAULT", "plate.ngc", "line", "1", "MIL504"]


def test_the_severity_comes_from_the_table():
    assert shown(b"G1", None, code="MIL508").startswith("NOTE     plate.ngc ")
    assert shown(b"G1", None, code="MIL509").startswith("WARNING  plate.ngc ")


def test_a_finding_without_a_place_has_only_words():
    text = shown(PROGRAM, None, advice="do that")
    head = "FAULT    plate.ngc" + " " * 56 + "MIL504\n"
    assert text == head + "         this is wrong\n  Do     do that\n"
    assert shown(PROGRAM, None, name="").split() == ["FAULT", "MIL504", "this", "is", "wrong"]


def test_a_block_with_brackets_of_its_own_is_marked_otherwise():
    assert block_of(shown(b"G1 X[1/0] Y2", Span(4, 9))) == "G1 X>>[1/0]<< Y2"
    assert block_of(shown(b"G1 X[1/1] Y", Span(10, 11))) == "G1 X[1/1] >>Y<<"


def test_where_something_is_missing_the_brackets_are_empty():
    assert block_of(shown(b"G1 X1", Span(5, 5))) == "G1 X1[]"
    assert shown(b"", Span(0, 0)).splitlines()[1:] == ["         this is wrong"]


def test_a_span_over_several_lines_is_marked_to_the_end_of_its_first():
    assert block_of(shown(b"G1 (AB\nC) X1\n", Span(3, 9))) == "G1 [(AB]"


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_line_ends_are_not_shown_and_do_not_count(end):
    text = shown(b"G1 X1" + end + b"G1 Q2" + end, Span(5 + len(end) + 3, 5 + len(end) + 5))
    assert text.startswith("FAULT    plate.ngc  line 2 ")
    assert block_of(text) == "G1 [Q2]"


def test_control_bytes_are_made_visible():
    assert block_of(shown(b"G1\t\x07\x1b[31mX9\n", Span(9, 11))) == "G1 <07><1B>[31m>>X9<<"


def test_characters_that_turn_text_round_are_made_visible():
    data = "(\u202e) X9".encode()
    assert block_of(shown(data, Span(len(data) - 2, len(data)))) == "(<U+202E>) [X9]"


def test_a_latin_1_program_is_shown_in_latin_1():
    assert block_of(shown(b"(FR\xc4SER) X9\n", Span(9, 11))) == "(FRÄSER) [X9]"


def test_bytes_in_a_message_or_name_cannot_steer_the_terminal():
    text = shown(b"X", None, "no word \x1b[2J", name="a\x1b.ngc")
    assert "\x1b" not in text
    assert "a<1B>.ngc" in shown(b"X", Span(0, 1), name="a\x1b.ngc")


def test_only_a_window_of_a_very_long_line_is_shown_and_looked_at():
    data = b"G1 " + b"X1.25 " * 8_000_000 + b"Q7 " + b"Y2 " * 1_000_000
    start = data.index(b"Q7")
    source = SourceText.of(data, "long.ngc")
    finding = Diagnostic("MIL504", "no word Q here", Span(start, start + 2))
    text = render_finding(source, finding).plain
    short = SourceText.of(data[start - 600 : start + 300], "short.ngc")
    near = Diagnostic("MIL504", "no word Q here", Span(600, 602))
    few = steps(lambda: render_finding(short, near))
    assert steps(lambda: render_finding(source, finding)) <= few + 50
    line = block_of(text)
    assert len(line) <= 71
    assert line[:3] == line[-3:] == "..."
    assert "X1.25 [Q7] Y2" in line


def test_a_span_longer_than_the_window_is_cut():
    line = block_of(shown(b"(" + b"A" * 500, Span(0, 501)))
    assert len(line) <= 71
    assert line.startswith("[(AAA")
    assert line.endswith("...]")


def test_nothing_points_with_arrows_or_carets():
    start = PROGRAM.index(b"I0.4")
    assert not set("^|<>=") & set(shown(PROGRAM, Span(start, start + 4), label="l", advice="a"))


@given(
    st.binary(max_size=300).map(lambda data: data.replace(b"\0", b"0")),
    st.integers(0, 300),
    st.integers(0, 40),
    st.text("abc ", max_size=90),
)
def test_any_bytes_can_be_shown_within_80_columns(data, start, size, label):
    source = SourceText.of(data, "x")
    start = min(start, len(data))
    finding = Diagnostic("MIL504", "m", Span(start, min(start + size, len(data))), label, "h")
    text = render_finding(source, finding).plain
    for line in text.split("\n"):
        assert cell_len(line) <= 80
        assert line.isprintable()
    assert finding_record(source, finding).line >= 1


@given(st.text("GXY1.5-", min_size=1, max_size=400), st.data())
def test_the_brackets_hold_just_the_bytes_that_are_meant(line, data):
    start = data.draw(st.integers(0, len(line) - 1))
    end = data.draw(st.integers(start + 1, min(len(line), start + 20)))
    before, meant, after = re.split(r"[\[\]]", block_of(shown(line.encode(), Span(start, end))))
    assert meant == line[start:end]
    assert line[:start].endswith(before.removeprefix("..."))
    assert line[end:].startswith(after.removesuffix("..."))


def test_findings_are_sorted_by_place_and_each_is_shown_once():
    one, two = Diagnostic("MIL504", "b", Span(5, 6)), Diagnostic("MIL503", "a", Span(1, 2))
    whole = Diagnostic("MIL508", "w")
    assert in_order((one, two), (whole, one)) == (whole, two, one)


def test_many_findings_of_one_code_are_capped():
    data = b"Q\n" * 2000
    source = SourceText.of(data, "p")
    many = tuple(Diagnostic("MIL504", f"no {at}", Span(2 * at, 2 * at + 1)) for at in range(1207))
    text = render_findings(source, many).plain
    assert text.count("FAULT ") == 3
    assert "no 0\n" in text
    assert "no 2\n" in text
    assert "no 3\n" not in text
    assert "and 1,204 more like this\n" in text
    assert summary(many) == "1,207 faults"


def test_codes_are_capped_one_by_one():
    source = SourceText.of(b"Q" * 20, "p")
    found = [
        Diagnostic(code, "m", Span(at, at + 1)) for at in range(4) for code in ("MIL504", "MIL509")
    ]
    text = render_findings(source, found).plain
    assert text.count("FAULT ") == text.count("WARNING ") == 3
    assert text.count("and 1 more like this") == 2
    assert summary(found) == "4 faults, 4 warnings"


def test_every_code_of_the_table_has_its_four_texts():
    for code, entry in TABLE.items():
        assert entry.code == code
        assert len(code) == 6
        assert code[:3].isalpha()
        assert code[:3].isupper()
        assert code[3:].isdigit()
        assert all((entry.title, entry.what, entry.why, entry.example, entry.instead)), code


def test_a_fault_is_shown_with_its_places():
    data = b"[x]\nlost_motion = 90\n"
    finding = Diagnostic("MIL504", "out of range", Span(18, 20), "at most 5 mm")
    fault = FileFault(
        "mill.toml cannot be used", name="mill.toml", data=data, diagnostics=(finding,)
    )
    text = render_fault(fault).plain
    assert text.startswith("FAULT    mill.toml  line 2 ")
    assert "lost_motion = [90]\n" in text
    assert text.endswith("\nFAULT    mill.toml cannot be used\n")
    shape = plain(fault_record(fault))
    assert shape["fault"] == {"message": "mill.toml cannot be used", "help": "", "status": 3}
    assert shape["findings"][0]["line"] == 2
    assert shape["findings"][0]["column"] == 15


def test_a_fault_that_says_the_same_as_its_finding_says_it_once():
    finding = Diagnostic("FIL006", "plate.ngc is empty", help="post it again")
    fault = FileFault("plate.ngc is empty", name="plate.ngc", diagnostics=(finding,))
    assert (
        render_fault(fault).plain
        == "FAULT    plate.ngc"
        + " " * 56
        + "FIL006\n         plate.ngc is empty\n  Do     post it again\n"
    )


def test_wrong_usage_is_shown_with_its_advice():
    fault = UsageFault("--tool x cannot be read", help="write --tool 3=6")
    assert (
        render_fault(fault).plain == "FAULT    --tool x cannot be read\n  Do     write --tool 3=6\n"
    )
    assert fault_record(fault).fault.status == 2
