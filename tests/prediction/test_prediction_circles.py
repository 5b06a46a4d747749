"""Figures of full circles against closed forms and the least squares circle of a fit."""

import math

import numpy as np
import pytest
from prediction_maker import mill, motion

from gpre.prediction.circles import circles_of, hysteresis, least_squares_centre
from gpre.prediction.deviation import deviation, deviation_from
from gpre.prediction.table_path import table_path


def figures(on, *blocks):
    made = motion(*blocks)
    return circles_of(made, deviation(made, table_path(made, on)))


def turns(radius, *codes):
    """Full circles one after another; the first one settles the backlash."""
    arcs = [f"G{code} X{radius} Y0 I-{radius}" for code in codes]
    return (f"G0 X{radius + 5} Y-3", f"X{radius} Y0", *arcs)


# F_max = sqrt((R-b/2)^2 + (sqrt(2Rb-b^2)-b/2)^2) - R with equal backlash on both axes,
# sqrt(R^2+Rb-3b^2/4) - R with X only; F_min = -b/2 (worked out for the symmetric play operator; no
# published table of such figures was found). H and the second F_max come from a simulation of
# 72,000 points a turn, which misses the peak of F_max by up to 3e-6.
CIRCLES = [
    (25, 0.1, 0.1, 0.045388, 0.090893),
    (25, 0.1, 0.0, 0.0498, 0.099601),
    (10, 0.05, 0.05, 0.022414, 0.044903),
    (10, 0.05, 0.0, 0.024875, 0.049751),
    (50, 0.02, 0.02, 0.009713, 0.019429),
]


def closed_form(r, b, other):
    if other:
        return math.sqrt((r - b / 2) ** 2 + (math.sqrt(2 * r * b - b * b) - b / 2) ** 2) - r
    return math.sqrt(r * r + r * b - 0.75 * b * b) - r


@pytest.mark.parametrize(("radius", "backlash_x", "backlash_y", "simulated", "both_ways"), CIRCLES)
def test_figures_of_a_circle_with_play(radius, backlash_x, backlash_y, simulated, both_ways):
    found = figures(mill(backlash_x, backlash_y), *turns(radius, 3, 3, 2, 2))
    assert len(found) == 4
    steady = found[1]
    assert steady.known
    assert steady.counter_clockwise
    assert steady.f_max == pytest.approx(closed_form(radius, backlash_x, backlash_y), abs=1e-8)
    assert steady.f_max == pytest.approx(simulated, abs=4e-6)
    assert steady.f_min == pytest.approx(-backlash_x / 2, abs=1e-8)
    # the path is symmetric about the nominal centre, which is that of the LSC then
    assert steady.g == pytest.approx(steady.f_max - steady.f_min, abs=2e-5)
    pair = figures(mill(backlash_x, backlash_y), *turns(radius, 3, 3, 2, 2, 3, 3))
    assert pair[3].h == pytest.approx(both_ways, abs=3e-4)


def test_hysteresis_of_two_steady_circles():
    def steady(code):
        made = motion(*turns(25, code, code))
        found = deviation(made, table_path(made, mill(0.1, 0.1)))
        at = found.row == 3
        table = found.point[at] + found.offset_low[at]
        return table[:, 0], table[:, 1]

    assert hysteresis(steady(3), steady(2)) == pytest.approx(0.090893, abs=2e-5)


def test_no_hysteresis_where_the_circle_is_cut_one_way():
    assert [each.h for each in figures(mill(0.1, 0.1), *turns(10, 3, 3))] == [None, None]


def test_circle_of_several_arcs_has_the_figures_of_one():
    quarters = ("G3 X0 Y10 I-10", "X-10 Y0 J-10", "X0 Y-10 I10", "X10 Y0 J10")
    halves = ("G3 X-10 Y0 I-10", "X10 Y0 I10")
    start = ("G0 X15 Y-3", "X10 Y0", "G3 X10 Y0 I-10")
    whole = figures(mill(0.05, 0.03), *start, "G3 X10 Y0 I-10")[1]
    for pieces in (quarters, halves):
        found = figures(mill(0.05, 0.03), *start, *pieces)
        assert len(found) == 2
        assert found[1].f_max == pytest.approx(whole.f_max, abs=1e-8)
        assert found[1].f_min == pytest.approx(whole.f_min, abs=1e-8)
        assert found[1].g == pytest.approx(whole.g, abs=2e-5)


def test_what_is_no_full_circle():
    assert figures(mill(0.1), "G0 X10", "G3 X-10 Y0 I-10") == ()
    assert figures(mill(0.1), "G0 X10", "G3 X10 Y0 I-10 Z-2") == ()  # a helix
    assert figures(mill(0.1), "G0 X10", "G3 X-10 Y0 I-10", "G2 X10 Y0 I10") == ()  # there and back
    assert figures(mill(0.1), "G0 X10", "G3 X-10 Y0 I-10", "G1 X-9", "X-10", "G3 X10 Y0 I10") == ()
    assert figures(mill(0.1), "G1 X10") == ()


def test_circle_in_another_plane():
    found = figures(mill(0.1, 0.0, 0.1), "G0 X30 Z-3", "G0 X25 Z0", *["G18 G2 X25 Z0 I-25"] * 2)
    assert [each.plane for each in found] == [18, 18]
    assert found[1].f_max == pytest.approx(closed_form(25, 0.1, 0.1), abs=1e-8)


def test_circle_with_the_controllers_compensation_is_round():
    for each in figures(mill(0.1, 0.1, by="controller"), *turns(10, 3, 2)):
        assert each.f_max == pytest.approx(0.0, abs=1e-9)
        assert each.f_min == pytest.approx(0.0, abs=1e-9)
        assert each.g == pytest.approx(0.0, abs=1e-9)
        assert each.h == pytest.approx(0.0, abs=1e-6)


def test_unknown_start_gives_the_worst_of_both_sides():
    found = figures(mill(0.1), "G0 Y-5", "G1 Y0", "G3 X0 Y0 J5")
    assert not found[0].known
    assert found[0].f_max >= 0.0498 - 0.001


def test_least_squares_centre_of_a_shifted_circle():
    angle = np.sort(np.random.default_rng(3).uniform(0, 2 * np.pi, 400))
    u, v = 0.3 + 20 * np.cos(angle), -0.2 + 20 * np.sin(angle)
    assert least_squares_centre((u, v)) == pytest.approx((0.3, -0.2), abs=1e-9)


def test_a_path_that_leads_through_the_centre_has_one_too():
    """Backlash as great as the radius may lead it there."""
    angle = np.linspace(0.0, 2.0 * np.pi, 41)
    u, v = np.cos(angle), np.sin(angle)
    u[7] = v[7] = 0.0
    assert np.hypot(*least_squares_centre((u, v))) < 0.2


def test_least_squares_centre_is_where_the_sum_of_squares_is_least():
    angle = np.linspace(0, 2 * np.pi, 721)
    away = 10 + 0.05 * np.cos(3 * angle) + 0.02 * np.sin(angle) + 0.03 * np.cos(angle) ** 2
    u, v = away * np.cos(angle), away * np.sin(angle)
    centre = least_squares_centre((u, v))

    def squares(u0, v0):
        r = np.hypot(u - u0, v - v0)[:-1]
        return np.sum((r - r.mean()) ** 2)

    best = squares(*centre)
    for step in (1e-3, -1e-3):
        assert squares(centre[0] + step, centre[1]) > best
        assert squares(centre[0], centre[1] + step) > best


def test_a_circle_that_the_table_never_comes_near_has_no_figures():
    wanted = motion(*turns(10, 3), "G0 Z5", "X60", "Z0", "G3 X60 I-10", "G1 X70")
    made = motion(*turns(10, 3), "G0 Z5", "X60", "Z0", "G1 X70")
    found = deviation_from(made, table_path(made, mill(0.1, 0.1)), wanted, 0.4)
    assert [circle.radius for circle in circles_of(wanted, found)] == [pytest.approx(10.0)]
