"""Helices that go down: found with their turns, pitch and the circle at depth behind them."""

from itertools import product
from math import cos, pi, sin

import numpy as np
import pytest
from rounded_bore import rounded_bore

from gpre.cuts.cuts import Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.helices import find_helices, like_a_thread, pitches
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read

HEAD = b"G21 G90 G17 F200\nG0 X19 Y10 Z0\n"


def found(body: bytes):
    motion = trace(read(HEAD + body))
    return motion, find_helices(motion)


def test_whole_turns_with_a_floor() -> None:
    motion, (helix,) = found(b"G3 X19 Z-1 I-9\nX19 Z-2 I-9\nX19 I-9\nG1 X10\n")
    assert (helix.first, helix.last, helix.floor) == (1, 3, 4)
    assert helix.way == 1
    assert helix.radius == pytest.approx(9.0)
    assert helix.centre.tolist() == [10.0, 10.0]
    assert helix.turn == pytest.approx(4 * pi)
    assert helix.full_floor
    assert pitches(motion, helix).tolist() == pytest.approx([1.0, 1.0])


def test_pieces_of_a_turn_clockwise_and_no_floor() -> None:
    motion, (helix,) = found(b"G2 X1 Y10 Z-1 R9\nX19 Z-1.5 R9\nX1 R9\n")
    assert (helix.first, helix.last, helix.floor) == (1, 3, 4)
    assert helix.way == -1
    assert helix.level_turn == pytest.approx(pi)
    assert not helix.full_floor
    assert pitches(motion, helix).tolist() == pytest.approx([2.0, 1.0])


@pytest.mark.parametrize(
    ("body", "rows"),
    [
        (b"G3 X19 Z-1 I-9\nG2 X19 Z-2 I-9\n", [(1, 2), (2, 3)]),  # the other way round
        (b"G3 X19 Z-1 I-9\nX19 Z-2 I-8\n", [(1, 2), (2, 3)]),  # another circle
        (b"G3 X19 Z-1 I-9\nG4 P1\nG3 X19 Z-2 I-9\n", [(1, 2), (2, 3)]),  # a dwell
        (b"G3 X19 Z-1 I-9\nX19 I-9\nX19 Z-2 I-9\n", [(1, 2), (3, 4)]),  # a circle between
        (b"G3 X19 Z1 I-9\n", []),  # upwards
        (b"G3 X19 I-9\nG1 X10 Z-3\n", []),  # level, and no arc
        (b"G18 G3 X19 Y8 I-9\n", []),  # another plane
        (b"G18 G3 X10 Z-9 I-9\n", []),  # down in another plane
        (b"G19 G3 Y1 Z-9 J-9\n", []),
        (b"G3 X19 Z-1 I-9\nF100\nX19 Z-2 I-9\n", [(1, 3)]),  # another feed is the same helix
    ],
)
def test_what_ends_a_helix(body: bytes, rows: list[tuple[int, int]]) -> None:
    _, helices = found(body)
    assert [(each.first, each.last) for each in helices] == rows


def test_a_program_without_moves_has_none() -> None:
    assert find_helices(trace(read(b"(nothing)\n"))) == ()
    motion, helices = found(b"G1 X10\n")
    assert helices == ()
    assert np.isfinite(motion.end).all()


BORE = b"G3 X19 Z-1 I-9\nX19 Z-2 I-9\nX19 I-9\nG1 X10\nG0 Z5\n"


@pytest.mark.parametrize(
    ("later", "thread"),
    [
        (b"", False),
        (b"G0 X16\nZ-2\nG3 X16 Z-1 I-6\nG1 X10\nG0 Z5\n", True),  # back up about the same axis
        (b"T2 M6\nG0 X16\nZ-2\nG3 X16 Z-1 I-6\nG1 X10\nG0 Z5\n", False),  # by another tool
        (b"G0 X16\nZ-2\nG3 X16 I-6\nG1 X10\nG0 Z5\n", False),  # level
        (b"G0 X36\nZ-2\nG3 X36 Z-1 I-6\nG1 X30\nG0 Z5\n", False),  # about another
        (b"G0 X16\nZ-2\nG18 G3 X16 Z-2 I-6 K0 Y11\nG17 G1 X10\nG0 Z5\n", False),
    ],
)
def test_a_helix_with_one_up_about_its_axis_is_like_a_thread(later: bytes, *, thread: bool) -> None:
    motion = trace(read(b"T1 M6\n" + HEAD + BORE + later), Controller(tool_change_moves="none"))
    helices = find_helices(motion)
    assert like_a_thread(motion, helices[0], helices) == thread


@pytest.mark.parametrize(("units", "decimals"), [(21, 3), (21, 4), (20, 4)])
def test_arcs_that_differ_by_the_rounding_of_their_numbers_are_one_helix(
    units: int, decimals: int
) -> None:
    for parts, turned in product((1, 2, 3, 4), (0.0, 0.3, 1.1, 2.6)):
        lines = rounded_bore(units, decimals, parts=parts, turned=turned)
        lines[0] = lines[0].replace("G1 ", "G0 ")
        motion = trace(read("\n".join([f"G{units} G17 G90 G94 G0 Z0", *lines, ""]).encode()))
        (found,) = find_helices(motion)
        assert (found.last - found.first, found.floor - found.last) == (6 * parts, parts)
        assert [cut.shape for cut in find_cuts(motion)] == [Shape.HELIX]
        # where the places come back the turns are whole ones, to the last digits (2 pi n)
        assert found.turn == pytest.approx(12.0 * pi, abs=1e-9)
        assert found.level_turn == pytest.approx(2.0 * pi, abs=1e-9)
        assert found.full_floor


@pytest.mark.parametrize(("lacks", "full"), [(0.0009, True), (0.0012, False), (0.0, True)])
def test_a_floor_is_full_where_its_end_comes_back_within_a_micrometre(
    lacks: float, *, full: bool
) -> None:
    end = f"X{10 + 9 * cos(lacks / 9.0):.6f} Y{10 - 9 * sin(lacks / 9.0):.6f}"
    _, (helix,) = found(f"G3 X19 Z-1 I-9\nX19 Z-2 I-9\nX1 I-9\n{end} I9\nG1 X10\n".encode())
    assert helix.level_turn == pytest.approx(2.0 * pi - lacks / 9.0, abs=1e-6)
    assert helix.full_floor is full


@pytest.mark.parametrize(("units", "decimals"), [(21, 3), (20, 4)])
@pytest.mark.parametrize(("pitch", "thread"), [(1.27, True), (1.25, False), (1.3, False)])
def test_a_thread_is_known_by_its_pitch_however_it_is_rounded(
    units: int, decimals: int, pitch: float, *, thread: bool
) -> None:
    """Its last pass has a relief; 1.27 mm are 20 threads an inch, and so the pass before it."""
    for parts, turned in product((1, 2, 4), (0.0, 0.3, 1.1, 2.6)):
        before = rounded_bore(units, decimals, parts=parts, radius=9.4, drops=[pitch] * 4)
        last = rounded_bore(units, decimals, parts=parts, turned=turned, drops=[1.27] * 4 + [0.0])
        lines = [f"G{units} G17 G90 G94 G0 Z0", *before, "G0 Z0", *last, ""]
        motion = trace(read("\n".join(lines).encode()))
        first, bored = helices = find_helices(motion)
        assert (first.full_floor, bored.full_floor) == (False, True)
        assert like_a_thread(motion, bored, helices) is thread


def test_an_arc_that_does_not_turn_about_the_centre_has_no_pitch_that_anything_allows() -> None:
    """On circles as small as their rounding: it goes round a centre beside that of the first."""
    motion, (helix,) = found(b"X0.004 Y0\nG3 X0 Y0.004 Z-1 I-.004\nY0.006 Z-2 J.001\n")
    assert pitches(motion, helix).tolist() == pytest.approx([4.0, np.inf])
    assert not like_a_thread(motion, helix, (helix,))
