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
from gpre.report.diff import render_diff, side_by_side
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
    console.print(render_diff(comparison, width))
    return stream.getvalue()


@pytest.mark.parametrize("width", [80, 100])
def test_side_by_side_reads_without_colour_and_fits(width: int) -> None:
    text = text_of(compared(BEFORE, AFTER), width)
    assert max(map(len, text.split("\n"))) <= width
    rows = [line.split() for line in text.split("\n")]
    assert ["5", "G1", "X5", "F200", "|", "5", "G1", "X5.5", "F200"] in rows
    assert [">", "8", "G1", "X7", "(AGAIN)"] in rows
    assert ["30", "G1", "X30", "F200", "<"] in rows
    assert ["..."] in rows
    assert "different motion" in text
    assert "line 5" in text


def test_blocks_around_a_change_are_shown_once() -> None:
    before = BEFORE
    after = BEFORE.replace("X5 ", "X5.5 ").replace("X8 ", "X8.5 ").replace("X20 ", "X20.5 ")
    lines = side_by_side(compared(before, after)).plain.split("\n")
    numbers = [int(line.split()[0]) for line in lines if line.split()[0].isdigit()]
    assert numbers == [3, 4, 5, 6, 7, 8, 9, 10, 18, 19, 20, 21, 22]
    assert sum("..." in line for line in lines) == 2


def test_long_blocks_are_cut_and_controls_made_visible() -> None:
    long = "(" + "x" * 200 + ")\n"
    text = text_of(compared("G0 X1\n" + long, "G0 X1 (\x07)\n" + long.replace("x)", "y)")), 80)
    assert "~" in text
    assert "\x07" not in text
    assert "<07>" in text


def test_much_that_differs_is_cut_short_and_says_so() -> None:
    before = "".join(f"G1 X{at}\nG0 X0\n" for at in range(300))
    after = "".join(f"G1 X{at}.5\nG0 X0\n" for at in range(300))
    short = side_by_side(compared(before, after), most=20).plain
    assert len(short.split("\n")) < 40
    assert "more" in short
    one = side_by_side(compared("", "".join(f"G1 X{at}\n" for at in range(90))), most=10).plain
    assert "more rows" in one


def test_the_same_program_shows_no_blocks() -> None:
    text = text_of(compared(BEFORE, BEFORE), 80)
    assert "same motion" in text
    assert "|" not in text


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
