"""The table path against the play followed step by step, and what each mill does of its own."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from prediction_maker import followed, mill, motion, place_on, programs

from gpre.mill.mill import Twist
from gpre.motion.controller import Controller
from gpre.prediction import samples as sampling
from gpre.prediction.curves import Curves
from gpre.prediction.table_path import table_path


def lag(path, axis):
    return path.low[:, axis] - path.samples.point[:, axis], path.high[:, axis] - path.samples.point[
        :, axis
    ]


@given(programs(), st.integers(0, 30), st.integers(-100, 100))
def test_agrees_with_the_play_step_by_step(blocks, backlash, place):
    made = motion("G0 X0", *blocks)
    half = backlash / 200.0
    path = table_path(made, mill(2 * half, half, half))
    at = list(zip(path.samples.row, path.samples.along, strict=True))
    for axis, reach in enumerate((half, half / 2, half / 2)):
        low, high = lag(path, axis)
        least = followed(made, at, lambda _, r=reach: r, -1e6, axis)
        most = followed(made, at, lambda _, r=reach: r, 1e6, axis)
        some = followed(made, at, lambda _, r=reach: r, reach * place / 100.0, axis)
        np.testing.assert_allclose(low, least, atol=1e-9)
        np.testing.assert_allclose(high, most, atol=1e-9)
        assert (low <= np.array(some) + 1e-9).all()
        assert (np.array(some) <= high + 1e-9).all()


@given(programs())
def test_agrees_with_the_play_step_by_step_with_backlash_by_position(blocks):
    made = motion("G0 X0", *(block for block in blocks if not block.startswith("G92")))
    table = ((-2.0, 0.02), (0.0, 0.2), (1.0, 0.1))
    path = table_path(made, mill(table))
    at = list(zip(path.samples.row, path.samples.along, strict=True))

    def half(place):
        return np.interp(place, [-2.0, 0.0, 1.0], [0.01, 0.1, 0.05])

    np.testing.assert_allclose(lag(path, 0)[0], followed(made, at, half, -1e6, 0), atol=2e-4)
    np.testing.assert_allclose(lag(path, 0)[1], followed(made, at, half, 1e6, 0), atol=2e-4)


def test_straight_move_has_one_sample_more_where_its_take_up_ends():
    path = table_path(motion("G1 X10", "X4"), mill(0.1))
    on_second = path.samples.row == 1
    np.testing.assert_allclose(path.samples.point[on_second, 0], [10.0, 9.9, 4.0])
    np.testing.assert_allclose(path.low[on_second, 0], [9.95, 9.95, 4.05])


def test_take_up_end_on_an_arc_is_solved():
    # at 0 degrees X turns; the table follows again at acos(1 - b/R)
    path = table_path(motion("G0 X0", "G0 X25", "G3 X-25 Y0 I-25"), mill(0.1))
    along = path.samples.along[path.samples.row == 2] * math.pi
    assert np.abs(along - math.acos(1 - 0.1 / 25)).min() < 1e-9


def test_setting_coordinates_anew_moves_no_table():
    path = table_path(motion("G1 X10", "G92 X3", "G1 X3.02", "X2.99"), mill(0.1))
    np.testing.assert_allclose(lag(path, 0)[0][-1], -0.02, atol=1e-12)


def test_another_work_system_moves_no_table_and_its_backlash_is_that_of_the_machine():
    made = motion(
        "G54 G1 X10",
        "X8",
        "G55",
        "X-92.5",
        controller=Controller(origins={1: (0.0, 0.0, 0.0), 2: (100.0, 0.0, 0.0)}),
    )
    table = ((0.0, 0.2), (8.0, 0.2), (8.1, 0.1), (100.0, 0.1))
    path = table_path(made, mill(table))
    # X8 in G54 is X-92 in G55; X7.5 has the backlash 0.2
    np.testing.assert_allclose(lag(path, 0)[0][-1], 0.1, atol=1e-9)


def test_home_move_to_an_unknown_place_forgets_the_state():
    made = motion("G1 X10 Y10", "G28 X0", "G0 X5", "G1 X5.01", "X9")
    path = table_path(made, mill(0.1, 0.1))
    low, high = lag(path, 0)
    ends = np.flatnonzero(path.samples.along == 1.0)
    assert made.block[path.samples.row[ends]].tolist() == [1, 2, 2, 3, 4, 5]
    width = high[ends] - low[ends]
    np.testing.assert_allclose(width, [0, 0, math.nan, 0.1, 0.09, 0], atol=1e-9)
    other = lag(path, 1)
    np.testing.assert_allclose(other[1][ends] - other[0][ends], 0.0, atol=1e-9)


def test_z_that_hangs_has_no_lag():
    path = table_path(motion("G1 Z-5", "Z5", "Z0"), mill(z=0.3, gravity_loaded=True))
    np.testing.assert_array_equal(path.low, path.samples.point)


def test_controller_that_knows_the_backlash_keeps_the_path():
    made = motion("G1 X10", "Y5", "X0", "G2 X0 Y5 I3 J3")
    path = table_path(made, mill(0.09, 0.06, by="controller"))
    np.testing.assert_array_equal(path.low, path.samples.point)
    np.testing.assert_array_equal(path.high, path.samples.point)


@pytest.mark.parametrize("change", [0.02, -0.02])
def test_controller_that_believes_another_backlash_leaves_half_of_the_difference(change):
    path = table_path(
        motion("G1 X10", "X4", "X8"), mill(0.09, by="controller"), change=(change, 0.0, 0.0)
    )
    ends = path.samples.along == 1.0
    np.testing.assert_allclose(lag(path, 0)[0][ends], np.array([-1, 1, -1]) * change / 2, atol=1e-9)
    assert np.abs(path.low - path.samples.point).max() <= 0.01 + 1e-4  # and the resolution
    assert np.abs(path.high - path.samples.point).max() <= 0.01 + 1e-4


def test_twist_shifts_the_part_by_the_distance_from_the_pivot():
    made = motion("G1 X400", "X0", controller=Controller(origins={1: (0.0, 90.0, 0.0)}))
    twist = Twist(x=0.0004, pivot=(200.0, 90.0))
    path = table_path(made, mill(0.09, by="controller", twist=twist))
    shift = path.low[:, 1] - path.samples.point[:, 1]
    ends = np.flatnonzero(path.samples.along == 1.0)
    # 0.0002 rad at 200 mm: 0.04 mm, to one side going out and to the other coming back
    np.testing.assert_allclose(shift[ends], [0.04, 0.04], atol=1e-6)
    start_back = np.flatnonzero((path.samples.row == 1) & (path.samples.along < 1e-4))
    np.testing.assert_allclose(shift[start_back], [0.04, -0.04], atol=1e-6)


def test_twist_swings_with_the_backlash():
    made = motion("G1 X10", "X9.955", controller=Controller(origins={1: (100.0, 0.0, 0.0)}))
    path = table_path(made, mill(0.09, twist=Twist(x=0.001)))
    # half of the backlash crossed: no yaw
    np.testing.assert_allclose(path.low[-1, 1], 0.0, atol=1e-9)
    np.testing.assert_allclose(path.low[-2, 1], 110.0 * 0.0005, atol=1e-5)


def test_twist_of_an_axis_without_backlash_swings_as_it_turns():
    made = motion("G1 X10", "X4", controller=Controller(origins={1: (100.0, 0.0, 0.0)}))
    path = table_path(made, mill(twist=Twist(x=0.001)))
    behind = (path.samples.row == 1) & (path.samples.along > 0)
    np.testing.assert_allclose(
        path.low[behind, 1], -0.0005 * (100.0 + path.samples.point[behind, 0]), atol=1e-4
    )


def test_true_backlash_that_differs_is_the_one_that_the_table_has():
    made = motion("G1 X10", "X4", "Y2", "X9")
    changed = table_path(made, mill(0.09), change=(0.02, 0.0, 0.0))
    same = table_path(made, mill(0.11))
    np.testing.assert_allclose(changed.low, same.low, atol=1e-12)


def test_chords_stay_within_a_tenth_of_the_tolerance():
    made = motion("G0 X30", "G3 X30 Y0 I-30")
    one = mill(0.1)
    fine = dataclasses.replace(one, limits=dataclasses.replace(one.limits, tolerance=0.01))
    point = table_path(made, fine).samples.point[2:]
    middle = (point[1:] + point[:-1]) / 2.0
    assert 30.0 - np.hypot(middle[:, 0], middle[:, 1]).min() <= 0.001 * 1.0001


def test_more_samples_than_the_memory_should_hold_are_not_taken(monkeypatch):
    made = motion("G0 X30", *["G3 X30 Y0 I-30"] * 20)
    monkeypatch.setattr(sampling, "MOST_SAMPLES", 2000)
    path = table_path(made, mill(0.1))
    assert len(path.samples) < 3000
    assert path.samples.chord > 0.0002


def test_no_moves():
    path = table_path(motion("M0"), mill(0.1, twist=Twist(x=0.001)))
    assert len(path.samples) == 0


@given(programs(), st.floats(0.0, 1.0))
def test_places_on_moves_are_those_of_the_plain_formula(blocks, along):
    made = motion(*blocks)
    row = np.arange(len(made))
    point = Curves(made).points(row, np.full(len(made), along))
    for each in range(len(made)):
        np.testing.assert_allclose(point[each], place_on(made, each, along), atol=1e-9)
    for end, given_end in ((0.0, made.start), (1.0, made.end)):
        met = Curves(made).points(row, np.full(len(made), end))
        np.testing.assert_array_equal(met, given_end)


def test_a_row_of_the_table_is_met_whatever_comes_after_it():
    table = ((0.0, 0.02), (4.0, 0.2))
    for end in ("", "G28"):  # home is not known
        path = table_path(motion("G1 X10", "X20", end, controller=Controller()), mill(table))
        assert path.samples.point[path.samples.row == 0, 0].tolist().count(4.0) == 1


@given(st.floats(0.01, 3.1), st.floats(0.0, 1.0), st.floats(0.1, 500.0))
def test_where_an_arc_has_a_coordinate_is_the_arc_cosine(sweep, share, radius):
    end = radius * math.cos(sweep), radius * math.sin(sweep)
    made = motion(f"G0 X{radius!r}", f"G3 X{end[0]!r} Y{end[1]!r} I{-radius!r}")
    target = radius * math.cos(share * sweep)
    ends = np.zeros(1), np.ones(1)
    found = Curves(made).solve(0, np.ones(1, np.intp), np.array([target]), ends)
    at = radius * math.cos(float(found[0]) * float(made.sweep[1]))
    assert at == pytest.approx(target, abs=1e-9)
