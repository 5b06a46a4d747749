"""The plan cut by cut as people and programs read it."""

from dataclasses import replace

from rich.console import Console

from gpre.cuts.cuts import Shape
from gpre.cuts.least import Least
from gpre.driver.cut_plan import CutPlan, CutRow, Elsewhere
from gpre.report.plan_cuts import render_cuts
from gpre.report.records.encode import plain
from gpre.report.records.rewriting import change_record, cut_record

NOTHING = Elsewhere((0, 0, 0), (0, 0, 0), 0.0, 0.0)


def row(first=16, last=25, **changes):
    base = CutRow(
        first, last, Shape.CLOSED, 1, 3, (3, 2, 0), (1, 2, 0),
        Least((1, 1, 0), 3), Least((0, 0, 0), 0), ("start-point",), 25.83, 1.12,
    )  # fmt: skip
    return replace(base, **changes)


def still(first, last, **changes):
    return row(first, last, after=(3, 2, 0), rewrites=(), longer=0.0, seconds=0.0, **changes)


def shown(*rows, elsewhere=NOTHING):
    console = Console(width=100, color_system=None)
    with console.capture() as capture:
        console.print(render_cuts(CutPlan(rows, elsewhere)))
    lines = [line.rstrip() for line in capture.get().splitlines()]
    assert all(len(line) <= 80 for line in lines)
    return lines


def words(line):
    return " ".join(line.split())


def test_a_cut_has_one_line_for_before_and_one_for_after():
    assert shown(row())[:5] == [
        "                                                                  least possible",
        "                                  reversals                       tool      with",
        "lines  cut                        cutting      X    Y    Z  all   down  retracts",
        "17-26  closed contour, T3         before       3    2    0    5      3         0",
        "       start-point                after        1    2    0    3  +25.8 mm +1.1 s",
    ]


def test_a_cut_that_is_left_as_it_is_has_one_line():
    (line,) = [each for each in shown(still(16, 25)) if each.startswith("17-26")]
    assert words(line) == "17-26 closed contour, T3 unchanged 3 2 0 5 3 0"


def test_what_is_not_known_is_a_question_mark():
    lines = shown(row(lifted=None), still(30, 31))
    assert lines[3].endswith("?")
    assert lines[6].startswith("all ")  # and so is the sum with it
    assert lines[6].endswith("?")
    assert any("?: not known" in line for line in lines)


def test_cuts_that_are_alike_are_one_row_of_their_sums():
    lines = shown(row(), row(30, 40), row(50, 60, now=(4, 2, 0)))
    assert words(lines[3]) == "17-41 2 closed contours, T3 before 6 4 0 10 6 0"
    assert words(lines[4]) == "start-point after 2 4 0 6 +51.7 mm +2.2 s"
    assert words(lines[5]) == "51-61 closed contour, T3 before 4 2 0 6 3 0"
    assert words(lines[7]) == "all before 10 6 0 16 9 0"
    assert words(lines[8]) == "after 3 6 0 9 +77.5 mm +3.4 s"


def test_holes_of_one_tool_are_one_row_whatever_their_figures():
    holes = [
        still(at, at, shape=Shape.HOLE, cuts=1, now=(0, 0, at % 2), least=Least((0, 0, 0), 0))
        for at in range(20, 36)
    ]
    holes = [replace(each, after=each.now) for each in holes]
    lines = shown(*holes, replace(holes[0], tool=4, first_block=40, last_block=40))
    assert words(lines[3]) == "21-36 16 holes, T3 unchanged 0 0 8 8 0 0"
    assert words(lines[4]) == "41 hole, T4 unchanged 0 0 0 0 0 0"


def test_the_words_for_several_cuts():
    def said(shape):
        return words(shown(row(shape=shape, cuts=12, tool=0))[3]).split(" before")[0]

    assert said(Shape.HELIX) == "17-26 12 helices"
    assert said(Shape.PASS) == "17-26 12 raster passes"
    assert said(Shape.OPEN) == "17-26 12 open contours"


def test_what_lies_in_no_cut_is_told_and_counts():
    lines = shown(row(), elsewhere=Elsewhere((1, 0, 0), (0, 0, 0), 10.0, 0.0))
    assert words(lines[5]) == "elsewhere before 1 0 0 1"
    assert words(lines[6]) == "after 0 0 0 0 +10.0 mm"
    assert words(lines[7]).startswith("all before 4 2 0 6 ")


def test_many_rewrites_are_wrapped_and_great_figures_keep_to_the_page():
    names = ("straighten", "start-point", "approach", "corner-loop", "lift-over", "take-up")
    great = row(
        12_345, 23_456, now=(1_234, 12_345, 999), longer=-123_456.0, seconds=9_876.5,
        rewrites=names, least=Least((1, 1, 1), 12_345),
    )  # fmt: skip
    lines = shown(great)
    assert sum(any(name in line for name in names) for line in lines) >= 3
    assert any(line.endswith(" -123 m +165 min") for line in lines)
    assert words(lines[3]) == "12346-23457 closed before 1,234 12,345 999 14,578 12,345 0"
    assert words(" ".join(lines[4:6])).startswith("contour, T3")


def test_of_very_many_cuts_the_first_are_told_and_the_sum_is_of_all():
    rows = [row(10 * at, 10 * at + 5, now=(at, 0, 0)) for at in range(30)]
    lines = shown(*rows)
    assert "and 10 more cuts; --json has all" in " ".join(map(words, lines))
    total = next(line for line in lines if line.startswith("all"))
    assert words(total).startswith(f"all before {sum(range(30))} 0 0 ")


def test_json_has_each_row_by_itself():
    first, second = plain([cut_record(row(lifted=None)), cut_record(still(30, 31))])
    assert first == {
        "lines": [17, 26],
        "shape": "closed contour",
        "cuts": 1,
        "tool": 3,
        "cutting": {"x": 3, "y": 2, "z": 0},
        "cutting_after": {"x": 1, "y": 2, "z": 0},
        "longer": 25.83,
        "seconds": 1.12,
        "least": {"x": 1, "y": 1, "z": 0, "together": 3},
        "with_retracts": None,
        "rewrites": ["start-point"],
    }
    assert second["with_retracts"] == {"x": 0, "y": 0, "z": 0, "together": 0}
    assert plain(change_record(NOTHING)) == {
        "cutting": {"x": 0, "y": 0, "z": 0},
        "cutting_after": {"x": 0, "y": 0, "z": 0},
        "longer": 0.0,
        "seconds": 0.0,
    }
