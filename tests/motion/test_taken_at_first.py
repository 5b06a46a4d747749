"""What is in force before the program or the profile says so, and what little of it is said."""

from __future__ import annotations

import math
from dataclasses import asdict

import numpy as np
import pytest
from motion_checks import codes, end_state, ends, events, run

from gpre.motion.controller import Controller
from gpre.motion.events import EventKind
from gpre.motion.motion import Role
from gpre.motion.state import State

ORIGINS = {1: (100.0, 50.0, 200.0), 2: (300.0, 50.0, 200.0)}


def test_the_state_of_the_first_move() -> None:
    # NISTIR 6556, 3.4 and Table 4, leaves it to the setup; this is what README.md says is taken
    state = asdict(run("G0 X1").state_of(0))
    assert state | {"origin": None, "placed": None, "length": None} == {
        "motion": 0, "distance": 90, "arc_distance": 911, "feed_mode": 94, "units": 21,
        "compensation": 40, "path": 640, "retract": 98, "length_offset": 0, "system": 1,
        "origin": None, "placed": None, "datum": 0, "length": None, "spindle": 0.0,
        "spindle_way": 0, "tool": 0, "selected": 0, "mist": False, "flood": False,
        "overrides": True,
    }  # fmt: skip
    assert (state["origin"], state["length"]) == ((0.0, 0.0, 0.0), 0.0)
    assert not any(state["placed"])
    assert run("G0 X1").plane.tolist() == [17]


@pytest.mark.parametrize(("off", "found"), [(0.0099, []), (0.0101, ["INT304"])])
def test_radii_may_differ_by_a_hundredth_where_no_profile_says_otherwise(
    off: float, found: list[str]
) -> None:
    assert codes(run(f"G0 X0 Y0\nG2 X{20 + off:.4f} Y0 I10 J0 F100")) == found


def test_decimal_points_and_the_block_delete_switch_are_not_taken_for_granted() -> None:
    controller = Controller()
    assert not controller.decimal_point_optional  # else thousandths could be read as millimetres
    assert not controller.block_delete
    assert ends(run("/G0 X1")) == [(1, 0, 0)]


def test_s0_stops_the_spindle_without_a_fault() -> None:
    motion = run("S500 M3\nG0 X1\nS0\nX2")
    assert codes(motion) == []
    assert [motion.state_of(row).spindle for row in (0, 1)] == [500.0, 0.0]


def test_a_rapid_has_no_feed_per_minute_without_a_turning_spindle() -> None:
    # NISTIR 6556, 3.5.19: G95 is a feed per revolution, G93 the inverse of a time
    assert run("G95 F0.1\nG0 X1\nS500\nX2").feed.tolist()[1] == pytest.approx(50.0)
    for text in ("G95 F0.1\nG0 X1", "S500 G93\nG0 X1", "S500 G93\nG1 X1 F2\nG0 X2"):
        assert math.isnan(run(text).feed[-1]), text


def test_the_moves_of_a_cycle_are_told_from_plain_ones() -> None:
    motion = run("G0 Z5\nG81 X1 Y1 Z-1 R2 F100")
    assert [Role(each).name for each in motion.role.tolist()] == [
        *("NONE", "POSITION", "DOWN", "FEED", "OUT"),
    ]


@pytest.mark.parametrize("letter", "XYZ")
def test_a_place_on_one_axis_is_enough_for_a_zero_to_matter(letter: str) -> None:
    """Which system was in force before G54 is not known, so the place is not, either."""
    text = f"G0 {letter}5\nG54\nG0 {letter}6"
    motion = run(text, start_known=False, origins=ORIGINS)
    assert codes(motion) == ["INT321"]
    assert codes(run("G54\nG0 X6", start_known=False, origins=ORIGINS)) == []
    assert np.isnan(end_state(f"G0 {letter}5\nG54", start_known=False).position[:3]).all()


def test_a_program_that_never_moves_sets_an_offset_that_is_not_known() -> None:
    # NISTIR 6556, 3.5.18: #5211 holds the difference to where the tool stands
    assert codes(run("G92 X5\n#1=#5211", start_known=False)) == ["INT337"]
    assert end_state("G92 X5\n#1=#5211").parameters[1] == -5.0


# --- what is known of some axes only --------------------------------------------------------------


def test_a_system_of_which_only_some_axes_are_known() -> None:
    for axis, letter in enumerate("XYZ"):
        known = f"G54\nG0 X1 Y2 Z3\nG10 L2 P3 {letter}40\nG56"
        machine = end_state(known, origins=ORIGINS)
        wanted = [math.nan] * 3
        wanted[axis] = ORIGINS[1][axis] + (1.0, 2.0, 3.0)[axis] - 40.0
        np.testing.assert_array_equal(machine.position[:3], wanted)
        assert codes(run(known, origins=ORIGINS)) == ["INT321"]
        assert machine.state.placed == tuple(each == axis for each in range(3))


def test_where_rotary_axes_stand_in_machine_coordinates_nobody_gives() -> None:
    for letter, axis in (("A", 3), ("B", 4), ("C", 5)):
        text = f"G54 G0 X1 {letter}5\nG53 G0 {letter}10"
        assert math.isnan(end_state(text, origins=ORIGINS).position[axis])
    assert codes(run("G54 G0 A5\nG53 G0 A10", origins=ORIGINS)) == ["INT320"]


def test_one_more_system_of_the_controller_is_another_with_each_number() -> None:
    head = "G54\nG0 X1 Y2 Z3\nG54 P3\nG10 L2 P0 X5\nG0 X1 Y2 Z3\n"
    assert end_state(f"{head}G53 G0 X0", origins=ORIGINS).position[0] == -5.0
    assert math.isnan(end_state(f"{head}G54 P4\nG53 G0 X0", origins=ORIGINS).position[0])
    # and G54 itself is what it was
    text = "G54\nG0 X1 Y2 Z3\nG54 P3\nG0 X1 Y2 Z3\nG54\nG53 G0 X0"
    assert end_state(text, origins=ORIGINS).position[0] == -100.0


def test_machine_coordinates_take_the_length_of_the_tool_in_z_alone() -> None:
    # machine coordinate = program coordinate + origin, and in Z the length (NISTIR 6556, 3.5.11)
    options = {"origins": ORIGINS, "lengths": {1: 40.0}}
    motion = run("G54 G0 X1 Y2 Z3\nG43 H1\nX1 Y2 Z3\nG43 H2\nX1 Y2 Z3", **options)
    rows = motion.state.tolist()
    assert motion.origins[rows].tolist() == [
        [100.0, 50.0, 200.0], [100.0, 50.0, 240.0], [100.0, 50.0, 200.0],
    ]  # fmt: skip
    assert motion.placed[rows].tolist() == [[True] * 3, [True] * 3, [True, True, False]]
    nowhere = run("G55 G0 X1\nG43 H1\nX2", lengths={1: 40.0})
    assert not nowhere.placed.any()


@pytest.mark.parametrize("index", [31, 5220 + 7, 5240 + 7, 5380 + 7, 5399])
def test_parameters_beside_those_of_the_origins_are_the_users(index: int) -> None:
    # NISTIR 6556, Table 2: 5221 to 5226, 5241 to 5246, ... are X to C of the systems
    assert ends(run(f"#{index}=7\nG0 X#{index}")) == [(7, 0, 0)]


def test_a_state_says_that_its_units_are_millimetres() -> None:
    assert State().scale == 1.0
    assert [each.value for each in run("G20\nG0 X1").events] == ["G20"]
    assert [value for *_, value in events(run("G21\nG0 X1"), EventKind.MODE)] == []


def test_a_tool_length_moves_the_number_of_z_alone() -> None:
    machine = end_state("G0 X1 Y2 Z3 A4 B5 C6\nG43 H1\nG49\nG43 H2", lengths={1: 7.0, 2: 10.0})
    assert machine.position == [1.0, 2.0, -7.0, 4.0, 5.0, 6.0]


def test_g10_says_where_the_tool_stands_too() -> None:
    for code in ("G54", "G49", "G92.1"):
        place = end_state(f"G10 L20 P0 X1 Y2 Z3\n{code}", start_known=False).position
        assert math.isnan(place[2]), code
    assert end_state("G10 L20 P0 X1 Y2 Z3", start_known=False).position[:3] == [1.0, 2.0, 3.0]


RESTATED = ("G17", "G90", "G91.1", "G94", "G21", "G98", "G54", "G64", "G40", "G49", "G0", "M5")


@pytest.mark.parametrize("code", RESTATED)
def test_a_code_that_restates_what_is_in_force_changes_nothing(code: str) -> None:
    head, tail = "G0 X0 Y0 Z5\n", "X9\n"
    plain, restated = run(head + tail), run(f"{head}{code}\n{tail}")
    assert ends(plain) == ends(restated)
    assert codes(restated) == []
    assert restated.events == ()
    assert restated.state_of(1) == plain.state_of(1)


@pytest.mark.parametrize("code", [code for code in RESTATED if code != "G0"])
def test_a_row_of_cycles_goes_on_through_what_restates(code: str) -> None:
    head = "G0 X0 Y0 Z5\nG81 X1 Y1 Z-1 R2 F100\n"
    motion = run(f"{head}{code} X3\nX4")
    assert codes(motion) == []
    assert [end[0] for end in ends(motion) if end[2] == -1.0] == [1.0, 3.0, 4.0]


@pytest.mark.parametrize("code", ["G17", "G90", "G91.1", "G94", "G21", "G98", "G54", "G64", "G49"])
def test_what_restates_is_no_fault_under_compensation(code: str) -> None:
    assert codes(run(f"G0 X0 Y0 Z5\nG41 D1 X1\n{code}\nX9\nG40 X10")) == []


@pytest.mark.parametrize("code", ["G18", "G20", "G55", "G92 X0", "G28 X0", "G42 D2", "G53 G0 X0"])
def test_what_compensation_forbids_is_told(code: str) -> None:
    # NISTIR 6556, appendix B.5
    options = {"origins": ORIGINS, "home": (0.0, 0.0, 0.0)}
    assert "INT322" in codes(run(f"G54 G0 X0 Y0 Z5\nG41 D1 X1\n{code}", **options))
    assert "INT322" not in codes(run(f"G54 G0 X0 Y0 Z5\nG40\n{code}", **options))


@pytest.mark.parametrize(
    ("index", "lost"),
    [(2000, False), (2001, True), (2999, True), (3000, False), (5200, False), (5201, True),
     (5206, True), (5207, False), (5219, False), (5220, True)],
)  # fmt: skip
def test_parameters_of_the_machine_may_change_where_the_zero_lies(index: int, lost: bool) -> None:
    # tables of tools and a zero common to all systems, on some controllers (from memory)
    machine = end_state(f"G54 G0 X1 Y2 Z3\n#{index}=7", origins=ORIGINS)
    assert math.isnan(machine.position[0]) is lost
    assert ((1, 0) in machine.known) is not lost
    assert machine.parameters[index] == 7.0


def test_no_parameter_has_a_number_that_is_not_known() -> None:
    assert codes(run("#[#7]=5\nG0 X1")) == ["INT333"]
    assert codes(run("#1=[1/0]\n#[#1]=5")) == ["INT334"]
    for number in ("0", "5400", "-1", "1.5"):
        assert "INT336" in codes(run(f"#[{number}]=5")), number
        assert "INT336" in codes(run(f"#1=#[{number}]")), number


def test_after_a_code_that_is_not_known_no_length_is_still_none() -> None:
    machine = end_state("G54\nG110\nG0 X1 Y2 Z3\nG49", origins=ORIGINS)
    assert machine.state.length == 0.0
    assert math.isnan(machine.position[2])
