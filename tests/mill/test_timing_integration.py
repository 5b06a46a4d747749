"""Cycle time against an integration in fine steps along the path, and the passes against loops."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from gpre.mill.axis_limits import allowed
from gpre.mill.junctions import corner_acceleration
from gpre.mill.look_ahead import junction_speeds, times
from gpre.mill.mill import Axis, Compensation, Limits, Mill
from gpre.mill.timing import cycle_time
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

STEPS = 240  # along each move
# first and second axis of the planes (NISTIR 6556, 4.3.6.1)
AXES_OF_PLANE = {17: (0, 1), 18: (2, 0), 19: (1, 2)}


def place(motion, row, t):
    """(k, 3) mm: points of one move, written out on their own."""
    start, end = motion.start[row], motion.end[row]
    points = start + np.outer(t, end - start)
    if motion.sweep[row]:
        u, v = AXES_OF_PLANE[int(motion.plane[row])]
        middle = motion.centre[row]
        begin = math.atan2(start[v] - middle[v], start[u] - middle[u])
        radius = math.hypot(start[u] - middle[u], start[v] - middle[v])
        angle = begin + motion.sweep[row] * t
        points[:, u] = middle[u] + radius * np.cos(angle)
        points[:, v] = middle[v] + radius * np.sin(angle)
    return points


def directions(motion, row, t):
    """(k, 3) unit vectors, by differences."""
    reach = 1e-5
    low, high = np.maximum(t - reach, 0.0), np.minimum(t + reach, 1.0)
    travel = place(motion, row, high) - place(motion, row, low)
    return travel / np.linalg.norm(travel, axis=1, keepdims=True)


def corner(motion, before, after, lengths, mill):
    """Square of the speed between two moves, and the radius and the turn of the circle there."""
    paths = {motion.state_of(before).path, motion.state_of(after).path}
    one = directions(motion, before, np.array([1.0]))[0]
    two = directions(motion, after, np.array([0.0]))[0]
    turn = math.atan2(np.linalg.norm(np.cross(one, two)), one @ two)
    if 611 in paths:
        return 0.0, 0.0, turn
    if turn < 1e-6:
        return math.inf, 0.0, turn
    if turn > math.pi - 1e-4:
        return 0.0, 0.0, turn
    half = (math.pi - turn) / 2.0
    radius = min(lengths[before], lengths[after]) / 2.0 * math.tan(half)
    if turn > 0.005:
        tolerance = 0.0 if 610 in paths else mill.limits.corner_tolerance
        radius = min(radius, tolerance * math.sin(half) / (1.0 - math.sin(half)))
    # the pull stands across the path all the way round
    level = two - one * (one @ two)
    level /= np.linalg.norm(level)
    round_it = np.linspace(0.0, turn, 400)
    pull = -np.outer(np.sin(round_it), one) + np.outer(np.cos(round_it), level)
    limit = np.array([axis.acceleration for axis in mill.axes])
    return radius * float((limit / np.abs(pull).max(axis=0).clip(1e-12)).min()), radius, turn


def graded(grid, stops):
    """The steps of a grid, with finer ones about places where the path may stand."""
    near = np.linspace(0.0, 1.0, 61)[1:] ** 2 / STEPS
    apart = np.abs(grid[:, None] - stops).min(axis=1) > 1e-6
    finer = np.concatenate([(stop - near, stop + near) for stop in stops], axis=None)
    finer = finer[(finer > 1e-9) & (finer < 1.0 - 1e-9)]
    return np.unique(np.concatenate((grid[apart], finer, stops)))


def integrate(motion, turns, stops, mill):
    """Seconds of all moves, by stepping forwards and backwards along the path."""
    grid = np.linspace(0.0, 1.0, STEPS + 1)
    steps, gains, limits = [], [], [[0.0]]
    going = [row for row in range(len(motion)) if _length(motion, row, grid) > 0.0]
    lengths = {row: _length(motion, row, grid) for row in going}
    looked = {row: _look(motion, row, lengths[row], grid, mill) for row in going}
    corners = {  # between a row and the next: the square of the speed, and how much circle
        (one, two): _passed(motion, (one, two), lengths, looked, mill)
        for one, two in zip(going, going[1:], strict=False)
    }
    for one, two in corners:
        if (stops & (turns.move == two) & (turns.along <= 0.0)).any():
            corners[one, two] = (0.0, 0.0, 0.0)
    for number, row in enumerate(going):
        here = stops & (turns.move == row)
        speed, gain = looked[row]
        t = graded(grid, np.unique((0.0, *turns.along[here], 1.0)))
        square = np.full(len(t), speed**2)
        square[np.isin(t, turns.along[here])] = 0.0
        before, after = ((going[number - 1], row), (row, *going[number + 1 : number + 2]))
        low, high = (corners.get(each, (0.0, 0.0, 0.0)) for each in (before, after))
        # the circles take the ends of the move; the grid is shrunk, but for the stops inside
        places = t * lengths[row]
        places = np.clip(places, low[1], lengths[row] - high[1])
        ds = np.diff(places)
        if number:
            length = low[2]
            if length > 0.0:
                limits[-1][-1] = min(limits[-1][-1], low[0])
                # in steps as well: a circle may be entered slower than it allows
                slower = min(gain, looked[going[number - 1]][1])
                steps.extend(np.full(STEPS, length / STEPS))
                gains.extend(np.full(STEPS, slower))
                limits.append([low[0]] * (STEPS - 1) + [min(square[0], low[0])])
            else:
                limits[-1][-1] = min(limits[-1][-1], square[0], low[0])
        limits.append(list(square[1:]))
        steps.extend(ds)
        gains.extend(np.full(len(ds), gain))
    square = [each for part in limits for each in part]
    square[-1] = 0.0
    for k in range(len(steps)):
        square[k + 1] = min(square[k + 1], square[k] + 2.0 * gains[k] * steps[k])
    for k in reversed(range(len(steps))):
        square[k] = min(square[k], square[k + 1] + 2.0 * gains[k] * steps[k])
    return sum(
        2.0 * ds / (math.sqrt(a) + math.sqrt(b))
        for ds, a, b in zip(steps, square[:-1], square[1:], strict=True)
        if ds > 0.0
    )


def _look(motion, row, length, grid, mill):
    """The greatest speed of a move and its acceleration, at its worst places."""
    acceleration = np.array([axis.acceleration for axis in mill.axes])
    top = np.array([axis.top_speed for axis in mill.axes]) / 60.0
    way = directions(motion, row, grid)
    share = np.abs(way).max(axis=0).clip(1e-12)
    # the bend by differences of the direction
    bend = np.abs(np.diff(way[1:-1], axis=0)).max(axis=0).clip(1e-12)
    bend /= length / STEPS
    bend = bend if motion.sweep[row] else np.full(3, 1e-12)
    speed = min(float((top / share).min()), math.sqrt(float((acceleration / bend).min())))
    if motion.kind[row] != Kind.RAPID:
        speed = min(speed, motion.feed[row] / 60.0)
    return speed, float((acceleration / share).min())


def _passed(motion, pair, lengths, looked, mill):
    """The square of the speed at a corner, what its circle takes of each leg, and its length."""
    square, radius, turn = corner(motion, *pair, lengths, mill)
    top = min(looked[row][0] for row in pair)
    if square >= top**2 * (1.0 - 1e-9):
        return top**2, 0.0, 0.0
    if radius == 0.0:
        return square, 0.0, 0.0
    cut = radius * math.tan(turn / 2.0)
    # a sharp corner is stopped in where that is quicker than its circle
    if (turn / 2.0 - 1.0) * radius / math.sqrt(square) > (cut - radius / 2.0) / top:
        return 0.0, 0.0, 0.0
    return square, cut, radius * turn


def _length(motion, row, grid):
    if not motion.sweep[row]:
        return float(np.linalg.norm(motion.end[row] - motion.start[row]))
    fine = place(motion, row, np.linspace(0.0, 1.0, 20_001))
    return float(np.linalg.norm(np.diff(fine, axis=0), axis=1).sum())


@st.composite
def programs(draw):
    """Lines, rapids, arcs and helices in all planes and path modes."""
    number = st.integers(-3000, 3000).map(lambda n: n / 100.0)
    lines = [f"{draw(st.sampled_from(['G61', 'G61.1', 'G64']))} G1 F{draw(st.integers(50, 4000))}"]
    x, y, z = 0.0, 0.0, 0.0
    for _ in range(draw(st.integers(1, 12))):
        kind = draw(st.sampled_from(["line", "line", "short", "rapid", "arc", "circle", "mode"]))
        if kind == "mode":
            lines.append(draw(st.sampled_from(["G61", "G61.1", "G64", "G64"])))
            continue
        if kind in {"line", "rapid"}:
            x, y, z = draw(number), draw(number), draw(number)
            lines.append(f"{'G0' if kind == 'rapid' else 'G1'} X{x} Y{y} Z{z}")
        elif kind == "short":
            x, y = round(x + draw(number) / 100.0, 4), round(y + draw(number) / 100.0, 4)
            lines.append(f"G1 X{x} Y{y} F{draw(st.integers(50, 4000))}")
        elif kind == "circle":
            radius = draw(st.integers(1, 200)) / 10.0
            z = round(z + draw(st.sampled_from([0.0, 0.0, 0.5, -4.0])), 4)
            lines.append(f"{draw(st.sampled_from(['G2', 'G3']))} X{x} Y{y} Z{z} I{radius} J0")
        else:
            plane, (a, b) = draw(st.sampled_from([(17, "XY"), (18, "ZX"), (19, "YZ")]))
            radius, begin = draw(st.integers(5, 200)) / 10.0, draw(st.floats(0.0, 6.28))
            turn = draw(st.floats(0.2, 6.0)) * draw(st.sampled_from([1, -1]))
            offset = {a: -radius * math.cos(begin), b: -radius * math.sin(begin)}
            at = {"X": x, "Y": y, "Z": z}
            at[a] += offset[a] + radius * math.cos(begin + turn)
            at[b] += offset[b] + radius * math.sin(begin + turn)
            letters = {"X": "I", "Y": "J", "Z": "K"}
            words = f"{a}{at[a]:.7f} {b}{at[b]:.7f}"
            words += f" {letters[a]}{offset[a]:.7f} {letters[b]}{offset[b]:.7f}"
            lines.append(f"G{plane} G{3 if turn > 0 else 2} {words}")
            lines.append("G17")
            x, y, z = (round(at[each], 7) for each in "XYZ")
    return "\n".join(lines) + "\n"


@st.composite
def mills(draw):
    def axis():
        return Axis(
            lost_motion=draw(st.sampled_from([0.0, 0.05])),
            top_speed=draw(st.integers(300, 5000)),
            acceleration=draw(st.integers(20, 900)),
        )

    return Mill(
        x=axis(),
        y=axis(),
        z=axis(),
        limits=Limits(corner_tolerance=draw(st.sampled_from([0.0, 0.005, 0.05, 1.0]))),
        compensation=Compensation(by=draw(st.sampled_from(["none", "controller"]))),
    )


@given(programs(), mills())
@example(  # a circle that is entered slower than it allows, as it follows upon another
    "G64 G1 F50\nY0.01\nY0 Z0.01\nZ0\nY0.01\n",
    Mill(*[Axis(top_speed=3000, acceleration=20)] * 3, limits=Limits(corner_tolerance=0.05)),
)
def test_cycle_time_is_that_of_an_integration_in_fine_steps(text, mill):
    motion = trace(read(text.encode()))
    turns = find_reversals(motion)
    found = cycle_time(motion, turns, mill)
    assert not len(found.unknown)
    travelled = found.cutting + found.air
    expected = integrate(motion, turns, found.take_ups > 0.0, mill) if travelled else 0.0
    assert travelled == pytest.approx(expected, rel=0.003, abs=1e-6)
    assert travelled == pytest.approx(found.moves.sum())


def test_a_finishing_program_agrees_with_the_integration():
    radius = 12.5
    lines = ["G64 G0 X12.5 Y0 Z2", "G1 Z-0.5 F200", "F900"]
    lines += ["G3 X12.5 Y0 Z-1.5 I-12.5 J0"] * 2
    for step in range(1, 90):
        angle = 0.07 * step
        lines.append(
            f"G1 X{radius * math.cos(angle):.4f} Y{radius * math.sin(2 * angle):.4f}"
            f" Z{-1.5 + 0.3 * math.sin(3 * angle):.4f}"
        )
    lines += ["G0 Z5", "X0 Y0"]
    motion = trace(read("\n".join(lines).encode()))
    turns = find_reversals(motion)
    for by in ("none", "controller"):
        mill = Mill(compensation=Compensation(by=by))
        found = cycle_time(motion, turns, mill)
        expected = integrate(motion, turns, found.take_ups > 0.0, mill)
        assert found.cutting + found.air == pytest.approx(expected, rel=0.001)


angles = st.floats(-7.0, 7.0)
pulls = st.lists(st.floats(10.0, 900.0), min_size=3, max_size=3)


def uneven(pull):
    x, y, z = (Axis(acceleration=each, top_speed=10.0 * each) for each in pull)
    return Mill(x=x, y=y, z=z)


@given(angles, st.floats(0.02, 13.0), st.sampled_from([17, 18, 19]), pulls, st.floats(0.0, 9.0))
def test_the_limits_of_an_arc_are_those_of_its_worst_place(begin, turn, plane, pull, rise):
    u, v = AXES_OF_PLANE[plane]
    radius, normal = 3.0, 3 - u - v
    along = np.linspace(0.0, 1.0, 20_001)
    angle = begin + turn * along
    ends = np.zeros((2, 3))
    ends[:, u], ends[:, v] = radius * np.cos(angle[[0, -1]]), radius * np.sin(angle[[0, -1]])
    ends[1, normal] = rise
    one = np.array([0], np.int32)
    empty = trace(read(b""))
    motion = replace(
        empty,
        kind=np.array([Kind.ARC], np.uint8),
        start=ends[:1],
        end=ends[1:],
        centre=np.zeros((1, 3)),
        sweep=np.array([turn]),
        plane=np.array([plane], np.uint8),
        feed=np.array([1e9]),
        role=one.astype(np.uint8),
        block=one,
        state=one,
        called=one.astype(np.bool_),
    )
    found = allowed(motion, uneven(pull))
    length = math.hypot(radius * turn, rise)
    way, bend = np.full((20_001, 3), rise / length), np.zeros((20_001, 3))
    way[:, u], way[:, v] = -np.sin(angle), np.cos(angle)
    way[:, [u, v]] *= radius * turn / length
    bend[:, u], bend[:, v] = np.cos(angle), np.sin(angle)
    bend *= radius * turn**2 / length**2
    share, curve = np.abs(way).max(axis=0) + 1e-12, np.abs(bend).max(axis=0) + 1e-12
    limit = np.array(pull)
    assert found.length[0] == pytest.approx(length)
    assert found.acceleration[0] == pytest.approx((limit / share).min(), rel=1e-5)
    expected = min((limit / 6.0 / share).min(), math.sqrt((limit / curve).min()))
    assert found.speed[0] == pytest.approx(expected, rel=1e-5)


directions_of = st.tuples(st.floats(-1.5, 1.5), angles).map(
    lambda each: np.array(
        [
            math.cos(each[0]) * math.cos(each[1]),
            math.cos(each[0]) * math.sin(each[1]),
            math.sin(each[0]),
        ]
    )
)


@given(directions_of, directions_of, pulls)
def test_the_pull_in_a_corner_is_held_by_every_axis_all_the_way_round(one, two, pull):
    turn = math.atan2(np.linalg.norm(np.cross(one, two)), one @ two)
    assume(0.01 < turn < 3.13)
    level = two - one * (one @ two)
    level /= np.linalg.norm(level)
    angle = np.linspace(0.0, turn, 4001)
    share = np.abs(-np.outer(np.sin(angle), one) + np.outer(np.cos(angle), level)).max(axis=0)
    expected = (np.array(pull) / share.clip(1e-12)).min()
    found = corner_acceleration(
        (two - one)[:, None],
        (two + one)[:, None],
        np.array([math.sin(turn / 2.0)]),
        np.array([math.cos(turn / 2.0)]),
        uneven(pull),
    )
    assert found[0] == pytest.approx(expected, rel=1e-5)


squares = st.one_of(st.just(0.0), st.floats(0.01, 1e4))


@given(st.data())
def test_the_passes_are_those_of_a_loop(data):
    pieces = data.draw(st.integers(1, 40))
    caps = np.array(data.draw(st.lists(squares, min_size=pieces + 1, max_size=pieces + 1)))
    column = st.lists(st.floats(1e-4, 1e3), min_size=pieces, max_size=pieces)
    length, acceleration = np.array(data.draw(column)), np.array(data.draw(column))
    expected = caps.tolist()
    for k in reversed(range(pieces)):
        expected[k] = min(expected[k], expected[k + 1] + 2.0 * acceleration[k] * length[k])
    for k in range(pieces):
        expected[k + 1] = min(expected[k + 1], expected[k] + 2.0 * acceleration[k] * length[k])
    found = junction_speeds(caps, length, acceleration)
    np.testing.assert_allclose(found**2, expected, rtol=1e-9, atol=1e-9)
    assert (found[caps == 0.0] == 0.0).all()


def test_the_passes_keep_their_digits_over_a_long_program():
    # a million pieces on which 2 a L is huge, with a stop at the end of every tenth
    pieces = 1_000_000
    caps = 400.0 + np.sin(np.arange(pieces + 1.0))
    caps[::10] = 0.0
    length, acceleration = 100.0 + np.cos(np.arange(1.0 * pieces)), np.full(pieces, 1e6)
    found = junction_speeds(caps, length, acceleration)
    np.testing.assert_allclose(found**2, caps, atol=1e-6)
    # and little by little: 0.5 mm²/s² a piece
    length = np.full(pieces, 0.25 / 1e6)
    found = junction_speeds(caps, length, acceleration)
    away = np.minimum(np.arange(pieces + 1) % 10, -np.arange(pieces + 1) % 10)
    np.testing.assert_allclose(found**2, 0.5 * away, atol=1e-6)


@pytest.mark.parametrize(
    ("enters", "leaves", "top", "length", "expected"),
    # v² = v0² + 2 a s, with a 100 mm/s²
    [
        (0.0, 0.0, 50.0, 100.0, 2.5),
        (0.0, 0.0, 50.0, 9.0, 0.6),
        (10.0, 30.0, 30.0, 4.0, 0.2),  # gains all the way
        (30.0, 10.0, 30.0, 4.0, 0.2),
        (20.0, 20.0, 20.0, 7.0, 0.35),  # holds its speed
        (10.0, 10.0, 90.0, 3.0, 0.2),  # a peak of 20 mm/s in the middle
    ],
)
def test_one_piece(enters, leaves, top, length, expected):
    found = times(
        np.array([enters, leaves]), np.array([top]), np.array([length]), np.array([100.0])
    )
    assert found[0] == pytest.approx(expected)
