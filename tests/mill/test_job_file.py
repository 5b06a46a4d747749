"""The job file, and the options that say the same."""

import math

import pytest

from gpre.diagnostics.faults import FileFault, UsageFault
from gpre.mill.job import Box, Job, Tool
from gpre.mill.job_file import (
    JobOptions,
    LoadedJob,
    find_job,
    job_place,
    load_job,
    parse_stock,
    parse_tool,
    read_job,
    with_options,
    with_ramps,
)
from gpre.settings.toml_file import SettingsFile

WHOLE = """\
# Invented demo data.
units = "mm"
cut = "climb"
[tool.3]
diameter = 6.0
shape = "ball"
flutes = 2
max_ramp_angle = 3.0
[tool.12]
diameter = 3.3
shape = "drill"
[stock]
min = [0, 0, -12]
max = [80, 60, 0]
"""


def read(text):
    return read_job(SettingsFile.of(text.encode(), "plate.job.toml")).job


def codes(text):
    with pytest.raises(FileFault) as caught:
        read(text)
    data = caught.value.data
    return [
        (each.code, data[each.span.start : each.span.end].decode() if each.span else None)
        for each in caught.value.diagnostics
    ]


def test_a_whole_job_file_is_read():
    job = read(WHOLE)
    assert job.cut == "climb"
    assert job.tools == {
        3: Tool(6.0, "ball", 2, math.radians(3.0)),
        12: Tool(3.3, "drill"),
    }
    assert job.stock == Box((0.0, 0.0, -12.0), (80.0, 60.0, 0.0))


def test_inch_lengths_become_mm_but_angles_stay():
    job = read(WHOLE.replace('"mm"', '"inch"'))
    assert job.tools[3].diameter == pytest.approx(152.4)
    assert job.tools[3].max_ramp_angle == pytest.approx(math.radians(3.0))
    assert job.stock is not None
    assert job.stock.max == pytest.approx((2032.0, 1524.0, 0.0))


@pytest.mark.parametrize(("units", "mm"), [("mm", 1.0), ("inch", 25.4)])
def test_the_corner_is_a_length_and_the_point_an_angle(units, mm):
    job = read(
        f'units = "{units}"\n[tool.1]\ndiameter = 2\nshape = "bull"\ncorner_radius = 0.25\n'
        '[tool.2]\ndiameter = 1\nshape = "vee"\npoint_angle = 60\n'
    )
    assert job.tools == {
        1: Tool(2 * mm, "bull", corner_radius=0.25 * mm),
        2: Tool(mm, "vee", point_angle=pytest.approx(math.pi / 3)),
    }


def test_an_empty_job_file_knows_nothing():
    assert read("") == Job()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("[tool.six]\ndiameter = 6", [("JOB601", "[tool.six]")]),
        ("[tool.-1]\ndiameter = 6", [("JOB601", "[tool.-1]")]),
        ("[tool.3]\ndiameter = 6\n[tool.03]\ndiameter = 8", [("MIL507", "[tool.03]")]),
        ("[lengths]\nH3 = 80\nh03 = 81", [("MIL507", "h03")]),
        ("[tool.3]\nshape = 'flat'", [("JOB604", "[tool.3]")]),
        ("tool.3 = 6", [("MIL503", "6")]),
        ("tool = 6", [("MIL503", "6")]),
        ("[tool.3]\ndiameter = 0", [("MIL504", "0")]),
        ("[tool.3]\ndiameter = 6\nshape = 'bal'", [("MIL505", "'bal'")]),
        ("[tool.3]\ndiameter = 6\nflutes = 0", [("MIL504", "0")]),
        ("[tool.3]\ndiameter = 6\nflutes = 2.5", [("MIL503", "2.5")]),
        ("[tool.3]\ndiameter = 6\nflutes = true", [("MIL503", "true")]),
        ("[tool.3]\ndiameter = 6\nmax_ramp_angle = 91", [("MIL504", "91")]),
        ("[tool.3]\ndiameter = 6\ncorner_radius = 0.5", [("JOB605", "corner_radius")]),
        ("[tool.3]\ndiameter = 6\nshape = 'bull'\ncorner_radius = 3.1", [("MIL504", "3.1")]),
        ("[tool.3]\ndiameter = 6\nshape = 'ball'\npoint_angle = 90", [("JOB605", "point_angle")]),
        ("[tool.3]\ndiameter = 6\nshape = 'vee'\npoint_angle = 180", [("MIL504", "180")]),
        ("[tool.3]\ndiametre = 6", [("JOB604", "[tool.3]"), ("MIL502", "diametre")]),
        ("[stock]\nmin = [0, 0, 0]", [("JOB604", "[stock]")]),
        ("[stock]\nmin = [0, 0]\nmax = [1, 1, 1]", [("MIL503", "[0, 0]")]),
        ("[stock]\nmin = [0, 0, 0]\nmax = [1, 1, -1]", [("JOB602", "[1, 1, -1]")]),
        ("stock = 5", [("MIL503", "5")]),
        ("cut = 'down'", [("MIL505", "'down'")]),
        ("units = 'cm'", [("MIL505", "'cm'")]),
        ("stok = 5", [("MIL502", "stok")]),
    ],
)
def test_a_faulty_job_file_is_named_at_its_place(text, found):
    assert codes(text) == found


def test_the_job_file_beside_the_program_is_found_and_said(tmp_path):
    program = tmp_path / "plate.v2.ngc"
    assert job_place(str(program)) == tmp_path / "plate.v2.job.toml"
    assert find_job(None, str(program)).job == Job()
    (tmp_path / "plate.v2.job.toml").write_text(WHOLE)
    beside = find_job(None, str(program))
    assert beside.job.cut == "climb"
    assert [each.code for each in beside.findings] == ["JOB603"]
    other = tmp_path / "other.toml"
    other.write_text("cut = 'conventional'")
    assert find_job(other, str(program)).job.cut == "conventional"
    assert load_job(other).cut == "conventional"


def test_standard_input_has_no_job_file_beside_it():
    assert job_place("-") is None
    assert find_job(None, "-").job == Job()


@pytest.mark.parametrize(
    ("text", "found"),
    [("3=6", (3, 6.0)), ("T12=0.25", (12, 0.25)), (" 3 = .5 ", (3, 0.5)), ("0=1", (0, 1.0))],
)
def test_a_tool_option_is_read(text, found):
    assert parse_tool(text) == found


@pytest.mark.parametrize(
    "text",
    [
        "",
        "3",
        "=6",
        "3=",
        "x=6",
        "3=0",
        "3=-1",
        "3=nan",
        "3=inf",
        "3=6mm",
        "²=6",
        "3=6=7",
        "-3=6",
        "3=1e-9",
        "3=501",
    ],
)
def test_a_faulty_tool_option_is_wrong_usage(text):
    with pytest.raises(UsageFault):
        parse_tool(text)


def test_a_stock_option_is_read():
    assert parse_stock("0,0,-12, 80,60,0") == Box((0.0, 0.0, -12.0), (80.0, 60.0, 0.0))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "0,0,0,1,1",
        "0,0,0,1,1,1,1",
        "0,0,0,1,1,x",
        "0,0,0,1,1,nan",
        "0,0,0,1,0,1",
        "1,0,0,0,1,1",
    ],
)
def test_a_faulty_stock_option_is_wrong_usage(text):
    with pytest.raises(UsageFault):
        parse_stock(text)


def test_options_are_in_the_units_of_the_program_and_go_over_the_job_file():
    options = JobOptions(("3=0.25", "4=0.5"), "0,0,-1,2,2,0", "conventional")
    taken = with_options(LoadedJob(read(WHOLE)), options, 20)
    job = taken.job
    assert job.tools[3].diameter == pytest.approx(6.35)
    assert job.tools[3].shape == "ball"  # what the option does not say stays
    assert job.tools[4] == Tool(12.7)
    assert job.tools[12].diameter == 3.3
    assert job.stock is not None
    assert job.stock.max == pytest.approx((50.8, 50.8, 0.0))
    assert job.cut == "conventional"
    note = (
        "options are read in inches, as the program is written: T3 is 6.35 mm across, "
        "T4 is 12.70 mm across, the stock is 50.8 x 50.8 x 25.4 mm"
    )
    assert [(each.code, each.message) for each in taken.findings] == [("JOB606", note)]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (JobOptions(("3=6", "3=8")), "--tool 3"),
        (JobOptions(origins=("G55=1,2,3", "g55=1,2,4")), "--work-offset G55"),
        (JobOptions(lengths=("H3=80", "3=81")), "--tool-length 3"),
    ],
)
def test_an_option_that_says_two_things_of_one_number_is_wrong_usage(options, said):
    with pytest.raises(UsageFault, match=f"{said} is given twice"):
        with_options(LoadedJob(Job()), options, 21)


def test_an_option_may_say_the_same_twice():
    taken = with_options(LoadedJob(Job()), JobOptions(("3=6", "T3=6.0")), 21)
    assert taken.job.tools == {3: Tool(6.0)}


def test_options_in_millimetres_need_no_word():
    taken = with_options(LoadedJob(read(WHOLE)), JobOptions(("3=6.35",)), 21)
    assert taken.job.tools[3].diameter == 6.35
    assert not taken.findings


def test_no_option_leaves_the_job_as_it_is():
    assert with_options(LoadedJob(read(WHOLE)), JobOptions(), 20) == LoadedJob(read(WHOLE))


def test_a_ramp_angle_goes_to_a_tool_that_is_known():
    known = LoadedJob(Job(tools={3: Tool(6.0)}))
    told = with_ramps(known, JobOptions(ramps=("T3=2.5",))).job.tools[3]
    assert told.max_ramp_angle == pytest.approx(math.radians(2.5))
    assert told.diameter == 6.0
    assert with_ramps(known, JobOptions()).job == known.job


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (("4=2",), "names a tool whose diameter is not known"),
        (("3",), "cannot be read"),
        (("3=0",), "cannot be read"),
        (("3=91",), "cannot be read"),
        (("3=steep",), "cannot be read"),
        (("3=2", "T3=4"), "given twice"),
    ],
)
def test_a_ramp_angle_that_cannot_be_is_a_fault(text, said):
    with pytest.raises(UsageFault, match=said):
        with_ramps(LoadedJob(Job(tools={3: Tool(6.0)})), JobOptions(ramps=text))
