"""How steep a new ramp may be: the job's angle to a few microns, and the steepest is told.

The programs are invented: ramps in a dovetail shoe; 20 mm along, at an angle of which the tangent
is 0.1, so 2 mm deep.
"""

from __future__ import annotations

from math import atan

import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 X-20 Y-20 Z5\n"
TAIL = "G0 Z5\nM5\nM30\n"
SLOT = "G0 X0 Y0\nG0 Z1\nG1 Z-3 F100\nG1 X40 F300\nG0 Z5\n"
RAMP = "G0 X{x} Y{y}\nG0 Z0\nG1 X{end} Z-{drop} F100\nG0 Z5\n"
JOB = Job({1: Tool(6.0, max_ramp_angle=atan(0.1))}, Box((-5.0, -5.0, -10.0), (60.0, 40.0, 0.0)))


def ramps(*drops: str, job: Job = JOB) -> Obligation:
    new = "".join(
        RAMP.format(x=0, y=10 * at, end=20, drop=drop) for at, drop in enumerate(drops, start=1)
    )
    texts = (HEAD + each + TAIL for each in (SLOT, SLOT + new))
    proof = prove(*(SourceText.of(each.encode()) for each in texts), KNOWN, job)
    return next(each for each in proof.obligations if each.name == "ramps")


@pytest.mark.parametrize(("drop", "holds"), [("1.9", True), ("2.003", True), ("2.0055", False)])
def test_a_ramp_is_as_steep_as_the_job_says(drop: str, *, holds: bool) -> None:
    """But for twice the tolerance, 0.002 mm, of each path."""
    assert ramps(drop).holds == holds
    assert not ramps(drop, job=Job({1: Tool(6.0)}, JOB.stock)).holds


@pytest.mark.parametrize(("drops", "y"), [(("2.5", "3"), 20), (("3", "2.5"), 10)])
def test_the_steepest_of_several_is_told(drops: tuple[str, ...], y: int) -> None:
    found = ramps(*drops)
    assert not found.holds
    assert f"T1 goes down at 8.53 degrees from X0.0000 Y{y}.0000 Z0.0000" in found.figure
    assert "the original has no ramp, and the job's ramp angle is 5.711 degrees" in found.figure
    assert found.value == pytest.approx(8.5308, abs=1e-4)


def test_a_ramp_may_be_steeper_than_one_in_one() -> None:
    steep = Job({1: Tool(6.0, max_ramp_angle=atan(1.5))}, JOB.stock)
    assert ramps("29.9", job=steep).holds
    assert not ramps("30.1", job=steep).holds


HELIX = (
    "G0 X{x} Y0\nG0 Z0\nG3 X-{x} Y0 Z-{half} I-{x} J0 F100\nG3 X{x} Y0 Z-{whole} I{x} J0\nG0 Z5\n"
)


@pytest.mark.parametrize(("pitch", "holds"), [(0.4, True), (0.506, True), (0.51, False)])
def test_a_wider_helix_goes_no_deeper_per_turn(pitch: float, *, holds: bool) -> None:
    """In half turns, each of which may be 0.004 mm deeper; it is less steep than the first one."""
    old = HELIX.format(x=4, half=0.25, whole=0.5)
    new = HELIX.format(x=8, half=pitch / 2, whole=pitch)
    texts = (HEAD + each + TAIL for each in (old, old + new))
    proof = prove(*(SourceText.of(each.encode()) for each in texts), KNOWN, Job())
    found = next(each for each in proof.obligations if each.name == "ramps")
    assert found.holds == holds
    if not holds:
        assert f"T1 goes {pitch:.3f} mm deep per turn from X8.0000 Y0.0000 Z0.0000" in found.figure
        assert "the original's helices 0.500 at most, and the job names no ramp" in found.figure
