"""Moves over one place in heaps: how much of it the proof looks at, and when it gives up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from gpre.geometry.region import SegmentIndex
from gpre.geometry.too_dense import CrowdedError
from gpre.mill.mill import Mill
from gpre.proof.prove import prove
from gpre.source.text import SourceText

FRONT = "G21 G17 G90 G94\nT1 M6\nS900 M3\nG0 X0 Y0 Z5\nF200\n"
BACK = "G0 Z20\nM30\n"


@pytest.fixture
def pairs(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Count what every question to an index finds."""
    found: list[int] = []
    near = SegmentIndex.near

    def counted(
        self: SegmentIndex, start: NDArray[np.float64], end: NDArray[np.float64], distance: float
    ) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        result = near(self, start, end, distance)
        found.append(len(result[0]))
        return result

    monkeypatch.setattr(SegmentIndex, "near", counted)
    return found


def figure(before: str, after: str) -> str:
    proof = prove(*(SourceText.of(text.encode()) for text in (before, after)), Mill())
    return next(each.figure for each in proof.obligations if each.name == "depth order")


def pecked(times: int, second: str) -> str:
    """Return a hole that is pecked again and again, with a short cut beside it."""
    hole = "G98 G83 X10 Y10 Z-6 R1 Q1\n"
    return f"{FRONT}G1 X2 Z-1\n{second}\n{hole * times}G80\n{BACK}"


def test_points_over_one_place_share_its_passes(pairs: list[int]) -> None:
    times = 40
    moves = times * 13  # of the tool, upright over the same place
    found = figure(pecked(times, "G1 Y5"), pecked(times, "G91 G1 Y5 (G90 lost)"))
    assert "moves checked" in found
    # every point against every pass would be some 2 * 5 * moves**2
    assert 10 * moves < sum(pairs) < moves**2


def test_what_would_take_minutes_is_refused_at_once(pairs: list[int]) -> None:
    times = 250
    found = figure(pecked(times, "G1 Y5"), pecked(times, "G91 G1 Y5 (G90 lost)"))
    assert found == "not shown: too many moves pass over the same place"
    assert sum(pairs) < 3_000_000


numbers = st.floats(-50.0, 50.0).map(lambda value: round(value, 2))
points = st.tuples(numbers, numbers)


@given(st.lists(st.tuples(points, points), min_size=1, max_size=12), st.lists(points, min_size=1))
def test_an_index_finds_what_measuring_finds(
    lines: list[tuple[tuple[float, float], tuple[float, float]]],
    asked: list[tuple[float, float]],
) -> None:
    start, end = (np.array([line[which] for line in lines]) for which in (0, 1))
    place = np.array(asked)
    found = set(zip(*(each.tolist() for each in SegmentIndex(start, end).near(place, place, 5.0)),
                    strict=True))  # fmt: skip
    for row, (x, y) in enumerate(asked):
        for column, ((x0, y0), (x1, y1)) in enumerate(lines):
            along = (x1 - x0, y1 - y0)
            square = along[0] ** 2 + along[1] ** 2
            share = ((x - x0) * along[0] + (y - y0) * along[1]) / square if square else 0.0
            share = min(max(share, 0.0), 1.0)
            far = math.hypot(x - x0 - share * along[0], y - y0 - share * along[1])
            if abs(far - 5.0) > 1e-9:
                assert ((row, column) in found) == (far < 5.0)


def test_long_slanting_lines_are_found_once_each() -> None:
    angle = np.arange(200) * 2.4
    end = 50.0 * np.column_stack((np.cos(angle), np.sin(angle)))
    index = SegmentIndex(-end, end)  # all through the middle
    place = np.array([[0.0, 0.0], [40.0, 0.0]])
    query, segment = index.near(place, place, 0.01)
    assert segment[query == 0].tolist() == list(range(200))
    near = np.abs(40.0 * np.sin(angle)) <= 0.01
    assert segment[query == 1].tolist() == np.flatnonzero(near).tolist()


def test_an_index_gives_up_on_heaps() -> None:
    place = np.zeros((4000, 2))
    with pytest.raises(CrowdedError):
        SegmentIndex(place, place + 1.0).near(place, place, 1.0)
