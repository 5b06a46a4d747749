"""The order in which blocks run, against the calls as a reader follows them by hand."""

from __future__ import annotations

import numpy as np
import pytest
from motion_checks import program, run

from gpre.motion.controller import Controller
from gpre.motion.events import Event, EventKind
from gpre.motion.jumps import goes_to_numbers
from gpre.motion.order import RunOrder, run_order
from gpre.motion.trace import trace

# 0 moves; 1 calls block 4 twice; 2 moves; 3 ends; 4 O1; 5 and 6 move; 7 back; 8 never runs
TWICE = "G0 X10\nM98 P1 L2\nG0 X0\nM30\nO1\nG0 Y1\nX2\nM99\nG0 X99"


def order_of(text: str) -> RunOrder:
    made = program(text)
    return run_order(len(made), trace(made))


def test_steps_runs_and_rows_of_a_subprogram_that_runs_twice() -> None:
    order = order_of(TWICE)
    assert order.steps.tolist() == [0, 1, 4, 5, 6, 7, 4, 5, 6, 7, 2, 3, 8]
    assert order.ran == 12
    assert order.first.tolist() == [0, 1, 10, 11, 2, 3, 4, 5, 12]
    assert order.runs.tolist() == [1, 1, 1, 1, 2, 2, 2, 2, 0]
    # moves: X10, then Y1 and X2 of each round, then X0
    assert order.of_row.tolist() == [0, 3, 4, 7, 8, 10]
    assert order.row_at.tolist() == [0, 1, 1, 1, 2, 3, 3, 3, 4, 5, 5, 6, 6]


def test_blocks_in_line_run_once_one_after_the_other() -> None:
    order = order_of(TWICE)
    inside = {(a, b) for a in range(9) for b in range(a, 9) if order.in_line(a, b)}
    # what stands before the call does not matter to what stands behind it
    assert inside == {(0, 0), (1, 1), (2, 2), (3, 3), (0, 1), (2, 3)}
    assert not order.in_line(3, 2)
    later = order_of("M98 P1 L2\nM98 P2\nM30\nO1\nX1\nM99\nO2\nX2\nY3\nM99")
    assert later.in_line(7, 9)
    assert not later.in_line(4, 4)
    assert [order.follows(block) for block in range(9)] == [
        *(True, True, False, True, False, True, True, True, False),
    ]


def test_events_of_a_block_that_runs_twice_lie_in_the_round_in_which_they_happen() -> None:
    text = "M98 P1 L3\nG0 X0\nM30\nO1\nG0 Y1\nG4 P1\nY2\nM99"
    motion = run(text)
    order = order_of(text)
    dwells = [each for each in motion.events if each.kind is EventKind.DWELL]
    steps = order.of_events(dwells).tolist()
    assert [int(order.steps[step]) for step in steps] == [5, 5, 5]
    assert steps == np.flatnonzero(order.steps[: order.ran] == 5).tolist()
    # where no move tells the rounds apart, the last of them
    still = "M98 P1 L3\nM30\nO1\nG4 P1\nM99"
    assert order_of(still).of_events([Event(EventKind.DWELL, 3, 0)]).tolist() == [8]


def test_a_motion_without_a_walk_ran_as_the_text_has_it() -> None:
    motion = run("G0 X1\nX2\nM30\nX3")
    bare = type(motion)(**{**vars(motion), "walked": np.zeros((0, 3), np.int32)})
    for each in (motion, bare):
        order = run_order(4, each)
        assert order.steps.tolist() == [0, 1, 2, 3]
        assert order.ran == 3
        assert order.of_row.tolist() == [0, 1]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("N10 G0 X1\nM99", False),
        ("N10 G0 X1\nM99 P10", True),  # the main program goes on there
        ("N10 G0 X1\nM97 P10", True),
        ("N10 G0 X1\nM98 P1\nM30\nO1\nX2\nM99", False),
        ("N10 G0 X1\nM98 P1\nM30\nO1\nX2\nM99 P10", True),
        ("N10 G0 X1\nM98 P1\nM30\nO1\nX2\nG4 P97\nM99", False),
        ("N10 G0 X1\nM98 P1\nX97 S99\nM30\nO1\nX2\nM99", False),
        ("N10 G0 X1\n#1=2\nG65 P1000", True),  # a macro may come back to a number
        ("N10 G0 X1\nM98 P1\nM30\nO1\nX#1\nM99", False),
        ("N10 G0 X1\nM98 P1\nM30\nO1\nX#1 M#2\nM99", True),
        ("N10 G0 X1\nGOTO 10", True),
        ("N10 G0 X1\nX97", False),
    ],
)
def test_whether_block_numbers_matter(text: str, numbers: bool) -> None:
    # M97 and M99 with P go to N words (common practice, no source)
    made = program(text)
    assert goes_to_numbers(made, trace(made)) is numbers


@pytest.mark.parametrize("jump", ["M97 P10", "M99 P10"])
def test_a_jump_that_the_block_delete_switch_skips_may_be_made_another_day(jump: str) -> None:
    made = program(f"N10 G0 X1\nM98 P1\n/{jump}\nM30\nO1\nX2\nM99")
    assert goes_to_numbers(made, trace(made, Controller(block_delete=True)))
