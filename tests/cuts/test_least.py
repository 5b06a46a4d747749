"""The least possible reversals hold for every start, and some start reaches them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from motion_maker import Maker, motion_of

from gpre.cuts.contours import find_loop
from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.least import Least, least_reversals
from gpre.geometry import path
from gpre.mill.job import Box, Job, Tool
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

TOLERANCE = 0.002


def counted(motion):
    """X, Y and Z while cutting by the finder; it knows no way before the first move."""
    found = find_reversals(motion)
    return tuple(int((found.in_cut & (found.axis == axis)).sum()) for axis in range(3))


def rows_of(motion):
    columns = (motion.kind, motion.start, motion.end, motion.centre, motion.sweep, motion.plane)
    return [
        (kind, tuple(start), tuple(end), tuple(centre), sweep, plane)
        for kind, start, end, centre, sweep, plane in zip(*columns, strict=True)
    ]


def restarted(motion, row, along):
    """The same contour, begun within a move."""
    rows = rows_of(motion)
    if along == 0.0:
        return motion_of(rows[row:] + rows[:row])
    parts = path.split(path.take(motion, slice(row, row + 1)), np.array([along]))
    first, second = (
        (rows[row][0], tuple(part.start[0]), tuple(part.end[0]), tuple(part.centre[0]),
         float(part.sweep[0]), 17)
        for part in parts
    )  # fmt: skip
    return motion_of([second, *rows[row + 1 :], *rows[:row], first])


def ring(points):
    make = Maker(at=(*map(float, points[0]), -1.0))
    for point in points[1:]:
        make.line(float(point[0]), float(point[1]))
    return make.line(float(points[0][0]), float(points[0][1])).motion()


def closed(motion, job=None):
    cut = Cut(0, len(motion), 0, len(motion), Shape.CLOSED)
    (least,) = least_reversals(motion, (cut,), job or Job(), TOLERANCE)
    return least


corners = st.tuples(st.integers(0, 12), st.integers(0, 12))


@given(points=st.lists(corners, min_size=3, max_size=12))
@example(points=[(0, 0), (10, 0), (10, 6), (0, 6)])  # X and Y turn at one corner
@example(points=[(0, 5), (5, 0), (10, 5), (5, 10)])
@example(points=[(0, 0), (4, 8), (8, 0), (4, 3)])
def test_no_start_of_a_polygon_has_fewer_and_one_has_just_as_many(points):
    assume(all(points[at] != points[at - 1] for at in range(len(points))))
    motion = ring(points)
    assume(find_loop(motion, 0, len(motion)) == (0, len(motion)))
    least = closed(motion)
    seen = [
        counted(restarted(motion, row, along))
        for row in range(len(motion))
        for along in (0.0, 0.25, 0.5)
    ]
    for axis in range(3):
        assert min(each[axis] for each in seen) == least.down.by_axis[axis]
    assert min(sum(each) for each in seen) == least.down.together


@st.composite
def rounded(draw):
    """A closed contour of lines and arcs, which may cross itself."""
    make = Maker(at=(0.0, 0.0, -1.0))
    for _ in range(draw(st.integers(1, 6))):
        if draw(st.booleans()):
            make.line(*(draw(st.integers(-150, 150)) / 10.0 for _ in range(2)))
        else:
            angle, radius = draw(st.floats(0.0, 6.28)), draw(st.sampled_from((0.5, 3.0, 9.0)))
            sweep = draw(st.floats(0.2, 6.2)) * draw(st.sampled_from((1.0, -1.0)))
            make.arc(17, (radius * math.cos(angle), radius * math.sin(angle)), sweep)
    make.line(0.0, 0.0)
    rows = [row for row in make.rows if math.dist(row[1], row[2]) > 0.01]
    assume(rows and rows == make.rows)
    return make.motion()


@given(motion=rounded(), row=st.integers(0, 10), along=st.floats(0.0, 0.99))
def test_no_start_of_a_contour_with_arcs_has_fewer(motion, row, along):
    least = closed(motion).down
    now = counted(restarted(motion, row % len(motion), along))
    assert all(now[axis] >= least.by_axis[axis] for axis in range(3))
    assert sum(now) >= least.together


@given(
    points=st.lists(corners, min_size=3, max_size=8),
    wobble=st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=12, max_size=12),
    start=st.integers(0, 30),
)
def test_no_path_within_the_tolerance_has_fewer(points, wobble, start):
    """Each corner moved by at most the tolerance, and points put in along the edges."""
    assume(all(points[at] != points[at - 1] for at in range(len(points))))
    motion = ring(points)
    assume(find_loop(motion, 0, len(motion)) == (0, len(motion)))
    least = closed(motion).down
    dense = []
    for at, point in enumerate(points):
        goal = points[(at + 1) % len(points)]
        dense += [np.array(point, float), (np.array(point) + np.array(goal)) / 2.0]
    share = TOLERANCE / math.sqrt(2.0)
    moved = [each + share * np.array(wobble[at % 12]) for at, each in enumerate(dense)]
    moved = moved[start % len(moved) :] + moved[: start % len(moved)]
    now = counted(ring(moved))
    assert all(now[axis] >= least.by_axis[axis] for axis in range(3))
    assert sum(now) >= least.together


def test_a_circle_has_one_of_one_axis_and_three_together():
    circle = Maker(at=(9.0, 0.0, -1.0)).arc(17, (-9.0, 0.0), math.tau).motion()
    assert closed(circle).down == Least((1, 1, 0), 3)


def test_a_square_may_begin_where_both_axes_turn():
    assert closed(ring([(0, 0), (10, 0), (10, 10), (0, 10)])).down == Least((1, 1, 0), 2)


def test_what_wavers_within_the_tolerance_need_not_turn():
    points = [(0, 0), (5, 0.003), (10, 0), (10, 8), (5, 7.998), (0, 8)]
    assert closed(ring(points)).down == Least((1, 1, 0), 2)
    points = [(0, 0), (5, 0.03), (10, 0), (10, 8), (5, 7.97), (0, 8)]
    assert closed(ring(points)).down == Least((1, 5, 0), 6)


@given(rounds=st.integers(1, 4), start=st.integers(0, 3), along=st.sampled_from((0.0, 0.5)))
def test_rounds_without_a_lift_are_spared_one_start_only(rounds, start, along):
    """An upright square on its corner: 2 turns of each axis a round."""
    one = restarted(ring([(0, 5), (5, 0), (10, 5), (5, 10)]), start, along)
    make = Maker(at=tuple(one.start[0]))
    for depth in range(rounds):
        for row in rows_of(one):
            make.line(row[2][0], row[2][1])
        if depth + 1 < rounds:
            make.line(None, None, -2.0 - depth)
    motion = make.motion()
    (cut,) = find_cuts(motion)
    assert cut.shape is Shape.CLOSED
    (least,) = least_reversals(motion, (cut,), Job(), TOLERANCE)
    assert least.down == Least((2 * rounds - 1, 2 * rounds - 1, 0), 4 * rounds - 1)
    now = counted(motion)
    assert sum(now) >= least.down.together
    if along == 0.0:
        assert sum(now) == least.down.together


@given(
    turns=st.integers(1, 6), angle=st.floats(0.0, math.tau), more=st.sampled_from((0.0, 0.3, 1.9))
)
@example(turns=3, angle=0.0, more=0.0)
def test_no_start_of_a_helix_has_fewer(turns, angle, more):
    def helix(begin):
        make = Maker(at=(9.0 * math.cos(begin), 9.0 * math.sin(begin), 0.0))
        for _ in range(turns):
            make.arc(17, (-make.at[0], -make.at[1]), math.tau, -1.0)
        if more:
            make.arc(17, (-make.at[0], -make.at[1]), more, -0.1)
        return make.motion()

    motion = helix(angle)
    cut = Cut(0, len(motion), 0, len(motion), Shape.HELIX)
    (least,) = least_reversals(motion, (cut,), Job(), TOLERANCE)
    now = counted(motion)
    assert all(now[axis] >= least.down.by_axis[axis] for axis in range(3))
    assert sum(now) >= least.down.together
    best = [counted(helix(begin)) for begin in (0.0, math.pi / 2, -0.1, -1.0, math.pi / 2 - 0.1)]
    assert min(sum(each) for each in best) == least.down.together
    if not more:
        assert least.down == Least((2 * turns - 1, 2 * turns - 1, 0), 4 * turns - 1)


HEAD = "G21 G17 G90 G94 F300\nT1 M6\nS1500 M3\n"


def of_program(*blocks, job=None):
    motion = trace(read((HEAD + "\n".join(blocks) + "\nM2\n").encode()))
    cuts = find_cuts(motion)
    return least_reversals(motion, cuts, job or Job(), TOLERANCE)


def test_a_steepest_ramp_makes_fewer_turns_of_a_helix_possible():
    blocks = ["G0 X9 Y0", "Z1", "G1 Z0"]
    blocks += [f"G3 X9 Y0 Z-{depth} I-9" for depth in range(1, 13)]
    blocks += ["G3 X9 Y0 I-9", "G1 X8", "G0 Z5"]
    (plain,) = of_program(*blocks)
    assert plain.shape is Shape.HELIX
    assert plain.down == Least((25, 25, 0), 51)  # 12 turns and the floor
    tool = Tool(10.0, max_ramp_angle=math.atan(3.0 / (math.tau * 9.0)))  # 3 mm a turn
    (steeper,) = of_program(*blocks, job=Job({1: tool}))
    assert steeper.down == Least((9, 9, 0), 19)  # 4 turns and the floor
    drill = replace(tool, shape="drill")
    assert of_program(*blocks, job=Job({1: drill})) == (plain,)


def test_without_a_circle_at_depth_a_helix_keeps_its_turns():
    blocks = ["G0 X9 Y0", "Z1", "G1 Z0"]
    blocks += [f"G3 X9 Y0 Z-{depth} I-9" for depth in range(1, 5)]
    tool = Tool(10.0, max_ramp_angle=math.atan(3.0 / (math.tau * 9.0)))
    (least,) = of_program(*blocks, "G1 X5", "G0 Z5", job=Job({1: tool}))
    (plain,) = of_program(*blocks, "G1 X5", "G0 Z5")
    assert least == plain


def test_holes_and_passes_need_none():
    hole, straight = of_program(
        "G0 X5 Y5", "Z2", "G1 Z-3", "G0 Z2", "X-20 Y0", "G0 Z0.5", "G1 Z-1", "X80", "G0 Z5"
    )
    assert (hole.shape, straight.shape) == (Shape.HOLE, Shape.PASS)
    assert hole.down == hole.lifted == straight.down == straight.lifted == Least((0, 0, 0), 0)


def test_a_hole_that_is_left_at_feed_turns_z():
    (hole,) = of_program("G0 X5 Y5", "Z2", "G1 Z-3", "G1 Z2")
    assert hole.down == hole.lifted == Least((0, 0, 1), 1)


def test_a_raster_needs_one_for_each_pass_but_the_first_and_none_one_way():
    (raster,) = of_program(
        "G0 X0 Y0", "Z1", "G1 Z-1", "X80", "Y5", "X0", "Y10", "X80", "Y15", "X0", "G0 Z5"
    )
    assert raster.shape is Shape.RASTER
    assert raster.down == Least((3, 0, 0), 3)
    assert raster.lifted == Least((0, 0, 0), 0)


def test_of_a_surface_it_is_not_known_what_lifts_would_bring():
    (surface,) = of_program("G0 X0 Y0", "Z1", "G1 Z-1", "X5 Z-3", "X10 Z-1", "X15 Z-3", "G0 Z5")
    assert surface.shape is Shape.SURFACE
    assert surface.down == Least((0, 0, 2), 2)
    assert surface.lifted is None


# with M3 and a tool of 10 mm; the part is 40 by 40
ROUND_IT = ("X45 Y-5", "X45 Y45", "X-5 Y45", "X-5 Y-5")
TOOL = {1: Tool(10.0, "flat", 3)}
STOCK = Box((-1.0, -1.0, -3.0), (41.0, 41.0, 0.0))  # 1 mm round it


def around(way, job, down="-2"):
    goals = ROUND_IT if way > 0 else (*ROUND_IT[2::-1], ROUND_IT[3])
    blocks = [f"G1 {goal}" for goal in goals]
    (least,) = of_program("G0 X-5 Y-5", "Z1", f"G1 Z{down}", *blocks, "G0 Z5", job=job)
    assert least.shape is Shape.CLOSED
    return least


@pytest.mark.parametrize("way", [1, -1])
def test_round_the_outside_of_a_part_none_need_lie_in_the_cut(way):
    least = around(way, Job(TOOL, STOCK))
    assert least.down == Least((1, 1, 0), 2)
    assert least.lifted == Least((0, 0, 0), 0)


@pytest.mark.parametrize("way", [1, -1])
def test_a_slot_in_solid_metal_cannot_be_left(way):
    solid = Box((-30.0, -30.0, -3.0), (70.0, 70.0, 0.0))
    least = around(way, Job(TOOL, solid))
    assert least.lifted == least.down == Least((1, 1, 0), 2)


def test_without_stock_or_tool_it_is_not_known():
    assert around(1, Job()).lifted is None
    assert around(1, Job(TOOL)).lifted is None
    assert around(1, Job({}, STOCK)).lifted is None


def test_where_the_tool_touches_nothing_it_may_leave():
    air = Box((100.0, 100.0, -3.0), (140.0, 140.0, 0.0))
    assert around(1, Job(TOOL, air)).lifted == Least((0, 0, 0), 0)


@pytest.mark.parametrize("code", ["G2", "G3"])
def test_the_wall_of_a_bore_turns_the_axes_all_the_same(code):
    """Bored to 38 first, then to 40."""
    blocks = ["G0 X14 Y0", "Z1", "G1 Z-2", "G2 X14 Y0 I-14", "G0 Z5"]
    blocks += ["G0 X15 Y0", "Z1", "G1 Z-2", f"{code} X15 Y0 I-15", "G0 Z5"]
    solid = Box((-30.0, -30.0, -3.0), (30.0, 30.0, 0.0))
    bore = of_program(*blocks, job=Job(TOOL, solid))[-1]
    assert bore.down == Least((1, 1, 0), 3)
    assert bore.lifted == Least((1, 1, 0), 3)


def test_notches_keep_their_turns_and_the_rest_of_the_outline_loses_them():
    """A part with a waist, milled from the stock all round and then to size.

    X turns twice at each side and once at the foot of each notch, and there the wall lies ahead.
    One of them may be where the contour begins.
    """

    def outline(by):
        points = [(65 + by, -5 - by), (57 + by, 30), (65 + by, 65 + by)]
        points += [(-5 - by, 65 + by), (3 - by, 30), (-5 - by, -5 - by)]
        way = [f"G1 X{x} Y{y}" for x, y in points]
        return [f"G0 X{points[-1][0]} Y{points[-1][1]}", "Z1", "G1 Z-2", *way, "G0 Z5"]

    solid = Box((-30.0, -30.0, -3.0), (90.0, 90.0, 0.0))
    rough, finish = of_program(*outline(1.5), *outline(0.0), job=Job(TOOL, solid))
    assert rough.down == finish.down == Least((5, 1, 0), 6)
    assert rough.lifted == rough.down  # a slot
    assert finish.lifted == Least((1, 0, 0), 1)


def test_a_contour_under_the_resolution_of_everything_is_no_crash():
    tiny = ring([(0.0, 0.0), (0.001, 0.0), (0.001, 0.001)])
    assert closed(tiny).down == Least((0, 0, 0), 0)
    assert Kind.LINE in tiny.kind


def test_a_helix_within_a_surface_may_do_with_fewer_turns():
    """What goes on down behind its floor makes it a surface."""
    down = [f"G3 X9 Y0 Z-{depth} I-9" for depth in range(1, 13)]
    blocks = ["G0 X9 Y0", "Z1", "G1 Z0", *down, "G3 X9 Y0 I-9", "G1 X20 Z-14", "X30 Z-12"]
    blocks += ["G0 Z5"]
    tool = Tool(10.0, max_ramp_angle=math.atan(3.0 / (math.tau * 9.0)))  # 3 mm a turn
    (plain,) = of_program(*blocks)
    (steeper,) = of_program(*blocks, job=Job({1: tool}))
    assert plain.shape is steeper.shape is Shape.SURFACE
    # 13 turns, begun where X turns; and Z once
    assert plain.down == Least((25, 26, 1), 52)
    # 4 turns for 12: each turn has two of X and two of Y
    assert steeper.down == Least((9, 10, 1), 20)
    # a helix elsewhere spares this cut nothing
    elsewhere = ["G0 X99 Y0", "Z1", "G1 Z0", "X120 Z-14", "X130 Z-12", "G0 Z5"]
    assert of_program(*blocks, *elsewhere, job=Job({1: tool}))[1].down == Least((0, 0, 1), 1)
    assert of_program(*elsewhere, *blocks, job=Job({1: tool}))[0].down == Least((0, 0, 1), 1)


def test_a_helix_no_wider_than_the_tolerance_need_not_turn():
    blocks = ["G0 X0 Y0", "Z1", "G1 Z0", "G3 X0 Y0 Z-1 I-0.001", "G3 X0 Y0 Z-2 I-0.001", "G0 Z5"]
    (least,) = of_program(*blocks)
    assert least.shape is Shape.HELIX
    assert least.down == least.lifted == Least((0, 0, 0), 0)


def test_a_helix_through_the_air_may_be_left_anywhere():
    blocks = ["G0 X109 Y0", "Z1", "G1 Z0", "G3 X109 Y0 Z-1 I-9", "G3 X109 Y0 Z-2 I-9", "G0 Z5"]
    stock = Box((0.0, 0.0, -10.0), (40.0, 40.0, 0.0))
    (least,) = of_program(*blocks, job=Job({1: Tool(10.0)}, stock=stock))
    assert least.shape is Shape.HELIX
    assert least.down == Least((3, 3, 0), 7)
    assert least.lifted == Least((0, 0, 0), 0)


def test_no_helix_is_taken_to_be_steeper_than_45_degrees():
    blocks = ["G0 X1 Y0", "Z1", "G1 Z0"]
    blocks += [f"G3 X1 Y0 Z-{depth} I-1" for depth in range(1, 13)]
    blocks += ["G3 X1 Y0 I-1", "G0 Z5"]
    tool = Tool(20.0, max_ramp_angle=math.radians(60.0))  # half its diameter is more
    (least,) = of_program(*blocks, job=Job({1: tool}))
    # 12 mm at 2 pi mm a turn, and the floor: 2.91 turns, 5.8 half turns
    assert least.down == Least((5, 5, 0), 11)


def test_with_metal_now_on_one_side_and_now_on_the_other_nothing_is_known():
    """Along the near edge to the right, round the part through the air, along the far edge."""
    blocks = ["G0 X0 Y-3", "Z1", "G1 Z-1", "X60", "Y60", "X-20", "Y43", "X40", "G0 Z5"]
    stock = Box((0.0, 0.0, -10.0), (40.0, 40.0, 0.0))
    (least,) = of_program(*blocks, job=Job({1: Tool(10.0)}, stock=stock))
    assert least.shape is Shape.OPEN
    assert least.lifted is None
    # along the near edge alone the metal is on the left
    alone = ["G0 X0 Y-3", "Z1", "G1 Z-1", "X40", "X43 Y0", "Y40", "G0 Z5"]
    (least,) = of_program(*alone, job=Job({1: Tool(10.0)}, stock=stock))
    assert least.lifted == Least((0, 0, 0), 0)
