"""Outlines, bores and take-ups in fine chords: what a post writes is rewritten as safely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import rewrite_checks
import walked_text
from chord_jobs import chord_job, helix_job, round_bow
from examples import seeds
from other_manners import Written
from rewrite_checks import BACKLASH, CARRYING, MILL, TAKE_UP, complaints

from gpre.mill.job import Job, Tool


@pytest.mark.parametrize("seed", seeds(0.06))
def test_an_outline_in_chords(seed: int) -> None:
    assert complaints(chord_job(seed), MILL)[1] == []


@pytest.mark.parametrize("seed", seeds(0.02))
def test_a_helix_in_chords(seed: int) -> None:
    assert complaints(helix_job(seed), MILL)[1] == []


@pytest.mark.parametrize("seed", seeds(0.06))
def test_take_ups_of_an_outline_in_chords(seed: int) -> None:
    result, said = complaints(chord_job(seed), CARRYING, TAKE_UP, BACKLASH)
    assert result.changed
    assert said == []


@pytest.mark.parametrize("seed", seeds(0.02))
def test_take_ups_of_a_helix_in_chords(seed: int) -> None:
    result, said = complaints(helix_job(seed), CARRYING, TAKE_UP, BACKLASH)
    assert result.changed
    assert said == []


def ring(chord: float, *, inch: bool = False) -> Written:
    """A ring of radius 9 mm about the zero in chords, left and entered on its radius."""
    scale = 25.4 if inch else 1.0

    def to(x: float, y: float) -> str:
        return f"X{x / scale:.5f} Y{y / scale:.5f}"

    round_it = "\n".join(to(*each) for each in round_bow((0.0, 0.0), 9.0, 0.0, math.tau, chord))
    text = (
        f"G{20 if inch else 21} G17 G90\nT1 M6\nS3000 M3\nG0 X0 Y0\nG0 Z{5 / scale:.4f}\n"
        f"G1 Z{-2 / scale:.4f} F{100 / scale:.3f}\nG1 {to(9.0, 0.0)} F{300 / scale:.3f}\n"
        f"{round_it}\nG1 X0 Y0\nG0 Z{5 / scale:.4f}\nM30\n"
    )
    return Written(f"ring {chord}", text.encode(), Job({1: Tool(6.0)}))


@pytest.mark.parametrize(
    ("chord", "least", "inch"), [(0.04, 6, False), (0.05, 5, True), (0.1, 2, True)]
)
def test_a_window_that_spans_several_chords(chord: float, least: int, inch: bool) -> None:
    """While Y crosses its backlash of 0.06 atop the ring the path goes on, chord by chord."""
    written = ring(chord, inch=inch)
    result, said = complaints(written, CARRYING, TAKE_UP, BACKLASH)
    assert said == []
    after = walked_text.walk(result.data)
    top = after.cuts & (np.abs(after.end[:, 0]) < 0.3) & (after.end[:, 1] > 8.0)
    # Y leads by half its backlash before the turn, and lags behind it: command less intended
    even = np.sqrt(81.0 - (after.end[top, 0] + 0.045) ** 2)
    lead = after.end[top, 1] - even
    within = np.abs(lead) < 0.03 - 1e-3
    assert within.sum() >= least
    crossing = lead[np.flatnonzero(within)[0] : np.flatnonzero(within)[-1] + 1]
    assert (np.diff(crossing) < 0.0).all()  # never back
    # the window is as wide as (w/2)² / 2R = 0.0014 allows, to a chord on either side
    width = np.ptp(after.end[top, 0][within])
    wide = 2.0 * math.sqrt(2.0 * 9.0 * 0.0014)
    assert wide - 2.0 * chord - 0.03 <= width <= wide + 1e-3


def test_chords_leave_the_error_of_the_window_and_no_more() -> None:
    """The table at the top of the ring lacks (w/2)² / 2R of it, by the independent play."""
    written = ring(0.04)
    result, _ = complaints(written, CARRYING, TAKE_UP, BACKLASH)
    after = walked_text.walk(result.data)
    table = walked_text.table(after, BACKLASH, 1.0)
    lacks = 9.0 - table.end[table.cuts, 1].max()
    assert lacks == pytest.approx(0.0014, rel=0.05)  # the window starts and ends within a chord
    plain = walked_text.table(walked_text.walk(written.text), BACKLASH, 1.0)
    assert 9.0 - plain.end[plain.cuts, 1].max() == pytest.approx(0.03, abs=1e-4)


# --- the checks themselves --------------------------------------------------------------------


def found(written: Written, data: bytes) -> list[str]:
    facts = rewrite_checks.Facts(walked_text.walk(written.text), walked_text.walk(data))
    return rewrite_checks.carried(facts, BACKLASH, 0.002)


def test_a_take_up_that_is_a_hundredth_off_is_seen() -> None:
    written = ring(0.1)
    result, said = complaints(written, CARRYING, TAKE_UP, BACKLASH)
    assert said == []
    assert found(written, result.data) == []
    assert found(written, written.text)  # nothing taken up
    lines = result.data.decode().splitlines()
    place = next(at for at, line in enumerate(lines) if line.startswith("X-0.2"))
    x, y = (float(word[1:]) for word in lines[place].split()[:2])
    lines[place] = f"X{x:.4f} Y{y - 0.01:.4f}"
    assert found(written, "\n".join(lines).encode() + b"\n")


def test_a_cut_left_out_and_one_added_are_seen() -> None:
    before = walked_text.walk(ring(0.1).text)
    lines = ring(0.1).text.decode().splitlines()
    short = walked_text.walk("\n".join(lines[:100] + lines[140:]).encode() + b"\n")
    assert walked_text.apart(before, short) > 0.1
    assert walked_text.apart(short, before) > 0.01
    assert walked_text.apart(before, before) == pytest.approx(0.0, abs=1e-9)


def test_reversals_are_those_counted_in_a_plain_program() -> None:
    text = (
        b"G21 G17 G90 G94\nG0 X10 Y0\nG0 Z5\nG1 Z-1 F100\nG3 X10 Y0 I-10\nG1 X20\nG1 X20 Y5\n"
        b"G1 X15\nG0 X30\nG0 Z5\nM30\n"
    )
    # round the ring from (10, 0): X turns at the start and at 180 degrees, Y at 90 and 270;
    # on to X20 as it came; back to X15 a turn at feed, on to X30 one at rapid; Z down and up
    assert walked_text.reversals(walked_text.walk(text)) == ([4, 2, 2], [3, 2, 1])
