"""Where a program goes how low: clamps may stand where it goes only higher, or not at all."""

import numpy as np
import pytest

from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.room.lowest_traverse import LowestTraverse

TEXT = """G21 G90
T1 M6
G0 X-20 Y0
G0 Z20
G0 X0 Y0
G0 Z2
G0 X40 Y0
G1 Z-3 F100
G0 Z2
G0 X40 Y30
G1 Z-3
G1 Y50
G0 Z20
X0 Y0
M0
G0 Z2
X80
"""


def gone(text: str = TEXT, reach: float = 0.5) -> LowestTraverse:
    program = read(text.encode())
    return LowestTraverse(program, trace(program, Controller(tool_change_moves="none")), reach)


def clear(at: LowestTraverse, start, end, setup: int) -> bool:
    return bool(at.clear(np.array([start], float), np.array([end], float), np.array([setup]))[0])


def test_the_highest_way_is_that_of_a_rapid_along_x_or_y_between_two_halts() -> None:
    at = gone()
    assert at.highest.tolist() == [np.inf, 20.0, 2.0]  # before the first Z nothing is known
    # a rapid that comes down on a slope has been as high as where it begins
    assert gone("G90\nG0 Z5\nT1 M6\nG0 Z20\nX5 Z2\nX9\n").highest[-1] == 20.0


@pytest.mark.parametrize(
    ("start", "end", "holds"),
    [
        ((0, 50, 20), (40, -30, 20), True),  # as high as the program goes
        ((0, 50, 19.9), (40, -30, 19.9), False),
        ((0, 0, 2), (40, 0, 2), True),  # its own way
        ((40, 0, 2), (0, 0, 2), True),
        ((10, 0, 2), (30, 0.3, 2), True),
        ((0, 0, 1.9), (40, 0, 1.9), False),
        ((0, 0, 2), (40, 30, 2), False),  # between two of its places, and not its way
        ((40, 0, 2), (40, 50, 2), True),  # the cut went there too
        ((40, 0, 2), (40, 51, 2), False),
        ((0, 0, 2), (42, 0, 2), False),
        ((-20, 0, 2), (0, 0, 2), False),  # where it began
    ],
)
def test_what_lies_between_is_looked_at(start, end, holds) -> None:
    assert clear(gone(), start, end, 1) is holds


def test_behind_a_stop_nothing_of_before_counts() -> None:
    at = gone()
    assert clear(at, (0, 0, 2), (80, 0, 2), 2)
    assert not clear(at, (0, 0, 1.5), (80, 0, 1.5), 2)
    assert not clear(at, (0, 0, 2), (80, 0, 2), 1)


def test_a_deep_cut_is_no_wider_than_the_reach() -> None:
    assert not clear(gone(), (42, 0, 2), (42, 50, 2), 1)
    assert clear(gone(reach=2.1), (42, 0, 2), (42, 50, 2), 1)


def test_a_hop_within_the_reach_tells_nothing_of_the_room_elsewhere() -> None:
    hop = "G90\nG0 X0 Y0\nG0 Z2\nG0 X5\nG43\nG0 Z20\nG0 Y-1\nY0\nG0 Z2\nX9\n"
    assert gone(hop).highest[-1] == 20.0
    assert gone(hop, reach=1.5).highest[-1] == 2.0


@pytest.mark.parametrize(
    ("first", "holds"),
    [
        ("G0 X0 Y0", True),  # said, even where the tool is assumed to stand there anyway
        ("G0 X0", False),  # Y is where the operator left it
        ("G0 Z9", False),
        ("G91 G0 X0 Y0\nG90", False),
    ],
)
def test_a_way_from_where_the_operator_left_the_tool_is_not_known(first: str, holds: bool) -> None:
    at = gone(f"G90\nG0 Z5\n{first}\nG0 Z3\nX0 Y10\n")
    assert clear(at, (0, 2, 3), (0, 8, 3), 0) is holds


@pytest.mark.parametrize("far", [1e6, 1e30])
def test_a_way_out_of_this_world_is_not_looked_at(far: float) -> None:
    at = gone(f"G90\nG0 Z5\nX0 Y0\nX9\nX0\nZ3\nX{far:.0f}\n")
    assert clear(at, (0, 0, 3), (900, 0, 3), 0)  # its own way
    assert not clear(at, (0, 0, 3), (far, 0, 3), 0)
    assert clear(at, (0, 0, 5), (far, 0, 5), 0)  # as high as the program goes


ROUND = "G90\nG0 Z20\nX-9 Y-9\nG0 X50\nY50\n"
ORIGINS = {1: (0.0, 0.0, 0.0)}


@pytest.mark.parametrize(
    ("text", "around"),
    [
        (ROUND, True),
        (ROUND + "M3 S500\n", True),
        ("G90\nM3 S500\nG0 Z20\nX-9 Y-9\nG0 X50\nM5\nY50\n", False),  # the spindle stops on the way
        ("G90\nG0 Z20\nX-9 Y-9\nG0 X50\nX90\n", False),  # straight on
        ("G90\nG0 Z20\nX-9 Y-9\nG0 X50\nX90 Y-5\n", False),  # nobody goes round by so little
        ("G90\nG0 Z20\nX-9 Y-9\nG0 X50\nZ10\nY50\n", False),
        ("G90\nG0 Z20\nX-9 Y-9\nZ2\nG0 X50\nY50\n", False),  # there only lower
        ("G90\nG0 Z20\nX-9 Y-9\nG1 X50 F9\nY50\n", False),  # at feed
        ("G90\nG0 Z20\nX50\nY50\n", False),  # the first way tells nothing
        ("G90\nG54\nG0 Z20\nX-9 Y-9\nG53 G0 X50\nG53 Y50\n", False),
        ("G90\nG54\nG0 Z20\nX-9 Y-9\nG53 G0 X50\nY50\n", False),
    ],
)
def test_where_it_goes_round_something_at_its_height_no_height_is_clear(
    text: str, around: bool
) -> None:
    program = read(text.encode())
    controller = Controller(tool_change_moves="none", origins=ORIGINS)
    at = LowestTraverse(program, trace(program, controller), 0.5)
    assert at.highest[-1] == (np.inf if around else 20.0)
    assert clear(at, (20, -30, 20), (20, 60, 20), len(at.highest) - 1) is not around
