"""What `gpre predict` tells: the right figures, in the right words, in 80 columns."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from known_mill import known_mill

from gpre.driver.counting import count
from gpre.driver.predicting import predict_program
from gpre.mill.job import Box, Job, Tool
from gpre.mill.job_file import LoadedJob, find_job
from gpre.mill.mill import Axis, Compensation, Limits, Timing, Twist
from gpre.mill.profile import LoadedMill, load_mill
from gpre.report.predict import render_predict
from gpre.report.quantities import Scale, duration, lines_text, span
from gpre.report.records.encode import plain
from gpre.report.records.predicting import predict_record
from gpre.source.files import read_program_text
from gpre.source.text import SourceText

SAMPLES = Path(__file__).parents[2] / "samples"
MODES = ("none", "controller", "program")
CIRCLE = "G3 X25 Y0 I-25 J0"
HEAD = "G21 G17 G90 G94 G61 F600\nT1 M6\nS1200 M3\n"
BACK = "G2 X25 Y0 I-25 J0"


def mill(x=0.0, y=0.0, z=0.0, *, by="none", uncertainty=0.0, **others):
    axes = [Axis(lost_motion=each, uncertainty=uncertainty) for each in (x, y, z)]
    return known_mill("old mill", *axes, compensation=Compensation(by=by), **others)


def predicted(text, on, job=None, intended=None):
    def read(blocks):
        return count(SourceText.of((HEAD + blocks).encode(), "part.ngc"), on)

    meant = None if intended is None else read(intended)
    return predict_program(read(text), on, job or Job(), meant)


def predict_json(found):
    return plain(predict_record(found, LoadedMill(found.mill), LoadedJob(found.job)))


def told(found, name="mill.toml"):
    """The text with its line breaks taken out, and each section by its head."""
    lines = render_predict(found, name).plain.splitlines()
    assert all(len(line) <= 80 for line in lines), max(lines, key=len)
    assert all(line == line.rstrip() for line in lines)
    text = "\n".join(lines)
    sections = {}
    for part in text.split("\n\n"):
        head, _, rest = part.partition("\n")
        sections[head] = " ".join(rest.split())
    return " ".join(text.split()), sections


def test_a_circle_is_out_by_the_closed_form():
    """R 25, backlash 0.1 on both axes: F +0.045388 and -0.050000 (shifted quarter circles)."""
    found = predicted(f"G0 X25 Y0\n{CIRCLE}\n{CIRCLE}\n", mill(0.1, 0.1))
    _, sections = told(found)
    assert (
        "0.095 mm out of round (G), F -0.050 to +0.045 G3 of radius 25 mm, line"
        in (sections["circles"])
    )
    # the extremes of each axis are cut half a backlash short on either side
    assert "comes out 0.100 mm too narrow in X and 0.100 mm too narrow in Y" in sections["sizes"]
    assert sections["dwell marks"].startswith("none")
    assert "H " not in sections["circles"].split("of the tool's centre")[0]


def test_both_ways_round_there_is_a_hysteresis():
    """H of the same circle, at one polar angle: 0.090893."""
    rounds = f"{CIRCLE}\n{CIRCLE}\nG1 X26\nG1 X25\n{BACK}\n{BACK}"
    found = predicted(f"G0 X25 Y0\n{rounds}\n", mill(0.1, 0.1))
    assert "H 0.091" in told(found)[1]["circles"]


def test_a_controller_takes_the_stop_of_each_quadrant():
    """0.09 mm at 60 mm/min and a pause of 0.08 s: 0.17 s, and 3.4 turns at 1200 rev/min."""
    found = predicted(f"G0 X25 Y0\n{CIRCLE}\n{CIRCLE}\n", mill(0.09, 0.09, by="controller"))
    text, sections = told(found)
    assert "the controller takes the backlash up at every reversal, at 60 mm/min" in text
    # X starts back from the rapid, turns on the left; Y at the top and bottom; twice, and X again
    # at the start of the second round
    assert sections["dwell marks"].startswith(
        "8 places where the cutter dwells 0.17 s, 3.4 turns of the cutter rubbing; together 1.4 s"
    )
    assert "none is predicted to be out of round by 0.001 mm or more" in sections["circles"]
    assert "no cut is predicted to be off by 0.001 mm or more" in sections["sizes"]
    assert "1.4 s of that standing" in sections["time"]
    assert "within the limit of 120 mm/min" in sections["take-ups"]


def test_a_quick_controller_is_named_with_the_smallest_tool():
    on = mill(0.09, 0.09, by="controller", limits=Limits(max_take_up_feed=50.0))
    found = predicted(f"G0 X25 Y0\n{CIRCLE}\n", on, Job(tools={1: Tool(3.0), 2: Tool(1.0)}))
    take_ups = told(found)[1]["take-ups"]
    assert "too quick: the controller's own take-up feed is 60 mm/min, the limit is 50 mm/min" in (
        take_ups
    )
    assert "the smallest tool in use is 3 mm" in take_ups


def test_quick_take_ups_on_the_way_are_named_with_their_lines():
    # straight back along X at F600: the screw crosses the backlash at 600 mm/min, twice
    found = predicted("G0 X0 Y0\nG1 X10\nG1 X0\nG1 X10\n", mill(0.1, 0.1))
    take_ups = told(found)[1]["take-ups"]
    assert "2 crossings of the backlash at feed; above the limit of 120 mm/min: 2" in take_ups
    assert "600 mm/min X, lines 6, 7" in take_ups


def test_without_compensation_the_tool_stands_while_the_screw_crosses_the_backlash():
    """0.1 mm at F 600: 0.01 s, 0.2 turns at 1200 rev/min."""
    found = predicted("G0 X-9 Y0\nG0 X-5\nG1 X10\nG1 Y2\nG1 X0\nG1 Y4\nG1 X10\n", mill(0.1))
    marks = told(found)[1]["dwell marks"]
    assert marks.startswith(
        "2 places where the cutter dwells while the screw crosses the backlash, "
        "0.01 s, "
        "0.2 turns of the cutter rubbing; together 0.0 s"
    )
    assert "2 raster, lines 6-10" in marks
    assert predict_json(found)["standing"]["count"] == 2


def test_a_path_that_goes_straight_back_stops_by_itself():
    found = predicted("G0 X-9 Y0\nG1 X10\nG1 X0\n", mill(0.01))
    marks = told(found)[1]["dwell marks"]
    assert marks.startswith("1 place where the path stops for a moment")


def test_holes_are_told_by_their_spread():
    # reached from the left and from the right: half a backlash to either side, 0.1 apart
    holes = "G0 X-10 Y0\nG81 X10 Y0 Z-5 R2\nX30\nX20\nG80\n"
    _, sections = told(predicted(holes, mill(0.1)))
    assert sections["holes"].startswith(
        "0.100 mm spread, the most by which 3 holes are out from one another (X 0.100, Y 0.000)"
    )
    assert "0.050 mm off: X -0.050, Y 0.000; lines 5, 6" in sections["holes"]
    assert "0.050 mm off: X +0.050, Y 0.000; line 7" in sections["holes"]


def test_holes_all_from_one_side_are_not_out_from_one_another():
    holes = "G0 X-10 Y0\nG81 X10 Y0 Z-5 R2\nX20\nX30\nG80\n"
    _, sections = told(predicted(holes, mill(0.1)))
    assert sections["holes"].startswith("0.000 mm spread, the most by which 3 holes")
    none = told(predicted(holes, mill()))[1]["holes"]
    assert none == "3 holes: no place is predicted to be off by 0.001 mm or more"


ZIGZAG = "G0 X0 Y0\nG0 Z-1\nF300 S1500\nG1 X40\nG1 Y5\nG1 X0\nG1 Y10\nG1 X40\n"


def test_the_chip_can_grow_by_the_backlash():
    """F 300 at 1500 rev/min with 4 flutes: 0.05 mm a tooth, by F / (n z)."""
    found = predicted(ZIGZAG, mill(0.09, 0.06), Job(tools={1: Tool(10.0, flutes=4)}))
    climb = told(found)[1]["climb"]
    assert (
        "the chip can grow from 0.050 to 0.140 mm: climb with 0.090 mm of backlash; line 9" in climb
    )
    assert "1 climb, 2 conventional" in climb
    assert "whoever takes it up" in climb


def test_no_warning_where_the_chip_is_thicker_than_the_backlash():
    found = predicted(ZIGZAG, mill(0.04), Job(tools={1: Tool(10.0, flutes=4)}))
    assert "can grow" not in told(found)[1]["climb"]


def test_without_flutes_the_chip_load_is_asked_for():
    climb = told(predicted(ZIGZAG, mill(0.09), Job(tools={1: Tool(10.0)})))[1]["climb"]
    assert "the chip load not known: line 9; the job file can name the flutes under [tool.1]" in (
        climb
    )


def test_a_contour_without_stock_is_told_both_ways():
    climb = told(predicted(f"G0 X25 Y0\n{CIRCLE}\n", mill(0.09)))[1]["climb"]
    assert "conventional round the outside of a part, climb along the inside of a pocket" in climb
    assert "name tool 1 and stock" in climb


def test_stock_and_tool_tell_which_side_has_the_metal():
    stock = Box((-24.5, -24.5, -5.0), (24.5, 24.5, 0.0))
    job = Job(tools={1: Tool(10.0, flutes=4)}, stock=stock)
    square = "G0 X-40 Y29\nG0 Z-2\nG1 X29\nG1 Y-29\nG1 X-29\nG1 Y29\nG1 X29\n"
    climb = told(predicted(square, mill(0.2, 0.2), job))[1]["climb"]
    assert "from tool, stock box and program" in climb
    assert "the chip can grow from 0.125 to 0.325 mm" in climb  # 600 / (1200 x 4)


def test_the_worst_of_the_uncertainty_is_told():
    # 0.1 with 0.02 more: half of the backlash and of what it is more
    on = replace(mill(0.1, 0.1, uncertainty=0.02), z=Axis(lost_motion=0.0, uncertainty=0.0))
    found = predicted(f"G0 X25 Y0\n{CIRCLE}\n{CIRCLE}\n", on)
    worst = told(found)[1]["if the backlash is not as assumed"]
    assert worst.startswith("0.060 mm at worst, line")
    assert "with X 0.020 mm more, Y 0.020 mm more than assumed" in worst
    assert "(as assumed: 0.050 mm)" in worst
    certain = told(predicted("G1 X5\nG1 X0\n", mill(0.1)))[1]["if the backlash is not as assumed"]
    assert certain == "no axis that travels here has an uncertainty in the profile"


def test_a_guess_is_said_to_be_a_guess():
    text, _ = told(predicted("G1 X5\n", known_mill()), "")
    assert "predicted for: a guess, not a mill that was measured" in text


def test_a_mill_is_named_with_its_backlash():
    on = replace(
        mill(((0.0, 0.08), (100.0, 0.12)), 0.06, 0.05),
        z=Axis(lost_motion=0.05, gravity_loaded=True),
        twist=Twist(x=0.0004),
    )
    text, _ = told(predicted("G1 X5\n", on))
    assert "predicted for: old mill (mill.toml)" in text
    assert "lost motion: X 0.080 to 0.120, Y 0.060, Z 0.050 mm; Z is gravity-loaded" in text
    assert "the table twists by 0.0004 rad when X turns round" in text


MARK = "(gpre take-up: X0.1 Y0 Z0 mm in the program, controller compensation OFF)\n"
TAKEN_UP = MARK + "G0 X0 Y0\nG1 X10.05\nG1 Y5\nG0 X9.95\nG1 X-0.05\n"
MEANT = "G0 X0 Y0\nG1 X10\nG1 Y5\nG1 X0\n"


def test_nothing_is_said_of_sizes_where_the_program_carries_take_ups():
    found = predicted(TAKEN_UP, mill(0.1, by="program"))
    text, sections = told(found)
    assert "line 4 says that this program carries its own take-ups" in text
    assert "--intended FILE" in text
    assert not {"sizes", "holes", "circles", "if the backlash is not as assumed"} & set(sections)
    shape = predict_json(found)
    assert shape["deviation"] is None
    assert shape["take_up_mark"].startswith("X0.1 Y0 Z0 mm")


def test_with_the_path_that_is_meant_the_sizes_are_told():
    found = predicted(TAKEN_UP, mill(0.1, by="program"), intended=MEANT)
    text, sections = told(found)
    assert "intended path: that of part.ngc" in text
    assert "sizes" in sections
    assert "warning" not in text
    assert "than part.ngc takes, where nothing is taken up" in sections["time"]


def test_a_backlash_that_would_be_taken_up_twice_is_warned_of():
    found = predicted(TAKEN_UP, mill(0.1, by="controller"))
    assert "it would be taken up twice" in told(found)[0]
    assert len(predict_json(found)["warnings"]) == 2


def test_a_program_that_should_carry_take_ups_and_does_not_is_warned_of():
    text, _ = told(predicted(MEANT, mill(0.1, by="program")))
    assert "warning: this program carries no take-ups of its own" in text


def test_what_the_time_leaves_out_is_said():
    found = predicted("G0 X5\nG1 X9\nT2 M6\nG4 P1\n", mill(0.1))
    assert "not counted: 2 tool changes" in told(found)[1]["time"]
    timed = predicted("G0 X5\n", mill(0.1, timing=Timing(tool_change=40.0)))
    assert "40.0 s of it for 1 tool change" in told(timed)[1]["time"]


def test_an_empty_program_is_told_without_sizes():
    found = predicted("", mill(0.1))
    _, sections = told(found)
    assert not {"sizes", "holes", "circles", "climb"} & set(sections)
    json.dumps(predict_json(found), allow_nan=False)


@pytest.mark.parametrize("by", MODES)
@pytest.mark.parametrize("sample", sorted(SAMPLES.glob("*.ngc")), ids=lambda path: path.stem)
def test_the_samples_are_told_plainly_in_every_mode(sample, by):
    on = load_mill(SAMPLES / "mill.toml")
    on = replace(on, compensation=replace(on.compensation, by=by))
    counted = count(read_program_text(str(sample)), on)
    found = predict_program(counted, on, find_job(None, str(sample)).job)
    text, _ = told(found)
    assert f"compensation `{by}`" in text
    assert "predicted" in text
    assert "nan" not in text.lower()
    shape = predict_json(found)
    json.dumps(shape, allow_nan=False)
    assert shape["compensation"] == by
    assert shape["cycle_time"]["total"] >= shape["cycle_time_without_take_ups"]["total"]
    lost = shape["marks"]["all_seconds"]
    assert (lost > 0.0) is (by == "controller")


def test_inch_programs_are_told_in_inches():
    found = predicted("G20 F20\nG0 X1 Y0\nG3 X1 Y0 I-1 J0\nG3 X1 Y0 I-1 J0\n", mill(0.1, 0.1))
    text, _ = told(found)
    assert found.counted.units == 20
    assert "G3 of radius 1 in" in text
    assert "lost motion: X 0.0039" in text
    assert " mm" not in text


def test_durations_and_figures_are_rounded_sensibly():
    assert [duration(each) for each in (0.04, 3.44, 59.96, 123.4, 3723.45)] == [
        "0.0 s",
        "3.4 s",
        "1 min 00.0 s",
        "2 min 03.4 s",
        "1 h 02 min 03.4 s",
    ]
    mm, inch = Scale(21), Scale(20)
    assert (mm.length(0.0494), inch.length(0.0254)) == ("0.049 mm", "0.0010 in")
    assert (mm.signed(-0.0001), mm.signed(0.02), mm.signed(-0.02)) == ("0.000", "+0.020", "-0.020")
    assert (mm.size(7.5), inch.size(25.4 * 0.375), mm.figure(float("nan"))) == (
        "7.5 mm",
        "0.375 in",
        "?",
    )
    assert (mm.nothing(0.0004), mm.nothing(-0.0006)) == (True, False)
    assert (inch.nothing(0.0012), inch.nothing(0.0013)) == (True, False)


def test_lines_and_spans_are_short():
    assert lines_text([(4, 4)]) == "line 4"
    assert lines_text([(4, 9)]) == "lines 4-9"
    assert lines_text([(9, 9), (4, 6), (9, 9)]) == "lines 4-6, 9"
    assert lines_text([(each, each) for each in range(1, 8)]) == "lines 1, 2, 3, 4 and 3 more"
    assert span([0.17, 0.171, 0.14], 2) == "0.14 to 0.17"
    assert span([0.17], 2) == "0.17"
