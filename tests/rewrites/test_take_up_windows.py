"""Where a turning axis takes its backlash up: (w/2)² / 2R = e on a quadrant, plain geometry
elsewhere.

Rings are run as one arc and in fine chords, as CAM writes them, so that a window reaches over
several moves.
"""

from __future__ import annotations

from math import acos, cos, pi, sin, sqrt

import numpy as np
import pytest

from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.take_up.turns import AxisTurn, courses_of
from gpre.rewrites.take_up.windows import (
    FeedRun,
    Window,
    WindowBounds,
    least_time,
    levels,
    window_of,
)

RADIUS, ERROR = 9.0, 0.002
HALF = sqrt(2.0 * RADIUS * ERROR)  # (w/2)² / 2R = e, to e/4R of itself
FEED = 300.0 / 60.0  # mm/s
SECONDS = 0.05  # neither so long that it stands, nor so short that it may be narrower
CHORDS = 1000
CHORD = 2.0 * RADIUS * sin(pi / CHORDS)
EVERYWHERE = (0.0, 1e6)


def motion_of(*blocks: str) -> Motion:
    text = "G21 G17 G90 G94 F300\n" + "\n".join(blocks) + "\n"
    return trace(read(text.encode()), Controller())


def chords(count: int = CHORDS, feed: str = "") -> list[str]:
    """A ring from its lowest place, against the clock: X turns a quarter later."""
    at = [-pi / 2.0 + 2.0 * pi * k / count for k in range(count + 1)]
    return [f"G1 X{RADIUS * cos(a):.9f} Y{RADIUS * sin(a):.9f}{feed}" for a in at[1:]]


def run_of(motion: Motion, walls: tuple[int, ...] = ()) -> FeedRun:
    first = int(np.flatnonzero(motion.at_feed)[0])
    return FeedRun(motion, first, len(motion), frozenset(walls))


def turn_of(motion: Motion, axis: int) -> AxisTurn:
    """The first turn of an axis within the moves at feed."""
    run = run_of(motion)
    turns = courses_of(motion, ERROR)[axis].between(run.first, run.last)
    return next(one for one in turns if not one.first and one.reached >= (run.first, 0.0))


def window(
    motion: Motion,
    walls: tuple[int, ...] = (),
    *,
    room: tuple[float, float] = EVERYWHERE,
    seconds: float = SECONDS,
    axis: int = 0,
) -> Window:
    turn = turn_of(motion, axis)
    run = run_of(motion, walls)
    limits = (room[0], min(room[1], float(run.ends[-1])))
    return window_of(run, axis, turn, WindowBounds(limits, ERROR, seconds))


RING = motion_of("G0 X-1 Y-9", "X0", "G3 X0 Y-9 J9")
FINE = motion_of("G0 X-1 Y-9", "X0", *chords())
QUARTER = RADIUS * pi / 2.0
FINE_QUARTER = CHORDS / 4 * CHORD


def half_in_chords() -> float:
    """How far before the quadrant the chords are within the error: along them, by their corners."""
    k = np.arange(20)
    below = RADIUS * (1.0 - np.cos(2.0 * pi * k / CHORDS))
    return float(np.interp(ERROR, below, k * CHORD))


def test_on_an_arc_the_window_is_as_wide_as_the_error_allows() -> None:
    found = window(RING)
    half = RADIUS * acos(1.0 - ERROR / RADIUS)
    assert half == pytest.approx(HALF, rel=1e-4)
    assert (found.axis, found.side, found.stands, found.seconds) == (0, -1, False, SECONDS)
    assert found.first == pytest.approx(QUARTER - half, abs=1e-6)
    assert found.last == pytest.approx(QUARTER + half, abs=1e-6)


def test_in_fine_chords_the_window_reaches_over_several_moves() -> None:
    found, half = window(FINE), half_in_chords()
    assert half == pytest.approx(HALF, abs=0.01)
    assert 3.0 < half / CHORD < 4.0
    assert found.first == pytest.approx(FINE_QUARTER - half, abs=1e-6)
    assert found.last == pytest.approx(FINE_QUARTER + half, abs=1e-6)


@pytest.mark.parametrize(("before", "after"), [(1, 9), (9, 1), (1, 1), (2, 2), (9, 9)])
def test_a_window_lies_between_walls(before: int, after: int) -> None:
    """Walls so many moves before the quadrant and behind it."""
    row = turn_of(FINE, 0).left[0]
    found, half = window(FINE, (row - before, row + after)), half_in_chords()
    assert found.first == pytest.approx(FINE_QUARTER - min(half, before * CHORD), abs=1e-6)
    assert found.last == pytest.approx(FINE_QUARTER + min(half, after * CHORD), abs=1e-6)


@pytest.mark.parametrize("room", [(0.05, 0.3), (0.3, 0.05), (0.2, 0.2)])
def test_a_window_keeps_to_the_room_that_other_turns_leave(room: tuple[float, float]) -> None:
    found = window(FINE, room=(FINE_QUARTER - room[0], FINE_QUARTER + room[1]))
    half = half_in_chords()
    assert found.first == pytest.approx(FINE_QUARTER - min(half, room[0]), abs=1e-6)
    assert found.last == pytest.approx(FINE_QUARTER + min(half, room[1]), abs=1e-6)


def test_at_the_ends_of_a_run_the_window_ends() -> None:
    row = turn_of(FINE, 0).left[0]
    limits = WindowBounds((0.0, 2.0 * CHORD), ERROR, SECONDS)
    found = window_of(FeedRun(FINE, row - 1, row + 1), 0, turn_of(FINE, 0), limits)
    assert (found.first, found.last) == (0.0, pytest.approx(2.0 * CHORD))


def test_a_window_is_no_wider_than_ten_times_an_easy_take_up() -> None:
    """10 times the least time, at the feed: slower gains nothing."""
    short = 0.1 / FEED / 10.0
    found = window(FINE, seconds=short)
    assert found.first == pytest.approx(FINE_QUARTER - 0.05, abs=1e-6)
    assert found.last == pytest.approx(FINE_QUARTER + 0.05, abs=1e-6)
    # beside a wall it goes to the other side, as far as the error allows
    row = turn_of(FINE, 0).left[0]
    aside = window(FINE, (row,), seconds=short)
    assert aside.last - aside.first == pytest.approx(0.1, abs=1e-6)
    assert aside.first >= FINE_QUARTER - 1e-9 or aside.last <= FINE_QUARTER + 1e-9


# X comes to 10, rests along 4 mm of Y in four moves, and goes back
REST = motion_of("G0 X-1 Y0", "X0", "G1 X10", "Y1", "Y2", "Y3", "Y4", "X0")
REST_WALLS = {
    (): 12.0,
    (4,): 12.5,  # before Y2: from 11 to 14
    (4, 6): 12.0,  # from 11 to 13
    (5,): 11.0,  # before Y3: as long on both sides, the first one
    (6,): 11.5,
    (3,): 12.0,  # where the rest begins
    (7,): 12.0,  # where it ends
}


@pytest.mark.parametrize("walls", REST_WALLS)
def test_where_an_axis_rests_the_window_is_easy_and_in_the_middle(walls: tuple[int, ...]) -> None:
    found = window(REST, walls)
    width = 2.0 * SECONDS * FEED
    assert found.first == pytest.approx(REST_WALLS[walls] - width / 2.0, abs=1e-6)
    assert found.last == pytest.approx(REST_WALLS[walls] + width / 2.0, abs=1e-6)


def test_a_rest_too_short_for_an_easy_take_up_is_all_window() -> None:
    found = window(REST, seconds=0.7)
    # to both sides as far as the error allows: X by 0.002
    assert (found.first, found.last) == (pytest.approx(9.998), pytest.approx(14.002))
    # and one that takes far longer than it has stands nowhere: the path has no corner of its own
    assert not window(REST, seconds=3.0).stands


def test_at_a_sharp_corner_the_axis_moves_alone() -> None:
    corner = motion_of("G0 X-1 Y0", "X0", "G1 X10", "X0 Y5")
    found = window(corner)
    assert found.stands
    assert (found.first, found.last) == (pytest.approx(10.0), pytest.approx(10.0))
    # 14 degrees are a curve, 16 a corner (of chords about the place where X turns)
    for degrees, stands in ((14.0, False), (16.0, True)):
        x, y = sin(degrees / 2.0 * pi / 180.0), cos(degrees / 2.0 * pi / 180.0)
        bent = motion_of("G0 X-1 Y0", "X0", f"G1 X{x:.9f} Y{y:.9f}", f"X0 Y{2 * y:.9f}")
        assert window(bent, seconds=1.0).stands == stands


def test_within_an_arc_is_no_corner() -> None:
    """However slow the take-up: the path runs on where the axis turns."""
    found = window(RING, seconds=1.0)
    assert not found.stands
    assert found.last - found.first == pytest.approx(2.0 * RADIUS * acos(1.0 - ERROR / RADIUS))


def test_the_feed_of_a_stretch_is_the_lowest_of_the_moves_in_it() -> None:
    motion = motion_of("G0 X0", "G1 X1 F300", "X2 F60", "X3 F240", "X4 F400")
    run = run_of(motion)
    for stretch, feed in {
        (0.0, 1.0): 300, (0.5, 1.5): 60, (1.0, 2.0): 60, (2.0, 3.0): 240, (2.0, 3.1): 240,
        (2.5, 2.5): 240, (3.0, 4.0): 400, (0.0, 4.0): 60, (0.5, 0.6): 300, (4.0, 4.0): 400,
        (0.0, 0.0): 300,
    }.items():  # fmt: skip
        assert run.feed(*stretch) == pytest.approx(feed / 60.0), stretch


def test_the_least_time_is_that_of_the_feed_or_that_of_starting_and_stopping() -> None:
    # b / F, and 2 sqrt(b / a) from rest to rest (the closed form of a triangle of speed)
    assert least_time(0.09, 120.0, 1e9) == pytest.approx(0.045)
    assert least_time(0.09, 1e9, 150.0) == pytest.approx(2.0 * sqrt(0.09 / 150.0))


def test_places_along_a_run() -> None:
    run = run_of(RING)
    assert run.ends[-1] == pytest.approx(2.0 * pi * RADIUS)
    for share in (0.0, 0.1, 0.6, 1.0):
        angle = 2.0 * pi * share - pi / 2.0
        distance = run.distance((run.first, share))
        assert distance == pytest.approx(2.0 * pi * RADIUS * share)
        assert run.coordinate(distance, 0) == pytest.approx(RADIUS * cos(angle), abs=1e-9)
        assert run.coordinate(distance, 1) == pytest.approx(RADIUS * sin(angle), abs=1e-9)
    run = run_of(REST)
    for distance, x, y in ((0, 0, 0), (5, 5, 0), (10, 10, 0), (12.5, 10, 2.5), (15, 9, 4)):
        assert (run.coordinate(distance, 0), run.coordinate(distance, 1)) == (x, y)
    assert (run.coordinate(-1.0, 0), run.coordinate(99.0, 0)) == (0.0, 0.0)
    assert run.distance((run.first + 2, 0.25)) == 11.25


def test_where_a_move_is_at_a_level() -> None:
    line = motion_of("G0 X0", "G1 X10 Y0 Z-4")
    row = len(line) - 1
    assert levels(line, row, 0, 2.5) == [0.25]
    assert levels(line, row, 1, 2.5) == []
    assert levels(line, row, 2, -1.0) == [0.25]
    # about (0, 0) from 0 degrees; two turns, two falls: cos a = level / R
    helix = motion_of("G0 X10", "G3 X10 Y0 Z-8 I-10 P2", "G2 X10 Y0 I-10")
    row = len(helix) - 2
    assert sorted(levels(helix, row, 0, 5.0)) == pytest.approx([1 / 12, 5 / 12, 7 / 12, 11 / 12])
    assert sorted(levels(helix, row, 1, 5.0)) == pytest.approx([1 / 24, 5 / 24, 13 / 24, 17 / 24])
    assert levels(helix, row, 2, -2.0) == [0.25]
    assert levels(helix, row, 0, 10.001) == []
    assert sorted(levels(helix, row + 1, 1, 5.0)) == pytest.approx([7 / 12, 11 / 12])
    # a quarter reaches half of it only
    quarter = motion_of("G0 X10", "G3 X0 Y10 I-10")
    assert levels(quarter, len(quarter) - 1, 0, 5.0) == pytest.approx([2 / 3])
    assert levels(quarter, len(quarter) - 1, 0, -5.0) == []
    upright = motion_of("G18 G0 X0 Z10", "G3 X10 Z0 I0 K-10")
    row = len(upright) - 1
    assert levels(upright, row, 0, 5.0) == pytest.approx([1 / 3])
    assert levels(upright, row, 2, 5.0) == pytest.approx([2 / 3])
    assert levels(upright, row, 1, 0.0) == []
