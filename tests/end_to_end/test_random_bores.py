"""Holes, bores and contours by chance through helix, order and turn-round: nothing is lost."""

from __future__ import annotations

from pathlib import Path

import own_clamps
import own_count
import own_safety
import own_stock
import pytest
from bore_jobs import STOCK, bore_job
from examples import seeds
from own_reading import read_on

from gpre import load_mill
from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.source.text import SourceText

MILL = load_mill(Path(__file__).resolve().parents[2] / "samples" / "mill.toml").from_its_start()
ONLY = Options(only=("helix", "order", "turn-round"))


def complaints(seed: int, kinds: str, options: Options = ONLY) -> list[str]:
    """Rewrite a job; give what is wrong about it."""
    written = bore_job(seed, kinds)
    result = rewrite(SourceText.of(written.text, written.name), MILL, written.job, options)
    old, new = read_on(written.text, MILL), read_on(result.data, MILL)
    said = [] if result.proof.holds else ["the proof does not hold"]
    again = rewrite(SourceText.of(result.data, written.name), MILL, written.job, options)
    said += ["a second run changes it"] if again.data != result.data else []
    taken = [each.reason for each in result.plan.refused if "taken back" in each.reason]
    said += taken
    if not result.changed:
        return said
    job = Job(written.job.tools, STOCK, written.job.cut)  # the tests know the stock
    said += own_clamps.complaints(old, new)
    said += own_safety.complaints(old, new, written.job)
    said += own_stock.complaints(old, new, job)
    if own_clamps.holes(old) != own_clamps.holes(new):
        said.append("the holes are not the same")
    was, now = own_clamps.steepest(old), own_clamps.steepest(new)
    for number, slope in now.items():
        if slope > max(was[number], job.tools[number].max_ramp_angle or 0.0) + 1e-4:
            said.append(f"tool {number} goes down too steeply")
    one, two = own_clamps.removed(old, job), own_clamps.removed(new, job)
    for number, deep in two[2].items():
        if deep > max(one[2].get(number, 0.0), job.tools[number].diameter / 2) + own_stock.SLIVER:
            said.append(f"tool {number} cuts {deep:.2f} mm deep in a helix")
    turned = any(each.rewrite == "turn-round" for each in result.plan.chosen)
    more = two[0] - one[0]
    if turned and (more if job.cut == "climb" else -more) <= 0.0:
        said.append(f"turned, and {more:.0f} mm³ more are climbed")
    small = 0.02 * sum(one[:2]) + 5.0
    if not turned and abs(more) > small:
        said.append(f"{more:.0f} mm³ more are climbed, unasked")
    return said


@pytest.fixture(autouse=True)
def _coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """Chords of up to 0.0015 mm off an arc of 10 mm are fine enough, and quicker."""
    monkeypatch.setattr(own_count, "CHORDS_A_TURN", 180)


@pytest.mark.parametrize("kinds", ["h", "b", "c", "hbct"])
@pytest.mark.parametrize("seed", seeds(0.04))
def test_job_is_rewritten_safely(seed: int, kinds: str) -> None:
    assert complaints(seed, kinds) == []
