"""Programs that carry their take-ups, compared with a step-by-step mill with backlash."""

from dataclasses import replace

import numpy as np
import pytest
from known_mill import known_mill
from take_up_bench import MILL, carried, motion_of, reasons, table_steps, take_up, worst_error

from gpre.driver.counting import count
from gpre.driver.rewrite import Options, rewrite
from gpre.mill.mill import Axis, Compensation, Limits
from gpre.mill.timing import cycle_time
from gpre.prediction.predict import predict
from gpre.prediction.sensitivity import sensitivity
from gpre.program.read import read
from gpre.program.take_up_mark import find_mark
from gpre.reversals.find import find_reversals
from gpre.source.text import SourceText

HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\n"
RING = (
    f"%\nO100 (RING)\n{HEAD}G0 X0 Y0\nG0 Z5\nG1 Z-2 F100\n"
    "G1 X9 F300\nG3 I-9\nG1 X0\nG0 Z5\nM30\n%\n"
)
HELIX = (
    f"{HEAD}G0 X4 Y0\nG0 Z2\nG1 Z0 F100\n"
    + "".join(f"G3 X4 Y0 Z{-0.5 * (turn + 1):g} I-4 J0 F300\n" for turn in range(12))
    + "G1 X3\nG0 Z5\nM30\n"
)
BACKLASH = (0.09, 0.06, 0.0)


def seconds(text, mill):
    counted = count(SourceText.of(text.encode()), mill)
    return cycle_time(counted.motion, counted.reversals, mill)


def wall_rows(motion):
    """The moves that run round the ring."""
    ends = np.hypot(motion.end[:, 0], motion.end[:, 1])
    starts = np.hypot(motion.start[:, 0], motion.start[:, 1])
    return np.flatnonzero(motion.at_feed & (ends > 8.5) & (starts > 8.5))


def runs_round(move):
    """Whether a move of the second reading is one of those."""
    ends = (np.hypot(*np.subtract(place, move.zero)[:2]) for place in (move.path[0], move.path[-1]))
    return not move.rapid and min(ends) > 8.5


def test_ring_pocket_comes_out_within_two_microns():
    after = carried(RING)
    assert worst_error(RING, after, BACKLASH) <= 0.002
    # uncompensated: from -b/2 to nearly +b/2 of the greater backlash (closed form of a circle)
    assert worst_error(RING, RING, BACKLASH) > 0.04


def test_ring_pocket_with_backlash_a_fifth_off_comes_out_within_twelve():
    after = carried(RING)
    off = replace(
        MILL,
        x=Axis(lost_motion=0.09, uncertainty=0.018),
        y=Axis(lost_motion=0.06, uncertainty=0.012),
    )
    intended = motion_of(RING)
    found = sensitivity(motion_of(after), off, intended=intended)
    assert len(found.corners) == 4
    assert 0.005 < found.worst.greatest <= 0.012
    for share in (0.8, 1.2):
        backlash = tuple(each * share for each in BACKLASH)
        assert worst_error(RING, after, backlash) <= 0.0125  # by the step, both ways


def test_nothing_stands_in_the_wall_of_the_ring():
    after = carried(RING)
    moves, rows, places = table_steps(after, BACKLASH)
    steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    wall = [row for row, move in enumerate(moves) if runs_round(move)]
    in_wall = np.isin(rows[1:], wall) & np.isin(rows[:-1], wall)
    assert in_wall.sum() > 1000
    assert steps[in_wall].min() > 0.0
    result = take_up(RING)
    assert result.plan.chosen[0].witness == 0


def ring_of(radius):
    """A ring entered and left on its radius, its arc one block."""
    return RING.replace("X9 F300", f"X{radius:g} F300").replace("I-9", f"I-{radius:g}")


RINGS = [(3.0, 0.002), (9.0, 0.002), (9.0, 0.008), (25.0, 0.004)]


@pytest.mark.parametrize(("radius", "tolerance"), RINGS)
def test_windows_are_as_wide_as_the_form_error_allows(radius, tolerance):
    mill = replace(MILL, limits=Limits(tolerance=tolerance))
    motion = motion_of(carried(ring_of(radius), mill))
    away = [np.hypot(each[:, 0], each[:, 1]) for each in (motion.start, motion.end)]
    rows = np.flatnonzero(motion.at_feed & (np.minimum(*away) > radius - 0.5))
    chords = [row for row in rows if motion.sweep[row] == 0.0]
    # seven tenths of the tolerance are for the window, the rest for rounding
    wide = 2.0 * np.sqrt(2.0 * radius * 0.7 * tolerance)
    whole = [
        row for row in chords if np.linalg.norm(motion.end[row] - motion.start[row]) > 0.75 * wide
    ]
    assert len(whole) == 3  # the fourth is where the circle starts and ends
    for row in whole:
        travel = np.abs(motion.end[row] - motion.start[row])[:2]
        width = travel.max()  # the travel along the wall; the other axis crosses its backlash
        # (w/2)²/2R, the form error that a centred window leaves
        assert (width / 2.0) ** 2 / (2.0 * radius) == pytest.approx(0.7 * tolerance, rel=0.01)
        assert travel.min() == pytest.approx(0.09 if travel[0] < travel[1] else 0.06, abs=1e-9)


@pytest.mark.parametrize(("radius", "tolerance"), RINGS)
def test_the_error_predicted_is_that_of_the_windows(radius, tolerance):
    """(w/2)²/2R with the w that was planned, to a hundredth, and no more anywhere on the ring."""
    mill = replace(MILL, limits=Limits(tolerance=tolerance))
    made, wanted = motion_of(carried(ring_of(radius), mill)), motion_of(ring_of(radius))
    found = predict(made, find_reversals(made), mill, intended=wanted, uncertain=False)
    assert found.greatest == pytest.approx(0.7 * tolerance, rel=0.001)
    assert found.missed == pytest.approx(0.7 * tolerance, rel=0.001)


@pytest.mark.parametrize("feed", [60, 300, 900])
def test_the_screw_is_neither_too_fast_nor_too_sudden(feed):
    mill = replace(MILL, limits=Limits(max_take_up_feed=50.0))
    text = RING.replace("F300", f"F{feed}")
    motion = motion_of(carried(text, mill))
    for row in wall_rows(motion):
        travel = np.abs(motion.end[row] - motion.start[row])
        length = np.linalg.norm(travel)
        backlash = travel[:2].min()
        if motion.sweep[row] or length > 1.0 or backlash < 0.05:
            continue
        time = length / motion.feed[row] * 60.0
        assert backlash / time * 60.0 <= 50.0
        # from rest to rest over b: 2 sqrt(b/a) (trajectory textbooks, the triangle)
        assert time >= 2.0 * np.sqrt(backlash / 150.0) * 0.999
        assert motion.feed[row] <= feed


def test_helix_of_twelve_turns_takes_no_longer_than_without_backlash():
    result = take_up(HELIX)
    assert result.proof.holds
    after = result.data.decode()
    assert result.plan.chosen[0].take_ups >= 47  # four a turn, but for the first and the last place
    assert result.plan.chosen[0].witness == 0
    assert worst_error(HELIX, after, BACKLASH) <= 0.002
    free = known_mill(x=Axis(lost_motion=0.0), y=Axis(lost_motion=0.0), z=MILL.z)
    ideal, made = seconds(HELIX, free), seconds(after, MILL)
    assert made.take_up == 0.0
    assert made.cutting <= 1.05 * ideal.cutting
    assert made.total <= 1.05 * ideal.total
    by_controller = replace(MILL, compensation=Compensation(by="controller"))
    assert seconds(HELIX, by_controller).total > 1.05 * ideal.total


def test_a_second_run_changes_nothing_and_says_so():
    after = carried(RING)
    for mill in (MILL, replace(MILL, compensation=Compensation(by="controller")), known_mill()):
        for options in (Options(), Options(only=("take-up",))):
            again = rewrite(SourceText.of(after.encode()), mill, options=options)
            assert again.data.decode() == after
            assert all("carries its take-up already" in each.reason for each in again.plan.refused)
            assert [each.code for each in again.findings] == ["REW501"]


@pytest.mark.parametrize("by", ["none", "controller"])
def test_other_mills_take_nothing_up_in_the_program(by):
    mill = replace(MILL, compensation=Compensation(by=by))
    assert not take_up(RING, mill).changed
    assert reasons(RING, mill) == []


def test_the_mark_stands_in_the_head_whatever_the_options():
    for text, line in (
        (RING, 2),
        (RING.replace("%\nO100 (RING)\n", ""), 0),
        (RING.replace("O100 (RING)\n", ""), 1),
        (RING.replace("%\nO100", "\n%\n\n:100"), 4),
    ):
        after = carried(text, comments=False)
        lines = after.splitlines()
        assert lines[line].lower() == (
            "(gpre take-up: x0.090 y0.060 z0 mm in the program, controller compensation off)"
        )
        assert sum("take" in each.lower() for each in lines) == 1
        assert find_mark(read(after.encode())).block == line


def test_the_plan_says_that_the_controller_must_not_take_up_too():
    (chosen,) = take_up(RING).plan.chosen
    assert "controller's own compensation must be OFF" in chosen.summary


def test_crlf_gives_the_same_with_crlf():
    assert carried(RING.replace("\n", "\r\n")) == carried(RING).replace("\n", "\r\n")


def test_inch_programs_are_as_true():
    text = (
        f"%\n{HEAD.replace('G21', 'G20')}G0X.1625Y0.\nG0Z.1\nG1Z-.02F6.\nG3X.1625Y0.I-.1625J0.F9.\n"
        "G1X.1\nG0Z.1\nM30\n%\n"
    )
    after = carried(text)
    assert worst_error(text, after, BACKLASH) <= 0.002
    assert "G3X.1" in after  # in the program's own manner: no blanks, no leading zero


def test_radius_arcs_stay_radius_arcs():
    text = (
        f"{HEAD}G0 X10 Y0\nG0 Z5\nG1 Z-1 F100\nG3 X0 Y10 R10 F300\nG3 X-10 Y0 R10\n"
        "G3 X0 Y-10 R10\nG3 X10 Y0 R10\nG0 Z5\nM30\n"
    )
    after = carried(text)
    assert worst_error(text, after, BACKLASH) <= 0.002
    assert "I" not in after.replace("IN", "").replace("in", "")
    assert after.count(" R10") == 4


def test_incremental_programs_end_where_they_should():
    text = (
        "G21 G91 G17\nT1 M6\nS3000 M3\nG0 X10 Y10\nG0 Z5\nG0 X-3\nG1 Z-6 F100\nG1 X10 F300\n"
        "G3 X-5 Y5 I-5\nG3 X-5 Y-5 J-5\nG1 X2\nG0 Z6\nG0 X-5 Y-5\nM30\n"
    )
    after = carried(text)
    assert worst_error(text, after, BACKLASH) <= 0.002
    np.testing.assert_allclose(motion_of(after).end[-1], motion_of(text).end[-1], atol=1e-9)


def test_what_is_not_motion_stays():
    text = (
        "%\nO12 (X)\nN10 G21 G90 G17 (UNITS)\nN20 T1 M6\nN30 G0 G54 X0 Y0 S3000 M3 (START)\n"
        "N40 G43 H1 Z20 M8\nN50 Z2\nN60 G1 Z-2 F100\nN70 X9 F300 (OUT)\n"
        "N80 G3 X9 Y0 I-9 J0 (RING)\n"
        "N90 G1 X0\nN100 G0 Z20 M9\nN130 M30\n%\n"
    )
    after = carried(text)
    for said in (
        "(UNITS)",
        "S3000 M3 (START)",
        "G43 H1",
        "M8",
        "(OUT)",
        "(RING)",
        "M9",
        "N80",
        "G54",
    ):
        assert said in after
    numbers = [int(line[1:].split()[0]) for line in after.splitlines() if line.startswith("N")]
    assert numbers == sorted(set(numbers))


CORNERS = (
    f"{HEAD}G0 X10 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X20 Y10 F400\nX10 Y20\nX0 Y10\nX10 Y0\nG0 Z5\nM30\n"
)


def test_at_corners_the_axis_moves_alone_and_that_is_said():
    result = take_up(CORNERS)
    after = result.data.decode()
    assert worst_error(CORNERS, after, BACKLASH) <= 0.002
    assert after.count("tool stands") == 3
    (chosen,) = result.plan.chosen
    assert chosen.witness == 3
    assert "at 3 corners the cutter dwells 0.05 s" in chosen.summary
    motion = motion_of(after)
    short = np.flatnonzero(
        motion.at_feed & (np.linalg.norm(motion.end - motion.start, axis=1) < 0.1)
    )
    assert len(short) == 3
    assert (motion.feed[short] <= 120.0).all()


def test_a_raster_takes_up_on_its_step_overs():
    rows = "".join(
        f"G1 X{45 if row % 2 == 0 else -5} F500\nG1 Y{3 * row + 3}\n" for row in range(6)
    )
    text = f"{HEAD}G0 X-5 Y0\nG0 Z5\nG1 Z-1 F100\n{rows}G0 Z5\nM30\n"
    result = take_up(text)
    assert worst_error(text, result.data.decode(), BACKLASH) <= 2e-4
    (chosen,) = result.plan.chosen
    assert (chosen.take_ups, chosen.witness) == (5, 0)


def test_holes_are_reached_with_the_shift_of_their_approach():
    text = (
        f"{HEAD}G0 X10 Y10\nG0 Z5\nG99 G81 X10 Y10 Z-5 R2 F100\nX20\nX30 Y20\nX10\nY10\nG80\n"
        "G0 Z20\n"
        "M5\nT2 M6\nS2000 M3\nG0 X0 Y0\nG0 Z5\nG83 X40 Y0 Z-9 R2 Q3 F80\nX0\nG80\nG0 Z30\nM30\n"
    )
    after = carried(text)
    intended = [(10, 10), (20, 10), (30, 20), (10, 20), (10, 10), (40, 0), (0, 0)]
    moves, rows, places = table_steps(after, BACKLASH, (1.0, -1.0, 0.0))
    fed = [row for row, move in enumerate(moves) if not move.rapid]
    found = [tuple(places[rows == row][-1][:2]) for row in fed]
    holes = list(dict.fromkeys((round(float(x), 3), round(float(y), 3)) for x, y in found))
    assert holes == list(dict.fromkeys((float(x), float(y)) for x, y in intended))


def test_the_shift_is_out_wherever_something_counts_from_the_place():
    text = (
        f"{HEAD}G0 X10 Y10\nG0 Z5\nG1 Z-1 F100\nG1 X20 F200\nG1 X10\nG0 Z20\nM5\nG0 X30\n"
        "G38.2 Z-10 F50\nG0 Z20\nG92 X0 Y0\nG0 X5 Y5\nS3000 M3\nG0 Z5\nG1 Z-1 F100\nG1 X0\nG1 X8\n"
        "G0 Z20\nM0\nG0 X20 Y5\nG0 Z5\nG1 Z-1\nG0 Z20\nM30\n"
    )
    after = carried(text)
    old, new = motion_of(text), motion_of(after)
    needed = {"probe", "offset", "stop", "end", "tool change"}
    looked_at = 0
    for one, other in zip(old.events, new.events, strict=True):
        assert (one.kind, one.value) == (other.kind, other.value)
        if one.kind.value in needed and one.move:
            here, there = old.end[one.move - 1], new.end[other.move - 1]
            np.testing.assert_allclose(here, there, atol=1e-9)
            looked_at += 1
    assert looked_at >= 4
    assert after.count("(take-up undone)") >= 2


def test_a_program_without_an_end_is_undone_too():
    text = RING.replace("M30\n%\n", "").replace("%\n", "").removesuffix("\n")
    after = carried(text)
    assert not after.endswith("\n")
    np.testing.assert_allclose(motion_of(after).end[-1], motion_of(text).end[-1], atol=1e-9)


def test_what_the_path_travels_in_a_window_is_crossed_as_well():
    """Near a window's end the chords fall away: the screw makes that way besides the backlash."""
    points = []
    for at in range(400):
        angle, radius = -0.15 * at, 1.0 + 0.0075 * at
        points.append((radius * np.cos(angle) + 0.3 * np.sin(3.0 * angle), radius * np.sin(angle)))
    chords = "".join(f"G1 X{x:.3f} Y{y:.3f}\n" for x, y in points)
    before = f"{HEAD}G0 X1.3 Y0\nG0 Z5\nG1 Z-2 F100\nF600\n{chords}G0 Z5\nM30\n"
    text = carried(before)
    moves, rows, places = table_steps(text, BACKLASH)
    table = places[np.flatnonzero(np.diff(rows, append=-1))]  # where each move ends
    start, end = (np.array([np.subtract(m.path[at], m.zero) for m in moves]) for at in (0, -1))
    crossed = np.abs(np.diff(end - table, axis=0))[:, :2].max(axis=1)
    length = np.linalg.norm(end - start, axis=1)[1:]
    feed = np.array([0.0 if move.rapid else move.feed for move in moves])[1:]
    cuts = (feed > 0.0) & (crossed > 0.002)
    speed = crossed[cuts] / length[cuts] * feed[cuts]
    assert len(speed) >= 40
    assert speed.max() <= MILL.limits.max_take_up_feed * 1.001
    assert worst_error(before, text, BACKLASH) <= 0.004
