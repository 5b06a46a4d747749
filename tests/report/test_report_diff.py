"""The comparison as text and as JSON."""

import io
import json
from typing import Any

import pytest
from rich.console import Console

from gpre.comparison.comparison import Comparison
from gpre.comparison.diff import diff
from gpre.driver.counting import count
from gpre.mill.mill import Mill
from gpre.report.diff import changes, render_diff
from gpre.report.records.comparing import diff_record
from gpre.report.records.encode import plain
from gpre.source.text import SourceText

BEFORE = "".join(f"G1 X{at} F200\n" for at in range(1, 40))
AFTER = (
    BEFORE.replace("X5 ", "X5.5 ")
    .replace("X7 F200\n", "X7 F200\nG1 X7 (AGAIN)\n")
    .replace("G1 X30 F200\n", "")
)


def compared(before: str, after: str) -> Comparison:
    return diff(SourceText.of(before.encode(), "a.ngc"), SourceText.of(after.encode(), "b.ngc"))


def diff_json(comparison: Comparison) -> Any:
    sides = [count(each, Mill()) for each in (comparison.before, comparison.after)]
    return plain(diff_record(comparison, *sides))


def text_of(comparison: Comparison, width: int) -> str:
    stream = io.StringIO()
    console = Console(file=stream, width=width, color_system=None, highlight=False, markup=False)
    console.print(render_diff(comparison))
    return stream.getvalue()


def text_of_changes(comparison: Comparison, most: int = 400) -> str:
    return "\n".join(each.plain for each in changes(comparison, most))


def test_each_change_says_what_was_what_is_now_and_why() -> None:
    assert text_of_changes(compared(BEFORE, AFTER)) == (
        "CHANGED  line 5, now line 5\n"
        "  Was    5  G1 X5 F200\n"
        "  Now    5  G1 X5.5 F200\n"
        "\n"
        "ADDED    line 8, after line 7 of the first program\n"
        "  Now    8  G1 X7 (AGAIN)\n"
        "  Why    AGAIN\n"
        "\n"
        "REMOVED  line 30\n"
        "  Was    30  G1 X30 F200\n"
    )


def test_a_change_of_several_lines_shows_them_with_their_numbers() -> None:
    text = text_of_changes(compared("G0 X1\nG1 X9\n(OLD)\n", "G1 X2 ; here\nG1 X3\nG1 X4\n(OLD)\n"))
    assert text == (
        "CHANGED  lines 1-2, now lines 1-3\n"
        "  Was    1  G0 X1\n"
        "         2  G1 X9\n"
        "  Now    1  G1 X2 ; here\n"
        "         2  G1 X3\n"
        "         3  G1 X4\n"
        "  Why    here\n"
    )
    first = text_of_changes(compared("G1 X2\n", "G0 X1\nG1 X2\n"))
    assert first.startswith("ADDED    line 1, before the first line of the first program\n")


def test_of_many_comments_the_first_are_told() -> None:
    after = "".join(f"G1 X{at} (WHY {at})\n" for at in range(1, 10))
    text = text_of_changes(compared("G1 X0\n", after))
    assert " ".join(text.split("  Why")[1].split()) == (
        "WHY 1; WHY 2; WHY 3; WHY 4; WHY 5; WHY 6; and 3 more"
    )


def test_a_comment_that_was_there_before_is_no_reason() -> None:
    assert "Why" not in text_of_changes(compared("G1 X1 (BORE)\n", "G1 X2 (BORE)\n"))


@pytest.mark.parametrize("width", [80, 100])
def test_all_of_it_fits_the_page_and_needs_no_marks(width: int) -> None:
    text = text_of(compared(BEFORE, AFTER), width)
    assert max(map(len, text.split("\n"))) <= width
    assert not set("|<>~") & set(text)
    assert "different motion" in text
    assert "line 5" in text


def test_long_blocks_are_cut_and_controls_made_visible() -> None:
    long = "(" + "x" * 200 + ")\n"
    text = text_of(compared("G0 X1\n" + long, "G0 X1 (\x07)\n" + long.replace("x)", "y)")), 80)
    assert "xxx...\n" in text
    assert max(map(len, text.split("\n"))) <= 80
    assert "\x07" not in text
    assert "<07>" in text


def test_much_that_differs_is_cut_short_and_says_so() -> None:
    before = "".join(f"G1 X{at}\nG0 X0\n" for at in range(300))
    after = "".join(f"G1 X{at}.5\nG0 X0\n" for at in range(300))
    short = text_of_changes(compared(before, after), 20)
    assert short.count("CHANGED") == 10
    assert short.endswith("and 290 more changes; --json has all\n")
    one = text_of_changes(compared("", "".join(f"G1 X{at}\n" for at in range(90))), 10)
    assert one.count("G1 X") == 10
    assert one.endswith("and 80 more lines\n")


def test_the_same_program_shows_no_changes() -> None:
    assert text_of_changes(compared(BEFORE, BEFORE)) == ""
    assert "same motion" in text_of(compared(BEFORE, BEFORE), 80)


def test_json_holds_all_and_is_json() -> None:
    value = json.loads(json.dumps(diff_json(compared(BEFORE, AFTER)), allow_nan=False))
    assert value["same_motion"] is False
    assert value["before"]["file"] == "a.ngc"
    assert value["after"]["blocks"] == 39
    assert set(value["before"]["axes"]) == {"x", "y", "z"}
    assert value["hunks"][0] == {
        "before": {"line": 5, "lines": ["G1 X5 F200"]},
        "after": {"line": 5, "lines": ["G1 X5.5 F200"]},
    }
    assert value["blocks"] == {"same": 37, "changed": 1, "added": 1, "gone": 1}
    assert value["cutting_path"]["before_leaves_after"]["greatest"] == 0.0


def test_a_distance_that_was_not_measured_is_null() -> None:
    value = diff_json(compared(BEFORE, ""))
    assert value["cutting_path"]["before_leaves_after"]["greatest"] is None
    assert "more than 10 mm" in text_of(compared(BEFORE, ""), 80)
