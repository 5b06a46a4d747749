"""Loops at outside corners: which corners need one, and how far the tool runs on."""

import math

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z20\n"
MILL = known_mill(
    x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), compensation=Compensation("controller")
)
RECTANGLE = (
    f"{HEAD}G0 X-3 Y-13\nG0 Z2\nG1 Z-2 F100\nG1 Y43 F300\nG1 X53\nG1 Y-3\nG1 X-13\nG0 Z20\n"
    "M5\nM30\n"
)
STOCK = Box((-0.5, -0.5, -10.0), (50.5, 40.5, 0.0))


def done(text: str, job: Job, only: tuple[str, ...] = ("corner-loop",)) -> Rewritten:
    return rewrite(SourceText.of(text.encode()), MILL, job, Options(only=only))


def polygon(corners: int, radius: float) -> str:
    """A ring round a boss with flats, cut twice: the second time a millimetre closer."""
    lines = [HEAD.strip()]
    for at, each in enumerate((radius + 1.0, radius)):
        points = [
            (
                round(each * math.cos(math.pi - 2 * math.pi * k / corners), 3),
                round(each * math.sin(math.pi - 2 * math.pi * k / corners), 3),
            )
            for k in range(corners + 1)
        ]
        if not at:
            lines += [f"G0 X{points[0][0]:g} Y0", "G0 Z1", "G1 Z-2 F100"]
        lines += [f"G1 X{x:g} Y{y:g} F300" for x, y in points[at == 0 :]]
    return "\n".join([*lines, "G0 Z20", "M5", "M30", ""])


def test_sharp_corners_beside_the_stock_need_no_run() -> None:
    result = done(RECTANGLE, Job({1: Tool(6.0)}, STOCK))
    assert result.proof.holds
    x_y = result.after.reversals.in_cut & (result.after.reversals.axis < 2)
    assert int(x_y.sum()) == 1  # the way in
    assert result.before.in_cut == 4
    assert all("stands clear" in each.summary for each in result.plan.chosen)


def test_a_turn_taken_along_needs_no_loop_of_its_own() -> None:
    result = done(RECTANGLE, Job({1: Tool(6.0)}, STOCK))
    # at X53 Y43 Y would turn: the loop before it has Y go the new way already
    assert result.data.count(b"(corner loop)") == 2


@pytest.mark.parametrize(("corners", "length"), [(16, 0.5), (24, 0.5), (40, 1.0)])
def test_past_flat_corners_the_tool_runs_until_it_is_clear(corners: int, length: float) -> None:
    result = done(polygon(corners, 21.0), Job({1: Tool(6.0)}))
    assert result.proof.holds
    assert result.after.in_cut < result.before.in_cut
    # how far the tool stands off the next flat behind a run of s: s times the sine of the corner
    assert length * math.sin(2 * math.pi / corners) >= 0.1
    assert length == 0.5 or length / 2 * math.sin(2 * math.pi / corners) < 0.1
    assert {each.summary.split(" mm")[0].split(", ")[1] for each in result.plan.chosen} == {
        f"{length:g}"
    }


def test_the_corner_itself_is_still_cut() -> None:
    result = done(polygon(16, 21.0), Job({1: Tool(6.0)}))
    motion = result.after.motion
    top = np.array([0.0, 21.0, -2.0])
    ends = np.abs(motion.end - top).max(axis=1) < 1e-6
    assert int(ends.sum()) == 2  # once from either side


def test_all_rewrites_together_come_to_rest() -> None:
    job = Job({1: Tool(6.0)}, STOCK)
    first = done(RECTANGLE, job, ())
    assert first.proof.holds
    assert first.after.in_cut == 0
    assert done(first.data.decode(), job, ()).data == first.data
