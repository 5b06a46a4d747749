"""The order of places: compared with all orders that there are, and settled once found."""

from itertools import permutations
from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.rewrites.order.ways import Ways, best_order, ways_between

OVERSHOOT = 1.25
places = st.lists(
    st.tuples(st.integers(-6, 6), st.integers(-6, 6)), min_size=3, max_size=6, unique=True
).map(sorted)
sides_of = st.tuples(st.sampled_from((-1, 1)), st.sampled_from((-1, 1)))


def own_length(here, goal, sides, lift) -> float:
    """The way from one place to the next, with its loop: written anew, move by move."""
    beyond = [
        goal[axis] - sides[axis] * OVERSHOOT
        if (goal[axis] - here[axis]) * sides[axis] < 0
        else goal[axis]
        for axis in (0, 1)
    ]
    there = hypot(beyond[0] - here[0], beyond[1] - here[1])
    back = hypot(beyond[0] - goal[0], beyond[1] - goal[1])
    return there + back + (2.0 * lift if back else 0.0)


def measured(found, sides, lift, last=None, goal=None) -> Ways:
    start = np.array((-20.0 * sides[0], -20.0 * sides[1]))
    place = np.array(found, float)
    none = np.zeros(place.shape, bool)
    return ways_between(
        place,
        sides,
        (OVERSHOOT, OVERSHOOT),
        lift=lift,
        start=(start, none),
        goal=None if goal is None else np.array(goal, float),
        last=last,
    )


@given(places, sides_of, st.sampled_from((0.0, 2.0, 18.0)), st.data())
def test_an_order_is_as_long_as_its_moves(found, sides, lift, data):
    order = data.draw(st.permutations(range(len(found))))
    ways = measured(found, sides, lift)
    stops = [(-20.0 * sides[0], -20.0 * sides[1]), *(found[at] for at in order)]
    own = [own_length(*pair, sides, lift) for pair in zip(stops, stops[1:], strict=False)]
    assert ways.total(order) == pytest.approx(sum(own))
    straight = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(stops, stops[1:], strict=False)]
    longer = sum(a > b + 1e-9 for a, b in zip(own, straight, strict=True))
    assert ways.count(order) == longer
    onward = measured(found, sides, lift, goal=(9.0, -7.0))
    last = found[order[-1]]
    home = hypot(last[0] - 9.0, last[1] + 7.0)
    assert onward.total(order) == pytest.approx(sum(own) + home)


@given(places, sides_of, st.sampled_from((0.0, 18.0)), st.booleans(), st.booleans(), st.data())
def test_what_is_found_is_no_longer_settled_and_near_the_best(
    found, sides, lift, fixed, home, data
):
    count = len(found)
    order = list(data.draw(st.permutations(range(count))))
    goal = (2.0, 3.0) if home else None
    ways = measured(found, sides, lift, order[-1] if fixed else None, goal)
    best = best_order(ways, order, sides)
    assert sorted(best) == list(range(count))
    assert not fixed or best[-1] == order[-1]
    assert ways.total(best) <= ways.total(order) + 1e-9
    assert best_order(ways, best, sides) == best
    every = [
        list(each) for each in permutations(range(count)) if not fixed or each[-1] == order[-1]
    ]
    shortest = min(ways.total(each) for each in every)
    assert ways.total(best) <= shortest * 1.1 + 1e-9


def test_a_grid_there_and_back_becomes_one_way_where_loops_are_dear():
    grid = sorted((x, y) for x in range(0, 60, 10) for y in range(0, 40, 10))
    ways = measured(grid, (1, 1), 30.0)
    snake = []
    for number, y in enumerate(range(0, 40, 10)):
        row = [grid.index((x, y)) for x in range(0, 60, 10)]
        snake += row[::-1] if number % 2 else row
    best = best_order(ways, snake, (1, 1))
    assert ways.count(snake) == 10
    assert ways.count(best) == 3  # each row but the first begins with one
    assert ways.total(best) < ways.total(snake)


def test_many_places_are_ordered_by_pattern():
    grid = sorted((x, y) for x in range(20) for y in range(20))
    ways = measured(grid, (1, -1), 5.0)
    order = list(np.random.default_rng(3).permutation(len(grid)))
    best = best_order(ways, order, (1, -1))
    assert ways.count(best) <= 19
    assert sorted(best) == list(range(len(grid)))
