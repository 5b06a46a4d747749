"""Where axes turn round for a take-up, and what a run of moves needs: by hand, move by move."""

from __future__ import annotations

import pytest
from known_mill import known_mill

from gpre.mill.mill import Axis, Compensation, Limits, Twist
from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.take_up.run import RunPlan, plan_run
from gpre.rewrites.take_up.shift import Shift
from gpre.rewrites.take_up.turns import AxisTurn, Course, courses_of
from gpre.rewrites.take_up.windows import FeedRun

ERROR = 0.002
HEAD = 3  # moves before those at feed


def motion_of(*blocks: str) -> Motion:
    """Moves at feed after three rapids: X and Y have come to 0 in plus."""
    text = "G21 G17 G90 G94 F300\nG0 Z5\nX-5 Y-5\nX0 Y0\n" + "\n".join(blocks) + "\n"
    return trace(read(text.encode()), Controller())


def courses(motion: Motion) -> tuple[Course, Course, Course]:
    return courses_of(motion, ERROR)


def turns(motion: Motion, axis: int = 0) -> list[AxisTurn]:
    """The turns within the moves at feed."""
    return list(courses(motion)[axis].between(HEAD, len(motion)))


def test_the_first_direction_of_an_axis_counts_as_a_turn() -> None:
    motion = motion_of("G1 Y1 Z-5")
    first = [course.turns[0] for course in courses(motion)]
    assert [(one.direction, one.first) for one in first] == [(-1, True), (-1, True), (1, True)]
    assert [one.left for one in first] == [(1, 0.0), (1, 0.0), (0, 0.0)]
    plus = courses_of(trace(read(b"G21 G90 G94 F100\nG1 X5\nX3\n"), Controller()), ERROR)[0]
    assert [(one.direction, one.first) for one in plus.turns] == [(1, True), (-1, False)]


@pytest.mark.parametrize(("step", "way"), [(-0.003, -1), (-0.0012, 1), (0.003, 1), (0.0012, 1)])
@pytest.mark.parametrize("wavers", [2, 62, 64, 66, 128])
def test_the_first_direction_may_come_after_many_that_waver(
    wavers: int, step: float, way: int
) -> None:
    places = [0.0005 * (at % 2 == 0) for at in range(wavers)]
    blocks = "".join(f"G1 X{x:.4f}\n" for x in [*places, step, 10.0])
    motion = trace(read(f"G21 G90 G94 F100\n{blocks}".encode()), Controller())
    assert courses_of(motion, ERROR)[0].turns[0].direction == way


def test_an_axis_that_goes_back_by_less_than_the_error_does_not_turn() -> None:
    assert turns(motion_of("G1 X10", "X9.9985", "X20")) == []
    found = turns(motion_of("G1 X10", "X9.9975", "X20"))
    assert [(one.left, one.direction) for one in found] == [((4, 0.0), -1), ((5, 0.0), 1)]
    # many small steps back add up
    found = turns(motion_of("G1 X10", "X9.999", "X9.998", "X9.997", "X20"))
    assert [(one.left, one.direction) for one in found] == [((4, 0.0), -1), ((7, 0.0), 1)]


def test_between_reached_and_left_the_axis_rests() -> None:
    (turn,) = turns(motion_of("G1 X10", "Y1", "Y2", "X0"))
    assert (turn.reached, turn.left, turn.direction) == ((3, 1.0), (6, 0.0), -1)


def test_an_axis_that_hardly_moves_rests_too() -> None:
    """A twentieth of the error, 0.0001 mm, before its extreme and behind it."""
    (turn,) = turns(
        motion_of("G1 X9.9998", "X9.99995", "X10", "X9.99996", "X9.99992", "X9.9998", "X0")
    )
    # 0.0002 and 0.00005 before it: within the last 0.0001 lies the last step alone
    assert turn.reached == (4, 1.0)
    # 0.00004, 0.00008, 0.0002 behind it
    assert turn.left == (8, 0.0)


def test_a_turn_within_an_arc_lies_at_its_quadrant() -> None:
    (turn,) = turns(motion_of("G1 Y-10", "G3 X0 Y10 J10"))
    assert (turn.reached, turn.left) == ((4, pytest.approx(0.5)), (4, pytest.approx(0.5)))
    assert turn.direction == -1
    full = turns(motion_of("G1 Y-10", "G3 X0 Y-10 J10"))
    assert [one.left[1] for one in full] == pytest.approx([0.25, 0.75])


def test_the_direction_at_a_place_is_that_of_the_last_turn() -> None:
    course = courses(motion_of("G1 X10", "Y1", "X0"))[0]
    for place, direction in {
        (0, 0.5): 0, (1, 0.0): -1, (1, 0.9): -1, (2, 0.0): 1, (3, 0.5): 1, (4, 0.5): 1,
        (5, 0.0): -1, (5, 1.0): -1,
    }.items():  # fmt: skip
        assert course.direction(place) == direction, place
    assert [one.left for one in course.between(2, 5)] == [(2, 0.0)]
    assert [one.left for one in course.between(2, 6)] == [(2, 0.0), (5, 0.0)]
    assert [one.left for one in course.between(3, 6)] == [(5, 0.0)]


def test_behind_a_place_that_is_not_known_the_direction_starts_anew() -> None:
    motion = motion_of("G1 X10", "G28 X0", "G1 X5", "X8", "X2")
    found = [one for one in courses(motion)[0].turns if one.left[0] > HEAD]
    # by way of X0, from home in plus, and back
    told = [(one.direction, one.first) for one in found]
    assert told == [(-1, False), (1, True), (-1, False)]


def test_a_first_direction_in_minus_is_told() -> None:
    motion = motion_of("G1 X-0.001", "X-0.0015", "X-3")
    found = [one for one in courses(motion)[0].turns if one.left[0] >= HEAD]
    assert [(one.left, one.direction) for one in found] == [((3, 0.0), -1)]


# --- what a run needs -------------------------------------------------------------------------

BACKLASH = Shift(
    known_mill(
        x=Axis(lost_motion=0.09, acceleration=1e6),
        y=Axis(lost_motion=0.06, acceleration=1e6),
        z=Axis(lost_motion=0.05, gravity_loaded=True),
        compensation=Compensation(by="program"),
        limits=Limits(max_take_up_feed=120.0),
    ),
    step=0.0001,
)


def plan(motion: Motion, shift: Shift = BACKLASH) -> RunPlan:
    return plan_run(FeedRun(motion, HEAD, len(motion)), courses(motion), shift, ERROR)


def test_a_run_needs_each_axis_in_the_direction_in_which_it_first_travels() -> None:
    found = plan(motion_of("G1 X10", "Y-5", "X0"))
    assert found.need == (1, -1, None)
    assert [(one.axis, one.side) for one in found.windows] == [(0, -1)]
    # X turns at its start: no window, the side is there before
    found = plan(motion_of("G1 X-10"))
    assert (found.need, found.windows) == ((-1, None, None), ())


def test_an_axis_that_does_not_travel_needs_nothing() -> None:
    assert plan(motion_of("G1 X10")).need == (1, None, None)
    assert plan(motion_of("G1 X10 Y0.001")).need == (1, None, None)
    assert plan(motion_of("G1 X10 Y0.003")).need == (1, 1, None)
    # in the second move; Y goes on as it came
    assert plan(motion_of("G1 X10", "Y3")).need == (1, 1, None)
    # Z is gravity-loaded
    assert plan(motion_of("G1 X10 Z-3")).need == (1, None, None)


def test_an_axis_may_turn_within_the_first_move() -> None:
    """About (0, 10) from (0, 0): X travels on in plus at first."""
    found = plan(motion_of("G3 X0 Y0 J10"))
    assert found.need == (1, 1, None)
    assert [(one.axis, one.side) for one in found.windows] == [(0, -1), (1, -1), (0, 1)]


def test_windows_of_turns_close_by_share_the_room_between_them() -> None:
    """X rests for 1 mm twice, 0.06 mm apart: no window reaches over the middle between them."""
    close = motion_of("G1 X10", "Y1", "X9.94", "Y2", "X20")
    one, other = plan(close).windows
    assert (one.axis, one.side, other.side) == (0, -1, 1)
    # an easy take-up: twice 0.09 mm at 120 mm/min, at 300 mm/min
    width = 2.0 * 0.09 / 120.0 * 300.0
    assert one.seconds == pytest.approx(0.09 / 120.0 * 60.0)
    assert (one.first + one.last) / 2.0 == pytest.approx(10.5)
    assert (other.first + other.last) / 2.0 == pytest.approx(11.56)
    assert one.last - one.first == other.last - other.first == pytest.approx(width)
    # two corners 0.5 mm apart on a slope so shallow that both windows would reach over each other
    waves = motion_of("G1 X10 Y0", "X9.996 Y0.5", "X20 Y0.6")
    first, second = plan(waves).windows
    assert first.last == pytest.approx(10.25, abs=1e-4)
    assert second.first == pytest.approx(10.25, abs=1e-4)


def test_windows_come_in_order() -> None:
    found = plan(motion_of("G1 X10 Y5", "X0 Y10", "X5 Y5", "X0 Y0", "X5"))
    begins = [one.first for one in found.windows]
    assert begins == sorted(begins)
    assert {one.axis for one in found.windows} == {0, 1}


def test_an_axis_that_the_path_lets_rest_goes_where_the_yaw_drives_it() -> None:
    """The table turns by 0.0004 rad about a pivot: along X = 100 mm Y's command goes by 0.02 mm."""
    twisted = Shift(
        known_mill(
            x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06),
            compensation=Compensation(by="program"),
            twist=Twist(x=0.0004, pivot=(0.0, 0.0)),
        ),
        step=0.0001,
    )  # fmt: skip
    # with X on its plus side the part is turned by +0.0002: Y of the command falls as X grows
    assert plan(motion_of("G1 X100"), twisted).need[:2] == (1, -1)
    assert plan(motion_of("G1 X0.1"), twisted).need[:2] == (1, None)
    back = motion_of("G0 X100", "X120", "X100", "G1 X20")
    run = FeedRun(back, HEAD + 3, len(back))
    assert plan_run(run, courses(back), twisted, ERROR).need[:2] == (-1, -1)
