"""Canned cycles in inches and mm, as hands and posts write them, through all rewrites."""

from __future__ import annotations

import pytest
import walked_text
from cycle_jobs import cycle_job
from examples import seeds
from rewrite_checks import BACKLASH, CARRYING, MILL, TAKE_UP, complaints


@pytest.mark.parametrize("seed", seeds(0.16))
def test_holes_by_cycles(seed: int) -> None:
    written = cycle_job(seed)
    result, said = complaints(written, MILL)
    assert said == []
    if result.changed:
        walks = [walked_text.walk(text) for text in (written.text, result.data)]
        assert holes(walks[0]) == holes(walks[1])


@pytest.mark.parametrize("seed", seeds(0.08))
def test_take_ups_of_holes_by_cycles(seed: int) -> None:
    result, said = complaints(cycle_job(seed), CARRYING, TAKE_UP, BACKLASH)
    assert said == []
    if not result.changed:  # a cycle with G91 and L has no place for a take-up
        assert "the cycle repeats its hole" in result.plan.refused[0].reason


def holes(walk: walked_text.Walk) -> list[tuple[float, ...]]:
    """Tool, place and feed of each way down at feed, whichever order they come in."""
    down = walk.cuts & (walk.end[:, 2] < walk.start[:, 2] - 1e-9)
    rows = zip(walk.tool[down], walk.end[down], walk.feed[down], strict=True)
    return sorted(
        (float(tool), *(round(float(each), 3) for each in end), round(float(feed), 3))
        for tool, end, feed in rows
    )


def test_many_of_the_jobs_are_in_inches_in_steps_and_with_both_retracts() -> None:
    texts = [cycle_job(seed).text for seed in range(60)]
    for word in (b"G20", b"G21", b"G91", b"G98", b"G99", b"G83", b"G73", b"G82", b"L"):
        assert sum(word in text for text in texts) >= 6, word
    changed = [complaints(cycle_job(seed), MILL)[0].changed for seed in range(8)]
    assert sum(changed) >= 3
