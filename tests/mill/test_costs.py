"""What a reversal and some way in the air cost, against the timing model of whole programs."""

import numpy as np
import pytest
from known_mill import known_mill

from gpre.mill.costs import air_seconds, backlash_at_turns, take_up_costs
from gpre.mill.mill import Axis, Compensation
from gpre.mill.take_ups import take_up_seconds
from gpre.mill.timing import cycle_time
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

CONTROLLER = Compensation("controller", 60.0, 0.08)


def moving(text, mill):
    motion = trace(read(text.encode()), mill.controller)
    return motion, find_reversals(motion)


@pytest.mark.parametrize("half", [0.01, 0.7, 5.0, 7.4, 7.5, 300.0])
@pytest.mark.parametrize(("speed", "acceleration"), [(2000.0, 150.0), (6000.0, 1000.0)])
def test_there_and_back_in_the_air_is_what_the_timing_model_says(half, speed, acceleration):
    quick = Axis(top_speed=2.0 * speed, acceleration=2.0 * acceleration)
    mill = known_mill(x=Axis(top_speed=speed, acceleration=acceleration), y=quick)
    motion, reversals = moving(f"G21 G90 G61.1\nG0 X0\nG0 X{half}\nG0 X0\n", mill)
    whole = cycle_time(motion, reversals, mill).total
    assert air_seconds(mill, 2.0 * half) == pytest.approx(whole, rel=1e-6)


def test_a_way_that_got_shorter_saves_no_ramps():
    mill = known_mill(x=Axis(top_speed=3000.0), y=Axis(top_speed=1200.0))
    assert air_seconds(mill, -40.0) == pytest.approx(-2.0)  # 20 mm/s
    assert air_seconds(mill, 0.0) == 0.0


def test_a_take_up_costs_what_the_timing_model_takes_for_it():
    mill = known_mill(
        x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), z=Axis(0.05), compensation=CONTROLLER
    )
    motion, reversals = moving("G21 G90 F300\nG1 X1 Y1 Z1\nG1 X0 Y0 Z0\n", mill)
    seconds = take_up_seconds(motion, reversals, mill)
    by_axis = dict(zip(reversals.axis.tolist(), seconds.tolist(), strict=True))
    assert take_up_costs(mill) == pytest.approx([by_axis[axis] for axis in range(3)])
    assert take_up_costs(mill) == pytest.approx((0.17, 0.14, 0.13))  # b / 1 mm/s + 0.08 s


def test_nothing_is_taken_up_without_backlash_or_by_nobody_or_where_the_axis_hangs():
    loaded = known_mill(
        y=Axis(lost_motion=0.0), z=Axis(gravity_loaded=True), compensation=CONTROLLER
    )
    x, y, z = take_up_costs(loaded)
    assert x > 0.0
    assert (y, z) == (0.0, 0.0)
    assert backlash_at_turns(loaded) == (0.1, 0.0, 0.0)
    for by in ("none", "program"):
        assert take_up_costs(known_mill(compensation=Compensation(by))) == (0.0, 0.0, 0.0)


def test_of_a_table_of_backlash_the_greatest_counts():
    mill = known_mill(x=Axis(lost_motion=((0.0, 0.02), (100.0, 0.12))))
    assert np.isclose(backlash_at_turns(mill)[0], 0.12)
