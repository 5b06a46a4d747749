"""Where a tooth takes too much, and how much it may take; v_f a_p a_e / (n z) (memory).

The programs are invented: slots of a clamp ring's plate.
"""

from __future__ import annotations

import re

import pytest

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"
END = "G0 Z5\nM30\n"
JOB = Job({1: Tool(6.0, flutes=2)}, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))


def teeth(before: str, after: str, job: Job = JOB) -> Obligation:
    texts = (SourceText.of((HEAD + text + END).encode()) for text in (before, after))
    return next(
        each for each in prove(*texts, Mill(), job).obligations if each.name == "material per tooth"
    )


def slot(y: float, feed: str = "F300", depth: float = -2.0) -> str:
    return f"G0 X-10 Y{y:g}\nG0 Z{depth:g}\nG1 X70 {feed}\nG0 Z5\n"


BOTH = slot(10) + slot(30)


def test_the_place_is_in_the_stock_and_under_the_tool() -> None:
    fault = teeth(BOTH, BOTH.replace(slot(30), slot(30, "F450")))
    assert not fault.holds
    x, y = (float(each) for each in re.findall(r"at X(\S+) Y(\S+)$", fault.figure)[0])
    # the move starts at X-10, beside the stock; the tool is 6 wide
    assert 0.0 < x < 60.0
    assert abs(y - 30.0) < 3.0
    assert fault.after is not None
    assert (HEAD + BOTH).split("\n")[fault.after] == "G1 X70 F300"


@pytest.mark.parametrize(
    ("feed", "holds"), [(200, True), (306, True), (325, True), (350, False), (600, False)]
)
def test_what_a_tooth_takes_and_by_how_much_it_may_be_more(feed: int, *, holds: bool) -> None:
    """A twentieth for what cells make of the same cut, and one row of cells, 0.375 mm."""
    found = teeth(BOTH, BOTH.replace(slot(30), slot(30, f"F{feed}")))
    was, now = (each * 2.0 * 6.0 / 3000.0 for each in (300.0, float(feed)))  # mm³ per turn
    assert (now <= was * 1.05 + 0.375 * 2.0 * feed / 3000.0) == holds
    assert found.holds == holds
    if not holds:
        assert found.limit == pytest.approx(was, rel=0.07)
        assert found.value == pytest.approx(now, rel=0.07)


def test_of_a_tool_without_flutes_it_is_told_per_turn() -> None:
    job = Job({1: Tool(6.0)}, JOB.stock)
    told = teeth(BOTH, BOTH.replace("F300", "F299"), job).figure
    was, now = (float(each) for each in re.findall(r"T1 (\S+) to (\S+) mm³ a turn", told)[0])
    assert (was, now) == (pytest.approx(1.2, rel=0.07), pytest.approx(1.196, rel=0.07))
    told = teeth(BOTH, BOTH.replace("F300", "F299")).figure
    was, now = (float(each) for each in re.findall(r"T1 (\S+) to (\S+) mm³ a tooth", told)[0])
    assert (was, now) == (pytest.approx(0.6, rel=0.07), pytest.approx(0.598, rel=0.07))
