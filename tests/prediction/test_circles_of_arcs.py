"""Which arcs one after another are one full circle: of one centre, radius, level, plane and way."""

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


def test_a_turn_and_a_quarter_is_one_circle_and_a_turn_is_counted_from_its_start():
    found = circles("G0 X10", "G3 X0 Y10 I-10", "G3 X0 Y10 J-10")
    assert [(each.first, each.last) for each in found] == [(1, 3)]
    found = circles("G0 X10", "G3 X10 Y0 I-10", "G3 X0 Y10 I-10", "G3 X0 Y10 J-10")
    assert [(each.first, each.last) for each in found] == [(1, 2), (2, 4)]
