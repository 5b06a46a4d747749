"""How fast a new move may cut: as the original did at the same points with as much metal above.

The programs are invented: a slot in a clamp ring's plate, cut once in full metal and once more to
take off what the cutter was bent by.
"""

from __future__ import annotations

import pytest

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"
END = "G0 Z5\nM30\n"
TOOLS = {1: Tool(6.0, flutes=2)}
ALL = Job(TOOLS, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
KNOWN = [ALL, Job(TOOLS), Job()]
DOWN = "G0 X-10 Y5\nG0 Z-2\n"
SLOT = DOWN + "G1 X70 F300\nG0 Z5\n"
SPRING = DOWN + "G1 X70 F900\nG0 Z5\n"


def feed_of(before: str, after: str, job: Job = ALL) -> Obligation:
    texts = (SourceText.of((HEAD + text + END).encode()) for text in (before, after))
    proof = prove(*texts, Mill(), job)
    return next(each for each in proof.obligations if each.name == "feed")


def line_of(after: str, block: int | None) -> str:
    assert block is not None
    return (HEAD + after).split("\n")[block]


@pytest.mark.parametrize("job", KNOWN)
def test_the_feed_of_a_second_pass_is_none_for_full_metal(job: Job) -> None:
    """The original passes each point at F900 too, but when the slot is cut already."""
    quick = DOWN + "G1 X30 F900\nX70\nG0 Z5\n"
    after = quick + SPRING.replace("F900", "F300")
    fault = feed_of(SLOT + SPRING, after, job)
    assert not fault.holds
    assert (fault.value, fault.limit) == (900.0, pytest.approx(300.0))
    assert line_of(after, fault.after) in {"G1 X30 F900", "X70"}
    # not even where the second pass comes after it as it was
    assert not feed_of(SLOT + SPRING, quick + SPRING, job).holds


@pytest.mark.parametrize("job", KNOWN)
def test_a_second_pass_in_pieces_is_as_fast_as_it_was(job: Job) -> None:
    pieces = SPRING.replace("G1 X70 F900", "G1 X30 F900\nX70")
    assert feed_of(SLOT + SPRING, SLOT + pieces, job).holds
    assert feed_of(SLOT + SPRING, SLOT.replace("G1 X70 F300", "G1 X30 F300\nX70") + pieces).holds
    faster = feed_of(SLOT + SPRING, SLOT + pieces.replace("F900", "F901"), job)
    assert (faster.holds, faster.value, faster.limit) == (False, 901.0, pytest.approx(900.0))


@pytest.mark.parametrize("job", KNOWN)
def test_a_pass_more_than_the_original_made_is_as_slow_as_its_slowest(job: Job) -> None:
    fault = feed_of(SLOT + SPRING, SLOT + SPRING + SPRING, job)
    assert (fault.holds, fault.value, fault.limit) == (False, 900.0, pytest.approx(300.0))
    assert feed_of(SLOT + SPRING, SLOT + SPRING + SPRING.replace("F900", "F300"), job).holds


def test_the_tripled_feed_is_named_with_its_place() -> None:
    """The worst of several by its share of what the original had, not by its feed."""
    before = SLOT + DOWN.replace("Y5", "Y20") + "G1 X70 F1200\nG0 Z5\n"
    after = before.replace("F300", "F900").replace("F1200", "F2400")
    fault = feed_of(before, after)
    assert (fault.value, fault.limit) == (900.0, pytest.approx(300.0))
    assert line_of(after, fault.after) == "G1 X70 F900"
    assert fault.figure.startswith("900 mm/min where the original had 300 mm/min")


@pytest.mark.parametrize(("feed", "holds"), [("F300.0002", True), ("F300.01", False)])
def test_a_feed_may_be_above_the_original_by_rounding_alone(feed: str, holds: bool) -> None:
    """A millionth of it."""
    assert feed_of(SLOT, SLOT.replace("F300", feed)).holds == holds


def test_a_feed_at_which_the_tool_stands_or_rubs_is_told_as_such() -> None:
    from_there = "the original had 300 mm/min from X-10.0000 Y5.0000 Z-2.0000; "
    stands = feed_of(SLOT, SLOT.replace("F300", "F0")).figure
    assert stands == from_there + "at a feed of 0 the tool stands, or the controller stops"
    rubs = feed_of(SLOT, SLOT.replace("F300", "F2.9")).figure
    assert rubs.startswith(from_there + "2.9 mm/min is below a hundredth of that")


def test_where_the_original_did_not_pass_the_greatest_feed_of_its_group_counts() -> None:
    elsewhere = DOWN.replace("Y5", "Y20") + "G1 X70 F{feed}\nG0 Z5\n"
    two = SLOT + SPRING
    assert feed_of(two, two + elsewhere.format(feed=900)).holds
    found = feed_of(two, two + elsewhere.format(feed=901))
    assert (found.value, found.limit) == (901.0, pytest.approx(900.0))
    # a program without a feed is faulty, which is said elsewhere; none is too fast for it
    bare = SLOT.replace(" F300", "")
    assert feed_of(bare, bare + elsewhere.format(feed=900)).holds


@pytest.mark.parametrize("job", KNOWN)
def test_a_slow_neighbour_does_not_slow_a_move_that_is_cut_in_pieces(job: Job) -> None:
    """The place where they meet belongs to both; between its ends the move was as fast."""
    before = DOWN + "G1 X30 F100\nX60 F300\nX70 F100\nG0 Z5\n"
    pieces = before.replace("X60 F300\n", "X45 F300\nX60\n")
    assert feed_of(before, pieces, job).holds
    # the other way: where it ends, the metal stands that only its slow neighbour met
    back = "G0 X80 Y5\nG0 Z-2\nG1 X60 F100\nX45 F300\nX30\nX-10 F100\nG0 Z5\n"
    assert feed_of(before, back, job).holds
    assert not feed_of(before, back.replace("X30\nX-10 F100", "X29\nX-10 F100"), job).holds
    # a piece of the slow move that goes as fast as its neighbour
    early = before.replace("G1 X30 F100\nX60 F300\n", "G1 X20 F100\nX30 F300\nX60\n")
    found = feed_of(before, early, job)
    assert (found.holds, found.value) == (False, 300.0)
    assert found.limit == pytest.approx(100.0)


def test_a_short_piece_is_looked_at_between_its_ends_too() -> None:
    """A tenth of a millimetre of a slow cut: both its ends lie in slots that were cut quickly."""
    slots = "".join(f"G0 X{x} Y-10\nG0 Z-2\nG1 Y50 F300\nG0 Z5\n" for x in (30, 30.1))
    before = slots + DOWN + "G1 X70 F100\nG0 Z5\n"
    for feed, holds in ((100, True), (300, False)):
        pieces = f"G1 X30 F100\nX30.1 F{feed}\nX70 F100\n"
        found = feed_of(before, before.replace("G1 X70 F100\n", pieces))
        assert found.holds == holds
        if not holds:
            assert (found.value, found.limit) == (300.0, pytest.approx(100.0))


def test_where_a_quick_cut_meets_slow_ones_its_ends_count_for_them() -> None:
    """In the original the slow ones had cut both ends already; now the quick one comes first."""
    part = "G0 X{} Y5\nG0 Z-2\nG1 X{} F{}\nG0 Z5\n"
    slow = part.format(-10, 30, 100) + part.format(60, 70, 100)
    before = slow + part.format(30, 60, 300)
    pieces = part.format(30, "45 F300\nX60", 300)
    assert feed_of(before, pieces + slow).holds
    for longer in (part.format(29, "45 F300\nX60", 300), part.format(30, "45 F300\nX61", 300)):
        found = feed_of(before, longer + slow)
        assert (found.holds, found.value) == (False, 300.0)
        assert found.limit == pytest.approx(100.0)
