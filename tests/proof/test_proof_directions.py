"""Which cuts run against the original's direction, which are new, and whether the order is kept."""

from __future__ import annotations

import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.proof.changed_moves import Meeting
from gpre.proof.directions import Directions, cutting_direction
from gpre.proof.planes import travel_planes
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\n"
WAY = "G0 Z5\nG0 X{} Y{y}\nG0 Z-1\nG1 X{} F300\n"


def looked(before: str, after: str, job: Job | None = None) -> tuple[Pair, Meeting, Directions]:
    texts = (HEAD + each + "G0 Z5\nM30\n" for each in (before, after))
    sides = (Side.of(SourceText.of(each.encode()), KNOWN) for each in texts)
    pair = Pair(*sides, KNOWN, job or Job())
    meeting = Meeting(pair, travel_planes(pair.before, pair.job))
    return pair, meeting, Directions.of(pair, meeting)


def way(start: float, end: float, y: float) -> str:
    return WAY.format(start, end, y=y)


def test_a_first_move_at_feed_is_not_new() -> None:
    first = "G1 X0 Y0 Z-1 F300\nX20\n"
    _, _, found = looked(first + way(0, 40, 10), first + way(0, 20, 10) + "G1 X40\n")
    assert not found.new.any()
    assert not found.against.any()
    assert found.in_order
    _, _, found = looked(first, first + way(0, 20, 10))
    assert found.new.tolist() == [False, False, False, False, False, True, False]


def test_the_very_first_move_of_a_program_has_its_place_in_the_order_too() -> None:
    """A plunge where the tool stands at first, the first move of all; then it comes last."""
    plunge, other = "G1 Z-1 F300\nG0 Z5\n", way(0, 40, 10)
    back = "G0 Z5\nG0 X0 Y0\nG0 Z0\n"
    for after, kept in ((plunge + other, True), (other + back + plunge, False)):
        pair, _, found = looked(plunge + other, after)
        assert pair.partner[pair.after.feeding].min() == 0
        assert found.in_order == kept


def test_a_cut_that_is_made_twice_is_the_second_time_no_first_one() -> None:
    once, other = way(0, 40, 0), way(0, 40, 10)
    _, _, found = looked(once + other + once, once + other + once + way(0, 40, 20))
    assert found.in_order
    _, _, found = looked(once + other + once, other + once + once)
    assert not found.in_order


@pytest.mark.parametrize("ends", [((40, 30), (40, 0)), ((40, 0), (40, 30))])
def test_the_longest_of_the_cuts_that_may_climb_is_told(ends: tuple[tuple[int, int], ...]) -> None:
    before = "".join(way(end, start, 10 * at) for at, (start, end) in enumerate(ends))
    after = "".join(way(start, end, 10 * at) for at, (start, end) in enumerate(ends))
    found = cutting_direction(*looked(before, after))
    assert not found.holds
    y = 10 * ends.index((40, 0))
    assert f"from X40.0000 Y{y}.0000 Z-1.0000 it cuts against" in found.figure
    assert "until tool 1 and the stock are named" in found.figure


def test_what_is_missing_is_told() -> None:
    pair = way(0, 40, 0) + "T2 M6\n" + way(0, 40, 10), way(40, 0, 0) + "T2 M6\n" + way(0, 40, 10)
    job = Job({1: Tool(6.0)}, Box((0.0, 0.0, -9.0), (40.0, 40.0, 0.0)))
    found = cutting_direction(*looked(*pair, job))
    assert "until all tools that cut are named" in found.figure
    stopped = (each.replace("G0 Z5\n", "M5\nG0 Z5\n", 1) for each in pair)
    found = cutting_direction(*looked(*stopped, job))
    assert "which way the spindle turns is not programmed there" in found.figure


TOOL = Job({1: Tool(6.0)}, Box((0.0, 0.0, -9.0), (40.0, 40.0, 0.0)))


@pytest.mark.parametrize(("spindle", "judged"), [("M3", True), ("M4", True), ("M5", False)])
def test_where_all_is_known_the_metal_tells_how_it_cuts(spindle: str, *, judged: bool) -> None:
    texts = (f"{spindle}\n" + each for each in (way(0, 40, 10), way(40, 0, 10)))
    found = cutting_direction(*looked(*texts, TOOL))
    assert found.holds == judged
    assert ("1 move runs against the original's; see climb share" in found.figure) == judged


def test_who_asks_for_climb_gets_it() -> None:
    found = cutting_direction(*looked(way(0, 40, 10), way(40, 0, 10), Job(cut="climb")))
    assert found.holds
    assert "climb is asked for" in found.figure


@pytest.mark.parametrize(
    ("before", "after", "against"),
    [
        (way(0, 40, 10), way(40, 20, 10) + "G1 X0\n", 2),  # in pieces, the other way
        (way(0, 40, 10), way(0, 20, 10) + "G1 X40\n", 0),
        (way(0, 40, 10), way(0, 20, 10) + way(40, 20, 10), 1),
        (way(0, 20, 10) + "G1 X40\n", way(40, 0, 10), 1),
        (way(0, 20, 10) + way(40, 20, 10), way(0, 40, 10), 1),  # on a half of its way
        # where the original cut there and back nobody can say that it runs against it
        (way(0, 40, 10) + "G1 X0\n", way(40, 20, 10) + "G1 X0\nX40\n", 0),
        # it begins where another cut ran the other way and ends, two hundredths aside of its own
        (
            way(40, 19, 10) + way(20, 30, 10).replace("G1 X30", "G1 X30 Y20"),
            way(40, 19, 10) + way(19.996, 25, 10).replace("G1 X25", "G1 X25 Y15") + "X30 Y20\n",
            0,
        ),
    ],
)
def test_a_move_that_no_single_one_stands_for_runs_against_what_ran_one_way(
    before: str, after: str, against: int
) -> None:
    pair, meeting, found = looked(before, after)
    assert int(found.against.sum()) == against
    assert cutting_direction(pair, meeting, found).holds == (against == 0)
