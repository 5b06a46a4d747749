"""Each obligation about metal holds for the same cut in another manner, and fails where it must."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation, Mill
from gpre.proof.changed_moves import Meeting
from gpre.proof.directions import Directions
from gpre.proof.metal.obligations import NAMES, stock_obligations
from gpre.proof.planes import travel_planes
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

JOB = Job(tools={1: Tool(6.0, flutes=2)}, stock=Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X-10 Y5\nG0 Z5\n"
SLOT = "G0 Z-2\nG1 X70 F300\nG0 Z5\nG0 X-10\nG0 Z-4\nG1 X70\nG0 Z5\nM30\n"

LAST_CUT = HEAD.count("\n") + 5  # a block of SLOT


def look(
    before: str, after: str, job: Job = JOB, mill: Mill | None = None
) -> dict[str, Obligation]:
    mill = mill or KNOWN
    sides = (
        Side.of(SourceText.of((HEAD + text).encode(), "part"), mill) for text in (before, after)
    )
    pair = Pair(*sides, mill, job)
    directions = Directions.of(pair, Meeting(pair, travel_planes(pair.before, job)))
    return {each.name: each for each in stock_obligations(pair, directions)}


def failed(before: str, after: str, job: Job = JOB) -> set[str]:
    return {name for name, each in look(before, after, job).items() if not each.holds}


def test_the_same_cuts_in_more_pieces_hold():
    pieces = SLOT.replace("G1 X70 F300", "G1 X20 F300\nX41.5\nX70")
    found = look(SLOT, pieces)
    assert tuple(found) == NAMES
    assert all(each.holds and each.looked for each in found.values())
    assert "T1 2.00" in found["depth of cut"].figure


def test_an_arc_in_two_parts_and_run_from_elsewhere_holds():
    ring = "G0 X20 Y20\nG1 Z-2 F80\nG3 X20 Y20 I8 J0 F300\nG0 Z5\nM30\n"
    other = "G0 X36 Y20\nG1 Z-2 F80\nG3 X20 Y20 I-8 J0 F300\nG3 X36 Y20 I8 J0\nG0 Z5\nM30\n"
    assert failed(ring, other) == set()


@pytest.mark.parametrize("z", ["-4.1", "-4.01"])
def test_a_cut_too_deep_is_found_with_its_place(z):
    found = look(SLOT, SLOT.replace("Z-4", f"Z{z}"))["metal removed"]
    assert not found.holds
    assert "too much is taken" in found.figure
    assert found.value == pytest.approx(-4.0 - float(z), abs=0.003)
    assert (found.before, found.after) == (LAST_CUT, LAST_CUT)


def test_metal_that_is_left_is_found_with_its_place():
    found = look(SLOT, SLOT.replace("G0 Z-4\nG1 X70\n", "G0 Z-4\nG1 X55\n"))["metal removed"]
    assert not found.holds
    assert "metal is left" in found.figure
    assert found.value == pytest.approx(2.0, abs=0.003)
    assert (found.before, found.after) == (LAST_CUT, HEAD.count("\n") + 1)  # the pass before it


def test_a_bite_is_shown_beside_the_worst_of_the_original():
    at_once = "G0 Z-4\nG1 X70 F300\nG0 Z5\nM30\n"
    found = look(SLOT, at_once)
    for name in ("depth of cut", "material per tooth"):
        assert not found[name].holds
        assert found[name].after == HEAD.count("\n") + 1
        assert found[name].before in {HEAD.count("\n") + 1, LAST_CUT}


def test_a_wall_moved_by_a_cell_is_found():
    job = replace(JOB, tools={1: Tool(6.0)})
    moved = [
        failed(SLOT, SLOT.replace("G1 X70", f"G1 X70 Y{5 + off}"), job) for off in (0.375, 0.5, 0.7)
    ]
    assert all("metal removed" in each for each in moved)


def test_a_rapid_through_metal_is_found():
    found = look(SLOT, SLOT.replace("G0 Z5\nG0 X-10\n", "G0 Z-1\nG0 X-10 Y14\nG0 Y5\n"))
    assert not found["rapid into material"].holds
    assert "deep through metal" in found["rapid into material"].figure


def test_a_rapid_through_what_is_cut_is_none_through_metal():
    back = SLOT.replace("G0 Z5\nG0 X-10\n", "G0 X-10\n")
    assert failed(SLOT, back) == {"rapid clearance"}  # in contact with the walls all along
    beside = SLOT.replace("G0 Z5\nG0 X-10\n", "G0 Y-3.6\nG0 X-10\nG0 Y5\n")
    assert failed(SLOT, beside) == set()  # 0.6 beside the stock


def test_a_depth_pass_left_out_is_a_deeper_cut_though_the_part_is_the_same():
    once = "G0 Z-4\nG1 X70 F300\nG0 Z5\nM30\n"
    assert failed(SLOT, once) == {"depth of cut", "material per tooth"}


def test_the_same_width_is_told_of_both_but_for_what_the_tool_was_taken_greater():
    """On both sides by as much as the proof allows; a slot is no wider than its tool."""
    pieces = SLOT.replace("G1 X70 F300", "G1 X20 F300\nX70")
    figure = look(SLOT, pieces)["width of cut"].figure
    was, now = (float(each) for each in re.findall(r"\d\.\d{3}", figure))
    assert now == 6.0
    assert 0.0 <= now - was <= 0.006


def test_a_work_system_in_which_nothing_is_cut_has_nothing_to_compare():
    """The tool only travels in it; what it cuts in the other one is compared all the same."""
    aside = SLOT.replace("M30\n", "G55\nG0 X5\nM30\n")
    metal = look(aside, aside.replace("G1 X70 F300", "G1 X20 F300\nX70"))["metal removed"]
    assert (metal.holds, metal.looked) == (True, True)
    deeper = look(aside, aside.replace("Z-4", "Z-4.1"))["metal removed"]
    assert (deeper.holds, deeper.value) == (False, pytest.approx(0.1, abs=0.003))


def test_a_wider_bite_is_found():
    # passes 2 mm apart against one that meets all of it at once
    steps = "".join(f"G0 X-10 Y{y}\nG0 Z-2\nG1 X70 F300\nG0 Z5\n" for y in (-2, 0, 2)) + "M30\n"
    once = "".join(f"G0 X-10 Y{y}\nG0 Z-2\nG1 X70 F300\nG0 Z5\n" for y in (2, 0, -2)) + "M30\n"
    assert failed(steps, once) == {"width of cut", "material per tooth", "climb share"}


def test_a_feed_raised_takes_more_a_tooth():
    found = look(SLOT, SLOT.replace("F300", "F400"))["material per tooth"]
    assert not found.holds
    # 6 mm wide, 2 deep, 300 mm/min, 3000/min, 2 teeth: 12 · 0.1 / 2 = 0.6 mm³ (definition)
    assert "to 0.8 mm³ a tooth" in found.figure
    assert found.value == pytest.approx(2 * 0.8, rel=0.01)
    assert found.limit == pytest.approx(2 * 0.6, rel=0.01)


def test_climbing_is_told_as_a_share():
    # towards -X with the metal at +Y, on the right with M3: climb
    edge = "G0 X70 Y0\nG0 Z-2\nG1 X-10 F300\nG0 Z5\nM30\n"
    back = "G0 Y0\nG0 Z-2\nG1 X70 F300\nG0 Z5\nM30\n"
    figure = look(edge, back)["climb share"].figure
    assert figure.startswith("100 % of the metal cut climbing before, 0 % after: climb ")
    # 60 mm long, 2 deep, 3 wide: 360 mm³ (definition)
    assert figure.endswith("climb 360 to 0, conventional 0 to 360, on both sides 0 to 0 mm³")


def test_without_the_tool_nothing_is_looked_at_and_that_is_said():
    found = look(SLOT, SLOT.replace("Z-4", "Z-5"), Job(stock=JOB.stock))
    assert all(each.holds and not each.looked for each in found.values())
    assert "tool 1 is not named" in found["metal removed"].figure


def test_without_the_stock_metal_stands_as_high_as_the_rapids_run():
    job = Job(tools=JOB.tools)
    assert failed(SLOT, SLOT, job) == set()
    # beside the slot nobody has shown that it is free
    found = look(SLOT, SLOT.replace("G0 X-10\nG0 Z-4", "G0 X-10 Y11\nG0 Z1\nG0 Y5\nG0 Z-4"), job)
    assert not found["rapid into material"].holds


def test_the_predicted_error_may_not_grow():
    mill = Mill(
        x=Axis(lost_motion=0.2), y=Axis(lost_motion=0.02), compensation=Compensation("none")
    )
    along = "G0 X-10\nG0 X70 Y2\nG0 Z-2\nG1 X70 Y38 F300\nG0 Z5\nM30\n"
    job = Job(tools=JOB.tools, stock=Box((0.0, 0.0, -10.0), (80.0, 40.0, 0.0)))
    turned = along.replace("G0 X-10\n", "G0 X-10\nG0 X90\n")
    found = look(along, turned, job, mill)["predicted error"]
    assert found.value is not None
    assert found.limit is not None
    assert found.holds == (found.value <= found.limit)


@pytest.mark.parametrize(
    ("deep", "shallow", "said"),
    [(-2.5, -3.9, "too much is taken, 0.49"), (-2.1, -3.5, "metal is left, 0.49")],
)
def test_of_too_much_and_too_little_the_greater_is_told(
    deep: float, shallow: float, said: str
) -> None:
    """Two slots at Y5 and Y20: one is cut deeper, the other less deep."""
    two = "G0 Z-2\nG1 X70 F300\nG0 Z5\nG0 X-10 Y20\nG0 Z-4\nG1 X70\nG0 Z5\nM30\n"
    after = two.replace("G0 Z-2\n", f"G0 Z{deep}\n").replace("G0 Z-4\n", f"G0 Z{shallow}\n")
    found = look(two, after)[NAMES[0]]
    assert not found.holds
    assert said in found.figure
    assert found.value == pytest.approx(0.4975)  # the tolerances of both
