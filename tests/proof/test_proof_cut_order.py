"""Cuts keep their order where they are made of other moves than in the original as well."""

import pytest

from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17\nT1 M6\nS2000 M3\nG0 Z5\nG0 X-10 Y-10\n"
TAIL = "G0 X-10 Y-10\nM30\n"
WAVED = "G0 X0 Y{0}\nG1 Z-1 F100\nG1 X20 Y{1} F300\nG1 X40 Y{0}\nG0 Z5\n"
STRAIGHT = "G0 X0 Y{0}\nG1 Z-1 F100\nG1 X40 F300\nG0 Z5\n"
SLOTS = ((0, 0.001), (30, 30.001), (60, 60.001))


def failed(after: str, waved: str = WAVED) -> set[str]:
    before = HEAD + "".join(waved.format(*each) for each in SLOTS) + TAIL
    proof = prove(SourceText.of(before.encode()), SourceText.of((HEAD + after + TAIL).encode()))
    return {each.name for each in proof.failed}


def test_slots_made_straight_keep_their_order() -> None:
    first, second, third = (STRAIGHT.format(each[0]) for each in SLOTS)
    assert failed(first + second + third) == set()
    assert "cut order" in failed(second + first + third)
    assert "cut order" in failed(first + third + second)


def test_the_first_move_of_the_cut_is_told() -> None:
    first, second, third = (STRAIGHT.format(each[0]) for each in SLOTS)
    before = HEAD + first + second + third + TAIL
    after = HEAD + second + first + third + TAIL
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()))
    found = next(each for each in proof.failed if each.name == "cut order")
    places = (
        before.splitlines()[(found.before or 0) - 1],
        after.splitlines()[(found.after or 0) - 1],
    )
    assert places == ("G0 X0 Y0", "G0 X0 Y0")


@pytest.mark.parametrize(("start", "end", "kept"), [(0, 40, True), (0, 31, False), (9, 40, False)])
def test_a_second_pass_is_kept_from_end_to_end(start: float, end: float, *, kept: bool) -> None:
    """A tenth of a move at each of its ends is left out: there cuts begin and end."""
    way = "G0 X{} Y0\nG0 Z1\nG1 Z-1 F100\nG1 X{} F300\nG0 Z5\n"
    before = HEAD + way.format(0, 40) + way.format(0, 40) + TAIL
    after = HEAD + way.format(0, 40) + way.format(start, end) + "G0 Y1\n" + TAIL
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()))
    found = next((each for each in proof.failed if each.name == "passes"), None)
    assert (found is None) == kept
    if found is not None:
        assert (found.value, found.limit, found.before) == (1.0, 2.0, 13)


def test_slots_that_are_come_to_at_rapid_keep_their_order() -> None:
    """No move at feed is the original's here; where the new ones pass tells what they stand for."""
    first, second, third = (
        STRAIGHT.format(each[0]).replace("G1 Z-1 F100", "G0 Z-1") for each in SLOTS
    )
    before = WAVED.replace("G1 Z-1 F100", "G0 Z-1")
    assert failed(first + second + third, before) == set()
    assert "cut order" in failed(second + first + third, before)
    assert "cut order" in failed(first + third + second, before)


def test_slots_of_a_single_move_keep_their_order() -> None:
    first, second, third = (
        STRAIGHT.format(each[0]).replace("G1 Z-1 F100", "G0 Z-1") for each in SLOTS
    )
    before = HEAD + first + second + third + TAIL
    for after in (second + first + third, first + third + second):
        texts = (SourceText.of(each.encode()) for each in (before, HEAD + after + TAIL))
        assert "cut order" in {each.name for each in prove(*texts).failed}


def test_a_cut_at_the_very_end_makes_no_other_one_late() -> None:
    last = "G0 X0 Y90\nG1 Z-1 F100\nG1 X40 F300\n"
    before = HEAD + WAVED.format(0, 0.001) + last + "M30\n"
    after = HEAD + STRAIGHT.format(0) + last + "M30\n"
    assert prove(SourceText.of(before.encode()), SourceText.of(after.encode())).holds


@pytest.mark.parametrize("first", [4.0, 4.4, 4.8, 5.2, 5.6])
def test_a_second_pass_of_a_short_cut_may_not_leave_a_millimetre_out(first: float) -> None:
    """A cut of 10 mm: its second pass lifts on the way, and goes on a millimetre behind."""
    way = "G0 X0 Y0\nG0 Z1\nG1 Z-1 F100\nG1 X{} F300\n"
    whole = way.format(10) + "G0 Z5\n"
    lifted = f"G0 Z5\nG0 X{first + 1:g}\nG0 Z1\nG1 Z-1 F100\nG1 X10 F300\nG0 Z5\n"
    before = HEAD + whole + whole + TAIL
    after = HEAD + whole + way.format(f"{first:g}") + lifted + TAIL
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()))
    assert "passes" in {each.name for each in proof.failed}
