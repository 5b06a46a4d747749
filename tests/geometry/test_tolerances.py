"""What the named tolerances mean where they are used."""

import math

import numpy as np
import pytest

from gpre.cuts.contours import find_loop
from gpre.geometry import path
from gpre.geometry.path import Moves
from gpre.mill.mill import Mill
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals


@pytest.mark.parametrize("radius", [0.5, 7.0, 150.0])
def test_chords_leave_an_arc_by_a_tenth_of_a_micrometre_at_the_most(radius: float) -> None:
    start = np.array([[radius, 0.0, 0.0]])
    circle = Moves(start, start, np.zeros((1, 3)), np.array([math.tau]), np.array([17], np.uint8))
    point = path.sample(circle)[2]
    middle = (point[1:] + point[:-1])[:, :2] / 2.0
    # the sagitta: R less the distance of a chord's middle from the centre
    sagitta = radius - np.hypot(*middle.T)
    assert 0.5e-4 < sagitta.max() <= 1e-4 * (1.0 + 1e-9)


def turns(back: float) -> int:
    text = f"G21 G90 G0 X0 Y0 Z0\nG1 X10 F100\nX{10.0 - back:.6f}\n"
    return len(find_reversals(trace(read(text.encode()))))


def test_an_axis_that_comes_back_by_a_tenth_of_a_micrometre_has_not_turned() -> None:
    assert (turns(0.00009), turns(0.00011)) == (0, 1)
    assert {each.resolution for each in Mill().axes} == {1e-4}


@pytest.mark.parametrize(("gap", "closes"), [(0.0019, True), (0.0021, False)])
def test_a_contour_that_ends_two_micrometres_beside_its_start_is_closed(
    gap: float, closes: bool
) -> None:
    text = f"G21 G90 G0 X0 Y0 Z0\nG1 X10 F100\nY10\nX0\nX0 Y{gap}\n"
    motion = trace(read(text.encode()))
    assert (find_loop(motion, 1, len(motion)) is not None) is closes
    assert Mill().limits.tolerance == 0.002
