"""Chip load against the formula of the trade, and how much backlash may add to it."""

import math

import numpy as np
import pytest

from gpre.mill.chip_load import (
    backlash_along,
    chip_load,
    chip_loads,
    climb_hazards,
    grown_chip,
)
from gpre.mill.job import Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read

MILL = Mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.2, gravity_loaded=True),
)
JOB = Job(tools={1: Tool(6.0, flutes=4), 2: Tool(6.0)})


def motion_of(text):
    return trace(read(text.encode()), Controller(tool_change_moves="none"))


def test_the_formula_and_its_inverse():
    # v_f = f_z z n, from memory (it stands in cutting-tool catalogues): four flutes at 1000 rev/min
    # and 0.1 mm a tooth take 400 mm/min
    assert chip_load(400.0, 1000.0, 4) == pytest.approx(0.1)
    found = chip_load([300.0, 300.0], [6000.0, 1500.0], [2, 4])
    np.testing.assert_allclose(found, [0.025, 0.05])
    np.testing.assert_allclose(found * [6000.0, 1500.0] * np.array([2, 4]), 300.0)


@pytest.mark.parametrize(
    ("feed", "spindle", "flutes"),
    [
        (0, 1000, 2),
        (100, 0, 2),
        (100, 1000, 0),
        (math.nan, 1000, 2),
        (100, math.nan, 2),
        (-1, 1, 1),
    ],
)
def test_what_is_not_known_gives_no_chip_load(feed, spindle, flutes):
    assert np.isnan(chip_load(feed, spindle, flutes))


def test_the_chip_grows_by_the_backlash():
    # the table jumps by b within one tooth's pass: that the cutter pulls the work in and the chip
    # grows is said by shop courses (Fox Valley Technical College, "Backlash"); by how much at the
    # worst, f_z + b, is common practice, no source
    assert grown_chip(0.05, 0.09) == pytest.approx(0.14)


def test_only_moves_at_feed_with_a_known_tool_and_a_turning_spindle_have_a_chip_load():
    motion = motion_of(
        "T1 M6\nS1000 M3\nG0 X1\nG1 X2 F400\nS2000\nX3\nM4\nX4\nM5\nX5\n"
        "T2 M6\nM3\nX6\nT3 M6\nM3\nX7\nT1 M6\nM3\nG95 G1 X8 F0.4\n"
        "G0 X9\n"
    )
    found = chip_loads(motion, JOB)
    nan = math.nan
    np.testing.assert_allclose(found, [nan, 0.1, 0.05, 0.05, nan, nan, nan, 0.1, nan])


def test_the_greatest_backlash_of_the_axes_that_travel_counts():
    motion = motion_of(
        "G1 F100 X1\nY1\nX2 Y2\nZ1\nY3 Z2\nX2\nG3 X2 Y3 I1 J0\nG18 G2 X2 Z2 I1 K0\n"
        "G17 G1 X2.00005\n"
    )
    found = backlash_along(motion, MILL)
    np.testing.assert_allclose(found[:8], [0.09, 0.06, 0.09, 0.0, 0.06, 0.0, 0.09, 0.09])
    assert found[8] == 0.0  # travel within the resolution


def test_backlash_that_changes_over_the_axis_counts_where_the_move_goes():
    table = ((0.0, 0.1), (50.0, 0.3), (100.0, 0.2))
    mill = Mill(x=Axis(lost_motion=table), y=Axis(lost_motion=0.15))
    motion = motion_of("G1 F100 X25\nX75\nX100\nX90 Y5\nY9\nG92 X90\nG0 X-40\n")
    np.testing.assert_allclose(backlash_along(motion, mill), [0.2, 0.3, 0.25, 0.22, 0.15, 0.3])


def test_origins_shift_the_place_on_the_axis():
    table = ((0.0, 0.1), (100.0, 0.3))
    mill = Mill(x=Axis(lost_motion=table), y=Axis(lost_motion=0.0))
    controller = mill.controller.__class__(origins={1: (50.0, 0.0, 0.0)})
    motion = trace(read(b"G1 F100 X10\nX0\n"), controller)
    np.testing.assert_allclose(backlash_along(motion, mill), [0.22, 0.22])


def test_a_bow_reaches_further_than_its_ends():
    table = ((0.0, 0.1), (10.0, 0.3))
    mill = Mill(x=Axis(lost_motion=table), y=Axis(lost_motion=0.0))
    motion = motion_of("G1 F100 X2\nG3 X2 Y8 I0 J4\n")  # out to X6
    np.testing.assert_allclose(backlash_along(motion, mill), [0.14, 0.22])


def test_unknown_positions_give_no_backlash():
    motion = motion_of("G28 X0\nG1 F100 X5\n")
    assert np.isnan(backlash_along(motion, MILL)[-1])


def test_climbing_moves_with_more_backlash_than_chip_are_hazards():
    motion = motion_of("T1 M6\nS1000 M3\nG1 F400 X10\nY10\nF100 X0\nG0 X5\nT2 M6\nM3\nG1 X9\nZ-1\n")
    # chip 0.1 against 0.09, 0.1 against 0.06, 0.025 against 0.09, a rapid, flutes not known
    climbs = np.ones(len(motion), np.bool_)
    found = climb_hazards(motion, climbs, MILL, JOB)
    assert found.move.tolist() == [2]
    np.testing.assert_allclose(found.load, [0.025])
    np.testing.assert_allclose(found.backlash, [0.09])
    np.testing.assert_allclose(found.grown, [0.115])
    assert found.unknown.tolist() == [4]  # straight down there is no backlash: Z is gravity-loaded
    climbs[2] = False
    assert climb_hazards(motion, climbs, MILL, JOB).move.tolist() == []


def test_backlash_of_just_the_chip_load_is_no_hazard():
    motion = motion_of("T1 M6\nS1000 M3\nG1 F400 X10\n")
    climbs = np.array([True])
    mill = Mill(x=Axis(lost_motion=0.1))
    assert climb_hazards(motion, climbs, mill, JOB).move.tolist() == []
    mill = Mill(x=Axis(lost_motion=0.1001))
    assert climb_hazards(motion, climbs, mill, JOB).move.tolist() == [0]


def test_a_motion_without_moves():
    motion = motion_of("M30\n")
    assert backlash_along(motion, MILL).shape == (0,)
    assert climb_hazards(motion, np.zeros(0, np.bool_), MILL, JOB).move.shape == (0,)
