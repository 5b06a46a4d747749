"""The signs of errors beside and along a path, and the ends of runs told apart; plain geometry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from prediction_maker import mill, motion

from gpre.prediction.curves import _upwards
from gpre.prediction.deviation import (
    deviation,
    deviation_from,
    ends_of,
    worst_ends,
    worst_places,
)
from gpre.prediction.table_path import table_path

ROOT = math.sqrt(2.0)
BACKLASH_X, BACKLASH_Y = 0.09, 0.06


def held(made, on):
    return deviation(made, table_path(made, on))


@given(arrays(np.float64, (3, 3), elements=st.floats(-1.0, 1.0)), st.data())
def test_upwards_is_at_a_right_angle_with_its_greatest_component_plus(along, data):
    aside = data.draw(arrays(np.float64, (3, 3), elements=st.floats(-1.0, 1.0)))
    for up, one, other in zip(_upwards(aside, along), aside, along, strict=True):
        assert abs(up @ one) <= 1e-12
        assert abs(up @ other) <= 1e-12
        assert np.abs(up).max() == pytest.approx(up.max(), abs=1e-15)


def test_the_worst_place_has_the_sign_of_the_side_on_which_it_may_be_farther():
    # X lags half its backlash behind; Y has not moved yet and may be anywhere within its own
    made = motion("G0 X-9", "X-3", "G1 X10 Y13")
    worst = worst_places(made, held(made, mill(BACKLASH_X, BACKLASH_Y)), 1)[0]
    # beside a path to the upper right: (x - y) / sqrt 2, plus to the right
    far = -(BACKLASH_X / 2 + BACKLASH_Y / 2) / ROOT
    assert (worst.size, worst.aside) == (pytest.approx(-far), pytest.approx(far))
    assert not worst.known


def test_the_end_of_a_cut_has_the_sign_of_the_way_in_which_it_may_be_farther_off():
    # X has come in minus and stands half its backlash ahead: the cut starts too late
    made = motion("G0 X20", "X3", "G1 X10 Y7", "X20 Y17", "G0 Z5")
    found = held(made, mill(BACKLASH_X, BACKLASH_Y))
    ends = ends_of(made, found)
    far, near = (-(BACKLASH_X / 2 + each * BACKLASH_Y / 2) / ROOT for each in (1, -1))
    assert (ends.over_low[0], ends.over_high[0]) == (pytest.approx(far), pytest.approx(near))
    # at its end both have come in plus: half the backlash of each is missing
    assert ends.over_low[1] == ends.over_high[1] == pytest.approx(far)
    both = worst_ends(made, found, ends, 5)
    assert sorted(each.block for each in both) == [3, 4]
    for worst in both:
        assert (worst.size, worst.aside) == (pytest.approx(-far), pytest.approx(far))


def test_what_a_run_is_too_long_at_its_ends_is_no_error_beside_it():
    wanted = motion("G0 X-9 Y-9", "X-3 Y0", "G1 X10", "X20", "G0 Z5")
    # half the backlash of X behind at the start, a tenth too far at the end
    made = motion("G0 X-9 Y-9", "X-3 Y0", "G1 X10", f"X{20.1 + BACKLASH_X / 2}", "G0 Z5")
    found = deviation_from(made, table_path(made, mill(BACKLASH_X)), wanted, 0.4)
    assert found.greatest == pytest.approx(0.0, abs=1e-9)
    ends = ends_of(made, found, wanted)
    assert ends.over_low == pytest.approx([BACKLASH_X / 2, 0.1])


def test_a_place_within_a_run_counts_by_its_distance_even_beside_an_end_of_a_move():
    # a step aside of 0.1 in the middle of the wall, where two of its moves meet
    wanted = motion("G0 X-9 Y-9", "X-3 Y0", "G1 X10", "X20", "G0 Z5")
    made = motion("G0 X-9 Y-9", "X-3 Y0", "G1 X9.9", "X10 Y0.1", "X10.1 Y0", "X20", "G0 Z5")
    found = deviation_from(made, table_path(made, mill()), wanted, 0.4)
    assert found.greatest == pytest.approx(0.1, abs=1e-9)


@pytest.mark.parametrize("degrees", [30, 150, 210, 330])
@pytest.mark.parametrize("code", [2, 3])
def test_on_an_arc_the_least_and_the_greatest_are_those_of_the_radius(degrees, code):
    radius, backlash = 10.0, 0.2
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    # the first move of the program: X may be on either side of its backlash
    made = motion(f"G{code} X0 Y0 I{-radius * c:.9f} J{-radius * s:.9f}")
    found = held(made, mill(backlash))
    assert not found.known[0]
    away = sorted(
        math.hypot(radius * c + side * backlash / 2, radius * s) - radius for side in (-1.0, 1.0)
    )
    assert found.aside_low[0] == pytest.approx(away[0], abs=1e-7)
    assert found.aside_high[0] == pytest.approx(away[1], abs=1e-7)
