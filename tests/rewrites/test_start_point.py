"""Start points: what the fixtures cannot say."""

from pathlib import Path

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.find_cuts import find_cuts
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.rewrites.start_point.rewrite import start_point
from gpre.rewrites.start_point.starts import starts_of
from gpre.source.text import SourceText

HEAD = b"G21 G90 G17\nT1 M6\nS3000 M3\nG0 Z5\n"
PLATE = b"G0 X20 Y0\nG1 Z-3 F100\nX40 F300\nY30\nX0\nY0\nX20\nG0 Z5\n"
# no tool of it is named
STOCK = Job({}, Box((-20.0, -20.0, -20.0), (150.0, 60.0, 0.0)))
END = b"G0 X100 Y0\nM30\n"
IDENTITY = sorted((Path(__file__).parents[1] / "identity").glob("*.ngc"))


def said(text: bytes, job: Job | None = None, mill: Mill | None = None) -> list:
    mill = mill or known_mill()
    program = read(text)
    motion = trace(program, mill.controller)
    cuts = find_cuts(motion)
    context = Context(program, motion, find_reversals(motion), cuts, mill, job or Job())
    return list(start_point(context))


def run(text: bytes, job: Job | None = None) -> Rewritten:
    return rewrite(SourceText.of(text), known_mill(), job, Options(only=("start-point",)))


def test_a_proposal_says_what_it_is_about():
    (proposal,) = said(HEAD + PLATE + END, STOCK)
    assert isinstance(proposal, Proposal)
    assert proposal.rewrite == "start-point"
    assert proposal.claim is Claim.SAME_METAL
    # from the way to the old start to the last side
    assert (proposal.first_block, proposal.last_block) == (4, 10)
    assert proposal.gained == 1


def starts(body: str):
    motion = trace(read(f"G0 X0 Y0\nG1 Z-1 F100\n{body}G0 Z5\n".encode()))
    (cut,) = find_cuts(motion)
    return starts_of(motion, cut.body_first, cut.body_last)


def test_reversals_left_are_counted_round_the_contour():
    """A rectangle from the middle of a side: two of X, one of Y; from any corner: one of each."""
    found = starts("X5\nY10\nX-5\nY0\nX0\n")
    assert found.left.tolist() == [3, 2, 2, 2, 2]


def test_quadrants_of_an_arc_are_places_to_start():
    """A circle from between two quadrants turns four times, from a quadrant three."""
    found = starts("G2 I3 J4\n")
    assert found.left.tolist() == [4, 3, 3, 3, 3]
    # clockwise about (3, 4) with radius 5 from (0, 0): the quadrants in order
    expected = [[0, 0], [-2, 4], [3, 9], [8, 4], [3, -1]]
    assert np.allclose(found.point, expected, atol=1e-9)
    assert found.ways[1].tolist() == [1, 1]
    assert found.ways[2].tolist() == [1, -1]


def test_an_axis_that_rests_may_start_anywhere_in_the_rest():
    """X rests along the sides: both ends of each side are as good."""
    found = starts("Y5\nX10\nY-5\nX0\nY0\n")
    assert found.left[1:].tolist() == [2, 2, 2, 2]


def test_ties_go_to_the_nearest_place_then_to_the_shortest_way():
    found = starts("X5\nY10\nX-5\nY0\nX0\n")
    assert found.point[found.better()[:2]].tolist() in (
        [[5.0, 0.0], [-5.0, 0.0]],
        [[-5.0, 0.0], [5.0, 0.0]],
    )
    right, left = np.array([50.0, 0.0]), np.array([-50.0, 0.0])
    assert found.point[found.better(right, right)[0]].tolist() == [5.0, 0.0]
    assert found.point[found.better(left, left)[0]].tolist() == [-5.0, 0.0]


def test_a_new_place_beyond_the_travel_is_refused():
    mill = known_mill(
        x=Axis(travel=(-1.0, 41.0)),
        y=Axis(travel=(-9.0, 90.0)),
        controller=Controller(origins={1: (0.0, 0.0, 0.0)}),
    )
    (refusal,) = said(HEAD + PLATE + END, STOCK, mill)
    assert isinstance(refusal, Refusal)
    assert "travel of X" in refusal.reason


def test_contours_one_behind_the_other_all_move():
    second = b"G0 X80\nG1 Z-3 F100\nX90 F300\nY30\nX70\nY0\nX80\nG0 Z5\n"
    result = run(HEAD + PLATE + second + END, STOCK)
    assert len(result.plan.chosen) == 2
    assert not result.plan.refused
    assert run(result.data, STOCK).data == result.data


def test_facing_before_needs_the_stock_to_be_understood():
    """What was faced off lies above the plunge; without the stock nobody knows how much."""
    facing = b"G0 X10 Y0\nG1 Z0 F100\nX30 F500\nY10\nX10\nY20\nX30\nG0 Z5\n"
    text = HEAD + facing + PLATE + END
    (refusal,) = said(text)
    assert isinstance(refusal, Refusal)
    assert "stock" in refusal.needs
    job = Job({1: Tool(12.0)}, Box((0.0, 0.0, -10.0), (50.0, 30.0, 0.5)))
    (proposal,) = said(text, job)
    assert isinstance(proposal, Proposal)


def test_a_start_in_the_air_stays_there():
    """The corners of the outline stand in the stock, the start does not."""
    job = Job({1: Tool(6.0)}, Box((-20.0, 3.5, -12.0), (60.0, 60.0, 0.0)))
    (refusal,) = said(HEAD + PLATE + END, job)
    assert isinstance(refusal, Proposal)  # the near corners are in the air as well
    job = Job({1: Tool(6.0)}, Box((25.0, -30.0, -12.0), (60.0, 60.0, 0.0)))
    found = said(HEAD + PLATE + END, job)
    assert isinstance(found[0], Proposal)
    assert b"X0 Y0" in b"".join(edit.replacement for edit in found[0].edits)


def test_a_subprogram_called_twice_is_left_alone():
    text = HEAD + b"G0 X20 Y0\nM98 P5\nG0 X20 Y0\nM98 P5\nM30\nO5\n" + PLATE[10:] + b"M99\n"
    result = run(text)
    assert result.data == text


@pytest.mark.parametrize("path", IDENTITY, ids=lambda path: path.stem)
def test_no_program_makes_it_stumble(path: Path):
    for each in said(path.read_bytes()):
        assert isinstance(each, Proposal | Refusal)


@pytest.mark.parametrize(("depth", "opens"), [("0.8", False), ("1.4", False), ("1.6", True)])
def test_a_hole_to_half_the_plunge_opens_its_place(depth: str, opens: bool):
    hole = f"X20 Y0\nG1 Z-{depth} F80\nG0 Z5\n".encode()
    (found,) = said(HEAD + hole + PLATE + END, STOCK)
    assert isinstance(found, Refusal) == opens
    if isinstance(found, Refusal):
        assert "has opened the place where it plunges" in found.reason


def test_a_way_there_in_machine_coordinates_stays():
    head = HEAD.replace(b"G17", b"G17 G54").replace(b"G0 Z5", b"G0 Z5\nX0 Y10")
    way = b"G53 G0 X120 Y100\n"
    job = Job({}, STOCK.stock, origins={1: (100.0, 100.0, -50.0)})
    result = run(head + PLATE.replace(b"G0 X20 Y0\n", way) + END, job)
    assert result.proof.holds
    assert way in result.data
    assert b"(start moved)" in result.data


def test_a_quadrant_a_hair_from_the_end_of_its_arc_is_the_end():
    """A corner of 5 mm whose centre is rounded: its quadrants lie 0.2 µm inside its ends."""
    found = starts("X5\nG3 X10 Y5 I0.0003 J5\nG1 Y10\nX-5\nY0\nX0\n")
    ends = [[0, 0], [5, 0], [10, 5], [10, 10], [-5, 10], [-5, 0]]
    assert found.point.tolist() == ends
    assert (found.along == 0.0).all()


def test_a_way_elsewhere_parts_the_rounds_of_a_contour():
    """The program goes to X60 Y50 between them: nobody says why, so it still does."""
    away = b"G0 X60 Y50\n"
    second = away + PLATE.replace(b"Z-3", b"Z-6")
    result = run(HEAD + PLATE + second + END, STOCK)
    assert result.proof.holds
    assert away in result.data
    assert len(result.plan.chosen) == 2
    straight_down = second.removeprefix(away).removeprefix(b"G0 X20 Y0\n")
    (both,) = run(HEAD + PLATE + straight_down + END, STOCK).plan.chosen
    assert both.summary.startswith("2 rounds ")


@pytest.mark.parametrize(("x", "y"), [(20, 0), (40, 15), (20, 30), (0, 15)])
def test_a_side_that_was_begun_in_its_middle_is_cut_in_one_move(x: int, y: int):
    corners = [(40, 0), (40, 30), (0, 30), (0, 0)]
    at = [(20, 0), (40, 15), (20, 30), (0, 15)].index((x, y))
    goals = [*corners[at:], *corners[:at], (x, y)]
    cut = "".join(f"X{a} Y{b} F300\n" for a, b in goals)
    result = run(HEAD + f"G0 X{x} Y{y}\nG1 Z-3 F100\n{cut}G0 Z5\n".encode() + END, STOCK)
    assert result.changed
    motion = result.after.motion
    low = motion.at_feed & (motion.end[:, 2] == -3.0) & (motion.start[:, 2] == -3.0)
    lengths = np.linalg.norm(motion.end[low] - motion.start[low], axis=1)
    assert sorted(lengths.tolist()) == [30.0, 30.0, 40.0, 40.0]


@pytest.mark.parametrize(("last", "start"), [("X-60", 0), ("X100", 40)])
def test_where_the_tool_comes_from_is_the_last_place_before(last: str, start: int):
    """Both corners of the first side are as good: the nearer one to where it comes from is taken.

    Before that the tool has been on the other side.
    """
    other = "X100" if last == "X-60" else "X-60"
    way = f"G0 {other} Y0\n{last} Y0\n".encode()
    (proposal,) = said(HEAD + way + PLATE + b"G0 X20 Y-90\nM30\n", STOCK)
    assert isinstance(proposal, Proposal)
    assert f"started at X{start} Y0," in proposal.summary


# a U whose opening is so many mm wide between the middles of its sides
U = "G0 X40 Y0\nG1 Z-3 F100\nX80 F300\nY60\nX{}\nY30\nX{}\nY60\nX0\nY0\nX40\nG0 Z5\n"


@pytest.mark.parametrize(
    ("opening", "tool", "needs"),
    [
        (8, 6.0, None),
        (8, 7.9, None),
        (8, 8.1, ()),
        (26, None, None),  # a tool that is not named is no wider than 25 mm
        (24, None, ("tool 1",)),
    ],
)
def test_where_a_contour_nearly_touches_itself_its_start_stays(
    opening: int, tool: float | None, needs: tuple[str, ...] | None
):
    """Begun elsewhere, the tool would meet full metal where the program had made room."""
    text = HEAD + U.format(40 + opening / 2, 40 - opening / 2).encode() + END
    job = Job({} if tool is None else {1: Tool(tool)}, STOCK.stock)
    (found,) = said(text, job)
    assert isinstance(found, Proposal) == (needs is None)
    if isinstance(found, Refusal):
        assert found.reason.startswith("it nearly touches itself")
        assert found.needs == needs
