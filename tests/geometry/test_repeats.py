"""Rows several times over, against the plain loops that they stand for."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from gpre.geometry.repeats import evenly, repeated


@given(st.lists(st.integers(0, 5), max_size=8))
def test_each_row_comes_as_often_as_asked(counts: list[int]) -> None:
    row, rank = repeated(np.array(counts, np.intp))
    expected = [(at, time) for at, count in enumerate(counts) for time in range(count)]
    assert list(zip(row.tolist(), rank.tolist(), strict=True)) == expected


@given(st.lists(st.integers(1, 5), max_size=8))
def test_steps_are_even_and_meet_both_ends(steps: list[int]) -> None:
    row, along = evenly(np.array(steps, np.intp))
    for at, count in enumerate(steps):
        assert np.array_equal(along[row == at], np.arange(count + 1) / count)
