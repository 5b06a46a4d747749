"""Deviation at a right angle to the path: closed forms, walls, ends, and intended paths."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from prediction_maker import mill, motion, place_on
from shapely.geometry import LinearRing, MultiPoint

from gpre.cuts.cuts import Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.motion.motion import Kind, Motion
from gpre.prediction.curves import Curves
from gpre.prediction.deviation import (
    deviation,
    deviation_from,
    ends_of,
    missed,
    worst_ends,
    worst_places,
)
from gpre.prediction.features import _clockwise, features_of
from gpre.prediction.runs import runs_of
from gpre.prediction.table_path import table_path

SETTLED = ("G0 X-9 Y-9", "X-3 Y-3")  # both axes have run in plus


def held(made, on):
    return deviation(made, table_path(made, on))


def on_row(found, row):
    return found.row == row


def test_straight_wall_is_displaced_by_half_the_backlash():
    # out in +X, then a wall along +Y: X stays b/2 short, which is to the left of the travel
    made = motion(*SETTLED, "G1 X10", "Y20")
    found = held(made, mill(0.09, 0.06))
    wall = on_row(found, 3)
    np.testing.assert_allclose(found.aside_low[wall], -0.045, atol=1e-12)
    np.testing.assert_allclose(found.size[wall], 0.045, atol=1e-12)


def test_error_along_the_path_does_not_count():
    made = motion(*SETTLED, "G1 X10")
    found = held(made, mill(0.09))
    np.testing.assert_allclose(found.size, 0.0, atol=1e-12)


def test_error_along_the_path_counts_where_a_cut_starts_and_ends():
    made = motion(*SETTLED, "G1 X10", "G0 Z5", "X5")
    found = held(made, mill(0.09))
    ends = ends_of(made, found)
    assert ends.last.tolist() == [False, True]
    # both ends lie 0.045 behind: the start makes the cut longer, the end shorter
    np.testing.assert_allclose(ends.over_low, [0.045, -0.045], atol=1e-12)
    worst = worst_ends(made, found, ends, 5)
    assert [each.block for each in worst] == [3]
    assert worst[0].size == pytest.approx(0.045)


def test_bottom_of_a_hole_is_short_by_half_the_backlash_unless_z_hangs():
    made = motion("G0 Z5", "Z2", "G1 Z-3", "G0 Z5")
    for hangs, error in ((False, -0.04), (True, 0.0)):
        on = mill(z=0.08, gravity_loaded=hangs)
        ends = ends_of(made, held(made, on))
        assert ends.over_low[ends.last] == pytest.approx([error], abs=1e-12)


def test_square_cut_round_its_outside_comes_out_too_small_by_the_backlash():
    around = ("G1 X10", "Y10", "X0", "Y0", "X5")
    made = motion("G0 X-5 Y5", "X5 Y0", "G1 Z-1", *around, "G0 Z5")
    found = held(made, mill(0.09, 0.06))
    feature = features_of(made, find_cuts(made), found, made, 5)[0]
    assert feature.shape is Shape.CLOSED
    # each wall is met with the backlash taken up towards it: 2 x b/2 on each axis
    assert feature.size_x == pytest.approx(-0.09, abs=1e-9)
    assert feature.size_y == pytest.approx(-0.06, abs=1e-9)
    assert feature.least == pytest.approx(-0.045, abs=1e-9)


def test_inside_and_outside_of_a_contour_do_not_depend_on_its_direction():
    corners = ["X10 Y0", "X10 Y10", "X0 Y10", "X0 Y0"]
    for order in (corners, [*corners[-2::-1], "X0 Y0"]):
        made = motion("G0 X-9 Y-9", "X0 Y0", "G1 Z-1", *(f"G1 {each}" for each in order), "G0 Z5")
        feature = features_of(made, find_cuts(made), held(made, mill(0.09, 0.09)), made, 5)[0]
        assert feature.shape is Shape.CLOSED
        assert feature.least == pytest.approx(-0.045, abs=1e-9)


def test_circle_is_signed_outwards_both_ways_round():
    for code in (2, 3):
        made = motion("G0 X35", "X25", f"G{code} X25 Y0 I-25", f"G{code} X25 Y0 I-25")
        found = held(made, mill(0.1, 0.1))
        turn = on_row(found, 3)
        b, r = 0.1, 25.0
        # closed form, equal backlash on both axes
        most = math.sqrt((r - b / 2) ** 2 + (math.sqrt(2 * r * b - b * b) - b / 2) ** 2) - r
        assert found.aside_high[turn].max() == pytest.approx(most, abs=1e-9)
        # least between two samples of the flat: b/2, met within the chord
        assert found.aside_low[turn].min() == pytest.approx(-b / 2, abs=1e-4)


def test_right_angles_on_moves_of_every_kind():
    made = motion("G1 X3 Y4", "Z5", "X0 Y0 Z0", "G2 X2 Y0 I1", "G18 G3 X0 Z0 I-1 Y2", "G1 X0")
    row = np.repeat(np.arange(6), 3)
    t = np.tile([0.0, 0.4, 1.0], 6)
    across = Curves(made).across(row, t).normals
    moving = row < 5
    for one, other in ((0, 1), (0, 2), (1, 2)):
        dots = np.einsum("ij,ij->i", across[one][moving], across[other][moving])
        np.testing.assert_allclose(dots, 0.0, atol=1e-12)
    for each in across:
        np.testing.assert_allclose(np.linalg.norm(each[moving], axis=1), 1.0, atol=1e-12)
    np.testing.assert_allclose(across.aside[0], [0.8, -0.6, 0.0], atol=1e-12)  # to the right
    np.testing.assert_allclose(across.aside[9], [-1.0, 0.0, 0.0], atol=1e-12)  # outwards
    assert np.isnan(across.aside[15:]).all()  # no length, no direction


def test_directions_are_those_of_the_path_itself():
    """Along: a central difference of the plain formula. Aside: away from the centre, flat."""
    made = motion(
        "G0 X10 Y20 Z30", "G3 X16 Y20 I3 J4 Z28", "G2 X0 Y0 R50", "G18 G2 X17 Z45 I12 K5 Y3",
        "G19 G3 Y10 Z46 J4 K-3", "G17 G1 X-3 Y2 Z-1",
    )  # fmt: skip
    row = np.repeat(np.arange(len(made)), 5)
    t = np.tile([0.1, 0.3, 0.5, 0.7, 0.9], len(made))
    across = Curves(made).across(row, t).normals
    for at, (which, along) in enumerate(zip(row, t, strict=True)):
        step = place_on(made, which, along + 1e-5) - place_on(made, which, along - 1e-5)
        np.testing.assert_allclose(across.along[at], step / np.linalg.norm(step), atol=1e-6)
        if made.sweep[which]:
            axes = {17: [0, 1], 18: [2, 0], 19: [1, 2]}[int(made.plane[which])]
            off = (place_on(made, which, along) - made.centre[which])[axes]
            assert across.aside[at][axes] @ off == pytest.approx(np.linalg.norm(off), rel=1e-2)
        else:
            assert across.aside[at, 2] == 0.0
            assert np.cross(across.aside[at], step)[2] > 0.0  # to the right


def test_worst_places_are_one_a_block_and_fall():
    made = motion(*SETTLED, "G1 X10", "Y20", "X0", "Y0")
    found = held(made, mill(0.09, 0.06))
    worst = worst_places(made, found, 3)
    assert len({each.block for each in worst}) == 3
    assert [each.size for each in worst] == sorted((each.size for each in worst), reverse=True)
    assert worst[0].size == found.greatest == pytest.approx(0.045)


def test_unknown_start_gives_the_worst_of_both_sides():
    made = motion("G1 Y5")
    found = held(made, mill(0.09))
    assert not found.known.any()
    np.testing.assert_allclose(found.aside_low, -0.045, atol=1e-12)
    np.testing.assert_allclose(found.aside_high, 0.045, atol=1e-12)


def test_program_with_no_cut():
    made = motion("G0 X5")
    found = held(made, mill(0.1))
    assert (len(found), found.greatest) == (0, 0.0)
    assert worst_places(made, found, 3) == ()
    assert worst_ends(made, found, ends_of(made, found), 3) == ()
    assert features_of(made, find_cuts(made), found, made, 3) == ()


# --- compared with an intended path ---


def moves(points: np.ndarray, feed: float = 300.0) -> Motion:
    """Straight moves at feed from point to point, after a rapid to the first."""
    made = motion("G0 X1", "G1 X2")
    n = len(points) - 1
    start = np.column_stack((points[:-1], np.zeros(n)))
    end = np.column_stack((points[1:], np.zeros(n)))
    kind = np.full(n, Kind.LINE, np.uint8)
    kind[0] = Kind.RAPID
    return Motion(
        kind=kind,
        start=start,
        end=end,
        rotary=np.zeros((0, 6)),
        centre=np.full((n, 3), np.nan),
        sweep=np.zeros(n),
        plane=np.full(n, 17, np.uint8),
        feed=np.full(n, feed),
        role=np.zeros(n, np.uint8),
        block=np.arange(n, dtype=np.int32),
        state=np.zeros(n, np.int32),
        called=np.zeros(n, bool),
        states=made.states[:1],
    )


RADIUS, BACKLASH = 9.0, (0.09, 0.06)
# a run in from the left below, on a tangent, so that both axes are settled and X turns at 0 degrees
LEAD = np.array([[-40.0, -40.0], [9.0, -39.0], [9.0, -5.0], [9.0, -2.0]])


def ring(window: float, share: float = 1.0) -> tuple[Motion, Motion]:
    """A ring of radius 9 in fine steps: with take-ups spread over centred windows, and without.

    window: mm along the arc. share: of the backlash that the program takes up.
    """
    angle = np.unique(
        np.concatenate(
            [np.linspace(0.0, 2 * np.pi, 4_001)]
            + [
                np.array([-0.5, 0.0, 0.5]) * window / RADIUS
                + k * np.pi / 2
                + np.array([-1e-9, 0, 1e-9])
                for k in range(5)
            ]
        )
    )
    angle = angle[angle >= 0.0]
    points = RADIUS * np.column_stack((np.cos(angle), np.sin(angle)))
    lead = np.zeros_like(points)
    width = max(window / RADIUS, 2e-9)
    for axis, turns, first in (
        (0, (0.0, np.pi, 2 * np.pi), 1.0),
        (1, (np.pi / 2, 1.5 * np.pi), 1.0),
    ):
        way = np.full(len(angle), first)
        sign = first
        for turn in turns:
            over = np.clip((angle - turn) / width + 0.5, 0.0, 1.0)
            way -= 2.0 * sign * over
            sign = -sign
        lead[:, axis] = way * share * BACKLASH[axis] / 2.0
    before = LEAD + np.array(BACKLASH) / 2.0 * share
    wanted = moves(np.vstack((LEAD, points)))
    return moves(np.vstack((before, points + lead))), wanted


def out_by(made, wanted, on):
    return deviation_from(made, table_path(made, on), wanted, 0.4)


def test_take_up_in_one_step_at_the_quadrant_leaves_no_error():
    made, wanted = ring(0.0)
    on = mill(*BACKLASH, by="program")
    assert out_by(made, wanted, on).greatest < 2e-5
    assert missed(made, table_path(made, on), wanted, 0.4).distance.max() < 2e-5


@pytest.mark.parametrize("window", [0.1, 0.2, 0.4, 0.7, 1.0])
def test_centred_window_leaves_half_the_window_squared_over_twice_the_radius(window):
    made, wanted = ring(window)
    found = out_by(made, wanted, mill(*BACKLASH, by="program"))
    on_ring = found.row > 4
    greatest = found.size[on_ring].max()
    # the table rests at R cos(w/2R) while the path goes on to R (plane geometry); the chords of the
    # ring, of 1/4000 turn, are what is left
    assert greatest == pytest.approx(RADIUS * (1.0 - math.cos(window / 2 / RADIUS)), rel=1e-6)
    assert greatest == pytest.approx((window / 2) ** 2 / (2 * RADIUS), rel=0.01)


def test_ring_without_take_ups_is_out_by_half_the_backlash():
    made, wanted = ring(0.0, share=0.0)
    found = out_by(made, wanted, mill(*BACKLASH, by="program"))
    # off the quadrants (bx/2) cos - (by/2) sin at the most
    assert found.size[found.row > 4].max() == pytest.approx(0.045, abs=3e-4)


def test_backlash_a_fifth_off_leaves_a_fifth_of_the_error():
    made, wanted = ring(0.2)
    on = mill(*BACKLASH, by="program")
    for share in (-0.2, 0.2):
        change = (share * BACKLASH[0], share * BACKLASH[1], 0.0)
        found = deviation_from(made, table_path(made, on, change=change), wanted, 0.4)
        # half of the difference on both axes together is the most away from the quadrants
        assert found.greatest <= math.hypot(0.009, 0.006) + 0.001
        assert found.greatest >= 0.008


def test_each_run_is_held_against_its_own_and_not_against_one_near_by():
    # two walls 0.05 apart; the table stands 0.045 beside its own, towards the other
    blocks = ("G0 X-9 Y-9", "Y0 X-5", "G1 X10", "G0 Y0.05", "G0 X-5 Y-3", "Y0.05", "G1 X10")
    made = motion(*blocks)
    path = table_path(made, mill(0.0, 0.09))
    found = deviation_from(made, path, made, 0.4)
    np.testing.assert_allclose(found.size, 0.045, atol=1e-9)


def test_there_and_back_is_followed_in_order():
    made = motion("G0 X-9 Y-9", "X0 Y0", "G1 X10", "X0", "X10", "Y1", "X0", "X10")
    path = table_path(made, mill(0.09, 0.06))
    found = deviation_from(made, path, made, 0.4)
    assert (np.diff(found.of) >= 0).all()
    assert found.greatest <= math.hypot(0.045, 0.03) + 1e-9


def test_other_number_of_runs_is_held_against_the_nearest():
    wanted = motion("G0 X-9 Y-9", "X0 Y0", "G1 X10", "G0 Z5", "G0 X0 Y20", "Z0", "G1 X10")
    made = motion("G0 X-9 Y-9", "X0 Y0", "G1 X10")
    path = table_path(made, mill(0.0, 0.06))
    assert deviation_from(made, path, wanted, 0.4).greatest == pytest.approx(0.03)
    # and what the program leaves out is told: the other wall is nowhere near
    assert missed(made, path, wanted, 0.4).distance.max() == 1.0


def test_path_nowhere_near_is_not_called_near():
    wanted, made = motion("G0 X0", "G1 X10"), motion("G0 X0 Y50", "G1 X10")
    found = deviation_from(made, table_path(made, mill(0.1)), wanted, 0.4)
    assert found.greatest >= 1.0


def test_intended_path_of_nothing():
    made = motion("G0 X-1", "G1 X10")
    found = deviation_from(made, table_path(made, mill(0.1)), motion("G0 X5"), 0.4)
    assert found.greatest == 1.0


def test_runs_break_at_air_moves_unknown_places_and_new_coordinates():
    made = motion("G1 X1", "X2", "G0 X3", "G1 X4", "G92 X0", "G1 X1", "G28 X0", "G1 X5", "X6")
    runs = runs_of(made)
    assert runs.of.tolist() == [0, 0, -1, 1, 2, -1, -1, -1, 3]
    assert (runs.head.tolist(), runs.tail.tolist()) == ([0, 3, 4, 8], [2, 4, 5, 9])


@pytest.mark.parametrize("clockwise", [False, True])
def test_a_wall_that_stands_back_is_inside_whichever_way_round_it_is_cut(clockwise):
    """By hand: only X has backlash, and both walls along Y stand back by half of it."""
    corners = ["X10 Y0", "X10 Y10", "X0 Y10", "X0 Y0"]
    order = [*corners[-2::-1], "X0 Y0"] if clockwise else corners
    way = ("G0 X9 Y-9", "X5 Y-5") if clockwise else ("G0 X-9 Y-9", "X-5 Y-5")
    made = motion(*way, "X0 Y0", "G1 Z-1", *(f"G1 {each}" for each in order), "G0 Z5")
    found = held(made, mill(0.09))
    (feature,) = features_of(made, find_cuts(made), found, made, 5)
    assert (feature.least, feature.greatest) == pytest.approx((-0.045, 0.0), abs=1e-9)
    # what is not known of a place leaves the size of the others
    point = found.point.copy()
    point[np.abs(point[:, 0] - 5.0) < 4.95] = np.nan
    partly = dataclasses.replace(found, point=point)
    (known,) = features_of(made, find_cuts(made), partly, made, 5)
    assert (known.size_x, known.size_y) == (feature.size_x, feature.size_y)


@given(
    st.lists(st.tuples(st.integers(-20, 20), st.integers(-20, 20)), min_size=4, max_size=9),
    st.booleans(),
)
def test_a_contour_runs_clockwise_as_shapely_says(places, turned):
    hull = MultiPoint(places).convex_hull
    assume(hull.geom_type == "Polygon")
    ring = np.add(hull.exterior.coords[:-1], (300.0, -80.0))[:: -1 if turned else 1]
    assert _clockwise(np.column_stack((ring, np.zeros(len(ring))))) != LinearRing(ring).is_ccw
