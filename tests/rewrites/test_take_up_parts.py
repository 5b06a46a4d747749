"""How moves are cut where sides change: places, sides in proportion, and feeds; by hand."""

from __future__ import annotations

from math import acos, ceil, cos, hypot, pi, sin, sqrt

import pytest
from known_mill import known_mill

from gpre.mill.mill import Axis, Compensation, Limits
from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.take_up.parts import Part, PartsCutter, Sides
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.windows import FeedRun, Window

ERROR, STEP = 0.002, 0.0001
MOST = (0.045, 0.03)  # half of the backlash
TABLE = ((0.0, 0.05), (4.0, 0.09), (12.0, 0.09))


def shift_of(x: object = 0.09, feed: float = 120.0) -> Shift:
    mill = known_mill(
        x=Axis(lost_motion=x),
        y=Axis(lost_motion=0.06),
        compensation=Compensation(by="program"),
        limits=Limits(max_take_up_feed=feed),
    )
    return Shift(mill, step=STEP)


def motion_of(*blocks: str) -> Motion:
    text = "G21 G17 G90 G94 F300\nG0 X0 Y0\n" + "\n".join(blocks) + "\n"
    return trace(read(text.encode()), Controller())


# X comes to 10, rests along 4 mm of Y, and goes back; the moves are rows 1 to 6
REST = motion_of("G1 X10", "Y1", "Y2", "Y3 F240", "Y4 F300", "X0")
PLUS: Sides = (1.0, 1.0, 0.0)


def parts_of(
    *windows: Window, motion: Motion = REST, shift: Shift | None = None, start: Sides = PLUS
) -> list[Part]:
    run = FeedRun(motion, 1, len(motion))
    return list(PartsCutter(run, windows, start, shift or shift_of(), allowed=ERROR).parts())


def places(parts: list[Part]) -> list[tuple[int, float, float]]:
    return [(one.row, round(one.first, 9), round(one.last, 9)) for one in parts]


def test_without_windows_every_move_is_a_part() -> None:
    parts = parts_of()
    assert places(parts) == [(row, 0.0, 1.0) for row in range(1, 7)]
    assert {(one.before, one.after) for one in parts} == {(PLUS, PLUS)}
    assert [one.feed for one in parts] == pytest.approx([300, 300, 300, 240, 300, 300])


def test_within_a_window_the_side_goes_over_evenly() -> None:
    """From 10.5 to 12.9 mm: over half a move, a whole one, and most of a third."""
    parts = parts_of(Window(0, 10.5, 12.9, -1, 0.1))
    assert places(parts) == [
        (1, 0.0, 1.0), (2, 0.0, 0.5), (2, 0.5, 1.0), (3, 0.0, 1.0), (4, 0.0, 0.9), (4, 0.9, 1.0),
        (5, 0.0, 1.0), (6, 0.0, 1.0),
    ]  # fmt: skip
    sides = [1.0, 1.0, 1.0 - 1.0 / 2.4, 1.0 - 3.0 / 2.4, -1.0, -1.0, -1.0, -1.0]
    assert [one.after[0] for one in parts] == pytest.approx(sides)
    assert [one.before[0] for one in parts[1:]] == pytest.approx(sides[:-1])
    assert {one.after[1] for one in parts} == {1.0}
    assert [one.straight for one in parts] == [True] * 8
    # wide enough for all feeds
    assert [one.feed for one in parts] == pytest.approx([300] * 4 + [240] * 2 + [300] * 2)


def test_windows_of_two_axes_may_lie_over_one_another() -> None:
    parts = parts_of(Window(0, 10.2, 10.8, -1, 0.01), Window(1, 10.5, 11.5, -1, 0.01))
    assert places(parts)[1:7] == [
        (2, 0.0, 0.2), (2, 0.2, 0.5), (2, 0.5, 0.8), (2, 0.8, 1.0), (3, 0.0, 0.5), (3, 0.5, 1.0),
    ]  # fmt: skip
    assert [one.after[0] for one in parts[1:7]] == pytest.approx([1.0, 0.0, -1.0, -1.0, -1.0, -1.0])
    assert [one.after[1] for one in parts[1:7]] == pytest.approx([1.0, 1.0, 0.4, 0.0, -1.0, -1.0])


def test_the_feed_goes_down_to_the_time_that_a_take_up_needs() -> None:
    """w / t: 0.3 mm in 0.1 s are 180 mm/min, rounded down to 0.1."""
    parts = parts_of(Window(0, 10.5, 10.8, -1, 0.1))
    assert parts[2].feed == pytest.approx(180.0)
    assert [one.feed for one in (parts[1], parts[3])] == [300.0, 300.0]
    assert parts_of(Window(0, 10.5, 10.8, -1, 0.07))[2].feed == pytest.approx(257.1)
    # of two windows over one another the slower one counts
    both = parts_of(Window(0, 10.5, 10.8, -1, 0.1), Window(1, 10.5, 10.8, -1, 0.2))
    assert both[2].feed == pytest.approx(90.0)
    assert parts_of(Window(1, 10.5, 10.8, -1, 0.2), Window(0, 10.5, 10.8, -1, 0.1))[
        2
    ].feed == pytest.approx(90.0)


def test_the_screw_crosses_no_quicker_than_its_greatest_feed() -> None:
    """b F_max: 0.09 mm over 0.1 mm at 120 mm/min; the step that is written is added."""
    parts = parts_of(Window(0, 10.5, 10.6, -1, 1e-4))
    assert parts[2].feed == pytest.approx(0.1 / (0.09 + STEP) * 120.0, abs=0.1)
    # where the axis itself goes on, that is crossed as well: X by 0.1, and 0.09 more
    ahead = parts_of(Window(0, 5.0, 5.1, 1, 1e-4), start=(-1.0, 1.0, 0.0))
    assert ahead[1].feed == pytest.approx(0.1 / (0.1 + 0.09 + STEP) * 120.0, abs=0.1)


def test_where_the_tool_stands_the_axes_move_alone() -> None:
    parts = parts_of(Window(0, 10.0, 10.0, -1, 0.09))
    assert places(parts)[:3] == [(1, 0.0, 1.0), (2, 0.0, 0.0), (2, 0.0, 1.0)]
    stand = parts[1]
    assert stand.stands
    assert (stand.before, stand.after) == (PLUS, (-1.0, 1.0, 0.0))
    assert stand.feed == pytest.approx(2.0 * MOST[0] / 0.09 * 60.0, abs=0.1)
    # both axes at once: as long as the slower one needs, over the whole way
    for windows in (
        (Window(0, 10.5, 10.5, -1, 0.09), Window(1, 10.5, 10.5, -1, 0.06)),
        (Window(1, 10.5, 10.5, -1, 0.06), Window(0, 10.5, 10.5, -1, 0.09)),
    ):
        stand = parts_of(*windows)[2]
        assert (stand.row, stand.first, stand.last) == (2, 0.5, 0.5)
        assert stand.after == (-1.0, -1.0, 0.0)
        assert stand.feed == pytest.approx(hypot(0.09, 0.06) / 0.09 * 60.0, abs=0.1)
    # no quicker than the moves beside it
    assert parts_of(Window(0, 12.0, 12.0, -1, 0.001))[3].feed == pytest.approx(240.0)


def test_an_axis_may_stand_twice_in_one_move() -> None:
    parts = parts_of(Window(0, 10.2, 10.2, -1, 0.4), Window(0, 10.6, 10.6, 1, 0.1))
    stands = [one for one in parts if one.stands]
    assert [(one.row, round(one.first, 9)) for one in stands] == [(2, 0.2), (2, 0.6)]
    assert [one.after[0] for one in stands] == [-1.0, 1.0]
    assert [one.before[0] for one in stands] == [1.0, -1.0]
    # each in its own time
    assert [one.feed for one in stands] == pytest.approx([0.09 / 0.4 * 60.0, 54.0], abs=0.1)


def test_an_edge_very_near_to_the_end_of_a_move_moves_there() -> None:
    """0.01 mm, or a twenty-fifth of the window."""
    near = parts_of(Window(0, 10.009, 11.992, -1, 0.01))
    assert places(near)[1:3] == [(2, 0.0, 1.0), (3, 0.0, 1.0)]
    apart = parts_of(Window(0, 10.011, 11.989, -1, 0.01))
    assert places(apart)[1:5] == [
        (2, 0.0, 0.011),
        (2, 0.011, 1.0),
        (3, 0.0, 0.989),
        (3, 0.989, 1.0),
    ]
    # from behind an end of a move, too
    behind = parts_of(Window(0, 9.995, 12.005, -1, 0.01))
    assert places(behind)[:3] == [(1, 0.0, 1.0), (2, 0.0, 1.0), (3, 0.0, 1.0)]
    short = parts_of(Window(0, 10.009, 10.2, -1, 1e-4))
    assert places(short)[1:3] == [(2, 0.0, 0.009), (2, 0.009, 0.2)]


def test_an_axis_whose_window_ends_nearer_to_its_turn_goes_back_all_the_way() -> None:
    """From X9.85 up to 10 and back to 9.9: the table rests at 9.85, and the screw ends there."""
    back = motion_of("G1 X10", "X9 Y1", "Y4")
    last = 10.0 + 0.1 * sqrt(2.0)
    parts = parts_of(Window(0, 9.85, last, -1, 1e-3), motion=back)
    held = [one.held for one in parts]
    assert held[:2] == [(), ()]
    assert held[2] == ((0, pytest.approx(9.85)),)
    assert held[3:] == [(), ()]
    # its screw crosses from 10 to 9.85, and the share of the backlash that this part has
    length = 0.1 * sqrt(2.0)
    crossed = 0.15 + 0.09 * length / (0.15 + length)
    assert parts[2].feed == pytest.approx(length / (crossed + STEP) * 120.0, abs=0.1)
    # where it ends farther from the turn than it begins, it goes to its own place
    assert not any(one.held for one in parts_of(Window(0, 9.95, last, -1, 1e-3), motion=back))


def test_moves_are_cut_where_the_table_of_backlash_has_a_row() -> None:
    parts = parts_of(shift=shift_of(TABLE))
    # at X4 on the way out and back; X0 and X12 are no places inside
    assert places(parts) == [
        (1, 0.0, 0.4), (1, 0.4, 1.0), (2, 0.0, 1.0), (3, 0.0, 1.0), (4, 0.0, 1.0), (5, 0.0, 1.0),
        (6, 0.0, 0.6), (6, 0.6, 1.0),
    ]  # fmt: skip


def test_an_arc_is_cut_so_that_a_changing_backlash_bends_it_by_little() -> None:
    """k R (turn / 2)², k half the slope of the backlash, in parts of a twentieth of the error."""
    radius = 3.0
    arc = motion_of("G1 X2 Y3", "G3 X2 Y3 I3 J0", "G1 X1")
    shift = shift_of(TABLE)
    slope = (0.09 - 0.05) / 4.0 / 2.0
    parts = [one for one in parts_of(motion=arc, shift=shift) if one.row == 2]
    # X4 is passed on both sides of the circle: three pieces
    first = pi - acos((4.0 - 5.0) / radius)
    pieces = [first, 2.0 * pi - 2.0 * first, first]
    counts = [ceil(sqrt(slope * radius * (turn / 2.0) ** 2 / (0.05 * ERROR))) for turn in pieces]
    assert len(parts) == sum(counts)
    assert parts[0].last == pytest.approx(first / (2.0 * pi) / counts[0])
    assert parts[counts[0] - 1].last == pytest.approx(first / (2.0 * pi))
    # the side goes over behind the arc, not within it
    run = FeedRun(arc, 1, len(arc))
    late = Window(0, float(run.ends[-1]) - 0.5, float(run.ends[-1]), -1, 0.01)
    sides = {one.after[0] for one in parts_of(late, motion=arc, shift=shift) if one.row == 2}
    assert sides == {1.0}
    # one backlash everywhere bends nothing
    assert len([one for one in parts_of(motion=arc) if one.row == 2]) == 1


def test_an_arc_that_bows_by_little_is_run_straight() -> None:
    """R (1 - cos(turn / 2)), to a fiftieth of the error."""
    radius = 50.0
    for turn, straight in ((0.0025, True), (0.0026, False), (1.0, False)):
        assert (radius * (1.0 - cos(turn / 2.0)) <= 0.02 * ERROR) == straight
        end = f"X{radius * (1.0 - cos(turn)):.9f} Y{-radius * sin(turn):.9f}"
        arc = motion_of(f"G3 {end} I{radius:g}")
        (part,) = parts_of(motion=arc)
        assert part.straight == straight
    full = motion_of("G3 X0 Y0 I0.00001")
    assert not parts_of(motion=full)[0].straight
