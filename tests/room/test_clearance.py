"""How high a program goes over its part, and why a tool may not go about at a height or a place."""

from __future__ import annotations

import pytest

from gpre.cuts.find_cuts import find_cuts
from gpre.mill.job import Box, Job
from gpre.mill.mill import Axis, Limits, Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.room.clearance import Clearance
from gpre.room.entries import Reach, above_stock, reach_of

STOCK = Job(stock=Box((0.0, 0.0, -10.0), (60.0, 40.0, 2.0)))
ORIGINS = {1: (100.0, 50.0, -200.0)}
# travels at Z8, goes over to the second cut at Z5, and cuts down to Z-3
PART = (
    "G21 G90 G54\nT1 M6\nS3000 M3\nG0 Z8\nG0 X5 Y5\nG0 Z3\nG1 Z-3 F100\nG1 X50\nG0 Z5\n"
    "G0 X5 Y20\nG1 Z-2\nG1 X50\nG0 Z8\nG0 X-20\nM30\n"
)


def clearance(text: str = PART, job: Job = STOCK, mill: Mill | None = None) -> Clearance:
    mill = Mill(limits=Limits(rapid_clearance=1.0)) if mill is None else mill
    program = read(text.encode())
    control = Controller(tool_change_moves="none", origins=ORIGINS)
    return Clearance(program, trace(program, control), mill, job)


def last_row(of: Clearance) -> int:
    return len(of.motion) - 1


# --- heights -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "aside", "said"),
    [
        (float("nan"), True, "not known"),
        (2.0, True, "not above the stock (Z2)"),
        (-1.0, False, "not above the stock (Z2)"),
        (2.5, True, "less than 1 mm above the stock (Z2)"),
        (2.999, False, "less than 1 mm above the stock (Z2)"),
        (3.0, True, "the program travels over the part higher than Z3"),
        (4.99, True, "the program travels over the part higher than Z4.99"),
        (3.0, False, ""),  # over what it cuts no clamp stands
        (5.0, True, ""),
        (30.0, True, ""),
    ],
)
def test_with_stock_a_height_is_clear_above_it_and_aside_as_high_as_the_program(
    height: float, *, aside: bool, said: str
) -> None:
    over = clearance()
    reason, needs = over.why_not_level(height, last_row(over), aside=aside)
    assert said in reason
    assert bool(reason) == bool(said)
    assert needs == ()


def test_a_program_that_never_travels_level_shows_no_height_of_its_own() -> None:
    """It comes down at a slant and goes up at one: with stock that is no reason against it."""
    slant = "G21 G90\nT1 M6\nG0 X5 Y5 Z9\nG1 Z-3 F100\nG1 X50\nG0 X0 Z9\nM30\n"
    over = clearance(slant)
    assert over.travel_level(last_row(over)) == float("inf")
    assert over.why_not_level(4.0, last_row(over)) == ("", ())


@pytest.mark.parametrize(
    ("height", "said"),
    [
        (-3.0, "the tool travels there at Z-3, and the program cuts at Z-2"),
        (-2.0, "the tool travels there at Z-2, and the program cuts at Z-2"),
        (-1.0, "the tool travels there below Z0, at Z-1"),
        (0.0, "nothing in the program shows that all is clear at Z0"),
        (4.9, "nothing in the program shows that all is clear at Z4.9"),
        (5.0, ""),
    ],
)
def test_without_stock_the_program_itself_must_show_that_a_height_is_clear(
    height: float, said: str
) -> None:
    over = clearance(job=Job())
    assert over.why_not_level(height, last_row(over)) == (said, ("stock",) if said else ())


def test_each_setup_has_its_own_height() -> None:
    text = PART.replace("M30\n", "T2 M6\nG0 Z12\nG0 X5 Y5\nG1 Z-2 F100\nG1 X50\nG0 Z12\nX0\nM30\n")
    over = clearance(text)
    assert over.travel_level(0) == 5.0
    assert over.travel_level(last_row(over)) == 12.0
    assert not over.why_not_level(6.0, 0)[0]
    assert over.why_not_level(6.0, last_row(over))[0]


# --- places --------------------------------------------------------------------------------------


def test_no_axis_may_leave_its_travel() -> None:
    """G54 stands at X100, Y50 and Z-200 of the machine."""
    mill = Mill(
        x=Axis(lost_motion=0.05, travel=(0.0, 300.0)), y=Axis(lost_motion=0.05),
        z=Axis(lost_motion=0.05, travel=(-300.0, 0.0)),
    )  # fmt: skip
    over = clearance(mill=mill)
    row = last_row(over)
    for axis, inside, outside in (
        (0, (-100.0, 200.0), (-100.1, 200.1)),
        (2, (-100.0, 200.0), (200.1,)),
    ):
        for place in inside:
            assert over.why_not_there(row, axis, place) == ""
        for place in outside:
            reason = over.why_not_there(row, axis, place)
            assert reason == f"the loop would leave the travel of {'XYZ'[axis]}"
    assert over.why_not_there(row, 1, 9999.0) == ""  # a travel that nothing states


def test_of_a_zero_that_is_not_known_no_travel_can_be_told() -> None:
    mill = Mill(x=Axis(lost_motion=0.05, travel=(0.0, 300.0)))
    program = read(PART.encode())
    over = Clearance(program, trace(program, Controller(tool_change_moves="none")), mill, STOCK)
    assert over.why_not_there(last_row(over), 0, 9999.0) == ""


# --- ways down -----------------------------------------------------------------------------------


def reach(down: str, up: str = "G0 Z8\n") -> Reach | None:
    text = f"G21 G90\nT1 M6\nG0 Z8\nG0 X5 Y5\n{down}G1 Z-3 F100\nG1 X50\n{up}G0 X0\nM30\n"
    motion = trace(read(text.encode()), Controller(tool_change_moves="none"))
    (cut,) = find_cuts(motion)
    return reach_of(motion, cut)


@pytest.mark.parametrize(
    ("down", "first", "clearance_z", "floor"),
    [
        ("G0 Z3\n", 2, 8.0, 3.0),
        ("G0 Z5\nG0 Z3\n", 2, 8.0, 3.0),
        ("G0 X5\nG0 Z3\n", 3, 8.0, 3.0),  # a move of no length is no part of the way down
        ("G0 X5\nG0 X5\nG0 Z3\n", 4, 8.0, 3.0),
        ("", 2, 8.0, 8.0),
        ("G0 Z9\nG0 Z3\n", 3, 9.0, 3.0),
    ],
)
def test_the_way_down_begins_where_the_tool_comes_down_upright(
    down: str, first: int, clearance_z: float, floor: float
) -> None:
    assert reach(down) == Reach(first, clearance_z, floor)


def test_the_higher_of_before_and_after_counts() -> None:
    assert reach("G0 Z3\n", "G0 Z4\nG0 Z30\n") == Reach(2, 30.0, 3.0)
    assert reach("G0 Z3\n", "G0 Z4\nG0 X9\nG0 Z30\n") == Reach(2, 8.0, 3.0)
    assert reach("G1 Z3 F100\n") == Reach(2, 8.0, 8.0)  # down at feed from where it travelled


@pytest.mark.parametrize(
    ("level", "unit", "floor"),
    [
        (20.0, 1.0, 3.0),  # 1 mm above the stock
        (20.0, 25.4, 3.048),  # in hundredths of an inch: 0.12
        (2.6, 1.0, 2.3),  # half way, where the program travels lower than that
        (3.5, 1.0, 2.75),
        (4.5, 1.0, 3.0),
    ],
)
def test_a_rapid_down_ends_a_little_above_the_stock(
    level: float, unit: float, floor: float
) -> None:
    assert STOCK.stock is not None
    assert above_stock(STOCK.stock, level, unit) == pytest.approx(floor)
