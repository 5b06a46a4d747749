"""A contour is turned round only where the job asks, and then mills as it asks."""

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.cuts import Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.milling_side import MillingSide, milling_sides
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Mill
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

STOCK = Box((-1.0, -1.0, -10.0), (41.0, 31.0, 0.0))
HEAD = "G21 G90 G17\nT1 M6\nS2000 M3\nG0 Z5\nX-10 Y-10\nX20 Y-3\n"
TAIL = "G0 Z5\nX-10 Y-10\nM30\n"
ROUND = "G1 Z{} F100\nX41 F300\nG3 X43 Y-1 R2\nG1 Y33\nX-3\nY-3\nX20\n"
OUTLINE = HEAD + ROUND.format(-2) + ROUND.format(-4) + TAIL


def job(cut: str, flutes: int | None = 2) -> Job:
    return Job({1: Tool(6.0, flutes=flutes)}, STOCK, cut)


def run(
    text: str, what: Job, mill: Mill | None = None, *only: str, comments: bool = True
) -> Rewritten:
    source = SourceText.of(text.encode())
    return rewrite(source, mill or known_mill(), what, Options(only=only, comments=comments))


def sides(result: Rewritten, what: Job) -> set[MillingSide]:
    motion = result.after.motion
    cuts = [cut for cut in find_cuts(motion) if cut.shape is Shape.CLOSED]
    rows = [each for each in milling_sides(motion, cuts, what) if each.last - each.first > 2]
    return {each.side for each in rows}


@pytest.mark.parametrize("only", [("turn-round",), ()])
def test_it_mills_as_asked_and_a_second_run_changes_nothing(only: tuple[str, ...]) -> None:
    what = job("climb")
    result = run(OUTLINE, what, None, *only)
    assert result.proof.holds
    assert sides(result, what) == {MillingSide.CLIMB}
    assert run(result.data.decode(), what, None, *only).data == result.data
    plain = run(OUTLINE, what, None, *only, comments=False).data.decode()
    back = run(plain, job("conventional"), None, "turn-round")
    assert sides(back, what) == {MillingSide.CONVENTIONAL}


def test_a_contour_turned_round_may_still_start_elsewhere() -> None:
    result = run(OUTLINE.replace("X20 Y-3\n", "X10 Y-3\nX20\n", 1), job("climb"))
    assert {each.rewrite for each in result.plan.chosen} >= {"turn-round", "start-point"}
    assert b"(direction reversed)" in result.data
    assert b"(start moved)" in result.data


def test_nothing_is_turned_unasked() -> None:
    assert not run(OUTLINE, job("as-is"), None, "turn-round").changed
    assert not run(OUTLINE, job("conventional"), None, "turn-round").changed
    assert sides(run(OUTLINE, job("as-is")), job("as-is")) == {MillingSide.CONVENTIONAL}


def test_the_same_path_is_cut_at_the_same_feeds() -> None:
    result = run(OUTLINE, job("climb"), None, "turn-round")
    columns = []
    for motion in (result.before.motion, result.after.motion):
        feed = motion.kind != Kind.RAPID
        ends = np.sort(np.stack((motion.start, motion.end))[:, feed].round(6), axis=0)
        rows = np.column_stack((*ends, np.abs(motion.sweep[feed]), motion.feed[feed]))
        columns.append(sorted(rows.round(6).tolist()))
    assert columns[0] == columns[1]


@pytest.mark.parametrize(
    ("what", "backlash", "words"),
    [
        (job("climb"), 0.09, "its chip can grow from 0.075 to 0.165 mm"),  # 300 / (2000 x 2)
        (job("climb"), 0.05, "by less than its chip load of 0.075 mm"),
        (job("climb", None), 0.09, "its chip load is not known"),
    ],
)
def test_climb_is_said_with_its_figures(what: Job, backlash: float, words: str) -> None:
    mill = known_mill(x=Axis(lost_motion=backlash), y=Axis(lost_motion=backlash))
    (done,) = run(OUTLINE, what, mill, "turn-round").plan.chosen
    assert "climb instead of conventional" in done.summary
    assert words in done.summary
    assert f"{backlash:g} mm lost motion the cutter can pull the table" in done.summary


def test_a_start_that_would_turn_an_axis_is_reached_the_other_way() -> None:
    result = run(OUTLINE, job("climb"), None, "turn-round")
    assert b"approach X-" in result.data
    assert result.after.in_cut <= result.before.in_cut
    # no rapid that states where the tool goes leads there: it would begin with a reversal
    low = OUTLINE.replace("X20 Y-3\n", "G91 G1 X30 Y7 F300\nG90\n", 1)
    held = run(low, job("climb"), None, "turn-round")
    assert not held.changed


def test_a_lead_out_at_a_high_feed_does_not_lead_in_at_it() -> None:
    led = HEAD.replace("Y-3", "Y-8") + "G1 Z-2 F100\nY-3 F150\n"
    led += "X43 F300\nY33\nX-3\nY-3\nX20\nY-8 F900\n" + TAIL
    what = job("climb")
    result = run(led, what, None, "turn-round")
    assert sides(result, what) == {MillingSide.CLIMB}
    motion = result.after.motion
    leads = (motion.kind == Kind.LINE) & (motion.start[:, 0] == 20.0) & (motion.end[:, 0] == 20.0)
    leads &= motion.end[:, 2] == motion.start[:, 2]
    assert motion.feed[leads].tolist() == [150.0, 150.0]
