"""Findings as people see them: place, line, carets, advice, never more than fits."""

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


def test_a_finding_stands_under_its_line():
    start = PROGRAM.index(b"I0.4")
    text = shown(
        PROGRAM,
        Span(start, start + 9),
        "the two radii of the arc differ by 0.31",
        "start radius 0.412, end radius 0.722",
        "the profile accepts 0.01; see arc_radius_tolerance",
    )
    assert text == (
        "error[MIL504]: the two radii of the arc differ by 0.31\n"
        " --> plate.ngc:2:14\n"
        "  |\n"
        "2 | N20 G2 X2 Y2 I0.4 J0.1\n"
        "  |              ^^^^^^^^^ start radius 0.412, end radius 0.722\n"
        "  = help: the profile accepts 0.01; see arc_radius_tolerance\n"
    )


def test_the_severity_comes_from_the_table():
    assert shown(b"G1", None, code="MIL508").startswith("note[MIL508]: ")
    assert shown(b"G1", None, code="MIL509").startswith("warning[MIL509]: ")


def test_a_finding_without_a_place_has_only_words():
    assert (
        shown(PROGRAM, None, advice="do that")
        == "error[MIL504]: this is wrong\n  = help: do that\n"
    )


def test_an_empty_span_gets_one_caret_also_behind_the_last_byte():
    assert shown(b"G1 X1", Span(5, 5)).endswith("1 | G1 X1\n  |      ^\n")
    assert shown(b"", Span(0, 0)) == "error[MIL504]: this is wrong\n"


def test_a_span_over_several_lines_is_marked_to_the_end_of_its_first():
    assert shown(b"G1 (AB\nC) X1\n", Span(3, 9)).endswith("1 | G1 (AB\n  |    ^^^\n")


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_line_ends_are_not_shown_and_do_not_count(end):
    text = shown(b"G1 X1" + end + b"G1 Q2" + end, Span(5 + len(end) + 3, 5 + len(end) + 5))
    assert "--> plate.ngc:2:4\n" in text
    assert text.endswith("2 | G1 Q2\n  |    ^^\n")


def test_control_bytes_are_made_visible_and_the_carets_keep_their_place():
    text = shown(b"G1\t\x07\x1b[31mX9\n", Span(9, 11))
    assert text.endswith("1 | G1 <07><1B>[31mX9\n  | " + " " * 15 + "^^\n")


def test_characters_that_turn_text_round_are_made_visible():
    data = "(\u202e) X9".encode()
    text = shown(data, Span(len(data) - 2, len(data)))
    assert "(<U+202E>) X9\n  |            ^^\n" in text


def test_wide_characters_push_the_carets_by_two_columns():
    data = "(望遠鏡) X9".encode()
    text = shown(data, Span(len(data) - 2, len(data)))
    assert text.endswith("1 | (望遠鏡) X9\n  |          ^^\n")


def test_a_latin_1_program_is_shown_in_latin_1():
    assert "1 | (FRÄSER) X9\n  |          ^^\n" in shown(b"(FR\xc4SER) X9\n", Span(9, 11))


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
    line, carets = text.splitlines()[-2:]
    assert len(line) <= 80
    assert line[4:7] == line[-3:] == "..."
    assert line[carets.index("^") : carets.rindex("^") + 1] == "Q7"
    assert "long.ngc:1:48000004" in text


def test_a_span_longer_than_the_window_is_cut():
    text = shown(b"(" + b"A" * 500, Span(0, 501))
    line, carets = text.splitlines()[-2:]
    assert len(line) <= 80
    assert line.endswith("...")
    assert len(carets) <= 80


def test_a_label_that_finds_no_room_gets_lines_of_its_own():
    text = shown(
        b"G1 " * 20 + b"Q7", Span(60, 62), label="a word that means nothing without a cycle"
    )
    lines = text.splitlines()
    assert lines[4].endswith("^^")
    assert len(lines) > 5
    words = " ".join(line.lstrip(" |") for line in lines[5:])
    assert words == "a word that means nothing without a cycle"
    assert all(len(line) <= 80 for line in lines)


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


@given(st.text("GXY1.5 -", min_size=1, max_size=400), st.data())
def test_the_carets_mark_just_the_bytes_that_are_meant(line, data):
    start = data.draw(st.integers(0, len(line) - 1))
    end = data.draw(st.integers(start + 1, min(len(line), start + 20)))
    text = shown(line.encode(), Span(start, end))
    _, _, _, source_line, carets = text.split("\n")[:5]
    marked = [at for at, each in enumerate(carets) if each == "^"]
    assert source_line[marked[0] : marked[-1] + 1] == line[start:end]


def test_findings_are_sorted_by_place_and_each_is_shown_once():
    one, two = Diagnostic("MIL504", "b", Span(5, 6)), Diagnostic("MIL503", "a", Span(1, 2))
    whole = Diagnostic("MIL508", "w")
    assert in_order((one, two), (whole, one)) == (whole, two, one)


def test_many_findings_of_one_code_are_capped():
    data = b"Q\n" * 2000
    source = SourceText.of(data, "p")
    many = tuple(Diagnostic("MIL504", f"no {at}", Span(2 * at, 2 * at + 1)) for at in range(1207))
    text = render_findings(source, many).plain
    assert text.count("error[MIL504]") == 3
    assert "no 0\n" in text
    assert "no 2\n" in text
    assert "no 3\n" not in text
    assert "and 1,204 more like this\n" in text
    assert summary(many) == "1,207 errors"


def test_codes_are_capped_one_by_one():
    source = SourceText.of(b"Q" * 20, "p")
    found = [
        Diagnostic(code, "m", Span(at, at + 1)) for at in range(4) for code in ("MIL504", "MIL509")
    ]
    text = render_findings(source, found).plain
    assert text.count("error[MIL504]") == text.count("warning[MIL509]") == 3
    assert text.count("and 1 more like this") == 2
    assert summary(found) == "4 errors, 4 warnings"


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
    assert "mill.toml:2:15" in text
    assert text.endswith("\nerror: mill.toml cannot be used\n")
    shape = plain(fault_record(fault))
    assert shape["fault"] == {"message": "mill.toml cannot be used", "help": "", "status": 3}
    assert shape["findings"][0]["line"] == 2
    assert shape["findings"][0]["column"] == 15


def test_a_fault_that_says_the_same_as_its_finding_says_it_once():
    finding = Diagnostic("FIL006", "plate.ngc is empty", help="post it again")
    fault = FileFault("plate.ngc is empty", name="plate.ngc", diagnostics=(finding,))
    assert (
        render_fault(fault).plain == "error[FIL006]: plate.ngc is empty\n  = help: post it again\n"
    )


def test_wrong_usage_is_shown_with_its_advice():
    fault = UsageFault("--tool x cannot be read", help="write --tool 3=6")
    assert (
        render_fault(fault).plain == "error: --tool x cannot be read\n  = help: write --tool 3=6\n"
    )
    assert fault_record(fault).fault.status == 2
