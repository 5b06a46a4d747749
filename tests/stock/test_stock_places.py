"""Where the metal lies on the cells, and what a move finds there; against closed forms."""

from __future__ import annotations

import re
from math import radians, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from known_mill import KNOWN

from gpre.geometry.path import Moves
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.proof.metal.local import grid_round
from gpre.proof.metal.raw import Raw
from gpre.proof.metal.stock_pair import run_both
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field, Grid
from gpre.stock.machine import Bench, SweptWay, Taken, machine
from gpre.stock.sweep import sweep

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"
STOCK = Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0))
JOB = Job({1: Tool(6.0, flutes=2)}, STOCK)


def pair_of(before: str, after: str, job: Job = JOB, head: str = HEAD) -> Pair:
    sides = (
        Side.of(SourceText.of(f"{head}{text}M30\n".encode()), KNOWN) for text in (before, after)
    )
    return Pair(*sides, KNOWN, job)


def told(name: str, before: str, after: str, job: Job = JOB) -> Obligation:
    texts = (SourceText.of(f"{HEAD}{text}M30\n".encode()) for text in (before, after))
    return next(each for each in prove(*texts, Mill(), job).obligations if each.name == name)


def run(*places: tuple[float, float], z: float = -2.0, feed: int = 300) -> str:
    (x, y), *others = places
    moves = "".join(f"G1 X{x:g} Y{y:g} F{feed}\n" for x, y in others)
    return f"G0 X{x:g} Y{y:g}\nG0 Z1\nG1 Z{z:g} F100\n{moves}G0 Z5\n"


# --- cells ---------------------------------------------------------------------------------------


def test_a_cell_is_told_by_its_middle() -> None:
    x, y = Grid((-1.0, 2.0), 0.5, (2, 3)).centres()
    assert x.tolist() == [-0.75, -0.25, 0.25]
    assert y.tolist() == [2.25, 2.75]


@given(
    st.sampled_from([0.2, 1.0, 3.0]), st.tuples(*[st.floats(-20.0, 80.0)] * 2),
    st.tuples(*[st.floats(0.0, 30.0)] * 2),
)  # fmt: skip
def test_the_window_of_an_area_holds_every_cell_in_it(
    cell: float, low: tuple[float, float], size: tuple[float, float]
) -> None:
    grid = Grid((-5.0, 10.0), cell, (int(40 / cell), int(60 / cell)))
    rows, columns = Field.level(grid, 0.0).window(low, (low[0] + size[0], low[1] + size[1]))
    for axis, window in ((0, columns), (1, rows)):
        inside = np.abs(grid.centres()[axis] - low[axis] - size[axis] / 2.0) <= size[axis] / 2.0
        found = np.zeros(len(inside), bool)
        found[window] = True
        assert not (inside & ~found).any()
        # nor much more: this is what keeps a short move over a large part quick
        assert np.count_nonzero(found) <= size[axis] / cell + 5


@pytest.mark.parametrize("cell", [0.07, 0.5, 3.0])
def test_fine_cells_cover_an_area_and_a_cell_round_it(cell: float) -> None:
    least, greatest = np.array([-3.0, 10.0]), np.array([2.0, 11.3])
    grid = grid_round(least, greatest, cell)
    low = np.array(grid.low)
    high = low + grid.cell * np.array(grid.shape)[::-1]
    assert low == pytest.approx(least - cell)
    assert (high >= greatest + cell - 1e-9).all()
    assert (high < greatest + 2.0 * cell + 1e-9).all()


def test_a_tool_over_more_cells_than_go_together_still_cuts() -> None:
    """A disc of 3 mm and a short way of 0.5 mm: pi r² + 2 r s."""
    field = Field.level(Grid((-5.0, -5.0), 0.02, (500, 500)), 0.0)
    text = "G21 G90\nG0 X0 Y0\nG0 Z5\nG1 Z-1 F100\nG1 X0.5\n"
    motion = Side.of(SourceText.of(text.encode()), KNOWN).motion
    taken = Taken.nothing(len(motion))
    frame = np.zeros(len(motion), np.int64)
    bench = Bench({0: field}, frame, {0: Cutter.of(Tool(6.0))}, taken)
    machine(motion, np.array([2, 3], np.intp), bench)
    assert taken.volume.sum() == pytest.approx(np.pi * 9.0 + 6.0 * 0.5, rel=1e-3)


@pytest.mark.parametrize("corner", [0.3, 1.0, 1.7, 1.95])
@pytest.mark.parametrize("drop", [-6.0, -1.0, 4.0])
def test_a_bull_nose_on_a_slope_passes_where_dense_sampling_finds_it(
    corner: float, drop: float
) -> None:
    cutter = Cutter.of(Tool(4.0, "bull", corner_radius=corner))
    start, end = np.array([-4.0, -3.0, 2.0]), np.array([3.0, 2.0, 2.0 + drop])
    none = np.zeros(1)
    move = Moves(start[None], end[None], start[None], none, np.array([17], np.uint8))
    field = Field.level(Grid((-8.0, -8.0), 0.5, (32, 32)), 100.0)
    found = np.full(field.top.shape, np.inf)
    for piece in sweep(field, move, 0, cutter):
        found[piece.window] = np.minimum(found[piece.window], piece.height)
    point = start + np.linspace(0.0, 1.0, 6001)[:, None] * (end - start)
    wanted = np.array(
        [
            [
                (cutter.height(((point[:, :2] - (x, y)) ** 2).sum(axis=1)) + point[:, 2]).min()
                for x in field.x
            ]
            for y in field.y
        ]
    )
    both = np.isfinite(wanted)
    assert (found[both] <= wanted[both] + cutter.drop + 1e-9).all()
    # under the middle of the tool, where no sample misses the rim
    off = np.abs((field.x[None] + 4.0) * 5.0 - (field.y[:, None] + 3.0) * 7.0) / 74.0**0.5
    middle = both & (off < 1.5) & (np.abs(field.x) < 2.0)[None]
    assert np.count_nonzero(middle) > 20
    assert np.abs(found[middle] - wanted[middle] + cutter.drop).max() <= 2e-3


# --- what stands at first ------------------------------------------------------------------------


def test_without_stock_or_rapids_metal_stands_as_high_as_the_program_feeds() -> None:
    head = "G21 G90 G17 G94\nS3000 M3\n"
    for high, top in ((7.0, 7.0), (-1.0, 0.0)):
        text = f"G1 X0 Y0 Z{high:g} F300\nX20 Z-2\nX30\n"
        raw = Raw.of(pair_of(text, f"{text}X1\n", Job({0: Tool(6.0)}), head))
        assert [*raw.tops.values()] == [top]
        assert raw.box is None


def test_without_a_stock_metal_stands_as_high_as_rapids_run() -> None:
    text = "G0 Z3\n" + run((0, 0), (20, 0)).replace("Z5", "Z3")
    raw = Raw.of(pair_of(text, text + "G0 X1\n", Job(JOB.tools)))
    assert [*raw.tops.values()] == [3.0]


def test_rapids_before_the_first_tool_need_none() -> None:
    text = "T1 M6\n" + run((-5, 20), (65, 20))
    pair = pair_of(
        text, text.replace("X65", "X30 F300\nX65"), head="G21 G90 G94\nS3000 M3\nG0 Z5\n"
    )
    assert 0 in pair.after.tool[pair.after.rapids]
    assert run_both(pair).after.volume.sum() == pytest.approx(60.0 * 6.0 * 2.0, rel=0.07)


# --- what is told --------------------------------------------------------------------------------


def test_a_light_cut_behind_a_heavy_one_takes_what_it_takes() -> None:
    """v_f a_p a_e / (n z): 6 by 2 mm at 100 mm/min, then 0.5 by 2 mm, soon at 600 mm/min."""
    heavy = "G0 X-5 Y20\nG0 Z1\nG1 Z-2 F100\nG1 X{0}50 F100\nG1 Y20.5\nG1 X40\nG1 X5 F600\nG0 Z5\n"
    found = told("material per tooth", heavy.format(""), heavy.format("30\nX"))
    assert found.holds
    was, now = (float(each) for each in re.findall(r"T1 (\S+) to (\S+) mm³", found.figure)[0])
    assert was == pytest.approx(12.0 * 100.0 / 3000.0 / 2.0, rel=0.08)
    assert now == pytest.approx(was, rel=0.01)


@pytest.mark.parametrize("name", ["material per tooth", "depth of cut"])
def test_where_the_original_takes_nothing_no_block_of_it_is_named(name: str) -> None:
    above, deep = run((0, 20), (60, 20), z=0.5), run((0, 20), (60, 20))
    fault = told(name, above, deep)
    assert not fault.holds
    assert fault.before is None
    assert fault.after is not None
    assert told(name, run((0, 20), (60, 20), z=-1.0), deep).before is not None


def test_what_a_ramp_may_take_is_what_its_stated_angle_makes() -> None:
    """40 mm long at 1.5 degrees, 6 wide, 200 mm/min, 3000 per minute; a twentieth for the cells."""
    job = Job({1: Tool(6.0, flutes=2, max_ramp_angle=radians(1.5))}, STOCK)
    # a helix before it, of 0.66 mm per turn at that angle, has nothing to do with it
    helix = "G0 X34 Y8\nG0 Z0\nG3 Z-0.5 I-4 J0 F200\nG3 I-4 J0\nG0 Z5\n"
    slot = helix + run((5, 20), (55, 20), z=-1.0, feed=100)
    lower = "G0 X10 Y20\nG0 Z0\nG1 Z-1 F100\nX50 Z-2 F200\nX10\nG0 Z5\n"
    fault = told("ramp load", slot + lower, helix + lower + slot.removeprefix(helix), job)
    assert not fault.holds
    per_turn = 40.0 * tan(radians(1.5)) * 6.0 * 200.0 / 3000.0
    assert fault.limit == pytest.approx(per_turn * 1.05)
    assert f"ramp angle of 1.5 degrees makes {per_turn * 1.05 / 2:.3g}" in fault.figure


def test_metal_that_the_original_meets_at_rapid_is_told_as_deep_as_it_is() -> None:
    # back through the slot it touches nothing; then it runs 0.5 mm below its floor
    slot = "G0 X-10 Y20\nG0 Z-1\nG1 X70 F300\nG0 X-10\nG0 Z5\n"
    none = told("rapid into material", slot, slot.replace("G1 X70", "G1 X30 F300\nX70"))
    assert none.holds
    assert none.figure.endswith("rapids, none touches material")
    through = slot + "G0 Z-1.5\nG0 X0\nG0 Z5\n"
    some = told("rapid into material", through, through.replace("G1 X70", "G1 X30 F300\nX70"))
    assert some.holds
    deep = re.findall(r"; the original's own meets (\S+) mm$", some.figure)
    # less the tolerance by which the tools of the original are taken greater
    assert [float(each) for each in deep] == [pytest.approx(0.5 - 0.0025, abs=6e-4)]


def test_what_climbs_is_noted_once_with_a_greater_tool_and_once_with_a_lesser() -> None:
    """Half of a slot: 60 long, 3 wide, 2 deep (definition); a row of cells lies on neither side."""
    text = run((-5, 20), (65, 20))
    pair = pair_of(text, text.replace("X65", "X30 F300\nX65"))
    found = run_both(pair, np.ones(len(pair.after.motion), bool)).sides
    assert found is not None
    for logs in (found.most, found.least):
        (number,) = logs
        chips = logs[number].chips()
        cell = found.cells[number][0].grid.cell
        volume = float((chips.high - chips.low).sum()) * cell**2
        assert volume == pytest.approx(360.0, abs=60.0 * 2.0 * cell)
    assert found.least is not found.most


def test_what_only_one_program_cuts_from_a_zero_is_left_or_taken_too_much() -> None:
    first, second = run((-5, 20), (65, 20)), "G55\n" + run((-5, 10), (25, 10))
    both, one = first + second, first + "G55\nG0 X1\n"
    for before, after in ((both, one), (one, both)):
        found = run_both(pair_of(before, after))
        assert found.higher is not None
        assert found.deeper is not None
        left, worse = found.higher, found.deeper
        if after == both:
            left, worse = worse, left
        assert left.much >= 2.0 - 0.003  # the slot; more where metal is taken to stand higher
        assert worse.much <= 0.0
        assert abs(left.place[1] - 10.0) < 3.0


@pytest.mark.parametrize(
    ("short", "far"),
    [
        (run((-5, 20), (20, 20)), run((-5, 20), (65, 20))),
        (run((65, 20), (40, 20)), run((65, 20), (-5, 20))),
        (run((30, -5), (30, 10)), run((30, -5), (30, 45))),
        (run((30, 45), (30, 30)), run((30, 45), (30, -5))),
    ],
)
def test_all_that_either_program_reaches_is_looked_at(short: str, far: str) -> None:
    """A slot through the whole stock, 60 or 40 mm long, 6 wide, 2 deep (definition)."""
    volume = (60.0 if "X65" in far else 40.0) * 6.0 * 2.0
    for before, after in ((short, far), (far, short)):
        found = run_both(pair_of(before, after))
        longer = found.after if after == far else found.before
        assert longer.volume.sum() == pytest.approx(volume, rel=0.07)


def test_a_bite_is_taken_over_four_cells_of_the_way() -> None:
    taken = Taken.nothing(1)
    way = SweptWay(taken)
    way.go(0, 10.0, 0.5, np.array([2.1, 2.2, 6.2]), np.array([1.0, 2.0, 1.5]))
    way.leave()
    # 3 mm thick over one cell of 0.5 mm, and nothing on the next three
    assert taken.bite.tolist() == [3.0 * 0.5 / 4.0]


@pytest.mark.parametrize("plane", [18, 19])
@pytest.mark.parametrize("shape", ["flat", "ball"])
@pytest.mark.parametrize(("begin", "turn"), [(3.3, 2.7), (-0.4, 0.8), (2.0, 2.0 * np.pi)])
def test_an_arc_that_stands_upright_passes_where_dense_sampling_finds_it(
    plane: int, shape: str, begin: float, turn: float
) -> None:
    """A circle of 5 mm in ZX (G18) or YZ (G19), whichever way round; some chords go straight up."""
    first, second = ((2, 0), (1, 2))[plane - 18]
    # the angle from +X in ZX, from +Y in YZ
    angle = begin + turn * np.linspace(0.0, 1.0, 8001)
    point = np.zeros((len(angle), 3))
    point[:, first if plane == 19 else second] = 5.0 * np.cos(angle)
    point[:, second if plane == 19 else first] = 5.0 * np.sin(angle)
    way = turn if plane == 19 else -turn
    move = Moves(
        point[:1], point[-1:], np.zeros((1, 3)), np.array([way]), np.array([plane], np.uint8)
    )
    cutter = Cutter.of(Tool(4.0, shape))
    field = Field.level(Grid((-8.0, -8.0), 0.8, (20, 20)), 100.0)
    found, wanted = (np.full(field.top.shape, np.inf) for _ in range(2))
    for piece in sweep(field, move, 0, cutter):
        found[piece.window] = np.minimum(found[piece.window], piece.height)
    wider = wanted.copy()
    for at, y in enumerate(field.y):
        square = (field.x[None] - point[:, :1]) ** 2 + (y - point[:, 1:2]) ** 2
        wanted[at] = (cutter.height(square) + point[:, 2:]).min(axis=0)
        wider[at] = (cutter.height(square * 0.998) + point[:, 2:]).min(axis=0)
    # chords leave the arc by 0.0002 mm, and a little farther out the samples pass sooner
    assert (found >= wider - 1e-3).all()
    sure = np.isfinite(wanted)
    assert np.count_nonzero(sure) > 15
    assert (found[sure] <= wanted[sure] + 1e-3).all()
