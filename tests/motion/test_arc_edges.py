"""Arcs at their edges: full turns with ends a little apart, and inverse time on helices."""

from __future__ import annotations

from math import hypot, pi

import pytest
from motion_checks import codes, run, slow


@pytest.mark.parametrize("follow", [run, slow])
@pytest.mark.parametrize(("code", "way"), [("G2", -1.0), ("G3", 1.0)])
@pytest.mark.parametrize("x", ["10", "10.001", "9.999"])
def test_an_end_at_the_start_is_a_full_turn_even_where_the_radii_differ(follow, code, way, x):
    """NISTIR 6556, 3.5.3: within 0.002 mm the arc is made."""
    motion = follow(f"G90 F100 G0 X10 Y0\n{code} X{x} Y0 I-10 J0")
    assert codes(motion) == []
    assert motion.sweep[-1] == pytest.approx(way * 2.0 * pi)


@pytest.mark.parametrize("z", [0.0, 4.0, -4.0])
def test_inverse_time_on_a_helix_counts_its_whole_length(z: float) -> None:
    """G93: the whole move in 1/F minutes (NISTIR 6556, 3.5.19); L = hypot(r sweep, rise)."""
    motion = run(f"G90 G0 X10 Y0 Z{z}\nG93 G3 X-10 Y0 Z{z - 3} I-10 J0 F2")
    assert motion.feed[-1] == pytest.approx(2.0 * hypot(10.0 * pi, 3.0))
    level = run(f"G90 G0 X10 Y0 Z{z}\nG93 G3 X-10 Y0 I-10 J0 F2")
    assert level.feed[-1] == pytest.approx(2.0 * 10.0 * pi)
