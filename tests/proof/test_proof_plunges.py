"""A plunge may move along a closed contour, and not into what the original never plunged into."""

import pytest
from proof_programs import LOOP_TWO, RIM, RIM_JOB, moved_start

from gpre.mill.job import Box, Job, Tool
from gpre.proof.prove import prove
from gpre.source.text import SourceText

FIRST = """G21 G90 G17
T1 M6
S2000 M3
G0 X0 Y0 Z20
G0 X-5 Y-5
G0 X0 Y0
G0 Z1
G1 Z-2 F100
G1 X40 F300
G1 Y30
G1 X0
G1 Y0
G0 Z20
G0 X-5 Y-5
M5
M30
"""
LOOP = "G0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X40 F300\nG1 Y30\nG1 X0\nG1 Y0\nG0 Z20\n"
LOOP_AT = "G0 X41.25 Y31.25\nG0 X40 Y30\nG0 Z1\nG1 Z-2 F100\n"
MOVED = FIRST.replace(LOOP, LOOP_AT + "G1 X0 F300\nG1 Y0\nG1 X40\nG1 Y30\nG0 Z20\n")


def reasons(before: str, after: str, job: Job = RIM_JOB) -> dict[str, str]:
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()), None, job)
    return {each.name: each.figure for each in proof.failed}


def test_a_first_plunge_moves_with_the_rapid_before_it() -> None:
    assert reasons(FIRST, MOVED) == {}
    lower = reasons(FIRST, MOVED.replace("G0 Z1\n", "G0 Z0.4\n"))
    assert "where nothing was cut" in lower["air moves"]


@pytest.mark.parametrize("start", ["Z1", "Z0", "Z-1"])
def test_without_the_stock_a_plunge_may_have_gone_down_beside_it(start: str) -> None:
    before, after = (text.replace("G0 Z1\n", f"G0 {start}\n") for text in (FIRST, MOVED))
    for tools in ({}, {1: Tool(6.0)}):
        assert "may be beside it" in reasons(before, after, Job(tools))["entry moves"]


def test_a_rapid_down_before_a_move_to_an_unknown_place_has_no_plunge_to_go_with() -> None:
    tail = FIRST.replace("M5\n", "G0 X3 Y3\nG1 Z0.7\nG1 X#7\nM5\n")
    assert "air moves" in reasons(tail, tail.replace("G1 Z0.7", "G0 Z0.7"), Job())


def test_stock_above_the_start_of_a_moved_plunge_is_not_met_at_rapid() -> None:
    high = Job({1: Tool(6.0)}, Box((-10.0, -10.0, -9.0), (50.0, 50.0, 3.0)))
    assert "air moves" in reasons(FIRST, MOVED, high)


@pytest.mark.parametrize(
    ("after", "words"),
    [
        (MOVED.replace("Z-2 F100", "Z-2 F150"), "the original's was 100"),
        (MOVED.replace("G1 Z-2 F100", "G1 Z-2.01 F100"), "deeper"),
        # a slanted way in, which the original has not
        (
            MOVED.replace("G0 X40 Y30", "G0 X38 Y30").replace("G1 Z-2 F100", "G1 X40 Z-2 F100"),
            "another way",
        ),
    ],
)
def test_a_moved_plunge_is_no_worse_than_the_old_one(after: str, words: str) -> None:
    assert after != MOVED
    found = reasons(FIRST, after)
    assert words in found.get("entry moves", "") or "cutting path" in found


def test_a_plunge_beside_the_stock_does_not_move_into_it() -> None:
    beside = Job({1: Tool(6.0)}, Box((4.0, 4.0, -9.0), (60.0, 60.0, 0.0)))
    assert "beside it" in reasons(FIRST, MOVED, beside)["entry moves"]


def test_an_open_contour_keeps_its_plunge() -> None:
    slot = FIRST.replace("G1 X0\nG1 Y0\nG0 Z20", "G0 Z20")
    turned = FIRST.replace(LOOP, "G0 X40 Y30\nG0 Z1\nG1 Z-2 F100\nG1 Y0 F300\nG1 X0\nG0 Z20\n")
    assert "entry moves" in reasons(slot, turned)


RING = "G0 X40 Y15\nG0 Z1\nG1 Z-2 F100\nG3 X40 Y15 I-20 J0 F300\nG0 Z20\n"
RING_MOVED = "G0 X0 Y15\nG0 Z1\nG1 Z-2 F100\nG3 X0 Y15 I20 J0 F300\nG0 Z20\n"


def test_a_plunge_moves_along_a_circle_of_one_move() -> None:
    before, after = (FIRST.replace(LOOP, each) for each in (RING, RING_MOVED))
    assert reasons(before, after) == {}
    half = before.replace("G3 X40 Y15 I-20", "G3 X0 Y15 I-20")
    turned = after.replace("G3 X0 Y15 I20 J0", "G2 X40 Y15 I20 J0")
    assert "original made none" in reasons(half, turned)["entry moves"]
    # that one is closed, but its way begins with the next plunge
    again = before.replace("G3 X40 Y15 I-20", "G3 X0 Y15 I-20")
    again = again.replace("J0 F300\n", "J0 F300\nG1 Z-2.5 F100\nG3 X40 Y15 I20 J0 F300\n")
    assert "entry moves" in reasons(again, again.replace("G0 X40 Y15", "G0 X0 Y15"))


def test_a_second_plunge_meets_no_more_metal_than_the_first_did() -> None:
    # a step of 1 mm became one of 2 mm, at a place that the first loop leaves out
    short = RIM.replace("G1 X0\nG1 Y0\nG1 Z-2", "G1 X20\nG0 Z5\nG0 X0 Y0\nG0 Z-1\nG1 Z-2")
    after = short.replace(
        LOOP_TWO, "G0 Z5\nG0 X0 Y30\nG0 Z1\nG1 Z-2 F100\nG1 Y0 F300\nG1 X40\nG1 Y30\nG1 X0\n"
    )
    assert after != short
    assert reasons(short, after).keys() & {"entry moves", "depth order"}


def test_each_round_has_the_plunge_of_its_own_depth() -> None:
    assert reasons(RIM, moved_start()) == {}
    swapped = moved_start().replace("Z-1 F100", "Z-1 F60")
    assert reasons(RIM, swapped) == {}
    fast_second = RIM.replace("Z-1 F100", "Z-1 F60")
    assert reasons(fast_second, moved_start().replace("Z-1 F100", "Z-1 F60")) == {}
    # the second plunge at the first one's greater feed
    slow_second = RIM.replace("Z-2 F100", "Z-2 F60")
    assert "entry moves" in reasons(slow_second, moved_start())


@pytest.mark.parametrize(("start", "holds"), [("0.3", True), ("0", True), ("-0.2", False)])
def test_a_rapid_goes_with_the_plunge_down_to_the_top_of_the_stock(start: str, *, holds: bool):
    """Nearer to the stock than a rapid may come that the original does not make."""
    before, after = (text.replace("G0 Z1\n", f"G0 Z{start}\n") for text in (FIRST, MOVED))
    assert ("air moves" not in reasons(before, after)) == holds


def test_a_program_may_end_with_a_new_rapid_down() -> None:
    after = FIRST.replace("X-5 Y-5\nM5\nM30\n", "X-5 Y-5\nG0 Z-1\n")
    assert "where nothing was cut" in reasons(FIRST.replace("M5\nM30\n", ""), after)["air moves"]


def test_in_two_work_systems_nobody_knows_where_the_stock_is() -> None:
    second = "G55\nG0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X40 F300\nG0 Z20\nM5\n"
    before, after = (text.replace("M5\n", second) for text in (FIRST, MOVED))
    assert "may be beside it" in reasons(before, after)["entry moves"]


def test_a_hole_that_is_drilled_later_opened_nothing_for_a_plunge() -> None:
    hole = "T2 M6\nG0 X0 Y0\nG0 Z1\nG1 Z-3 F50\nG0 Z20\n"
    later = [text.replace("M5\n", hole + "M5\n") for text in (FIRST, MOVED)]
    assert reasons(*later) == {}
    first = [text.replace("T1 M6\n", f"G0 Z20\n{hole}T1 M6\n") for text in (FIRST, MOVED)]
    assert "where it was open already" in reasons(*first)["entry moves"]
