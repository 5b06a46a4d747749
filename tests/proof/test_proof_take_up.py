"""The proof of programs that carry take-ups bites: planted faults, each named by an obligation."""

import re
from dataclasses import replace
from math import hypot

import pytest

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.proof.prove import prove
from gpre.source.text import SourceText

MILL = Mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, gravity_loaded=True),
    compensation=Compensation(by="program"),
)
BEFORE = """%
O100 (RING)
G21 G90 G17
T1 M6
S3000 M3
G0 X0 Y0
G0 Z5
G1 Z-2 F100
G1 X9 F300
G3 I-9
G1 X0
G0 Z5
G0 X30
G0 Z2
G1 Z-1 F100
G1 X40 F300
G1 X30
G0 Z5
M5
M30
%
"""


def proof(after, before=BEFORE, mill=MILL):
    return prove(SourceText.of(before.encode()), SourceText.of(after.encode()), mill)


def failed(after, **more):
    return {each.name for each in proof(after, **more).failed}


@pytest.fixture(scope="module")
def carried():
    result = rewrite(SourceText.of(BEFORE.encode()), MILL, options=Options(only=("take-up",)))
    assert result.changed
    return result.data.decode()


def swapped(text, old, new, count=1):
    assert text.count(old) >= 1, (old, text)
    return text.replace(old, new, count)


def test_the_sound_program_is_proved(carried):
    found = proof(carried)
    assert found.holds
    by_name = {each.name: each for each in found.obligations}
    assert by_name["table path"].value <= 0.0015
    assert by_name["command"].value == pytest.approx((0.045**2 + 0.03**2) ** 0.5, abs=2e-3)
    assert by_name["take-up feed"].value <= 120.0


def test_without_its_mark_it_is_held_to_the_path_that_it_commands(carried):
    bare = "\n".join(line for line in carried.split("\n") if "TAKE-UP: " not in line)
    assert "cutting path" in failed(bare)


@pytest.mark.parametrize("by", ["none", "controller"])
def test_on_a_mill_that_takes_up_otherwise_it_is_not_proved(carried, by):
    assert failed(carried, mill=replace(MILL, compensation=Compensation(by=by)))


def test_on_a_mill_with_another_backlash_it_is_not_proved(carried):
    mill = replace(MILL, x=Axis(lost_motion=0.12))
    assert "cutting path" in failed(carried, mill=mill)


@pytest.mark.parametrize(
    ("old", "new", "name"),
    [
        ("X8.9536 Y0.1887", "X8.9636 Y0.1887", "cutting path"),  # too little taken up
        ("Y9.0286", "Y9.0236", "cutting path"),  # an arc 5 microns short
        ("X-9.0436 Y0.1287 I0.1587 J-8.9986", "X-9.0436 Y0.1287 I0.1587 J-8.9941", "arcs"),
        ("F194.4", "F300", "take-up feed"),
        ("F194.4", "F0.1944", "take-up feed"),
        ("G1 X-0.2037 Y8.9686 (", "G1 X-0.2037 Y8.9686 F500 (", "feed"),
        ("G1 X9.045 F300", "G1 X9 F300", "cutting path"),
        ("G1 Z-2 F100", "G1 Z-2.01 F100", "cutting path"),
        ("S3000 M3", "S2000 M3", "stops and switches"),
        ("M5\n", "", "stops and switches"),
        ("O100 (RING)", "O101 (RING)", "untouched blocks"),
        ("G0 X30.045", "G0 X30.045\nG0 Z-1", "air moves"),
    ],
)
def test_planted_faults_are_found(carried, old, new, name):
    text = swapped(carried, old, new)
    assert name in failed(text)


def test_a_shift_left_in_at_the_end_is_found(carried):
    line = next(each for each in carried.split("\n") if "(TAKE-UP UNDONE)" in each)
    assert "backlash undone" in failed(swapped(carried, line + "\n", ""))


def test_backlash_undone_at_rapid_in_the_cut_is_found(carried):
    line = next(each for each in carried.split("\n") if "(TAKE-UP UNDONE)" in each)
    lift, sooner = f"G0 Z5\n{line}\n", f"{line}\nG0 Z5\n"
    assert failed(swapped(carried, lift, sooner)) == {"take-up feed"}


def test_an_unknown_start_of_the_backlash_is_found(carried):
    lines = carried.split("\n")
    at = next(n for n, each in enumerate(lines) if "(TAKE UP BACKLASH)" in each)
    del lines[at]  # the screw no longer goes beyond: the backlash may still be open
    (fault,) = [each for each in proof("\n".join(lines)).failed if each.name == "table path"]
    assert "not known" in fault.figure


def test_a_screw_out_of_its_travel_is_found(carried):
    controller = replace(MILL.controller, origins={1: (0.0, 0.0, 0.0)})
    tight = replace(MILL, controller=controller, x=Axis(lost_motion=0.09, travel=(-9.0, 40.02)))
    assert "travel of the screws" in failed(carried, mill=tight)
    wide = replace(MILL, controller=controller, x=Axis(lost_motion=0.09, travel=(-9.1, 40.1)))
    assert proof(carried, mill=wide).holds


def test_a_rapid_through_metal_is_found(carried):
    text = swapped(carried, "G0 Z5\nG0 X30.045", "G0 X30.045\nG0 Z5")
    assert "air moves" in failed(text)


def test_words_that_do_more_than_move_may_stand_beside_other_coordinates():
    before = BEFORE.replace("G0 X0 Y0\n", "G0 X0 Y0 M8\n").replace("G0 Z5\nM5", "G0 Z5 M9\nM5")
    result = rewrite(SourceText.of(before.encode()), MILL, options=Options(only=("take-up",)))
    assert result.changed
    text = result.data.decode()
    assert "stops and switches" in failed(text.replace(" M8", ""), before=before)
    assert "untouched blocks" in failed(text.replace("T1 M6", "T1 D2 M6"), before=before)


def test_the_table_is_compared_though_a_cut_is_made_with_something_else_in_force(carried):
    """Both programs carry take-ups; in the second one the spindle stands in the last cut."""
    after = swapped(carried, "M5\n", "")
    after = swapped(after, "G1 X29.955 F300\n", "M5\nG1 X29.955 F300\n")
    shown = {each.name: each for each in proof(after, before=carried).obligations}
    assert not shown["state"].holds
    assert "both programs carry take-ups" in shown["table path"].figure
    other = swapped(carried, "M5\n", "M9\n")  # another event: nothing can be compared
    shown = {each.name: each for each in proof(other, before=carried).obligations}
    assert shown["table path"].figure == "not shown: the moves could not be compared"


def test_the_command_may_lead_by_half_the_backlash_of_the_axes_that_have_some():
    """Half of 0.09 and of 0.06 mm, and the tolerance; Z hangs, and has none."""
    carried = rewrite(SourceText.of(BEFORE.encode()), MILL, options=Options(only=("take-up",))).data
    told = {each.name: each for each in proof(carried.decode()).obligations}["command"]
    assert told.holds
    assert told.limit == pytest.approx(hypot(0.045, 0.03) + MILL.limits.tolerance)


def test_a_marked_program_without_a_cut_leaves_nothing_unknown(carried) -> None:
    mark = next(line for line in carried.split("\n") if "TAKE-UP: " in line)
    before = re.sub(r"G[13] .*\n", "", BEFORE)
    found = proof(before.replace("O100 (RING)\n", f"O100 (RING)\n{mark}\n"), before)
    assert found.holds
    path = next(each for each in found.obligations if each.name == "table path")
    assert (path.value, path.after) == (0.0, None)
