"""Which arcs one after another are one full circle: of one centre, radius, level, plane and way."""

import math

import pytest
from prediction_maker import mill, motion

from gpre.prediction.circles import circles_of
from gpre.prediction.deviation import deviation
from gpre.prediction.table_path import table_path


def circles(*blocks):
    made = motion(*blocks)
    return circles_of(made, deviation(made, table_path(made, mill(0.1, 0.1))))


HALF = ("G0 X10", "G3 X-10 Y0 I-10")
NO_CIRCLE = {
    "another centre in X, as great": (*HALF, "G3 X-30 Y0 I-10"),
    "another centre in X and radius": (*HALF, "G3 X2 Y0 I6"),
    "another radius about one centre": (*HALF, "G92 X-6 Y0", "G3 X6 Y0 I6"),
    "another centre in Y alone": (*HALF, "G92 X-10 Y3", "G3 X10 Y3 I10"),
    "another level": (*HALF, "G92 Z4", "G3 X10 Y0 I10"),
    "the other way round": (*HALF, "G2 X10 Y0 I10"),
    "a helix first": ("G0 X10", "G3 X-10 Y0 Z-1 I-10", "G3 X10 Y0 I10"),
    "a helix after it": (*HALF, "G3 X10 Y0 Z-1 I10"),
    "a helix of a turn": ("G0 X10", "G3 X10 Y0 Z-1 I-10"),
    "three quarters": ("G0 X10", "G3 X0 Y-10 I-10"),
    "a move between that ends where it began": (*HALF, "G1 X-9", "X-10", "G3 X10 Y0 I10"),
    "another plane": (*HALF, "G18 G3 X10 Z0 I10 K0"),
}


@pytest.mark.parametrize("name", NO_CIRCLE)
def test_arcs_that_are_not_one_circle(name):
    assert circles(*NO_CIRCLE[name]) == ()


def test_each_turn_is_a_circle_of_its_own():
    found = circles("G0 X10", *["G3 X-10 Y0 I-10", "G3 X10 Y0 I10"] * 3)
    # rows 1 to 6 in pairs, half open; the blocks follow the head and the rapid
    assert [(each.first, each.last, each.block) for each in found] == [
        (1, 3, 2), (3, 5, 4), (5, 7, 6),
    ]  # fmt: skip
    assert {each.centre for each in found} == {(0.0, 0.0, 0.0)}
    assert {each.radius for each in found} == {10.0}


@pytest.mark.parametrize("code", [2, 3])
def test_a_circle_may_be_of_many_arcs(code):
    """Sixteen each, twice round: no piece of the first turn counts for the second."""
    way = 1 if code == 3 else -1
    at = [way * 2.0 * math.pi * k / 16 for k in range(33)]
    places = [(10.0 * math.cos(a), 10.0 * math.sin(a)) for a in at]
    arcs = [
        f"G{code} X{x:.9f} Y{y:.9f} I{-u:.9f} J{-v:.9f}"
        for (u, v), (x, y) in zip(places, places[1:], strict=False)
    ]
    found = circles("G0 X10", *arcs)
    assert [(each.first, each.last) for each in found] == [(1, 17), (17, 33)]
    assert [each.counter_clockwise for each in found] == [code == 3] * 2
    assert found[1].radius == pytest.approx(10.0)


def test_a_turn_and_a_quarter_is_one_circle_and_a_turn_is_counted_from_its_start():
    found = circles("G0 X10", "G3 X0 Y10 I-10", "G3 X0 Y10 J-10")
    assert [(each.first, each.last) for each in found] == [(1, 3)]
    found = circles("G0 X10", "G3 X10 Y0 I-10", "G3 X0 Y10 I-10", "G3 X0 Y10 J-10")
    assert [(each.first, each.last) for each in found] == [(1, 2), (2, 4)]


ELSEWHERE = {
    17: ("G0 X20 Y-12", "X13 Y-7", *["G17 G3 X13 Y-7 I-10"] * 2),
    18: ("G0 X20 Z-12", "X13 Z-7", *["G18 G2 X13 Z-7 I-10"] * 2),
    19: ("G0 Y20 Z-12", "Y13 Z-7", *["G19 G3 Y13 Z-7 J-10"] * 2),
}


@pytest.mark.parametrize("plane", ELSEWHERE)
def test_the_figures_do_not_depend_on_where_the_circle_lies(plane):
    """About 3 and -7: F_max = sqrt((R-b/2)² + (sqrt(2Rb-b²) - b/2)²) - R, F_min = -b/2."""
    radius, backlash = 10.0, 0.1
    made = motion(*ELSEWHERE[plane])
    on = mill(backlash, backlash, backlash)
    found = circles_of(made, deviation(made, table_path(made, on)))[1]
    most = math.hypot(
        radius - backlash / 2, math.sqrt(2 * radius * backlash - backlash**2) - backlash / 2
    )
    assert found.plane == plane
    assert found.f_max == pytest.approx(most - radius, abs=1e-8)
    assert found.f_min == pytest.approx(-backlash / 2, abs=1e-8)
    u, v = {17: (0, 1), 18: (0, 2), 19: (1, 2)}[plane]
    assert (found.centre[u], found.centre[v]) == pytest.approx((3.0, -7.0))
