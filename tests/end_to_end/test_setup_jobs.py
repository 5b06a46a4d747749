"""Jobs on several parts, with work offsets, tools and length offsets, through all rewrites."""

from __future__ import annotations

from dataclasses import replace

import pytest
from examples import seeds
from rewrite_checks import BACKLASH, CARRYING, MILL, TAKE_UP, complaints
from setup_jobs import LENGTHS, ORIGINS, setup_job


@pytest.mark.parametrize("seed", seeds(0.06))
def test_with_zeros_and_lengths_that_are_known(seed: int) -> None:
    assert complaints(setup_job(seed), MILL)[1] == []


@pytest.mark.parametrize("seed", seeds(0.04))
def test_with_zeros_and_lengths_that_nobody_has_told(seed: int) -> None:
    """gpre knows none of them; the mill that judges has some all the same."""
    written = setup_job(seed, known=False)
    mill = replace(MILL, controller=replace(MILL.controller, origins={}, lengths={}))
    result, said = complaints(written, mill, of_the_mill=(ORIGINS, LENGTHS))
    assert said == []
    assert result.proof.holds


@pytest.mark.parametrize("seed", seeds(0.04))
def test_take_ups_on_several_parts(seed: int) -> None:
    """A take-up goes on over the change of a zero or a length, which moves no screw."""
    result, said = complaints(setup_job(seed), CARRYING, TAKE_UP, BACKLASH)
    assert result.changed
    assert said == []


def test_the_jobs_have_offsets_tools_and_lengths() -> None:
    texts = [setup_job(seed).text for seed in range(30)]
    for word in (b"G54", b"G55", b"G56", b"G43", b"H2", b"T3", b"G53", b"G49"):
        assert sum(word in text.replace(b" ", b"") for text in texts) >= 8, word
    assert complaints(setup_job(0), MILL)[0].changed
