"""Where a program says where an axis goes to; before that its place is only assumed."""

from __future__ import annotations

import math

import pytest
from motion_checks import program

from gpre.motion.controller import Controller
from gpre.motion.programmed import arrivals, first_in_z, last_said, unsaid
from gpre.motion.trace import trace


def traced(text: str, **options: object):
    made = program(text)
    return made, trace(made, Controller(**options))


def test_the_last_move_that_names_each_axis() -> None:
    made, motion = traced("G0 X1\nY2\nX3 Z4\nG91 X5 Y5\nG90 Y6\n#1=2\nX#1 F9")
    x, y, z = (each.tolist() for each in last_said(made, motion))
    # the step in G91 names no place
    assert x == [0, 0, 2, 2, 2, 5]
    assert y == [-1, 1, 1, 1, 4, 4]
    assert z == [-1, -1, 2, 2, 2, 2]
    assert [each.tolist() for each in last_said(made, motion, "Z")] == [z]


def test_where_the_operator_left_x_and_y() -> None:
    made, motion = traced("G0 Z5\nY2\nX3\nX4 Y5\nZ0")
    assert unsaid(made, motion).tolist() == [
        [True, True], [True, True], [True, False], [False, False], [False, False],
    ]  # fmt: skip
    assert unsaid(*traced("M30")).shape == (0, 2)


def test_rapids_that_come_from_a_place_that_is_not_known() -> None:
    text = "G0 X1 Y1\nZ5\nG1 X2 F100\nG28\nG1 X0 Y0 Z1\nG28\nG0 X3 Y3\nZ4\nX5\nY6"
    motion = traced(text, start_known=False)[1]
    known = [all(map(math.isfinite, row)) for row in motion.end.tolist()]
    found = arrivals(motion).tolist()
    # Z5 is the first that leads to a known place, Z4 the next: the one between them is at feed
    assert [int(motion.block[row]) for row in found] == [1, 7]
    assert all(known[row] and not known[row - 1] for row in found)


@pytest.mark.parametrize(
    ("text", "start_known", "row"),
    [
        ("G0 X1\nY2\nZ5\nZ6", True, 2),
        ("G0 X1\nY2\nZ5", False, 2),
        ("G0 X1\nZ0\nY2", True, 3),  # it stands there already
        ("G0 X1\nZ0\nY2", False, 1),
        ("G0 X1\nZ0.0002", True, 1),
        ("G0 X1\nZ0.00005", True, 2),
        ("G0 X1\nY2", True, 2),
    ],
)
def test_the_first_move_in_z(text: str, start_known: bool, row: int) -> None:
    assert first_in_z(traced(text, start_known=start_known)[1]) == row
