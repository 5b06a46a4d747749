"""Levels are cut in their order where the cuts touch each other, each tool with its radius.

Rows in a mirror cell, invented; the place that is told is the first cut of a level.
"""

from __future__ import annotations

import pytest
from known_mill import KNOWN

from gpre.mill.job import Job, Tool
from gpre.proof.levels import level_order
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\n"
ROW = "G0 X0 Y{y}\nG0 Z1\nG1 Z{z} F100\nG1 X20 F300\nX40\nG0 Z5\n"


def order(before: str, after: str, job: Job | None = None) -> Obligation:
    texts = (HEAD + "G0 Z5\n" + each + "M30\n" for each in (before, after))
    sides = (Side.of(SourceText.of(each.encode()), KNOWN) for each in texts)
    return level_order(Pair(*sides, KNOWN, job or Job()))


def rows(*places: tuple[float, float]) -> str:
    return "".join(ROW.format(z=z, y=y) for z, y in places)


@pytest.mark.parametrize(
    ("apart", "diameter", "holds"),
    [
        (6.1, 6.0, True),
        (5.9, 6.0, False),
        (11.9, 12.0, False),
        (12.1, 12.0, True),
        (0.1, None, True),  # of a tool that is not named the middle alone counts
        (0, None, False),
    ],
)
def test_rows_that_a_tool_joins_are_one_neighbourhood(
    apart: float, diameter: float | None, *, holds: bool
) -> None:
    job = Job({} if diameter is None else {1: Tool(diameter)})
    by_level = rows((-1, 0), (-1, apart), (-2, 0), (-2, apart))
    by_row = rows((-1, 0), (-2, 0), (-1, apart), (-2, apart))
    assert order(by_level, by_row, job).holds == holds


def test_the_first_cut_of_the_level_is_told() -> None:
    found = order(rows((-1, 0), (-2, 0), (-3, 0)), rows((-1, 0), (-3, 0), (-2, 0)))
    assert found.figure == "Z-3.000 is cut before a level that the original cut first"
    assert (found.before, found.after) == (4 + 2 * 6 + 3, 4 + 6 + 3)
    # all are begun in order, and the second is begun before the first is done
    found = order(rows((-1, 0), (-1, 0), (-2, 0)), rows((-1, 0), (-2, 0), (-1, 0)))
    assert found.figure == "Z-2.000 is cut before a level that the original cut first"
    assert (found.before, found.after) == (4 + 2 * 6 + 3, 4 + 6 + 3)
    assert order(rows((-1, 0), (-2, 0), (-1, 0)), rows((-1, 0), (-1, 0), (-2, 0))).holds


@pytest.mark.parametrize(("sloped", "looked"), [("X47", 2), ("X52", 0)])
def test_a_cut_of_which_more_than_a_fifth_is_sloped_has_no_levels(sloped: str, looked: int) -> None:
    body = ROW.replace("X40\n", f"X40\n{sloped} Z-0.5\n")
    both = "".join(body.format(z=z, y=0) for z in (-1, -2))
    assert order(both, both).figure == f"{looked} levels in the same order"
