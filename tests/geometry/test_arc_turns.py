"""How far an arc turns, all round the circle; the angle by atan2, one end at a time."""

from __future__ import annotations

from math import atan2, pi

import numpy as np
import pytest

from gpre.geometry.arc import planar_sweeps

PLACES = [(5.0, 3.0), (5.0, -3.0), (-5.0, 3.0), (-5.0, -3.0), (3.0, 5.0), (5.0, 0.0), (0.0, -5.0)]


@pytest.mark.parametrize("start", PLACES)
@pytest.mark.parametrize("end", PLACES)
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_turn_is_the_difference_of_the_angles(start, end, way) -> None:
    turn = way * (atan2(end[1], end[0]) - atan2(start[1], start[0])) % (2.0 * pi)
    wanted = way * (turn if turn > 1e-12 else 2.0 * pi)
    columns = [tuple(np.array([each]) for each in place) for place in (start, end)]
    assert planar_sweeps(*columns, np.array([way]))[0] == pytest.approx(wanted)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_an_end_a_little_farther_out_at_the_same_angle_is_a_full_turn(way) -> None:
    """NISTIR 6556, 3.5.3: the radii at both ends may differ a little."""
    for off in (0.0, 0.001, -0.001):
        columns = [(np.array([u]), np.array([0.0])) for u in (10.0, 10.0 + off)]
        assert planar_sweeps(*columns, np.array([way]))[0] == way * 2.0 * pi
