"""The height field against closed forms, areas by shapely, and dense sampling."""

from __future__ import annotations

import tracemalloc
from math import pi, sqrt, tan

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from known_mill import KNOWN
from shapely.geometry import LineString, Point

from gpre.geometry.path import Moves
from gpre.mill.job import Tool
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.source.text import SourceText
from gpre.stock.cutter import Cutter
from gpre.stock.field import NOBODY, Field, Grid
from gpre.stock.machine import SPREAD, Bench, SweptWay, Taken, machine
from gpre.stock.sweep import sweep, sweep_straight

HEAD = "G21 G90 G17 G94\nF300\n"


def motion_of(text: str) -> Motion:
    return trace(read(SourceText.of((HEAD + text).encode(), "part")), KNOWN.controller)


def cut(text: str, tool: Tool, cell: float, *, size: float = 60.0) -> tuple[Motion, Field, Taken]:
    """Run a program on metal up to Z0, from -size/2 to size/2 in X and Y."""
    motion = motion_of(text)
    count = int(size / cell)
    field = Field.level(Grid((-size / 2, -size / 2), cell, (count, count)), 0.0)
    taken = Taken.nothing(len(motion))
    frame = np.zeros(len(motion), np.int64)
    rows = np.arange(len(motion), dtype=np.intp)
    machine(motion, rows, Bench({0: field}, frame, {0: Cutter.of(tool)}, taken))
    return motion, field, taken


def cell_error(rim: float, depth: float, cell: float) -> float:
    """Each cell along a rim is counted or not: half a cell on either side of it at the most."""
    return rim * depth * cell / 2.0


def test_a_slot_has_the_volume_of_its_closed_form():
    _, field, taken = cut("G0 X-10 Y0\nG0 Z5\nG1 Z-2\nX10\n", Tool(6.0), 0.1)
    area = 6.0 * 20.0 + pi * 9.0  # a rectangle and two half discs
    assert taken.volume.sum() == pytest.approx(
        2.0 * area, abs=cell_error(2 * 20 + 6 * pi, 2.0, 0.1)
    )
    assert -field.top.sum() * 0.1**2 == pytest.approx(taken.volume.sum())
    by_shapely = LineString([(-10, 0), (10, 0)]).buffer(3.0, quad_segs=256).area
    assert by_shapely == pytest.approx(area, rel=1e-4)
    assert taken.depth[-1] == pytest.approx(2.0)
    assert taken.width[-1] == pytest.approx(6.0, abs=1e-6)


def test_a_round_pocket_has_the_area_that_shapely_gives():
    text = "G0 X10 Y0\nG0 Z5\nG1 Z-3\nG3 X10 Y0 I-10 J0\nG3 X-10 Y0 I-10 J0\nG1 X-4 Y2\n"
    _, field, taken = cut(text, Tool(8.0), 0.1)
    ring = (
        Point(0, 0).buffer(14.0, quad_segs=512).difference(Point(0, 0).buffer(6.0, quad_segs=512))
    )
    area = ring.union(LineString([(-10, 0), (-4, 2)]).buffer(4.0, quad_segs=256)).area
    rim = 2.0 * pi * (14.0 + 6.0) + 2 * 6.4
    assert taken.volume.sum() == pytest.approx(3.0 * area, abs=cell_error(rim, 3.0, 0.1))
    assert (field.top < 0).sum() * 0.01 == pytest.approx(area, abs=cell_error(rim, 1.0, 0.1))


def test_a_ball_leaves_the_scallops_of_the_handbook():
    # height of the cusp between passes s apart: r - sqrt(r² - s²/4), by Pythagoras; handbooks have
    # it too (from memory)
    s, r = 1.0, 3.0
    lines = "".join(f"G0 Z5\nG0 X-15 Y{y}\nG1 Z-1\nG1 X15\n" for y in np.arange(-10, 11, s))
    _, field, _ = cut(lines, Tool(2 * r, "ball"), 0.05, size=12.0)
    cusp = field.top.max() + 1.0
    assert field.top.min() == pytest.approx(-1.0, abs=(0.025**2) / (2 * r) + 1e-6)
    wanted = r - sqrt(r**2 - s**2 / 4.0)
    steep = (s / 2) / sqrt(r**2 - s**2 / 4)
    assert wanted - 0.025 * steep - 1e-3 <= cusp <= wanted + 1e-9


def test_pointed_tools_cut_cones():
    _, field, taken = cut("G0 X0 Y0\nG0 Z5\nG1 Z-3\n", Tool(20.0, "vee"), 0.05, size=12.0)
    # 90 degrees: as deep as the radius of the cone
    assert taken.volume.sum() == pytest.approx(pi * 3.0**3 / 3.0, rel=1e-4)
    _, field, taken = cut("G0 X0 Y0\nG0 Z5\nG1 Z-8\n", Tool(5.0, "drill"), 0.05, size=12.0)
    tip = 2.5 / np.tan(np.radians(59.0))
    closed = pi * 2.5**2 * (8.0 - tip) + pi * 2.5**2 * tip / 3.0
    assert taken.volume.sum() == pytest.approx(closed, rel=1e-3)  # the rim, in cells of 0.05 mm
    assert field.by.min() == NOBODY


def test_climbing_metal_lies_on_the_right():
    # which side climbs: by omega x r in tests/reversals/test_milling_side.py; that it is the right
    # with M3 is common practice, no source
    # a pass along the lower edge of metal that begins at Y0: towards +X it lies on the left
    wide = "G0 X-25 Y-4\nG0 Z5\nG1 Z-1\nG1 X25\nG1 X20\nY-2\nX-20\n"
    _, _, taken = cut(wide, Tool(6.0), 0.1)
    back = int(np.flatnonzero(taken.volume)[-1])
    assert taken.right[back] / taken.volume[back] > 0.9  # going to -X what is new lies at +Y
    assert taken.width[back] == pytest.approx(2.0, abs=1e-6)


def test_the_point_and_the_corner_are_those_of_the_job():
    # a cone of the angle e is r / tan(e/2) high: closed form
    _, field, _ = cut(
        "G0 X0 Y0\nG0 Z5\nG1 Z-8\n", Tool(5.0, "drill", point_angle=2.0), 0.05, size=12.0
    )
    assert np.where(field.top < 0.0, field.top, -9.0).max() == pytest.approx(
        -8.0 + 2.5 / tan(1.0), abs=0.05
    )
    # a slot of a bull-nose tool lacks what its corners leave: r² (1 - pi/4) on each side
    for corner in (0.5, 2.0):
        tool = Tool(6.0, "bull", corner_radius=corner)
        _, field, _ = cut("G0 X-28 Y0\nG0 Z5\nG1 Z-3\nX28\n", tool, 0.05, size=12.0)
        area = -field.top[:, 120].sum() * 0.05
        assert area == pytest.approx(6.0 * 3.0 - 2 * corner**2 * (1 - pi / 4), abs=0.05 * 3.0)


SHAPES = st.sampled_from(["flat", "ball", "bull", "vee", "drill"])
NUMBER = st.floats(-6, 6).map(lambda value: round(value, 2))


@given(SHAPES, *(NUMBER for _ in range(5)), st.floats(-5, -0.5), st.booleans())
def test_a_sweep_is_what_dense_sampling_finds(shape, x0, y0, x1, y1, dip, z0, grown):
    text = f"G0 X{x0} Y{y0}\nG0 Z10\nG1 Z{z0:.3f}\nG1 X{x1} Y{y1} Z{z0 + dip / 3:.3f}\n"
    motion = motion_of(text)
    row = len(motion) - 1
    cutter = Cutter.of(Tool(4.0, shape)).grown(0.1 if grown else 0.0)
    field = Field.level(Grid((-10.0, -10.0), 0.5, (40, 40)), 100.0)
    found = np.full(field.top.shape, np.inf)
    for piece in sweep(field, motion, row, cutter):
        found[piece.window] = np.minimum(found[piece.window], piece.height)
    t = np.linspace(0.0, 1.0, 4001)[:, None]
    start, end = motion.start[row], motion.end[row]
    point = start + t * (end - start)
    wanted = np.full(field.top.shape, np.inf)
    for at, y in enumerate(field.y):
        square = (field.x[None] - point[:, :1]) ** 2 + (y - point[:, 1:2]) ** 2
        height = cutter.height(square) + point[:, 2:] - cutter.drop
        wanted[at] = height.min(axis=0)
    step = float(np.linalg.norm(end - start)) / 4000
    edge = 0.02 + 3.0 * step  # near its rim the samples miss what is swept
    both = np.isfinite(found) & np.isfinite(wanted)
    # a steep side multiplies what a step to either side makes
    assert (found[both] <= wanted[both] + 1e-9).all()
    inner = both & _within(field, start, end, cutter.radius - edge)
    assert np.abs(found[inner] - wanted[inner]).max(initial=0.0) <= 0.05
    assert not np.isfinite(found[~_within(field, start, end, cutter.radius + 1e-9)]).any()
    assert np.isfinite(found[_within(field, start, end, cutter.radius - 1e-9)]).all()


def _within(field: Field, start, end, radius: float):
    way = LineString([start[:2], end[:2]]) if np.any(start[:2] != end[:2]) else Point(start[:2])
    return np.array([[way.distance(Point(x, y)) <= radius for x in field.x] for y in field.y])


@given(
    st.sampled_from(["flat", "ball", "vee"]),
    st.floats(1.0, 6.0),
    st.floats(0.0, 2 * pi),
    st.floats(0.1, 6.2),
    st.booleans(),
)
def test_a_level_arc_is_what_its_chords_make(shape, radius, begin, turn, left):
    way = 1.0 if left else -1.0
    angles = begin + way * np.linspace(0.0, turn, 400)
    points = radius * np.column_stack((np.cos(angles), np.sin(angles)))
    (x0, y0), (x1, y1) = points[0], points[-1]
    code = "G3" if left else "G2"
    text = (
        f"G0 X{x0:.6f} Y{y0:.6f}\nG0 Z5\nG1 Z-2\n{code} X{x1:.6f} Y{y1:.6f} I{-x0:.6f} J{-y0:.6f}\n"
    )
    motion = motion_of(text)
    row = len(motion) - 1
    cutter = Cutter.of(Tool(3.0, shape))
    field = Field.level(Grid((-10.0, -10.0), 0.5, (40, 40)), 0.0)
    found = np.full(field.top.shape, np.inf)
    for piece in sweep(field, motion, row, cutter):
        found[piece.window] = np.minimum(found[piece.window], piece.height)
    line = LineString(points)
    distance = np.array([[line.distance(Point(x, y)) for x in field.x] for y in field.y])
    wanted = cutter.height(distance**2) - 2.0
    near = np.abs(distance - cutter.radius) < 1e-2
    assert (np.isfinite(found) == np.isfinite(wanted))[~near].all()
    both = np.isfinite(found) & np.isfinite(wanted) & ~near
    assert np.abs(found[both] - wanted[both]).max(initial=0.0) <= 2e-2


@example(radius=2.0, begin=1.0, turn=1.0, way=-1.0, rise=-1.5, more=2, wider=0.0)
@given(
    st.floats(0.3, 6.0),
    st.floats(0.0, 2 * pi),
    st.floats(0.1, 2 * pi),
    st.sampled_from([-1.0, 1.0]),
    st.sampled_from([-1.5, -0.2, 0.4, 1.5]),
    st.sampled_from([0, 2]),
    st.sampled_from([0.0, 0.001]),
)
def test_a_flat_tool_on_a_helix_passes_where_dense_sampling_finds_it(
    radius, begin, turn, way, rise, more, wider
):
    sweep_by = way * (turn + 2 * pi * more)
    t = np.linspace(0.0, 1.0, 3001 * (more + 1))[:, None]
    angle, far = begin + sweep_by * t, radius + wider * t
    point = np.hstack((far * np.cos(angle), far * np.sin(angle), -3.0 + rise * t))
    centre = np.array([[0.0, 0.0, -3.0]])
    move = Moves(point[:1], point[-1:], centre, np.array([sweep_by]), np.array([17], np.uint8))
    cutter = Cutter.of(Tool(4.0))
    field = Field.level(Grid((-10.0, -10.0), 0.8, (25, 25)), 100.0)
    found = np.full(field.top.shape, np.inf)
    for piece in sweep(field, move, 0, cutter):
        found[piece.window] = np.minimum(found[piece.window], piece.height)
    # a little greater it passes a little longer over each place, a little less not so long
    lower, higher = (np.full(field.top.shape, np.inf) for _ in range(2))
    for at, y in enumerate(field.y):
        off = np.hypot(field.x[None] - point[:, :1], y - point[:, 1:2])
        for heights, size in ((lower, 2.005 + wider), (higher, 1.995 - wider)):
            heights[at] = np.where(off <= size, point[:, 2:], np.inf).min(axis=0)
    step = 2.0 * abs(rise) / len(t)
    assert (found >= lower - step).all()
    assert (found <= higher + step).all()
    assert np.isfinite(higher).any()


def test_a_helix_takes_evenly_what_its_turns_come_to():
    text = "G0 X5 Y0\nG0 Z5\nG1 Z0\n" + "".join(
        f"G3 X5 Y0 Z{-0.5 * turn} I-5 J0\n" for turn in range(1, 5)
    )
    motion, _, taken = cut(text, Tool(4.0), 0.1, size=20.0)
    bite = taken.bite[motion.sweep != 0.0]
    # from the second turn on: for each mm of the way what it falls there, as wide as the ring
    whole = pi * (7.0**2 - 3.0**2) * 0.5 / float(np.hypot(10.0 * pi, 0.5))
    # over a window of the way: a row of cells on either side of the ring, 0.1 of 4 mm, is 2.5 %
    assert bite[1:] == pytest.approx(whole, rel=0.06)
    assert bite[0] <= whole * 1.06
    assert taken.volume[motion.sweep != 0.0][1:] == pytest.approx(
        pi * (7.0**2 - 3.0**2) * 0.5, abs=cell_error(2 * pi * 10, 0.5, 0.1)
    )


def test_a_helix_is_cut_as_deep_as_it_leads():
    text = "G0 X5 Y0\nG0 Z5\nG1 Z0\nG3 X5 Y0 Z-1 I-5 J0\nG3 X5 Y0 I-5 J0\n"
    _, field, taken = cut(text, Tool(4.0), 0.1, size=20.0)
    area = pi * (7.0**2 - 3.0**2)
    assert taken.volume.sum() == pytest.approx(area, abs=cell_error(2 * pi * 10, 1.0, 0.1))
    assert field.top.min() == pytest.approx(-1.0)
    assert taken.depth.max() <= 1.0 + 1e-9


@given(
    SHAPES,
    st.lists(st.tuples(NUMBER, NUMBER, st.floats(-3, -1)), min_size=2, max_size=8),
    st.booleans(),
)
def test_many_moves_swept_together_are_as_each_alone(shape, places, grown):
    lines = "".join(f"G1 X{x} Y{y} Z{z:.3f}\n" for x, y, z in places)
    motion = motion_of("G0 X0 Y0\nG0 Z5\nG1 Z-1\n" + lines)
    way = np.abs(motion.end - motion.start)[:, :2].max(axis=1)
    rows = np.flatnonzero(motion.at_feed & (way > 0.0))
    cutter = Cutter.of(Tool(3.0, shape)).grown(0.1 if grown else 0.0)
    field = Field.level(Grid((-9.0, -9.0), 0.5, (36, 36)), 0.0)
    together = sweep_straight(field, motion.start[rows], motion.end[rows], cutter)
    for row, one in zip(rows.tolist(), together, strict=True):
        whole, alone = (np.full(field.top.shape, np.inf) for _ in range(2))
        whole[one.window] = one.height
        for piece in sweep(field, motion, row, cutter):
            alone[piece.window] = np.minimum(alone[piece.window], piece.height)
        assert (np.isfinite(whole) == np.isfinite(alone)).all()
        both = np.isfinite(alone)
        assert np.abs(whole[both] - alone[both]).max(initial=0.0) <= 1e-9


def test_a_bite_in_a_slot_is_its_depth_by_its_width():
    _, _, taken = cut("G0 X-20 Y0\nG0 Z5\nG1 Z-2\nX20\n", Tool(6.0), 0.1)
    assert taken.bite[-1] == pytest.approx(12.0, rel=0.006)  # mm² for each mm of the way


taken_at = st.lists(
    st.tuples(st.floats(0.0, 30.0), st.lists(st.tuples(st.floats(0.0, 40.0), st.floats(0.1, 5.0)))),
    min_size=1,
    max_size=8,
)


@given(taken_at)
def test_bites_are_the_fullest_stretches_of_the_way(
    pieces: list[tuple[float, list[tuple[float, float]]]],
) -> None:
    cell, along, at, spans = 0.5, np.zeros(1000), 0.0, []
    way = SweptWay(Taken.nothing(len(pieces)))
    for row, (length, chips) in enumerate(pieces):
        first, thick = (np.array([chip[which] for chip in chips], float) for which in (0, 1))
        way.go(row, length, cell, first, thick)
        for one, chip in zip(first, thick, strict=True):
            along[int((at + min(one, length)) / cell)] += chip * cell / SPREAD
        spans.append((int(at / cell), int((at + length) / cell)))
        at += length
    way.leave()
    stretch = np.convolve(along, np.ones(SPREAD))[SPREAD - 1 :]  # from each cell on
    expected = [stretch[max(low - SPREAD + 1, 0) : high + 1].max() for low, high in spans]
    assert way.taken.bite.tolist() == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("far", ["99999999", "99999999999999999999999"])
def test_a_way_out_of_this_world_takes_little_room(far: str) -> None:
    text = f"G0 X-20 Y0\nG0 Z5\nG1 Z-2\nX0\nX20 Z{far}\n"
    tracemalloc.start()
    try:
        _, _, taken = cut(text, Tool(6.0), 0.1)
        greatest = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert taken.bite[-2] == pytest.approx(12.0, rel=0.006)
    assert greatest < 100e6
