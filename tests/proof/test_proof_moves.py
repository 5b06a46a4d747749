"""Ways in and air moves of pairs made by hand: what is known of the metal decides, point by point.

The programs are invented: slots in a clamp ring's plate. Lengths mm; the clearance of a rapid is
the profile's default, 0.5 (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis
from gpre.proof.moves import Verdicts
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X-20 Y-20 Z5\n"
TAIL = "G0 Z5\nG0 X-20\nM5\nM30\n"
STOCK = Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0))
NAMED, UNNAMED, NOTHING = Job({1: Tool(6.0)}, STOCK), Job({}, STOCK), Job()


def verdicts(before: str, after: str, job: Job) -> Verdicts:
    texts = (SourceText.of((HEAD + text + TAIL).encode()) for text in (before, after))
    sides = (Side.of(text, KNOWN) for text in texts)
    return Verdicts(Pair(*sides, KNOWN, job))


def ways_in(before: str, after: str, job: Job = NAMED) -> Obligation:
    return verdicts(before, after, job).ways_in()


def air(before: str, after: str, job: Job = NAMED) -> Obligation:
    return verdicts(before, after, job).air_moves()


SLOT = "G0 X-10 Y20\nG0 Z-2\nG1 X70 F300\n{back}G0 Z5\n"
OTHER = "G0 X-10 Y10\nG0 Z-2\nG1 X70 F300\nG0 Z5\n"
LIFTED = SLOT.format(back="") + OTHER


@pytest.mark.parametrize(("height", "unnamed"), [("0.6", True), ("0.4", False), ("-1", False)])
def test_back_through_a_slot_of_a_tool_that_is_not_named(height: str, *, unnamed: bool) -> None:
    """Above the stock by the clearance no wall is near; below it only a named tool tells."""
    after = SLOT.format(back=f"G0 Z{height}\nG0 X-10\n") + OTHER
    assert air(LIFTED, after).holds
    found = air(LIFTED, after, UNNAMED)
    assert found.holds == unnamed
    if not unnamed:
        assert "the tool is not named: how near walls are is not known" in found.figure
        assert f"Z{float(height):.4f}" in found.figure
    # without the stock the walls may be as high as the program travels
    assert not air(LIFTED, after, NOTHING).holds


def test_in_two_work_systems_the_stock_shows_no_room() -> None:
    """Nobody knows where it lies in the second one: as where none is named."""
    after = SLOT.format(back="G0 Z0.6\nG0 X-10\n") + OTHER
    assert air(LIFTED, after, UNNAMED).holds
    found = air(LIFTED + "G55\n" + OTHER, after + "G55\n" + OTHER, UNNAMED)
    assert not found.holds
    assert "Z0.6000" in found.figure


def test_one_tool_and_several_that_are_not_named() -> None:
    other = Tool(8.0)
    after = SLOT.format(back="G0 Z0.4\nG0 X-10\n") + OTHER
    assert "and tool 1 is not named" in air(LIFTED, after, Job({2: other}, STOCK)).figure
    twice = [text.replace("G0 X-10 Y10", "T3 M6\nG0 X-10 Y10") for text in (LIFTED, after)]
    found = air(*twice, Job({2: other}, STOCK))
    assert "and tools 1, 3 are not named" in found.figure


def test_where_the_original_went_through_already_it_may_go_again() -> None:
    """In the same manner, when no more is cut than when it came first."""
    through = SLOT.format(back="G0 Z-1\nG0 X-10\n") + OTHER
    again = SLOT.format(back="G0 Z-1\nG0 X-10\nG0 X70\nG0 X-10\n") + OTHER
    assert air(through, again, UNNAMED).holds
    # before the slot is cut it has not been made
    early = "G0 X-10 Y20\nG0 Z-1\nG0 X70\nG0 Z5\n" + through
    assert not air(through, early, UNNAMED).holds
    assert not air(through, early).holds


def test_at_the_travel_plane_a_new_rapid_may_go_any_way() -> None:
    after = LIFTED.replace("G0 X-10 Y10\n", "G0 X30 Y33\nG0 X-10 Y10\n")
    for job in (NAMED, UNNAMED):
        assert air(LIFTED, after, job).holds
    low = LIFTED.replace("G0 X-10 Y10\n", "G0 Z4\nG0 X30 Y33\nG0 X-10 Y10\nG0 Z5\n")
    found = air(LIFTED, low, NOTHING)
    assert not found.holds
    assert "X30.0000 Y33.0000 Z4.0000: a new way over places" in found.figure


def test_how_many_rapids_are_low_is_told() -> None:
    after = SLOT.format(back="G0 Z-1\nG0 X-10\n") + OTHER
    found = air(LIFTED, after)
    # up to Z-1, back to X-10, up to Z5 there, and from there; the last one is at the travel height
    assert found.figure.startswith("4 new rapids; 3 run below the travel height")
    assert ", new ones down to Z-1.0000" in found.figure


def test_a_new_way_up_of_a_tool_that_may_be_wider_below() -> None:
    """As a T-slot cutter is: it must leave where the original leaves."""
    up = "G1 X30 F300\nG0 Z5\nG1 Z-2 F100\nG1 X70 F300\n"
    after = LIFTED.replace("G1 X70 F300\n", up, 1)
    found = air(LIFTED, after, UNNAMED)
    assert not found.holds
    assert "a new way up out of a cut, and the tool is not named" in found.figure
    assert found.figure.startswith("X30.0000 Y20.0000 Z-2.0000")
    assert air(LIFTED, after).holds
    # at feed, in a slot that it has cut there and back
    back = SLOT.format(back="G1 X-10\n") + OTHER
    after = back.replace("G1 X-10\n", "G1 X30\nG1 Z5\nG1 Z-2 F100\nG1 X-10 F300\n", 1)
    found = ways_in(back, after, UNNAMED)
    assert not found.holds
    assert "a new way up out of a cut, and the tool is not named" in found.figure
    assert ways_in(back, after).holds


@pytest.mark.parametrize(("end", "holds"), [("X70", True), ("X70 Z-1.4", False)])
def test_a_level_way_is_no_way_up_out_of_a_cut(end: str, *, holds: bool) -> None:
    """Once more through the slot at feed, 0.5 over its floor, in and out where it was so before."""
    again = f"G0 X-10\nG0 Z-1.5\nG1 {end} F300\nG0 Z5\n"
    found = ways_in(LIFTED, SLOT.format(back="") + again + OTHER, UNNAMED)
    assert found.holds == holds
    assert ("a new way up out of a cut" in found.figure) != holds


@pytest.mark.parametrize(("low", "holds"), [("-2", False), ("-1.6", False), ("-1.4", True)])
def test_a_new_rapid_down_ends_above_the_floor_by_the_clearance(low: str, *, holds: bool) -> None:
    down = f"G1 X30 F300\nG0 Z5\nG0 Z{low}\nG1 Z-2 F100\nG1 X70 F300\n"
    found = air(LIFTED, LIFTED.replace("G1 X70 F300\n", down, 1))
    assert found.holds == holds
    if not holds:
        place = f"X30.0000 Y20.0000 Z{float(low):.4f}: "
        assert found.figure == place + "a new rapid down ends less than 0.5 mm above metal"


def test_a_floor_that_was_deeper_when_the_original_came_down_is_none_of_its_own() -> None:
    one, two = (
        "G0 X-10 Y20\nG0 Z{0}\nG1 X70 F300\nG0 Z5\n".replace("{0}", z) for z in ("-2", "-4")
    )
    down = "G0 X30 Y20\nG0 Z-1.9\nG0 Z5\n"
    late, early = one + two + down, one + down + two
    assert air(late, late.replace("M30", "(again)\nM30")).holds
    found = air(late, early)
    assert not found.holds
    assert "a new rapid down ends less than 0.5 mm above metal" in found.figure


def test_above_the_stock_a_tool_may_go_up_anywhere() -> None:
    up = LIFTED.replace("G0 X-10 Y10\n", "G0 X-10 Y10\nG0 Z1\nG1 Z5 F300\n")
    assert ways_in(LIFTED, up, UNNAMED).holds


@pytest.mark.parametrize(
    ("x", "y", "reach"), [(0.0, 0.0, 1.945), (0.0, 2.0, 4.61), (2.0, 0.0, 4.61), (2.0, 2.0, 6.223)]
)
def test_above_the_stock_an_approach_goes_as_far_aside_as_both_axes_need(
    x: float, y: float, reach: float
) -> None:
    """Twice the backlash, but 1.25 mm at least (the default), and a tenth beyond the diagonal.

    1.1 * hypot(1.25, 1.25), 1.1 * hypot(1.25, 4), 1.1 * hypot(4, 4).
    """
    mill = replace(KNOWN, x=Axis(lost_motion=x), y=Axis(lost_motion=y))
    for aside, free in ((reach - 0.05, True), (reach + 0.05, False)):
        back = f"G0 Z0.6\nG0 Y{20.0 + aside:.4f}\nG0 X-10\n"
        after = SLOT.format(back=back) + OTHER
        texts = (SourceText.of((HEAD + each + TAIL).encode()) for each in (LIFTED, after))
        pair = Pair(*(Side.of(text, mill) for text in texts), mill, UNNAMED)
        assert Verdicts(pair).air_moves().holds == free


def test_where_no_plunge_moves_none_is_told_of() -> None:
    pieces = LIFTED.replace("G1 X70 F300\n", "G1 X30 F300\nX70\n", 1)
    assert ways_in(LIFTED, pieces).figure == "new moves at feed run where room is"


def slope(y: float, degrees: float, *, up: bool = False) -> str:
    """A pass over a slope 10 mm long in X, from Z1 down or back up."""
    places = [(20.0, 1.0), (30.0, 1.0 - 10.0 * tan(radians(degrees)))]
    (x0, z0), (x1, z1) = places[::-1] if up else places
    head = f"G0 X{x0:g} Y{y:g}\nG0 Z{z0 + 1:g}\nG1 Z{z0:.6f} F100\n"
    return f"{head}G1 X{x1:g} Z{z1:.6f} F300\nG0 Z5\n"


@pytest.mark.parametrize(("steepest", "holds"), [(25.0, True), (20.0, True), (19.0, False)])
def test_a_slope_may_be_run_down_where_such_slopes_are_run_down(
    steepest: float, *, holds: bool
) -> None:
    others = slope(10, 2.0) + slope(30, steepest)
    found = ways_in(slope(20, 20.0, up=True) + others, slope(20, 20.0) + others)
    assert found.holds == holds, found.figure
    # or where the job says that the tool may
    for angle in (20.5, 19.5):
        ramp = Job({1: Tool(6.0, max_ramp_angle=radians(angle))}, STOCK)
        found = ways_in(slope(20, 20.0, up=True) + others, slope(20, 20.0) + others, ramp)
        assert found.holds == (holds or angle > 20.0)


def test_only_its_own_plunge_into_a_named_stock_shows_that_a_tool_is_not_wider() -> None:
    up = "G1 X30 F300\nG0 Z5\nG1 Z-2 F100\nG1 X70 F300\n"
    plunge = "G0 X20 Y32\nG1 Z-2 F50\nG0 Z5\n"
    said = "a new way up out of a cut"
    own = LIFTED.replace("G0 X-10 Y20\n", plunge + "G0 X-10 Y20\n", 1)
    lifted = own.replace("G1 X70 F300\n", up, 1)
    assert said not in air(own, lifted, UNNAMED).figure
    assert verdicts(own, lifted, NOTHING).caught.any()
    beside = [text.replace("X20 Y32", "X90 Y32") for text in (own, lifted)]
    assert said in air(*beside, UNNAMED).figure
    other = LIFTED.replace("G0 X-10 Y20\n", f"T2 M6\n{plunge}T1 M6\nG0 X-10 Y20\n", 1)
    lifted = other.replace("G1 X70 F300\n", up, 1)
    assert said in air(other, lifted, Job({2: Tool(8.0)}, STOCK)).figure
