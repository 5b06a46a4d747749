"""Keys that were renamed: each old name is read the same, told once, and refused beside the new."""

import pytest

from gpre.diagnostics.codes import severity_of
from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.faults import FileFault
from gpre.mill.job_file import read_job
from gpre.mill.profile import read_profile
from gpre.report.keys import key_rows
from gpre.settings.toml_file import SettingsFile

TOOL = '[tool.3]\ndiameter = 6.0\nshape = "{}"\n'
CASES = {  # by the old name: the new one, a value, and what stands before and after it
    "greatest_take_up_feed": ("max_take_up_feed", "90.0", "[limits]\n", ""),
    "approach_distance": ("min_overshoot", "2.0", "[limits]\n", ""),
    "arc_tolerance": ("arc_radius_tolerance", "0.05", "[controller]\n", ""),
    "point_optional": ("decimal_point_optional", "true", "[controller]\n", ""),
    "hangs": ("gravity_loaded", "true", "[z]\n", ""),
    "mark": ("dwell_mark", "5.0", "[weights]\n", ""),
    "steepest_ramp": ("max_ramp_angle", "3.0", TOOL.format("flat"), ""),
    "corner": ("corner_radius", "0.5", TOOL.format("bull"), ""),
    "point": ("point_angle", "60.0", TOOL.format("vee"), ""),
    "least": ("min", "[0, 0, -9]", "[stock]\n", "max = [9, 9, 0]\n"),
    "greatest": ("max", "[9, 9, 0]", "[stock]\n", "min = [0, 0, -9]\n"),
}
JOBS = {"steepest_ramp", "corner", "point", "least", "greatest"}


def read(old, text):
    """Return the mill or the job of a text, and the file as it was read."""
    file = SettingsFile.of(text.encode(), "some.toml")
    loaded = read_job(file) if old in JOBS else read_profile(file)
    return loaded.job if old in JOBS else loaded.mill, loaded.findings


def test_these_are_all_keys_that_were_renamed():
    assert {row.old: row.name for row in key_rows() if row.old} == {
        old: new for old, (new, *_) in CASES.items()
    }


@pytest.mark.parametrize("old", CASES)
def test_an_old_name_is_read_the_same_and_told_once_at_its_place(old):
    new, value, before, after = CASES[old]
    text = f"{before}{old} = {value}\n{after}"
    as_before, (note,) = read(old, text)
    as_now, nothing = read(old, f"{before}{new} = {value}\n{after}")
    assert as_before == as_now
    assert as_before != read(old, "")[0]
    assert nothing == ()
    assert note.code == "MIL512"
    assert severity_of(note.code) is Severity.NOTE
    assert text.encode()[note.span.start : note.span.end] == old.encode()
    assert note.message == f"{old} is now called {new}"
    assert note.help == f"write {new} wherever it stands; the value stays the same"


@pytest.mark.parametrize("old", CASES)
@pytest.mark.parametrize("old_first", [False, True])
def test_a_key_under_both_names_is_a_fault_at_the_old_one(old, old_first):
    new, value, before, after = CASES[old]
    both = [f"{new} = {value}\n", f"{old} = {value}\n"]
    text = before + "".join(both[::-1] if old_first else both) + after
    with pytest.raises(FileFault) as caught:
        read(old, text)
    (fault,) = caught.value.diagnostics
    assert fault.code == "MIL513"
    assert text.encode()[fault.span.start : fault.span.end] == old.encode()
    assert fault.help == f"keep {new}, and take this one out"


def test_a_fault_in_the_value_of_an_old_name_is_told_under_that_name():
    with pytest.raises(FileFault) as caught:
        read("greatest", "[stock]\nleast = [0, 0, 'a']\nmax = [1, 1, 1]\n")
    note, fault = caught.value.diagnostics
    assert (note.code, fault.code) == ("MIL512", "MIL503")
    assert fault.message == "stock.least[3] must be a number"
    assert fault.span == (23, 26)  # in the list


def test_an_old_name_at_several_places_is_told_once():
    mill, findings = read("hangs", "[x]\nhangs = false\n[y]\nhangs = true\n[z]\nhangs = true\n")
    assert [axis.gravity_loaded for axis in mill.axes] == [False, True, True]
    assert [(each.code, each.span.start) for each in findings] == [("MIL512", 4)]
    many = "".join(f"[tool.{at}]\ndiameter = 6.0\nsteepest_ramp = 3.0\n" for at in range(1000))
    job, findings = read("steepest_ramp", many)
    assert len({tool.max_ramp_angle for tool in job.tools.values()}) == 1
    assert [each.code for each in findings] == ["MIL512"]


def test_an_old_name_is_no_suggestion():
    with pytest.raises(FileFault) as caught:
        read("steepest_ramp", f"{TOOL.format('flat')}steepest_rmp = 3.0\n")
    (fault,) = caught.value.diagnostics
    assert "steepest_ramp" not in fault.help
    assert "max_ramp_angle" in fault.help
