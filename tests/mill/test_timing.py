"""Cycle time against the textbook's trapezoid, triangle, arc and corner formulas."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from known_mill import known_mill

from gpre.diagnostics.faults import FileFault
from gpre.mill.axis_limits import allowed
from gpre.mill.junctions import junctions
from gpre.mill.mill import Axis, Compensation, Limits, Mill, Timing
from gpre.mill.profile import read_profile
from gpre.mill.timing import cycle_time
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.settings.toml_file import SettingsFile


def mill_of(acceleration=200.0, top_speed=1e6, tolerance=0.01, by="none", **axis):
    """A mill whose three axes are alike."""
    each = Axis(acceleration=acceleration, top_speed=top_speed, **axis)
    return known_mill(
        x=each,
        y=each,
        z=each,
        limits=Limits(corner_tolerance=tolerance),
        compensation=Compensation(by=by, take_up_feed=60.0, pause=0.08),
    )


def timed(text, mill):
    motion = trace(read(text.encode()), mill.controller)
    return cycle_time(motion, find_reversals(motion), mill)


def rest_to_rest(length, speed, acceleration):
    """The textbook: T = L/v + v/a if L >= v²/a, else 2 sqrt(L/a)."""
    if length >= speed**2 / acceleration:
        return length / speed + speed / acceleration
    return 2.0 * math.sqrt(length / acceleration)


@pytest.mark.parametrize(
    ("length", "expected"),
    # trapezoid: ramps of v²/2a = 6.25 mm; triangle: peak sqrt(aL) = 44.7214 mm/s
    [(100.0, 2.25), (10.0, 0.4472136)],
)
def test_a_line_from_rest_to_rest(length, expected):
    found = timed(f"G1 X{length} F3000\n", mill_of(acceleration=200.0))  # 50 mm/s
    assert found.total == pytest.approx(expected, rel=1e-7)
    assert found.cutting == found.total
    assert found.air == 0.0
    assert rest_to_rest(length, 50.0, 200.0) == pytest.approx(expected, rel=1e-7)


def test_a_rapid_goes_as_fast_as_its_slowest_axis_lets_the_straight_path_go():
    mill = replace(
        mill_of(acceleration=1e6),
        x=Axis(top_speed=3000.0, acceleration=300.0),
        z=Axis(top_speed=600.0, acceleration=90.0),
    )
    motion = trace(read(b"G0 X30 Z40\nX60 Z40\n"))
    found = allowed(motion, mill)
    # 50 mm long: X has 3/5 of the speed, Z 4/5; Z's 10 mm/s and 90 mm/s² are the tighter
    assert found.speed[0] == pytest.approx(10.0 / 0.8)
    assert found.acceleration[0] == pytest.approx(90.0 / 0.8)
    assert found.speed[1] == pytest.approx(50.0)
    assert found.acceleration[1] == pytest.approx(300.0)


def test_a_feed_above_an_axis_top_speed_is_held_down_to_it():
    found = allowed(trace(read(b"G1 X30 Y40 F6000\nX60 F100\n")), mill_of(top_speed=1200.0))
    assert found.speed[0] == pytest.approx(20.0 / 0.8)
    assert found.speed[1] == pytest.approx(100.0 / 60.0)


@pytest.mark.parametrize(
    ("radius", "acceleration", "expected"),
    # v = sqrt(a r), formulafactory.tools: r 0.25 in at 0.1 g gives 186.483 in/min
    [(10.0, 500.0, 70.7107), (0.25 * 25.4, 38.64 * 25.4, 186.483 * 25.4 / 60.0)],
)
def test_an_arc_is_as_fast_as_the_pull_to_its_centre_allows(radius, acceleration, expected):
    text = f"G3 X0 Y0 I{radius} J0 F1000000\n"
    found = allowed(trace(read(text.encode())), mill_of(acceleration=acceleration))
    assert found.speed[0] == pytest.approx(expected, rel=2e-6)
    assert found.length[0] == pytest.approx(2.0 * math.pi * radius)


def test_the_weaker_axis_limits_an_arc_where_it_pulls_most():
    mill = replace(mill_of(acceleration=400.0), y=Axis(acceleration=100.0, top_speed=1e6))
    # about (0, 0), radius 10, 30 degrees up from the X axis: Y never holds more than half the pull,
    # and never less than cos 30 of the travel
    turn = math.radians(30.0)
    end = f"X{10 * math.cos(turn) - 10:.9f} Y{10 * math.sin(turn):.9f}"
    found = allowed(trace(read(f"G3 {end} I-10 J0 F1000000\n".encode())), mill)
    assert found.speed[0] == pytest.approx(math.sqrt(100.0 / 0.5 * 10.0), rel=1e-6)
    assert found.acceleration[0] == pytest.approx(100.0)


def test_a_helix_bends_less_than_its_circle():
    radius, rise = 2.0, 5.0
    found = allowed(
        trace(read(f"G2 X0 Y0 Z-{rise} I{radius} J0 F1000000\n".encode())), mill_of(500.0)
    )
    around = 2.0 * math.pi * radius
    length = math.hypot(around, rise)
    # the bend of a helix: r / (r² + c²) with c = rise / 2 pi
    bend = radius / (radius**2 + (rise / (2.0 * math.pi)) ** 2)
    assert found.length[0] == pytest.approx(length)
    assert found.speed[0] == pytest.approx(math.sqrt(500.0 / bend))
    assert found.acceleration[0] == pytest.approx(500.0 / (around / length))


def corner(angle, leg=1000.0, acceleration=500.0, tolerance=0.01):
    """The speed through a corner with the angle between its legs, degrees."""
    turn = math.radians(180.0 - angle)
    end = f"X{leg + leg * math.cos(turn):.12f} Y{leg * math.sin(turn):.12f}"
    text = f"G64\nG1 X{leg} F1000000\n{end}\n"
    mill = mill_of(acceleration, tolerance=tolerance)
    moves = allowed(trace(read(text.encode())), mill)
    (square,) = junctions(moves, np.array([640, 640], np.int16), mill).square
    return math.sqrt(square)


@pytest.mark.parametrize(
    ("angle", "expected"),
    # R = d sin(phi/2) / (1 - sin(phi/2)), v = sqrt(a R), plane geometry, with d 0.01 and a 500
    [(90, 3.47434), (120, 5.68511), (135, 7.79008), (45, 1.76056)],
)
def test_a_corner_in_continuous_mode(angle, expected):
    assert corner(angle) == pytest.approx(expected, rel=3e-6)


def test_no_corner_is_no_limit_and_a_turn_straight_back_is_a_stop():
    assert corner(180.0) == pytest.approx(1e6 / 60.0)
    assert corner(0.0) == pytest.approx(0.0, abs=1e-5)
    assert corner(90.0, tolerance=0.0) == 0.0


def test_the_circle_in_a_corner_takes_at_most_half_of_each_leg():
    # legs of 1 mm: the circle touches 0.5 mm from the corner, so R = 0.5 tan(phi/2)
    radius = 0.5 * math.tan(math.radians(170.0) / 2.0)
    assert corner(170.0, leg=1.0, tolerance=1.0) == pytest.approx(math.sqrt(500.0 * radius))


def test_chords_of_a_circle_are_passed_no_faster_than_the_circle():
    radius, acceleration = 5.0, 150.0
    chords = 400
    lines = ["G64", f"G0 X{radius} Y0", "G1 F100000"]
    for step in range(1, chords + 1):
        angle = 2.0 * math.pi * step / chords
        lines.append(f"X{radius * math.cos(angle):.6f} Y{radius * math.sin(angle):.6f}")
    mill = mill_of(acceleration)
    motion = trace(read("\n".join(lines).encode()))
    found = cycle_time(motion, find_reversals(motion), mill)
    some = np.arange(150, 250)
    speed = 2.0 * radius * math.sin(math.pi / chords) / found.moves[some]
    # the pull points to the centre, and each axis holds its share of it
    angle = 2.0 * math.pi * (some - 0.5) / chords
    share = np.maximum(np.abs(np.cos(angle)), np.abs(np.sin(angle)))
    pull = speed**2 * share / (acceleration * radius)
    assert pull.max() <= 1.0001
    # a corner is held to its worst place: with 0.9 degrees from chord to chord the share of the
    # axis that pulls changes by up to tan(45°) x 0.0157 from one end of it to the other
    assert pull.min() >= 1.0 - 0.0157


def test_circle_upon_circle_has_no_corner_even_with_a_corner_tolerance_of_zero():
    mill = mill_of(200.0, tolerance=0.0)
    turn = "G3 X10 Y0 I-10 J0\n"
    for mode in ("G64", "G61"):
        found = timed(f"{mode} G0 X10\nG4 P0\nG1 F1200\n{turn * 3}", mill)
        assert found.cutting == pytest.approx(rest_to_rest(60.0 * math.pi, 20.0, 200.0))


@pytest.mark.parametrize("turn", [0.0, 1e-9, 1e-4, 0.004, 0.006, 0.1, 1.0, 3.0])
@pytest.mark.parametrize("leg", [0.01, 1.0, 100.0])
def test_continuous_mode_is_never_slower_than_exact_path_nor_that_than_exact_stop(turn, leg):
    end = f"X{leg + leg * math.cos(turn):.12f} Y{leg * math.sin(turn):.12f}"
    text = f"G1 X{leg} F100000\n{end}\n"
    for tolerance in (0.0, 0.01):
        mill = mill_of(200.0, tolerance=tolerance)
        each = [timed(f"{mode} {text}", mill).total for mode in ("G64", "G61", "G61.1")]
        assert each[0] <= each[1] * (1.0 + 1e-9)
        assert each[1] <= each[2] * (1.0 + 1e-9)


def test_many_corners_are_taken_in_parts_that_join(monkeypatch):
    lines = ["G1 F2000"]
    lines += [f"X{step} Y{2 * math.sin(step * step / 7.0):.3f}" for step in range(1, 50)]
    text = "\n".join(lines)
    whole = timed(text, mill_of())
    monkeypatch.setattr("gpre.mill.junctions._TOGETHER", 7)
    np.testing.assert_array_equal(timed(text, mill_of()).moves, whole.moves)


def test_exact_stop_times_each_move_on_its_own():
    text = "G61.1 G1 F1200\nX10\nX20\nX20 Y4\nG3 X20 Y12 I0 J4\n"
    mill = mill_of(200.0)
    found = timed(text, mill)
    lengths = [10.0, 10.0, 4.0, 4.0 * math.pi]
    np.testing.assert_allclose(found.moves, [rest_to_rest(each, 20.0, 200.0) for each in lengths])


def test_exact_path_keeps_its_speed_only_where_the_path_has_no_corner():
    text = "G61 G1 F1200\nX10\nX20\nG3 X24 Y4 I0 J4\nG1 Y14\nX14\n"
    found = timed(text, mill_of(200.0))
    smooth = 10.0 + 10.0 + 2.0 * math.pi + 10.0
    expected = rest_to_rest(smooth, 20.0, 200.0) + rest_to_rest(10.0, 20.0, 200.0)
    assert found.total == pytest.approx(expected)


def test_where_the_mode_changes_the_stricter_one_holds():
    stops = 2.0 * rest_to_rest(10.0, 20.0, 200.0)
    through = rest_to_rest(20.0, 20.0, 200.0)
    mill = mill_of(200.0)
    assert timed("G64 G1 F1200 X10\nG61.1 X20\n", mill).total == pytest.approx(stops)
    assert timed("G61.1 G1 F1200 X10\nG64 X20\n", mill).total == pytest.approx(stops)
    assert timed("G64 G1 F1200 X10\nG61 X20\n", mill).total == pytest.approx(through)
    assert timed("G64 G1 F1200 X10\nX20\n", mill).total == pytest.approx(through)


def test_a_slower_move_is_reached_in_time():
    # 20 mm/s, then 5 mm/s: the first move loses speed before its end, from 20² to 5² at 200 mm/s²
    found = timed("G1 X30 F1200\nX40 F300\n", mill_of(200.0))
    gain, lose = 20.0 / 200.0, 15.0 / 200.0
    held = 30.0 - 20.0**2 / 400.0 - (20.0**2 - 5.0**2) / 400.0
    assert found.moves[0] == pytest.approx(gain + lose + held / 20.0)
    last = 5.0 / 200.0
    assert found.moves[1] == pytest.approx(last + (10.0 - 5.0**2 / 400.0) / 5.0)


def test_a_canned_cycle_stops_at_its_corners():
    mill = mill_of(200.0, top_speed=1200.0)
    text = "G64 G0 Z5\nG81 X10 Z-3 R2 F600\nG80\n"
    motion = trace(read(text.encode()))
    found = cycle_time(motion, find_reversals(motion), mill)
    lengths = np.linalg.norm(motion.end - motion.start, axis=1)
    # down to R and on at feed is one straight line without a stop
    assert lengths.tolist() == [5.0, 10.0, 3.0, 5.0, 8.0]
    for row in (0, 1, 4):
        expected = rest_to_rest(lengths[row], 20.0, 200.0)
        assert found.moves[row] == pytest.approx(expected)
    assert found.moves[2] < rest_to_rest(3.0, 20.0, 200.0)


def still(mill: Mill) -> Mill:
    """The same mill, whose axes stay where they are while the tool is changed."""
    return replace(mill, controller=replace(mill.controller, tool_change_moves="none"))


def test_dwells_and_tool_changes_are_added_and_stop_the_path():
    mill = replace(mill_of(200.0), timing=Timing(tool_change=40.0))
    found = timed("G1 X10 F1200\nG4 P1.5\nX20\nG4 P0\nX30\nT2 M6\nX40\nM30\n", still(mill))
    assert found.dwell == 1.5
    assert (found.tool_change, found.tool_changes) == (40.0, 1)
    assert found.cutting == pytest.approx(4.0 * rest_to_rest(10.0, 20.0, 200.0))
    assert found.total == pytest.approx(found.cutting + 41.5)


def test_a_dwell_within_a_cycle_counts_for_each_hole():
    found = timed("G0 Z5\nG82 X10 Z-3 R2 P0.5 F600\nX20\nX30\nG80\n", mill_of())
    assert found.dwell == 1.5


def test_an_arc_stops_where_the_controller_takes_up_the_backlash():
    radius, backlash = 9.0, 0.09
    text = f"G1 X{radius} F300\nG3 X{radius} Y0 I-{radius} J0\n"
    mill = mill_of(200.0, by="controller", lost_motion=backlash)
    motion = trace(read(text.encode()))
    turns = find_reversals(motion)
    found = cycle_time(motion, turns, mill)
    # Y starts to travel at the arc and X has turned there; then Y, X, Y within it, and none more
    assert len(turns) == 4
    each = backlash / 1.0 + 0.08  # 60 mm/min are 1 mm/s
    np.testing.assert_allclose(found.take_ups, np.full(4, each))
    assert found.take_up_in_cut == pytest.approx(4.0 * each)
    assert found.take_up_in_air == 0.0
    quarter = rest_to_rest(radius * math.pi / 2.0, 5.0, 200.0)
    assert found.moves[1] == pytest.approx(4.0 * quarter)
    assert found.moves[0] == pytest.approx(rest_to_rest(radius, 5.0, 200.0))
    through = timed(text, mill_of(200.0, lost_motion=backlash))
    assert through.take_up == 0.0
    assert through.moves[1] < found.moves[1]


def test_take_ups_in_the_air_are_told_apart():
    found = timed("G0 X10\nX5\nG1 X8 F600\n", mill_of(by="controller", lost_motion=0.05))
    assert found.take_up_in_air == pytest.approx(0.05 + 0.08)
    assert found.take_up_in_cut == pytest.approx(0.05 + 0.08)
    assert found.take_up == pytest.approx(2 * 0.13)
    assert found.total == pytest.approx(found.air + found.cutting + 0.26)


@pytest.mark.parametrize("by", ["none", "program"])
def test_nobody_stands_unless_the_controller_compensates(by):
    found = timed("G0 X10\nX5\n", mill_of(by=by, lost_motion=0.05))
    assert found.take_up == 0.0
    np.testing.assert_array_equal(found.take_ups, [0.0])


def test_no_take_up_without_backlash_or_on_an_axis_that_hangs():
    text = "G0 X10 Z-10\nX5 Z-5\n"
    mill = replace(
        mill_of(by="controller", lost_motion=0.0), z=Axis(lost_motion=0.05, gravity_loaded=True)
    )
    assert timed(text, mill).take_up == 0.0
    mill = replace(mill_of(by="controller", lost_motion=0.0), z=Axis(lost_motion=0.05))
    assert timed(text, mill).take_up == pytest.approx(0.13)


def test_the_backlash_at_the_place_of_the_reversal_counts():
    table = ((0.0, 0.1), (100.0, 0.2))
    mill = mill_of(by="controller", lost_motion=table)
    assert timed("G0 X50\nX25\nX75\n", mill).take_ups == pytest.approx([0.15 + 0.08, 0.125 + 0.08])
    # G55 lies 20 mm further out
    origins = {1: (0.0, 0.0, 0.0), 2: (20.0, 0.0, 0.0)}
    mill = replace(mill, controller=replace(mill.controller, origins=origins))
    found = timed("G55\nG0 X50\nX25\n", mill)
    assert found.take_ups == pytest.approx([0.17 + 0.08])


def test_travel_within_the_resolution_is_no_reversal_to_take_up():
    mill = mill_of(by="controller", lost_motion=0.05, resolution=0.01)
    motion = trace(read(b"G1 X0.005 F600\nX-10\n"))
    fine = find_reversals(motion)  # finer than the axis
    assert len(fine) == 1
    assert cycle_time(motion, fine, mill).take_up == 0.0


def test_what_is_not_known_is_counted_apart_and_the_path_stands_on_both_sides():
    mill = mill_of(200.0)
    found = timed("G1 X10\nX20 F1200\nX30\nG28 X0\nX10\nG1 X20\n", mill)
    # no feed; then two moves at 20 mm/s; the way home and the first move behind it are not known
    assert found.unknown.tolist()[0] == 0
    assert np.isnan(found.moves[found.unknown]).all()
    assert np.isfinite(np.delete(found.moves, found.unknown)).all()
    assert len(found.unknown) >= 3
    assert found.moves[1] + found.moves[2] == pytest.approx(rest_to_rest(20.0, 20.0, 200.0))
    assert found.moves[-1] == pytest.approx(rest_to_rest(10.0, 20.0, 200.0))
    assert found.total == pytest.approx(np.nansum(found.moves))


def test_a_rotary_move_alone_is_not_known_and_a_rest_takes_no_time():
    found = timed("G1 X10 F1200\nX10\nA90\nX20 A180\n", mill_of(200.0))
    assert found.moves[1] == 0.0
    assert found.unknown.tolist() == [2]
    assert found.moves[3] == pytest.approx(rest_to_rest(10.0, 20.0, 200.0))


def test_a_rest_does_not_stop_the_path():
    found = timed("G1 X10 F1200\nX10\nX20\n", mill_of(200.0))
    assert found.total == pytest.approx(rest_to_rest(20.0, 20.0, 200.0))


def test_inverse_time_and_feed_a_turn_come_as_feeds():
    mill = mill_of(1e6)
    assert timed("G93 G1 X10 F2\n", mill).total == pytest.approx(30.0, rel=1e-4)
    assert timed("S600 M3 G95 G1 X10 F0.1\n", mill).total == pytest.approx(10.0, rel=1e-4)


def test_rests_before_a_change_of_mode_shift_nothing():
    text = "G64 G1 F1200 X10\nX10\nX10\nX10\nX20\nG61.1 X30\nX30\nX30\nX40\n"
    found = timed(text, mill_of(200.0))
    through, alone = rest_to_rest(20.0, 20.0, 200.0), rest_to_rest(10.0, 20.0, 200.0)
    assert found.total == pytest.approx(through + 2.0 * alone)


def test_two_axes_that_turn_at_one_place_stand_there_once_and_take_up_twice():
    mill = mill_of(200.0, by="controller", lost_motion=0.05)
    motion = trace(read(b"G0 X9\nG3 X9 Y0 I-9 J0 F300\n"))
    turns = find_reversals(motion)
    twice = replace(
        turns,
        **{each.name: np.repeat(getattr(turns, each.name), 2, axis=0) for each in fields(turns)},
    )
    once, found = cycle_time(motion, turns, mill), cycle_time(motion, twice, mill)
    np.testing.assert_allclose(found.moves, once.moves)
    assert found.take_up == pytest.approx(2.0 * once.take_up)


def test_a_dwell_that_cannot_be_read_is_counted_apart():
    motion = trace(read(b"G4 P1\nG4 P2\nG4 P3\nG1 X1 F60\n"))
    values = iter(("1", "inf", "as long as it takes"))
    events = tuple(replace(each, value=next(values)) for each in motion.events)
    motion = replace(motion, events=events)
    found = cycle_time(motion, find_reversals(motion), mill_of())
    assert (found.dwell, found.unknown_dwells) == (1.0, 2)


def test_a_program_without_moves_takes_no_time():
    found = timed("M30\n", mill_of())
    assert found.total == 0.0
    assert found.moves.shape == (0,)
    assert found.unknown.tolist() == []


def test_an_arc_of_no_radius_at_one_end_is_not_known_and_does_not_crash():
    mill = replace(mill_of(), controller=replace(mill_of().controller, arc_radius_tolerance=1.0))
    found = timed("G3 X0.5 Y0 I0.5 J0 F600\nG1 X3\n", mill)
    assert found.moves[-1] > 0.0
    assert not np.isinf(found.moves).any()


@pytest.mark.parametrize("digits", ["9" * 200, "0." + "0" * 200 + "1"])
def test_absurd_numbers_do_not_crash(digits):
    text = f"G1 F{digits} X1\nF100 X{digits}\nX0\nG3 X0 Y0 I{digits} J0\nG0 X1\n"
    found = timed(text, mill_of(by="controller", lost_motion=0.05))
    assert np.isfinite(found.total)
    assert found.total > 0.0


def profile(text):
    return read_profile(SettingsFile.of(text.encode(), "mill.toml")).mill


def test_the_profile_gives_corner_tolerance_and_tool_change():
    found = profile("[limits]\ncorner_tolerance = 0.05\n[timing]\ntool_change = 12\n")
    assert found.limits.corner_tolerance == 0.05
    assert found.timing.tool_change == 12.0
    # left out, a small corner and no time for tool changes
    assert profile("").limits.corner_tolerance == 0.01
    assert profile("").timing.tool_change == 0.0


@pytest.mark.parametrize(
    "text",
    [
        "[limits]\ncorner_tolerance = -0.1\n",
        "[limits]\ncorner_tolerance = 1.5\n",
        "[timing]\ntool_change = -1\n",
        "[timing]\ntool_change = 'long'\n",
        "[timing]\nspindle = 3\n",
    ],
)
def test_a_faulty_value_of_these_is_named(text):
    with pytest.raises(FileFault):
        profile(text)
