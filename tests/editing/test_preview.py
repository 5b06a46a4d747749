"""Which way the axes travelled last: over moves of the program, and over new ones."""

from __future__ import annotations

import numpy as np
import pytest

from gpre.cuts.find_cuts import find_cuts
from gpre.editing.code_style import CodeStyle
from gpre.editing.modes import Modes
from gpre.editing.preview import Track
from gpre.editing.writer import BlockWriter
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.room.entries import heading_before, reach_of


def test_new_moves_turn_the_heading_of_the_axes_that_they_move() -> None:
    writer = BlockWriter(CodeStyle(), Modes(motion=0), (0.0, 0.0, 5.0))
    track = Track.of(writer, np.array([-1, 0, 1], np.int8))
    track.rapid((10.0, None, None))
    assert track.heading.tolist() == [1, 0, 1]
    track.rapid((None, -3.0, 2.0))
    assert track.heading.tolist() == [1, -1, -1]
    track.rapid((4.0, -3.0, None))
    assert track.heading.tolist() == [-1, -1, -1]
    track.arc((4.0, 3.0, 2.0), (4.0, 0.0, 2.0), np.pi, 100.0, "")  # round to the right, and back
    assert track.heading.tolist() == [-1, 1, -1]


def test_the_heading_counts_from_the_first_move_and_from_what_forgets_it() -> None:
    motion = trace(read(b"G21 G90\nG0 X0 Y0 Z0\nX5\nY-5\nX2\nM0\nX9\nM30\n"))
    assert heading_before(motion, 3).tolist() == [1, -1, 0]
    assert heading_before(motion, 4).tolist() == [0, 0, 0]  # the operator may have moved them
    assert heading_before(motion, 5).tolist() == [1, 0, 0]
    steps = trace(read(b"G21 G91\nG0 X5 Y-5\nX2\nM30\n"))
    assert heading_before(steps, 1).tolist() == [1, -1, 0]


@pytest.mark.parametrize("up", ["G0 Z5\nZ20\n", "G0 Z5\nZ5\nZ20\n", "G0 Z20\n"])
def test_a_cut_is_left_as_high_as_the_tool_goes_straight_up(up: str) -> None:
    motion = trace(read(f"G21 G90\nG0 X0 Y0 Z9\nZ2\nG1 Z-1 F9\nX5\n{up}X9\nM30\n".encode()))
    (cut,) = find_cuts(motion)
    reach = reach_of(motion, cut)
    assert reach is not None
    assert (reach.first, reach.floor) == (1, 2.0)
    assert reach.clearance == 20.0
