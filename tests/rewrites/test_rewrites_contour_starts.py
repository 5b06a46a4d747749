"""Where a closed contour may start: its places, and the reversals that each leaves.

A closed contour turns each axis an even number of times; begun at a turn, that one falls away.
"""

from __future__ import annotations

from dataclasses import replace
from math import nan

import numpy as np

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.start_point.starts import Starts, starts_of


def starts(blocks: str) -> Starts:
    motion = trace(read(f"G21 G17 G90\nG0 X0 Y0 Z0\n{blocks}M30\n".encode()))
    return starts_of(motion, 1, len(motion))


def test_a_quadrant_at_the_end_of_an_arc_is_counted_once() -> None:
    for arcs in (
        "G2 X0 Y0 I10 J0 F100\n",
        "G2 X20 Y0 I10 J0 F100\nX0 Y0 I-10 J0\n",
        "G2 X10 Y10 I10 J0 F100\nX20 Y0 I0 J-10\nX10 Y-10 I-10 J0\nX0 Y0 I0 J10\n",
    ):
        found = starts(arcs)
        assert sorted(map(tuple, found.point.round(6).tolist())) == [
            (0.0, 0.0), (10.0, -10.0), (10.0, 10.0), (20.0, 0.0),
        ]  # fmt: skip
        assert found.left.tolist() == [3, 3, 3, 3]  # of two turns of X and two of Y


def test_each_turn_of_a_contour_counts_but_the_one_at_its_start() -> None:
    found = starts("G1 X10 Y1 F100\nX5 Y2\nX15 Y3\nX14 Y4\nX0 Y0\n")
    for at, point in enumerate(found.point.tolist()):
        again = np.roll(found.point, -at, axis=0)
        way = np.sign(np.diff(np.concatenate((again, again[:1])), axis=0))
        inner = sum(int((one[1:] != one[:-1]).sum()) for one in way.T)
        assert found.left[at] == inner, point


def test_a_place_that_is_half_known_decides_nothing() -> None:
    square = starts("G1 X5 F100\nX10\nY10\nX0\nY0\n")
    found = replace(square, left=np.array([4, 3, 3, 3, 3]), point=square.point * (0.0, 1.0))
    for other in (None, np.array([nan, nan])):
        assert found.better(other).tolist() == found.better().tolist()
    assert found.better(np.array([nan, 10.0])).tolist() == found.better().tolist()
    assert found.better(np.array([0.0, 10.0])).tolist() == found.better().tolist()
