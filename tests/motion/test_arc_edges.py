"""Arcs at their edges: full turns with ends a little apart, and inverse time on helices."""

from __future__ import annotations

from math import asin, atan2, cos, hypot, pi, sin

import pytest
from motion_checks import codes, run, slow

from gpre.motion.arcs import LONGEST


def in_bulk(text: str):
    """Run a text among so many plain blocks that all of it is read in columns."""
    return run("G90 F100\n" + "G0 X1\nX2\n" * 300 + text)


@pytest.mark.parametrize("follow", [run, slow, in_bulk])
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


ENDS = [((3.0, 4.0), (7.0, 9.0)), ((-3.0, -4.0), (2.0, -9.0)), ((6.0, -1.0), (1.0, 5.0))]


@pytest.mark.parametrize("follow", [run, slow, in_bulk])
@pytest.mark.parametrize(("start", "end"), ENDS)
@pytest.mark.parametrize("code", ["G2", "G3"])
@pytest.mark.parametrize("radius", [5.0, -5.0])
def test_the_centre_of_an_arc_by_its_radius_is_as_far_from_both_ends(
    follow, start, end, code, radius
):
    """A negative radius turns by more than half (NISTIR 6556, 3.5.3.1)."""
    (x0, y0), (x1, y1) = start, end
    motion = follow(f"G90 F100 G0 X{x0} Y{y0}\n{code} X{x1} Y{y1} R{radius}")
    u, v = motion.centre[-1, :2]
    assert hypot(x0 - u, y0 - v) == pytest.approx(5.0)
    assert hypot(x1 - u, y1 - v) == pytest.approx(5.0)
    chord = hypot(x1 - x0, y1 - y0)
    small = 2.0 * asin(chord / 10.0)
    turn = small if radius > 0.0 else 2.0 * pi - small
    assert motion.sweep[-1] == pytest.approx(turn if code == "G3" else -turn)
    # it ends where it says, turned about the centre
    angle = atan2(y0 - v, x0 - u) + motion.sweep[-1]
    assert (u + 5.0 * cos(angle), v + 5.0 * sin(angle)) == pytest.approx((x1, y1))


@pytest.mark.parametrize("follow", [run, slow, in_bulk])
@pytest.mark.parametrize("y", [0.0, -0.5, -1.0, 1.0])
def test_an_arc_too_long_to_be_meant_is_refused_wherever_it_begins(follow, y):
    far = LONGEST / pi  # half a circle: as long as may be, or twice
    for radius, found in ((0.49 * far, []), (2.0 * far, ["INT348"])):
        begin, end = y * radius, (y + 2.0) * radius
        text = f"G90 F100 G0 X0 Y{begin:.3f}\nG3 X0 Y{end:.3f} J{radius:.3f}"
        assert codes(follow(text)) == found


@pytest.mark.parametrize("follow", [run, slow, in_bulk])
def test_an_arc_by_its_radius_needs_a_radius_and_two_places(follow):
    for end, radius in (("X10 Y0", 5), ("X10 Y4", 0), ("X10 Y4", 1.9)):
        motion = follow(f"G90 F100 G0 X10 Y0\nG3 {end} R{radius}")
        assert [code[:3] for code in codes(motion)] == ["INT"], (end, radius)
        assert motion.kind[-1] == 0  # the rapid; no arc was made
    assert codes(follow("G90 F100 G0 X10 Y0\nG3 X10 Y4 R2")) == []
