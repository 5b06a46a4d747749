"""The travel plane of each setup: where the original itself goes at rapid, no metal can be."""

from __future__ import annotations

import numpy as np
import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job
from gpre.proof.planes import travel_planes
from gpre.proof.side import Side
from gpre.source.text import SourceText


def side(text: str) -> Side:
    return Side.of(SourceText.of(text.encode()), KNOWN)


def plane(body: str, job: Job | None = None) -> float:
    return float(travel_planes(side(f"G21 G90 F200\nG0 Z30\n{body}"), job or Job()).max())


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("G0 X10\nG0 Z5\nG1 Z-1\nG1 X20\nG0 Z5\nG0 X30\n", 5.0),
        ("G0 X10 Z5\nG1 Z-1\nG1 X20\nG0 Z30\n", 5.0),  # slanted: where it arrives
        ("G0 X10\nG0 Z5\nG1 Z-1\nG1 X20\nG0 Z5\n", 30.0),  # nothing travels at Z5
        # beside the part, at the depth of the cut
        ("G0 X-10\nG0 Z-1\nG0 X-5\nG1 X20\nG0 Z5\nG0 X30\n", 5.0),
        # in a pocket below what was cut before it
        ("G0 Z5\nG0 X10\nG1 Z-1\nG1 X20\nG1 Z-5\nG0 Z-3\nG0 X12\nG0 Z5\n", 5.0),
        # something is cut at the zero, which is not the top of the metal then
        ("G0 X10\nG0 Z5\nG1 Z0\nG1 X20\nG0 Z5\nG0 X30\n", 30.0),
        ("G0 X10\nG0 Z5\nG1 Z0\nG2 I5\nG0 Z5\nG0 X30\n", 30.0),
        ("G0 X10\nG0 Z5\nG1 Z0\nG1 Z-1\nG1 X20\nG0 Z5\nG0 X30\n", 5.0),
        # lower than the plunges start, and away from the cut
        ("G0 Z5\nG0 X10\nG1 Z-1\nG1 X20\nG0 Z5\nG0 X90\nG0 Z1\nG0 X95\n", 5.0),
    ],
)
def test_the_plane_is_the_lowest_clear_travel(body: str, expected: float) -> None:
    assert plane(body) == expected


def test_no_plane_lies_below_the_top_of_the_stock() -> None:
    body = "G0 X10\nG0 Z5\nG1 Z-1\nG1 X20\nG0 Z5\nG0 X30\n"
    assert plane(body, Job(stock=Box((0.0, 0.0, -9.0), (50.0, 50.0, 6.0)))) == 30.0


def test_no_plane_lies_below_what_is_cut_though_the_stock_were_lower() -> None:
    body = "G0 X10\nG0 Z5\nG1 Z2\nG1 X20\nG0 Z1\nG0 X15\nG0 Z5\nG0 X30\n"
    assert plane(body, Job(stock=Box((0.0, 0.0, -9.0), (50.0, 50.0, 0.0)))) == 5.0


def test_a_rapid_from_a_place_that_is_half_known_shows_its_end_alone() -> None:
    """Behind G28 X0 nobody knows X: the way to X90 at Z1 may have been beside the part."""
    body = "G0 Z1\nG28 X0\nG0 X90\nG0 Z5\nG0 X10\nG1 Z-1\nG1 X20\nG0 Z5\nG0 X30\n"
    planes = travel_planes(side(f"G21 G90 F200\nG0 Z30\nG0 X0 Y0\n{body}"), Job())
    assert planes[-1] == 5.0


def test_each_setup_has_its_own_plane() -> None:
    text = "G21 G90 F200\nT1 M6\nG0 Z20\nG0 X5\nT2 M6\nG0 X9\nG0 Z7\nG0 X1\nM0\nG0 Z9\nG0 X2\n"
    assert travel_planes(side(text), Job()).tolist() == [np.inf, 20.0, 7.0, 9.0]
