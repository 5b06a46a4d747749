"""What a round tool sweeps: areas against closed forms of plane geometry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.geometry.path import Moves, bounds, with_few_turns
from gpre.geometry.plain_moves import PlainMoves
from gpre.geometry.region import BoxIndex, Rectangle, SegmentIndex, Swath
from gpre.geometry.swept import (
    centre_lines,
    close_by,
    left_by,
    near,
    onward,
    rim,
)

CIRCLE = np.linspace(0.0, 2.0 * np.pi, 2000)
RING = 20.0 * np.column_stack((np.cos(CIRCLE), np.sin(CIRCLE)))
SHAVE = 0.005


def place(x: float, y: float) -> np.ndarray:
    return np.array([[x, y], [x, y]])


@pytest.mark.parametrize("length", [0.3, 0.6, 1.0, 2.0, 4.0])
def test_a_tangent_leaves_the_swath_of_its_circle_by_its_sagitta(length: float) -> None:
    # Pythagoras: the end of a tangent of length s lies sqrt(R² + s²) from the centre
    off = float(np.hypot(20.0, length) - 20.0)
    line = [np.array([[20.0, 0.0], [20.0, length]])]
    swath = Swath([RING], 3.0)
    assert swath.holds(line, 3.0 - off - SHAVE)
    assert not swath.holds(line, 3.0 - off + SHAVE)


def test_beside_the_stock_and_not_too_far_out_is_no_metal() -> None:
    swath = Swath([RING], 3.0)
    line = [np.array([[20.0, 0.0], [20.0, 4.0]])]  # 0.396 mm out
    inside, around = Rectangle((-19, -19), (19, 19)), Rectangle((-40, -40), (40, 40))
    assert swath.holds(line, 3.0, stock=inside, beside=1.0)
    assert not swath.holds(line, 3.0, stock=around, beside=1.0)
    assert not swath.holds(line, 3.0, stock=inside, beside=0.3)
    assert not swath.holds(line, 3.0)


def test_nothing_swept_holds_nothing() -> None:
    assert not Swath([], 3.0).holds([place(0, 0)], 0.1)


def test_a_place_is_swept_all_round() -> None:
    swath = Swath([place(1, 2)], 3.0)
    assert swath.holds([place(1, 2)], 3.0 - SHAVE)
    assert swath.holds([place(3.9, 2)], 0.1 - SHAVE)
    assert not swath.holds([place(4.1, 2)], 0.1)


def moves(*points: tuple[float, float, float]) -> Moves:
    at = np.array(points, np.float64)
    count = len(at) - 1
    return Moves(
        at[:-1], at[1:], np.full((count, 3), np.nan), np.zeros(count), np.full(count, 17, np.uint8)
    )


def test_only_moves_near_by_and_no_higher_are_taken() -> None:
    path = moves((0, 0, -1), (10, 0, -1), (10, 10, -1), (10, 10, 0), (0, 10, 0))

    def found(place: tuple[float, float], reach: float, height: float) -> list[int]:
        rows = np.flatnonzero(near(*bounds(path), np.array(place), reach, height))
        return list(rows.tolist())

    assert found((0.0, 0.0), 2.0, -1.0) == [0]
    assert found((10.0, 5.0), 6.0, -1.0) == [0, 1]
    assert found((10.0, 10.0), 1.0, 0.0) == [1, 2, 3]
    assert [line.tolist() for line in centre_lines(moves((0, 0, 0), (3, 4, 0)))] == [
        [[0, 0], [3, 4]]
    ]


@pytest.mark.parametrize("length", [1.0, 6.0, 8.0, 100.0])
def test_the_way_on_is_as_long_as_asked_or_as_there_is(length: float) -> None:
    path = moves((0, 0, 0), (10, 0, 0), (10, 10, 0))
    lines = onward(centre_lines(path), np.array([4.0, 0.0]), length)
    went = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)
    assert went == pytest.approx(min(length, 16.0))
    assert lines[0][0].tolist() == [4.0, 0.0]


@pytest.mark.parametrize(("length", "end"), [(2.0, (6, 0)), (7.0, (10, 1)), (11.0, (10, 5))])
def test_the_way_on_ends_within_a_line_of_many_points(
    length: float, end: tuple[float, float]
) -> None:
    one = np.array([[0.0, 0.0], [5.0, 0.0], [7.0, 0.0], [10.0, 0.0]])
    other = np.array([[10.0, 0.0], [10.0, 2.0], [10.0, 3.0], [10.0, 10.0]])
    lines = onward([one, other], np.array([4.0, 0.0]), length)
    assert lines[-1][-1].tolist() == pytest.approx(end)


@pytest.mark.parametrize("count", [1, 32, 33, 70])
def test_each_of_many_lines_sweeps(count: int) -> None:
    ways = [np.array([[at * 10.0, -1.0], [at * 10.0, 1.0]]) for at in range(count)]
    points = np.array([[at * 10.0 + aside, 0.0] for at in range(count) for aside in (2.0, 4.0)])
    assert left_by(ways, points, 3.0).tolist() == points[1::2].tolist()


def test_only_stretches_close_by_are_kept() -> None:
    line = np.column_stack((np.arange(0.0, 11.0), np.zeros(11)))
    (kept,) = close_by([line], np.array([5.5, 1.0]), 2.0)
    # sqrt(4 - 1) to either side, in whole millimetres
    assert kept[:, 0].tolist() == [3.0, 4.0, 5.0, 6.0, 7.0, 8.0]
    there_and_back = np.concatenate((line, line[::-1] + np.array([0.0, 0.5])))
    assert len(close_by([there_and_back], np.array([0.0, 0.0]), 1.5)) == 2
    assert not close_by([line], np.array([5.5, 3.0]), 2.0)


@pytest.mark.parametrize(("aside", "left"), [(0.05, True), (0.2, False)])
def test_a_rim_beside_a_wall_is_left_until_the_wall_is_cut_back(aside: float, left: bool) -> None:
    here = np.array([0.0, 0.0])
    along = np.array([[-9.0, 0.0], [9.0, 0.0]])
    up = np.array([0.0, aside])
    ways = [along, along + up, along - up]
    found = left_by(ways, rim(here, 3.0, 0.1), 3.0)
    assert (len(found) > 0) == left
    assert np.allclose(np.hypot(*found.T), 3.1)


def test_more_lines_are_added_to_a_swath() -> None:
    swath = Swath([place(0, 0)], 3.0)
    both = swath.and_along([place(4, 0)])
    assert both.holds([place(4, 0)], 2.9)
    assert both.holds([place(0, 0)], 2.9)
    assert not swath.holds([place(4, 0)], 2.9)


lengths = st.floats(-20.0, 20.0).map(lambda value: round(value, 2))
flat = st.tuples(lengths, lengths)


@st.composite
def plain_moves(draw: st.DrawFn) -> Moves:
    """Lines, arcs and helices of up to two turns."""
    found = []
    for _ in range(draw(st.integers(1, 60))):
        start, end, centre = (np.array((*draw(flat), draw(lengths))) for _ in range(3))
        sweep = draw(st.sampled_from((0.0, 0.5, -1.0, np.pi, -4.0, 2.0 * np.pi, -4.0 * np.pi)))
        if sweep:
            turn = np.exp(1j * sweep) * complex(*(start - centre)[:2])
            end[:2] = centre[:2] + np.array((turn.real, turn.imag))
        found.append((start, end, centre, sweep))
    columns = (np.array(each) for each in zip(*found, strict=True))
    return Moves(*columns, np.full(len(found), 17, np.uint8))


@given(plain_moves(), flat, st.sampled_from((0.5, 3.0, 8.0)))
def test_what_moves_leave_is_what_their_chords_leave(
    moves: Moves, here: tuple[float, float], radius: float
) -> None:
    round_it = rim(np.array(here), radius, 0.1)
    ready, rows = PlainMoves(moves), np.arange(len(moves.sweep))
    assert ready.plain.all()
    lines = centre_lines(moves)
    # the chords lie within 0.0005 mm of the arcs
    least, exact, most = (
        {tuple(each) for each in found.tolist()}
        for found in (
            left_by(lines, round_it, radius + 0.001),
            ready.left_by(rows, round_it, radius + SHAVE),
            left_by(lines, round_it, radius - 0.001),
        )
    )
    assert least <= exact <= most


def circles(sweep: float, plane: int = 17, wider: float = 0.0) -> Moves:
    start = np.array([[5.0, 0.0, 0.0]])
    far = 5.0 + wider
    end = np.array([[far * np.cos(sweep), far * np.sin(sweep), -1.0]])
    return Moves(start, end, np.zeros((1, 3)), np.array([sweep]), np.array([plane], np.uint8))


@pytest.mark.parametrize("sweep", [1.0, 2.0 * np.pi, 7.0, -13.0, 2000.0 * np.pi, -6284.0])
def test_a_circle_run_many_times_is_seen_run_twice_at_the_most(sweep: float) -> None:
    few = with_few_turns(circles(sweep))
    assert np.sign(few.sweep[0]) == np.sign(sweep)
    assert min(2.0 * np.pi, abs(sweep)) - 1e-9 <= abs(few.sweep[0]) < 4.0 * np.pi
    turns = (sweep - few.sweep[0]) / (2.0 * np.pi)
    assert turns == pytest.approx(round(turns), abs=1e-9)
    (line,) = centre_lines(circles(sweep))
    assert len(line) < 1_000
    assert line[0].tolist() == [5.0, 0.0]
    assert line[-1].tolist() == circles(sweep).end[0, :2].tolist()
    assert np.abs(np.hypot(*line.T) - 5.0).max() <= 1e-9
    if abs(sweep) >= 2.0 * np.pi:
        assert Swath([line], 1.0).holds([RING / 4.0], 0.99)


@pytest.mark.parametrize(("plane", "wider"), [(18, 0.0), (17, 1.0)])
def test_what_winds_on_is_seen_as_it_is(plane: int, wider: float) -> None:
    (line,) = centre_lines(circles(20.0 * np.pi, plane, wider))
    assert len(line) > 10 * 100


@pytest.mark.parametrize(("end", "plane"), [(-6.0, 17), (-5.0, 18)])
def test_an_arc_that_winds_out_or_stands_upright_is_not_plain(end: float, plane: int) -> None:
    start, goal = (np.array([[x, 0.0, 0.0]]) for x in (5.0, end))
    centre, planes = np.zeros((1, 3)), np.array([plane], np.uint8)
    assert not PlainMoves(Moves(start, goal, centre, np.array([np.pi]), planes)).plain.any()
    assert PlainMoves(Moves(start, goal, centre, np.zeros(1), planes)).plain.all()


def test_a_rim_is_even_all_round() -> None:
    found = rim(np.array([5.0, -2.0]), 3.0, 0.5) - np.array([5.0, -2.0])
    assert np.allclose(np.hypot(*found.T), 3.5)
    turn = np.sort(np.arctan2(found[:, 1], found[:, 0]))
    assert np.allclose(np.diff(turn), 2.0 * np.pi / len(found))


def test_no_points_are_left_where_there_were_none() -> None:
    plain = PlainMoves(moves((0, 0, 0), (10, 0, 0)))
    none = np.zeros((0, 2))
    assert plain.left_by(np.array([0]), none, 3.0).shape == (0, 2)
    some = np.array([[5.0, 1.0], [5.0, 4.0]])
    assert plain.left_by(np.array([], int), some, 3.0).tolist() == some.tolist()
    assert plain.left_by(np.array([0]), some, 3.0).tolist() == [[5.0, 4.0]]


@pytest.mark.parametrize("long", [1.0, 300.0])
def test_what_lies_near_is_found_in_heaps_of_slanting_segments_too(long: float) -> None:
    rng = np.random.default_rng(7)
    start = rng.uniform(0.0, 20.0, (60, 2))
    turn = rng.uniform(0.0, 2.0 * np.pi, 60)
    end = start + long * np.column_stack((np.cos(turn), np.sin(turn)))
    point = rng.uniform(-20.0, 40.0, (40, 2))
    query, found = SegmentIndex(start, end).near(point, point, 2.0)
    way = end - start
    # the foot of a perpendicular, kept within the segment
    share = np.einsum("psk,sk->ps", point[:, None] - start, way) / (way**2).sum(axis=1)
    foot = start + share.clip(0.0, 1.0)[..., None] * way
    wanted = np.argwhere(np.hypot(*(point[:, None] - foot).transpose(2, 0, 1)) <= 2.0)
    pairs = np.column_stack((query, found))
    assert sorted(pairs.tolist()) == wanted.tolist()
    assert len(wanted)


@given(
    st.lists(st.tuples(*[st.floats(-50.0, 50.0)] * 2, *[st.floats(0.0, 30.0)] * 2), max_size=8),
    st.lists(st.tuples(*[st.floats(-50.0, 50.0)] * 2, *[st.floats(0.0, 30.0)] * 2), max_size=8),
    st.sampled_from([0.0, 0.5, 4.0]),
)
def test_boxes_that_come_near_are_found(some, others, distance):
    one, other = (np.array(each, np.float64).reshape(-1, 4) for each in (some, others))
    least, greatest = one[:, :2], one[:, :2] + one[:, 2:]
    low, high = other[:, :2], other[:, :2] + other[:, 2:]
    wanted = [
        (at, which)
        for at in range(len(other))
        for which in range(len(one))
        if (low[at] - distance <= greatest[which]).all()
        and (high[at] + distance >= least[which]).all()
    ]
    index = BoxIndex(least, greatest)
    found = np.stack(index.pairs(low, high, distance), axis=1)
    assert sorted(map(tuple, found.tolist())) == wanted
    touched = index.touched(low, high, distance)
    assert touched.tolist() == sorted({which for _, which in wanted})
