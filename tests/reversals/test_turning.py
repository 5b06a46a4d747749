"""Where an axis must turn: against a plain walk over the points, and the side it bends to."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from motion_maker import Maker

from gpre.reversals.turning import chain_of, coincide, count_turns, turning

ALLOWANCE = 0.004
REACH = ALLOWANCE * 1.1


def plain_count(values):
    """Turns with an allowance, value by value: the definition in small steps."""
    low = high = values[0]
    way, turns = 0, 0
    for value in values[1:]:
        low, high = min(low, value), max(high, value)
        if way >= 0 and high - value > REACH:
            turns += way > 0
            way, low = -1, value
        elif way <= 0 and value - low > REACH:
            turns += way < 0
            way, high = 1, value
    return turns


heights = st.lists(st.integers(-8, 8).map(lambda step: step * 0.0025), min_size=1, max_size=40)


@given(values=heights)
def test_turns_are_those_of_a_plain_walk(values):
    assert count_turns(np.array(values), ALLOWANCE) == plain_count(values)


@given(values=heights, shift=st.integers(0, 40))
def test_a_ring_has_the_same_turns_wherever_it_begins(values, shift):
    """And always an even number of them."""
    points = np.column_stack([values, np.arange(len(values)), np.zeros(len(values))])
    moved = np.roll(points, shift, axis=0)
    counts = [
        len(turning(np.vstack([each, each[:1]]), 0, ALLOWANCE, ring=True))
        for each in (points, moved)
    ]
    assert counts[0] == counts[1]
    assert counts[0] % 2 == 0


def circle(sweep):
    motion = Maker(at=(9.0, 0.0, 0.0)).arc(17, (-9.0, 0.0), sweep).motion()
    return chain_of(motion, 0, 1, ALLOWANCE)


def test_a_ring_counts_each_turn_and_which_way_the_path_bends():
    for sweep, bend in ((np.pi * 2, 1), (-np.pi * 2, -1)):
        for axis in (0, 1):
            found = turning(circle(sweep), axis, ALLOWANCE, ring=True)
            assert len(found) == 2
            assert (found.bend == bend).all()


def test_a_turn_reaches_as_far_as_the_allowance():
    """Along a straight edge of slope 1 in 10 the allowance lasts ten times its length."""
    chain = np.array([(0.0, 0, 0), (10.0, 10, 0), (9.0, 20, 0)])
    found = turning(chain, 0, ALLOWANCE, ring=False)
    assert found.at.tolist() == [1]
    assert np.isclose(1.0 - found.low[0], REACH / 10.0)
    assert np.isclose(found.high[0] - 1.0, REACH / 1.0)
    assert found.bend.tolist() == [1]


def test_a_path_straight_back_bends_to_no_side():
    chain = np.array([(0.0, 0, 0), (10.0, 0, 0), (0.0, 0, 0)])
    assert turning(chain, 0, ALLOWANCE, ring=False).bend.tolist() == [0]


def test_both_axes_turn_at_one_corner_but_nowhere_on_a_circle():
    both = np.array([(0.0, 0, 0), (10.0, 0, 0), (10.0, 6, 0), (0.0, 6, 0), (0.0, 0, 0)])
    for chain, expected in ((both, True), (circle(np.pi * 2), False)):
        x, y = (turning(chain, axis, ALLOWANCE, ring=True) for axis in (0, 1))
        assert coincide(x, y) is expected


def test_where_nothing_turns_nothing_coincides():
    flat = np.array([(0.0, 0, 0), (10.0, 0, 0), (0.0, 0, 0)])
    x, y = (turning(flat, axis, ALLOWANCE, ring=True) for axis in (0, 1))
    assert (len(x), len(y)) == (2, 0)
    assert not coincide(x, y)


def test_the_closing_point_of_a_ring_is_no_point_of_its_own():
    chain = circle(np.pi * 2)
    found = turning(chain, 0, ALLOWANCE, ring=True)
    assert found.size == len(chain) - 1
    # X turns where the ring begins, and as far to both sides of it; R (1 - cos a) is the reach
    first = int(np.argmin(found.at))
    assert found.at[first] == 0
    step = 2.0 * np.pi / found.size
    side = np.arccos(1.0 - REACH / 9.0) / step
    assert np.isclose(-found.low[first], found.high[first], atol=1e-6)
    assert np.isclose(found.high[first], side, atol=0.15)
    other = 1 - first
    assert np.isclose(found.low[other] + found.high[other], found.size, atol=1e-6)


def test_the_corners_of_a_diamond_are_of_one_axis_each_wherever_the_ring_begins():
    diamond = np.array([(10.0, 0, 0), (0.0, 6, 0), (-10.0, 0, 0), (0.0, -6, 0)])
    slanting = np.array([(0.0, 0, 0), (10.0, 4, 0), (4.0, 10, 0)])  # at its first corner both
    for corners, expected in ((diamond, False), (slanting, True)):
        for begin in range(len(corners)):
            ring = np.roll(corners, -begin, axis=0)
            chain = np.vstack((ring, ring[:1]))
            x, y = (turning(chain, axis, ALLOWANCE, ring=True) for axis in (0, 1))
            assert coincide(x, y) is expected
