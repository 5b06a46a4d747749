"""The finder by the definition, case by case."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_maker import Maker

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import ReversalKind, Reversals

HALF, FULL = math.pi, 2.0 * math.pi


def listed(found: Reversals) -> list[tuple]:
    """(axis, move, direction, kind) of each."""
    return [
        ("xyz"[axis], move, direction, ReversalKind(kind).name)
        for axis, move, direction, kind in zip(
            found.axis.tolist(),
            found.move.tolist(),
            found.direction.tolist(),
            found.kind.tolist(),
            strict=True,
        )
    ]


def test_no_moves_no_reversals() -> None:
    assert len(find_reversals(Maker().motion())) == 0


def test_there_and_back_turns_at_the_corner() -> None:
    found = find_reversals(Maker().line(10).line(3).motion())
    assert listed(found) == [("x", 1, -1, "CORNER")]
    assert found.block.tolist() == [6]
    assert found.along.tolist() == [0.0]
    assert found.position.tolist() == [[10.0, 0.0, 0.0]]
    assert found.run.tolist() == [10.0]
    assert found.in_cut.tolist() == [True]


def test_the_first_travel_of_an_axis_is_no_reversal() -> None:
    assert len(find_reversals(Maker().line(-10, 5).line(-12, 8).motion())) == 0


def test_rests_in_between_are_skipped_however_long() -> None:
    make = Maker().line(10)
    for y in range(1, 20):
        make.line(None, float(y)).line()
    found = find_reversals(make.line(3).motion())
    assert listed(found) == [("x", 39, -1, "CORNER")]


def test_the_new_direction_in_the_air_is_a_link() -> None:
    found = find_reversals(Maker().line(10).rapid(3).line(7).motion())
    assert listed(found) == [("x", 1, -1, "LINK"), ("x", 2, 1, "CORNER")]
    assert found.in_cut.tolist() == [False, True]
    assert found.run.tolist() == [10.0, 7.0]


def test_a_turn_at_the_resolution_does_not_count_and_above_it_does() -> None:
    # binary fractions, so that the sums are exact
    step = 2.0**-10
    for back, count in ((step, 0), (1.5 * step, 1)):
        motion = Maker().line(10).line(10 - back).motion()
        assert len(find_reversals(motion, (step, step, step))) == count


def test_many_tiny_steps_one_way_add_up_and_belong_to_the_first() -> None:
    make = Maker().line(10)
    for i in range(1, 8):
        make.line(10 - 0.00003 * i)
    found = find_reversals(make.motion())
    assert listed(found) == [("x", 1, -1, "CORNER")]
    assert found.position[0, 0] == 10.0


def test_dust_on_the_way_does_not_count() -> None:
    make = Maker().line(5).line(4.99996).line(9).line(8.99996).line(12).line(0)
    found = find_reversals(make.motion())
    assert listed(found) == [("x", 5, -1, "CORNER")]
    assert found.run.tolist() == pytest.approx([12.0])


def test_dust_while_rocking_about_the_extreme_keeps_the_extreme() -> None:
    # short runs follow each other here, so they are walked one by one
    make = Maker().line(10)
    for x in (9.99995, 9.99999, 9.99993, 9.99998, 9.99996, 5):
        make.line(x)
    found = find_reversals(make.motion())
    assert listed(found) == [("x", 1, -1, "CORNER")]
    assert found.position[0, 0] == 10.0
    assert found.run.tolist() == pytest.approx([10.0])


def test_of_two_equal_extremes_the_later_one_is_the_turn():
    # binary fractions, so that both are the same to the last digit
    make = Maker().line(10).line(10 - 2.0**-15).line(10).line(5)
    assert listed(find_reversals(make.motion())) == [("x", 3, -1, "CORNER")]
    make = Maker().line(-10).line(-10 + 2.0**-15).line(-10).line(-5)
    assert listed(find_reversals(make.motion())) == [("x", 3, 1, "CORNER")]


@pytest.mark.parametrize("way", [1, -1])
def test_small_steps_alone_give_the_first_direction(way: int) -> None:
    make = Maker()
    at = 0.0
    for step in (0.00006, -0.00001, 0.00006, -0.00001, 0.00006, -0.0005, 0.00006, 0.00006):
        at += way * step
        make.line(at)
    found = listed(find_reversals(make.motion()))
    assert found == [("x", 5, -way, "CORNER"), ("x", 6, way, "CORNER")]


def test_rocking_below_the_resolution_alone_has_no_direction() -> None:
    make = Maker()
    for i in range(20):
        make.line(0.00004 * (-1) ** i)
    assert len(find_reversals(make.line(-3).motion())) == 0


def test_each_axis_has_its_own_resolution() -> None:
    motion = Maker().line(10, 10).line(9.9, 9.9).motion()
    assert listed(find_reversals(motion, (0.5, 0.05, 1e-4))) == [("y", 1, -1, "CORNER")]


def test_renumbered_coordinates_are_no_travel() -> None:
    # as after G92: the coordinates jump, nothing moves
    make = Maker().line(10).renumber(0, 0, 0).line(5).renumber(90, 0, 0).line(95)
    assert len(find_reversals(make.motion())) == 0


def test_after_an_unknown_position_the_direction_is_unknown() -> None:
    nan = math.nan
    make = Maker().line(10, 10).rapid(nan, 12).rapid(7, 14).line(3, 13).line(8)
    found = find_reversals(make.motion())
    # X: what leads to the unknown and out of it tells nothing, then 7 to 3 is the first way
    assert listed(found) == [("y", 3, -1, "CORNER"), ("x", 4, 1, "CORNER")]


def test_an_arc_from_an_unknown_place_tells_nothing_in_its_plane() -> None:
    nan = math.nan
    make = Maker().line(10, 10, 10).rapid(nan)
    make.rows.append((2, (nan, 10, 10), (5, 5, 5), (nan, 5, 10), nan, 17))
    make.at = (5, 5, 5)
    found = find_reversals(make.line(6, 6, 6).motion())
    assert listed(found) == [("z", 2, -1, "JOIN"), ("z", 3, 1, "JOIN")]


# --- arcs -------------------------------------------------------------------------------------


def test_a_full_circle_from_a_quadrant_turns_inside_and_at_its_start() -> None:
    # from (10, 0) counter-clockwise: Y goes up, turns at the top and at the bottom; X turns left
    make = Maker().rapid(10).arc(17, (-10.0, 0.0), FULL)
    found = find_reversals(make.motion())
    assert listed(found) == [
        ("x", 1, -1, "JOIN"),
        ("y", 1, -1, "QUADRANT"),
        ("x", 1, 1, "QUADRANT"),
        ("y", 1, 1, "QUADRANT"),
    ]
    assert found.along == pytest.approx([0.0, 0.25, 0.5, 0.75], abs=1e-15)
    assert found.position[:, :2] == pytest.approx(
        np.array([[10, 0], [0, 10], [-10, 0], [0, -10]]), abs=1e-12
    )
    assert found.run == pytest.approx([10.0, 10.0, 20.0, 20.0])


def test_a_helix_of_three_turns_turns_twelve_times_inside_but_for_the_first() -> None:
    make = Maker().arc(17, (-10.0, 0.0), 3 * FULL, -3.0)
    found = find_reversals(make.motion())
    # X starts -, then turns 5 times inside; Y turns 6 times
    assert [kind for *_, kind in listed(found)] == ["HELIX"] * 11
    assert sorted("xyz"[axis] for axis in found.axis) == ["x"] * 5 + ["y"] * 6
    assert found.position[:, 2] == pytest.approx(-3.0 * found.along)


@pytest.mark.parametrize(("plane", "axes"), [(17, "xy"), (18, "zx"), (19, "yz")])
def test_each_plane_turns_its_own_axes(plane: int, axes: str) -> None:
    found = find_reversals(Maker().arc(plane, (-3.0, -4.0), FULL).motion())
    assert {"xyz"[axis] for axis in found.axis} == set(axes)
    assert all(kind == "QUADRANT" for *_, kind in listed(found))
    # counter-clockwise from up on the right: the second axis turns first, at its top
    assert "xyz"[found.axis[0]] == axes[1]
    assert found.direction[0] == -1


def test_a_join_lies_between_an_arc_and_any_other_move() -> None:
    quarter = math.pi / 2
    make = Maker().line(10).arc(17, (0.0, 10.0), quarter).line(None, 15).line(5).line(5, 0)
    # X turns where the line after the Y line goes back: straight to straight
    # Y turns at the last line
    assert listed(find_reversals(make.motion())) == [
        ("x", 3, -1, "CORNER"),
        ("y", 4, -1, "CORNER"),
    ]
    make = Maker().line(10).arc(17, (0.0, 10.0), quarter).line(5)
    assert listed(find_reversals(make.motion())) == [("x", 2, -1, "JOIN")]
    make = Maker().line(10).arc(17, (0.0, 10.0), quarter).line().line(5)
    assert listed(find_reversals(make.motion())) == [("x", 3, -1, "JOIN")]
    make = Maker().line(10).arc(17, (0.0, 10.0), quarter)
    for _ in range(30):
        make.line()
    assert listed(find_reversals(make.line(5).motion())) == [("x", 32, -1, "JOIN")]
    make = Maker().line(10).arc(17, (0.0, 10.0), quarter).rapid(5)
    assert listed(find_reversals(make.motion())) == [("x", 2, -1, "LINK")]
    # two half circles meet where both turn
    make = Maker().arc(17, (-10.0, 0.0), HALF).arc(17, (10.0, 0.0), HALF)
    assert ("x", 1, 1, "JOIN") in listed(find_reversals(make.motion()))


def test_an_arc_rounded_just_past_its_quadrant_leaves_the_turn_to_the_next_move() -> None:
    # ends 1e-4 rad behind the quadrant: X has come back by 5e-8 mm, far below any axis's step
    angle = math.pi / 2 + 1e-4
    end = (10 + 10 * math.sin(angle), 10 - 10 * math.cos(angle), 0.0)
    make = Maker((10.0, 0.0, 0.0)).line(10).arc_to(end, (10.0, 10.0, 0.0), angle)
    found = find_reversals(make.rapid(end[0], end[1], 5).rapid(0).motion())
    assert listed(found) == [("x", 3, -1, "LINK")]


def test_an_arc_rounded_just_before_its_quadrant_turns_at_its_start() -> None:
    start = (10 * math.cos(-1e-4), 10 * math.sin(-1e-4), 0.0)
    make = Maker(start).arc_to((0.0, 10.0, 0.0), (0.0, 0.0, 0.0), math.pi / 2 + 1e-4)
    make.rows.insert(0, (1, (0.0, start[1], 0.0), start, (math.nan,) * 3, 0.0, 17))
    found = find_reversals(make.motion())
    assert listed(found) == [("x", 1, -1, "JOIN")]
    assert found.along.tolist() == [0.0]


def test_later_turns_of_a_helix_through_its_start_stay_inside() -> None:
    # the start lies on a quadrant, and every turn comes back to its X
    found = find_reversals(Maker().arc(17, (-10.0, 0.0), 3 * FULL).motion())
    assert found.along[found.axis == 0] == pytest.approx(np.arange(1, 6) / 6)


def test_the_rows_are_in_order_of_the_motion() -> None:
    make = Maker().line(10, 10, 10).line(0, 0, 0).arc(17, (3.0, 4.0), 2 * FULL).line(50, 50, 50)
    found = find_reversals(make.motion())
    place = found.move + found.along
    assert np.all(np.diff(place) >= 0)
    assert found.axis[:3].tolist() == [0, 1, 2]
    assert found.axis.dtype == np.uint8
    assert found.move.dtype == np.int32
    assert found.block.dtype == np.int32
    assert found.direction.dtype == np.int8
    assert found.kind.dtype == np.uint8
    assert found.in_cut.dtype == np.bool_


# --- a contour of the standard ----------------------------------------------------------------


def test_the_compensation_contour_of_the_standard() -> None:
    # NISTIR 6556, Table 12, the contour as programmed from (1, 5); by plane geometry X turns
    # twice (N60 at its start, N80 at its quadrant), Y once (N80 at its start), path 13 + 2.5 pi
    make = Maker((1.0, 5.0, 0.0))
    quarter = math.pi / 2
    make.line(1, 4)  # N20
    make.arc_to((2.0, 3.0, 0.0), (2.0, 4.0, 0.0), quarter)  # N30
    make.arc_to((3.0, 2.0, 0.0), (2.0, 2.0, 0.0), -quarter)  # N40
    make.line(3, -1)  # N50
    make.arc_to((2.0, -2.0, 0.0), (2.0, -1.0, 0.0), -quarter)  # N60
    make.line(-2, -2)  # N70
    make.arc_to((-2.6, -0.2, 0.0), (-2.0, -1.0, 0.0), -math.radians(143.130102354))  # N80
    make.line(1.4, 2.8)  # N90
    make.arc_to((2.0, 3.0, 0.0), (2.0, 2.0, 0.0), -math.radians(36.869897646))  # N100
    found = find_reversals(make.motion())
    assert listed(found) == [
        ("x", 4, -1, "JOIN"),
        ("y", 6, 1, "JOIN"),
        ("x", 6, 1, "QUADRANT"),
    ]
    assert found.position[2] == pytest.approx([-3.0, -1.0, 0.0], abs=1e-9)


def test_kinds_are_counted_from_0_without_a_gap() -> None:
    names = ["CORNER", "QUADRANT", "HELIX", "JOIN", "LINK"]
    assert [(each.name, each.value) for each in ReversalKind] == [
        (name, at) for at, name in enumerate(names)
    ]


def test_a_turn_that_only_the_rapid_behind_makes_is_in_the_air():
    text = "G21 G90 G0 X0 Y0 Z5\nG1 Z-1.00005 F100\nX10 Z-1\nG0 Z5\n"
    found = find_reversals(trace(read(text.encode())))
    assert (found.axis.tolist(), found.in_cut.tolist()) == ([2, 2], [True, False])
    deeper = find_reversals(trace(read(text.replace("1.00005", "1.00015").encode())))
    assert (deeper.axis.tolist(), deeper.in_cut.tolist()) == ([2, 2], [True, True])
