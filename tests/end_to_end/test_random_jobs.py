"""Whole jobs by chance, run through their stock before and after: nothing fares worse."""

from __future__ import annotations

from pathlib import Path

import own_count
import own_safety
import own_stock
import pytest
from examples import seeds
from own_reading import read_on
from random_jobs import random_job

from gpre import load_mill
from gpre.driver.rewrite import rewrite
from gpre.source.text import SourceText

MILL = load_mill(Path(__file__).resolve().parents[2] / "samples" / "mill.toml")


@pytest.mark.parametrize("seed", seeds(0.6))
def test_job_is_rewritten_safely(seed: int) -> None:
    written = random_job(seed)
    result = rewrite(SourceText.of(written.text, written.name), MILL, written.job)
    assert result.proof.holds
    old, new = read_on(written.text, MILL), read_on(result.data, MILL)
    assert own_stock.complaints(old, new, written.job) == []
    assert own_safety.complaints(old, new, written.job) == []
    assert sum(own_count.in_cut(new)) <= sum(own_count.in_cut(old))
    again = rewrite(SourceText.of(result.data, written.name), MILL, written.job)
    assert again.data == result.data


def test_most_jobs_gain() -> None:
    """Over many jobs a good part of the reversals while cutting goes."""
    before = after = 0
    for seed in range(30):
        written = random_job(seed)
        result = rewrite(SourceText.of(written.text, written.name), MILL, written.job)
        before += result.before.in_cut
        after += result.after.in_cut
    assert after < 0.8 * before
