"""Which moves at feed come near a place, and which of them before a move; places by hand."""

import numpy as np
import pytest

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.room.feed_moves import FeedMoves

# rows: 0 rapid, 1 down, 2 along X, 3 a half circle up to Y10, 4 rapid, 5 along Y far away
TEXT = b"""G21 G90 G17
G0 X0 Y0 Z5
G1 Z-1 F100
X20
G3 X20 Y10 I0 J5
G0 X50
G1 Y40
M2
"""


@pytest.fixture(scope="module")
def moves() -> FeedMoves:
    return FeedMoves(trace(read(TEXT)))


def near(moves: FeedMoves, x: float, y: float, reach: float, row: int | None = None) -> list[int]:
    return moves.near(np.array([[x, y]]), reach, row).tolist()


def test_rapids_are_none_of_them(moves):
    assert moves.rows.tolist() == [1, 2, 3, 5]
    assert moves.before(3).tolist() == [1, 2]


def test_bounds_hold_the_bulge_of_an_arc(moves):
    assert near(moves, 24.9, 5.0, 0.05) == [3]  # the half circle reaches X25
    assert near(moves, 25.2, 5.0, 0.1) == []


def test_only_what_is_within_reach_and_comes_before(moves):
    assert near(moves, 10.0, 0.5, 0.4) == []
    assert near(moves, 10.0, 0.5, 0.5) == [2]
    assert near(moves, 50.0, 20.0, 0.01) == [5]
    assert near(moves, 50.0, 20.0, 0.01, row=5) == []


def test_one_of_several_places_is_enough(moves):
    places = np.array([[0.0, 0.0], [50.0, 20.0]])
    assert moves.near(places, 0.01).tolist() == [1, 2, 5]


def test_a_move_from_where_nobody_knows_is_left_out():
    moves = FeedMoves(trace(read(b"G21 G90\nG28\nG1 X5 F100\nY5\nX0 Y0 Z0\nX1\nM2\n")))
    # row 3 goes from an unknown Z to X0 Y0 Z0: only the last one is known from its start on
    assert moves.rows.tolist() == [4]
