"""One-way passes: what the fixtures cannot say."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.passes import Pass, Raster
from gpre.driver.rewrite import Options, rewrite
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal, Refusal
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.rewrites.one_way.climbs import climbs_turned
from gpre.rewrites.one_way.rewrite import one_way
from gpre.room.entries import Air
from gpre.source.text import SourceText

JOB = Job({1: Tool(10.0)}, Box((0.0, 0.0, -10.0), (60.0, 22.0, 0.0)))
FACING = b"""G21 G90 G17
T1 M6
S3000 M3
G0 Z25
X-8 Y2
Z2
G1 Z-0.5 F200
X68 F600
Y8
X-8
Y14
X68
Y20
X-8
G0 Z25
X0 Y0
M30
"""
IDENTITY = sorted((Path(__file__).parents[1] / "identity").glob("*.ngc"))


def said(text: bytes, job: Job = JOB, mill: Mill | None = None) -> list[Proposal | Refusal]:
    mill = mill or known_mill()
    program = read(text)
    motion = trace(program, mill.controller)
    context = Context(program, motion, find_reversals(motion), find_cuts(motion), mill, job)
    return list(one_way(context))


def test_a_proposal_says_what_it_is_about():
    (proposal,) = said(FACING)
    assert isinstance(proposal, Proposal)
    assert proposal.rewrite == "one-way"
    assert proposal.claim is Claim.SAME_METAL
    assert (proposal.first_block, proposal.last_block) == (6, 14)  # the lift goes along
    assert proposal.gained == 4
    assert proposal.longer > 0.0


def test_a_last_pass_that_would_climb_from_its_other_end_stays():
    # at the edge of the stock it takes only the 1 mm that the one before left on its own side
    edge = replace(JOB, stock=Box((0.0, 0.0, -10.0), (60.0, 20.0, 0.0)))
    (proposal,) = said(FACING, edge)
    assert isinstance(proposal, Proposal)
    assert "1 pass is left as before, to climb no more" in proposal.summary
    (asked,) = said(FACING, replace(edge, cut="climb"))
    assert isinstance(asked, Proposal)
    assert "left as before" not in asked.summary
    assert asked.gained > proposal.gained


@pytest.mark.parametrize("cut", ["as-is", "conventional"])
def test_passes_that_would_only_climb_stay(cut: str):
    # two passes: the second has all its metal on the side of the first
    text = FACING.replace(b"Y14\nX68\nY20\nX-8\n", b"")
    assert text != FACING
    strip = replace(JOB, cut=cut, stock=Box((0.0, 0.0, -10.0), (60.0, 8.0, 0.0)))
    (refusal,) = said(text, strip)
    assert isinstance(refusal, Refusal)
    assert "its passes would climb, which nobody asked for" in refusal.reason


def test_without_a_spindle_direction_nothing_is_turned():
    (refusal,) = said(FACING.replace(b" M3", b""))
    assert isinstance(refusal, Refusal)
    assert "the spindle is stopped" in refusal.reason


def test_the_loop_beyond_the_pass_keeps_within_the_travel():
    mill = known_mill(
        x=Axis(travel=(-9.0, 200.0)), controller=Controller(origins={1: (0.0, 0.0, 0.0)})
    )
    (refusal,) = said(FACING, mill=mill)
    assert isinstance(refusal, Refusal)
    assert "travel of X" in refusal.reason
    wide = replace(mill, x=Axis(travel=(-9.25, 200.0)))
    assert isinstance(said(FACING, mill=wide)[0], Proposal)


def test_the_overshoot_grows_with_the_lost_motion():
    (proposal,) = said(FACING, mill=known_mill(x=Axis(lost_motion=1.0, uncertainty=0.1)))
    assert isinstance(proposal, Proposal)
    # twice the backlash with its uncertainty: 2.2 mm beyond X-8
    assert any(b"X-10.2" in edit.replacement for edit in proposal.edits)


@pytest.mark.parametrize("gap", [4.999, 5.0])
def test_the_tool_must_clear_the_stock_by_more_than_its_radius(gap: float):
    text = FACING.replace(b"X-8", f"X-{gap:.3f}".encode())
    (refusal,) = said(text)
    assert isinstance(refusal, Refusal)
    assert "not clear of the stock" in refusal.reason


def test_clear_by_a_hair_is_clear():
    (proposal,) = said(FACING.replace(b"X-8", b"X-5.001"))
    assert isinstance(proposal, Proposal)


def test_every_pass_runs_the_way_of_the_first_and_every_step_over_stays():
    result = rewrite(SourceText.of(FACING), known_mill(), JOB, Options(only=("one-way",)))
    old, new = result.before.motion, result.after.motion
    steps = [
        {
            (tuple(m.start[row]), tuple(m.end[row]))
            for row in range(len(m))
            if m.kind[row] == 1
            and m.start[row, 0] == m.end[row, 0]
            and m.start[row, 1] != m.end[row, 1]
        }
        for m in (old, new)
    ]
    assert steps[0] == steps[1]
    along = (new.end - new.start)[(new.kind == 1), 0]
    assert set(along.tolist()) == {0.0, 76.0}


def test_the_tool_comes_back_above_the_stock():
    result = rewrite(SourceText.of(FACING), known_mill(), JOB, Options(only=("one-way",)))
    motion = result.after.motion
    aside = (motion.kind == 0) & (abs(motion.end - motion.start)[:, :2].max(axis=1) > 0)
    assert (motion.start[aside, 2][1:] == 25.0).all()
    down = (motion.kind == 0) & (motion.end[:, 2] < motion.start[:, 2])
    assert (motion.end[down, 2] == 2.0).all()


def test_a_program_of_several_rasters_is_judged_one_by_one():
    pocket = FACING.split(b"G0 Z25\n", 1)[1].replace(b"M30\n", b"")
    pocket = pocket.replace(b"X-8", b"X10").replace(b"X68", b"X50").replace(b"G1 Z-0.5", b"G1 Z-2")
    both = FACING.replace(b"M30\n", b"") + b"G0 Z25\n" + pocket + b"M30\n"
    proposal, refusal = said(both)
    assert isinstance(proposal, Proposal)
    assert isinstance(refusal, Refusal)
    assert refusal.first_block > proposal.last_block


@pytest.mark.parametrize("path", IDENTITY, ids=lambda path: path.stem)
def test_no_program_makes_it_stumble(path: Path):
    for each in said(path.read_bytes()):
        assert isinstance(each, Proposal | Refusal)


@pytest.mark.parametrize("turned", [(1, 0), (0, 1), (-1, 0), (0, -1)])
@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("spindle", [1, -1])
@pytest.mark.parametrize(
    ("steps", "at", "behind", "ahead"),
    [  # a tool of radius 3; the last pass lies so far from the edge of the stock
        ((5.0, 9.0), 1, 2.0, 3.0),
        ((5.0, 0.5), 1, 2.0, 0.5),
        ((3.0, 0.5), 1, 0.0, 0.5),
        ((1.0, 0.0), 1, 0.0, 0.0),
        ((8.0, 1.0), 1, 3.0, 1.0),
        ((3.0, 9.0), 0, 0.0, 3.0),
    ],
)
def test_the_side_with_more_metal_tells_which_way_climbs(
    turned, way: int, spindle: int, steps, at: int, behind: float, ahead: float
) -> None:
    """Clockwise with the metal on its right a cutter climbs; so it does in any direction."""
    along = np.array(turned, float)
    step = np.array([-along[1], along[0]])
    heads = [np.zeros(2), steps[0] * step]
    corners = np.array([-50.0 * along, 50.0 * along + (steps[0] + steps[1]) * step])
    least, greatest = (each(corners, axis=0) for each in (np.min, np.max))
    stock = Box((*least.tolist(), -9.0), (*greatest.tolist(), 0.0))
    blocks = "".join(f"X{x:g} Y{y:g}\nG91 X1\nG90\n" for x, y in heads)
    code = "M3" if spindle > 0 else "M4"
    motion = trace(read(f"G21 G90 G17\nS900 {code}\nG0 Z0\nG1 F99\n{blocks}M30\n".encode()))
    passes = (Pass(2, 3, way), Pass(4, 5, -way)) if not at else (Pass(2, 3, -way), Pass(4, 5, way))
    raster = Raster(passes, along, step, np.array(steps[:1]))
    # turned, a pass of way -1 runs along, where the passes to come lie on its left
    left, right = (ahead, behind) if way < 0 else (behind, ahead)
    wanted = right > left if spindle > 0 else left > right
    assert climbs_turned(motion, raster, passes[at], Air(stock, 3.0)) == wanted


def wavering(by: float) -> bytes:
    """FACING, its passes against the first `by` mm deeper."""
    return FACING.replace(b"X-8\nY14", b"X-8 Z%.5f\nY14 Z-0.5" % (-0.5 - by)).replace(
        b"X-8\nG0", b"X-8 Z%.5f\nG0" % (-0.5 - by)
    )


@pytest.mark.parametrize("by", [0.00001, 0.0001])
def test_passes_within_the_resolution_of_z_are_one_level(by: float):
    written = SourceText.of(wavering(by), "facing.ngc")
    result = rewrite(written, known_mill(), JOB)
    assert result.proof.holds
    level = rewrite(SourceText.of(FACING, "facing.ngc"), known_mill(), JOB)
    gained = [sum(each.gained for each in one.plan.chosen) for one in (result, level)]
    assert gained == [4, 4]  # as many as of passes at one Z
    assert not result.after.reversals.in_cut[result.after.reversals.axis == 2].any()
    # each end of a pass at the height that the program gives it
    motions = [one.motion for one in (result.before, result.after)]
    ends = [
        {tuple(row) for row in motion.end[motion.at_feed & (motion.end[:, 2] < 0)].tolist()}
        for motion in motions
    ]
    assert ends[0] <= ends[1]


def test_passes_beyond_the_resolution_of_z_stay_and_the_reason_is_told():
    (refused,) = said(wavering(0.0003))
    assert isinstance(refused, Refusal)
    assert refused.reason == (
        "Z changes by 0.0003 mm along its passes, and the resolution of the Z axis is 0.0001 mm: "
        "only passes at one Z are cut one way"
    )


def test_the_resolution_of_z_is_that_of_the_profile():
    mill = known_mill()
    coarse = replace(mill, z=replace(mill.z, resolution=0.001))
    result = rewrite(SourceText.of(wavering(0.0003), "facing.ngc"), coarse, JOB)
    assert [each.rewrite for each in result.plan.chosen] == ["one-way"]


def test_one_reversal_fewer_is_enough_to_turn_the_first_of_two_passes():
    """X comes to the first pass in its direction, so only the second turns it while cutting."""
    head, passes = FACING.replace(b"X-8 Y2\n", b"X-20 Y2\nX-8\n").split(b"Y14\n")
    text = head + passes[passes.index(b"G0 Z25") :]
    (proposal,) = said(text, replace(JOB, cut="climb"))
    assert isinstance(proposal, Proposal)
    assert proposal.gained == 1
    result = rewrite(
        SourceText.of(text), known_mill(), replace(JOB, cut="climb"), Options(only=("one-way",))
    )
    assert (result.before.in_cut, result.after.in_cut) == (1, 0)
