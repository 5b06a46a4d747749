"""Which side of the screw the table rests on: the play operator s + d, held within 0 and b."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.mill import Axis, Mill
from gpre.motion.events import EventKind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.screw_side import Backlash, BacklashWalk, shifts_origin
from gpre.source.text import SourceText

DEPTH, FINE = 0.1, 0.0001
MILL = known_mill(
    x=Axis(lost_motion=0.08, uncertainty=0.02), y=Axis(lost_motion=0.06, uncertainty=0.0)
)


def known(side: int) -> Backlash:
    backlash = Backlash(DEPTH)
    backlash.settle(side)
    return backlash


def test_settled_towards_a_side_it_is_taken_up_there_and_not_on_the_other() -> None:
    for side in (1, -1):
        backlash = known(side)
        assert (backlash.low, backlash.high, backlash.last) == (DEPTH * (side > 0),) * 2 + (side,)
        assert backlash.taken_up(side)
        assert not backlash.taken_up(-side)


def test_travel_takes_it_up_within_its_bounds() -> None:
    backlash = known(-1)
    backlash.travel(0.06, FINE)
    assert (backlash.low, backlash.high, backlash.last) == (0.06, 0.06, 1)
    assert not backlash.taken_up(1)
    backlash.travel(0.06, FINE)
    assert (backlash.low, backlash.high) == (DEPTH, DEPTH)
    assert backlash.taken_up(1)
    backlash.travel(-0.03, FINE)
    assert (backlash.low, backlash.high, backlash.last) == (
        pytest.approx(0.07),
        pytest.approx(0.07),
        -1,
    )
    assert not backlash.taken_up(-1)
    backlash.travel(-1.0, FINE)
    assert backlash.taken_up(-1)


def test_from_anywhere_travel_as_long_as_the_backlash_takes_it_up() -> None:
    backlash = Backlash(DEPTH)
    backlash.forget()
    assert (backlash.low, backlash.high, backlash.last) == (0.0, DEPTH, 0)
    assert not backlash.taken_up(1)
    assert not backlash.taken_up(-1)
    backlash.travel(0.09, FINE)
    assert (backlash.low, backlash.high) == (0.09, DEPTH)
    assert not backlash.taken_up(1)
    backlash.travel(0.01, FINE)
    assert backlash.taken_up(1)
    backlash.travel(nan, FINE)
    assert (backlash.low, backlash.high, backlash.last) == (0.0, DEPTH, 0)


def test_travel_below_the_resolution_is_no_direction() -> None:
    backlash = known(1)
    backlash.travel(-FINE / 2.0, FINE)
    assert backlash.last == 1
    backlash.travel(-FINE * 2.0, FINE)
    assert backlash.last == -1


def test_an_axis_without_backlash_has_nothing_to_take_up() -> None:
    backlash = Backlash(0.0)
    backlash.forget()
    assert backlash.taken_up(1)
    assert backlash.taken_up(-1)


def walk_of(text: str, mill: Mill = MILL) -> BacklashWalk:
    return BacklashWalk(trace(read(text.encode()), mill.controller), mill)


def test_a_walk_follows_x_and_y_and_forgets_where_axes_may_have_been_moved() -> None:
    text = "G21 G90 G17 G94 F100\nG0 X1 Y-1\nX3 Y2\nT1 M6\nG0 X5\nX4 Y1\n"
    walk = walk_of(text)
    assert [backlash.depth for backlash in walk.x_y] == pytest.approx([0.1, 0.06])
    walk.advance(1)
    assert [backlash.last for backlash in walk.x_y] == [1, -1]
    assert [walk.x_y[0].taken_up(1), walk.x_y[1].taken_up(-1)] == [True, True]
    walk.advance(2)
    # the tool change comes before the next move
    assert [backlash.last for backlash in walk.x_y] == [0, 0]
    walk.advance(3)
    assert [walk.x_y[0].taken_up(1), walk.x_y[1].taken_up(1)] == [True, False]
    walk.advance(4)
    assert [walk.x_y[0].taken_up(-1), walk.x_y[1].taken_up(-1)] == [True, True]
    assert [walk.last_forgotten(row) for row in (1, 2, 4)] == [0, 2, 2]


def test_the_first_direction_of_a_stretch() -> None:
    walk = walk_of("G21 G90 G17 G94 F100\nG0 X1\nG1 Y5\nX0.99995\nX1.00003\nX-3\n")
    assert walk.first_direction(0, 0, 5) == 1
    assert walk.first_direction(0, 1, 5) == -1  # 0.00005 back and on is less than 0.0001
    assert walk.first_direction(0, 1, 4) == 0
    assert walk.first_direction(1, 0, 5) == 1
    assert walk.first_direction(1, 2, 5) == 0


HEAD = "G21 G17 G90 G94\nT1 M6\nS1000 M3\nG0 Z5\n"


def loops_of(*places: str) -> int:
    """Count the loops to holes, which are drilled one after another by hand."""
    holes = "".join(f"G0 {place}\nG0 Z1\nG1 Z-5 F100\nG0 Z5\n" for place in places)
    text = f"{HEAD}G0 X-20 Y-20\n{holes}M5\nM30\n"
    done = rewrite(SourceText.of(text.encode()), MILL, options=Options(only=("approach",)))
    assert done.proof.holds
    return sum(each.holes for each in done.plan.chosen)


def test_after_a_loop_the_backlash_is_taken_up() -> None:
    assert loops_of("X10 Y10") == 0
    # back to X5: a loop in X; on by less than the backlash, which the loop has taken up: none
    assert loops_of("X10 Y10", "X5 Y15") == 1
    assert loops_of("X10 Y10", "X5 Y15", "X5.05 Y15.03") == 1
    assert loops_of("X10 Y10", "X5 Y15", "X5.05 Y15.03", "X5 Y16") == 2
    # by hand the first step on would not have been enough
    assert loops_of("X10 Y10", "X5 Y15", "X4 Y15", "X3 Y16") == 3


@pytest.mark.parametrize(
    ("text", "shifts"),
    [("G55", True), ("G59.1", True), ("G10 L2 P1 X5", True), ("G92 X5", False),
     ("G43 H1", False), ("G4 P1", False), ("T2 M6", False)],
)  # fmt: skip
def test_the_numbers_of_x_and_y_shift_with_the_zero(text: str, *, shifts: bool) -> None:
    motion = trace(read(f"G21 G90\nG1 X1 F100\n{text}\nG1 X2\n".encode()))
    events = [each for each in motion.events if each.block == 2]
    assert events
    assert any(shifts_origin(each) for each in events) == shifts
    # only an event of a zero does, whatever another one says
    assert not shifts_origin(replace(events[0], kind=EventKind.DWELL, value="G54"))
