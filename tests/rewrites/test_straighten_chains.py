"""Chains of short moves with noise on them: fewer reversals, same path, settled at once."""

import numpy as np
import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from known_mill import known_mill
from path_samples import farthest

from gpre.cuts.find_cuts import find_cuts
from gpre.driver.rewrite import Options, rewrite
from gpre.editing.context import Context
from gpre.editing.proposal import Refusal
from gpre.mill.job import Job
from gpre.mill.mill import Limits, Mill
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.rewrites.straighten import settling
from gpre.rewrites.straighten.rewrite import straighten
from gpre.source.text import SourceText

ONLY = Options(only=("straighten",))


def chain(
    vertices: np.ndarray, *, relative: bool = False, inch: bool = False, sparse: bool = False
) -> bytes:
    """A chain of G1 blocks, coordinates in ten-thousandths of a millimetre (or inch)."""
    units, feed = ("G20", "F12.") if inch else ("G21", "F300")
    lines = [f"{units} G17 G90 G94", "G0 Z5", "G0 X0 Y0", f"G1 Z0 {feed}"]
    lines.append("G91" if relative else "G90")
    here = np.zeros(3, int)
    for vertex in vertices:
        words = []
        for axis, letter in enumerate("XYZ"):
            number = vertex[axis] - (here[axis] if relative else 0)
            if sparse and vertex[axis] == here[axis]:
                continue
            words.append(f"{letter}{number / 1e4:.4f}")
        here = vertex
        if words:
            lines.append("G1 " + " ".join(words))
    return ("\n".join([*lines, "G90 G0 Z5", "M30"]) + "\n").encode()


noise = st.lists(
    st.tuples(st.integers(200, 3000), st.integers(-25, 25), st.integers(-25, 25)),
    min_size=2,
    max_size=40,
)


@share(0.4)
@given(noise=noise, relative=st.booleans(), sparse=st.booleans(), slope=st.integers(-30, 30))
def test_noise_goes_and_the_path_stays(noise, relative, sparse, slope):
    steps = np.array(noise)
    steps[:, 1] += slope
    vertices = np.cumsum(steps, axis=0)
    vertices[:, 2] = steps[:, 2]
    text = chain(vertices, relative=relative, sparse=sparse)
    result = rewrite(SourceText.of(text), options=ONLY)
    assert result.proof.holds
    assert result.after.in_cut <= result.before.in_cut
    assert not [each for each in result.plan.refused if "taken back" in each.reason]
    old, new = result.before.motion, result.after.motion
    assert np.allclose(new.end[-1], old.end[-1], atol=1e-9)
    assert max(farthest(old, new), farthest(new, old)) <= 0.002 + 2e-5
    gained = sum(each.gained for each in result.plan.chosen)
    assert (gained > 0) == (result.after.in_cut < result.before.in_cut)
    assert rewrite(SourceText.of(result.data), options=ONLY).data == result.data


@share(0.3)
@given(noise=noise)
def test_inch_chains(noise):
    steps = np.array(noise)
    vertices = np.cumsum(np.column_stack((steps[:, 0], steps[:, 1] // 20, steps[:, 0] * 0)), axis=0)
    text = chain(vertices, inch=True)
    result = rewrite(SourceText.of(text), options=ONLY)
    old, new = result.before.motion, result.after.motion
    assert max(farthest(old, new), farthest(new, old)) <= 0.002 + 2e-5
    assert rewrite(SourceText.of(result.data), options=ONLY).data == result.data


@pytest.mark.parametrize("tolerance", [0.0005, 0.002, 0.01])
def test_the_tolerance_of_the_profile_holds(tolerance: float):
    rng = np.random.default_rng(7)
    vertices = np.cumsum(rng.integers(1, 400, (300, 3)), axis=0)
    vertices[:, 1:] = rng.integers(-15, 15, (300, 2)) + np.arange(300)[:, None] * 3
    text = chain(vertices)
    mill = known_mill(limits=Limits(tolerance=tolerance))
    result = rewrite(SourceText.of(text), mill, options=ONLY)
    old, new = result.before.motion, result.after.motion
    assert max(farthest(old, new), farthest(new, old)) <= tolerance + 2e-5
    assert result.after.in_cut < result.before.in_cut
    if tolerance == 0.01:
        assert result.after.in_cut <= 3


def test_a_straight_line_with_a_micrometre_of_noise_loses_all_turns():
    rng = np.random.default_rng(3)
    x = np.arange(1, 401) * 500
    vertices = np.column_stack((x, rng.integers(-10, 11, 400), np.zeros(400, int)))
    result = rewrite(SourceText.of(chain(vertices)), options=ONLY)
    assert result.before.in_cut > 100
    assert result.after.in_cut <= 3


def test_bytes_of_other_blocks_stay():
    rng = np.random.default_rng(5)
    vertices = np.cumsum(rng.integers(1, 400, (60, 3)), axis=0)
    vertices[:, 1] = rng.integers(-9, 9, 60)
    text = chain(vertices)
    result = rewrite(SourceText.of(text), options=ONLY)
    touched = {
        block
        for each in result.plan.chosen
        for block in range(each.first_block, each.last_block + 1)
    }
    assert touched
    old, new = text.splitlines(), result.data.splitlines()
    kept = [line for block, line in enumerate(old) if block not in touched]
    rest = iter(new)
    assert all(line in rest for line in kept)  # in order


def test_motion_of_the_rewritten_text_is_what_the_driver_says():
    vertices = np.cumsum(np.full((20, 3), (500, 3, 0)), axis=0)
    vertices[::3, 1] -= 8
    result = rewrite(SourceText.of(chain(vertices)), options=ONLY)
    again = trace(read(result.data), Mill().controller)
    assert np.array_equal(again.end, result.after.motion.end, equal_nan=True)


def noisy_raster(size: int, noise: int) -> np.ndarray:
    """A flat raster of points 0.3 mm apart with noise, in ten-thousandths of a millimetre."""
    drawn = np.random.default_rng(7).normal(0.0, noise, (size * size, 3)).round().astype(int)
    across = np.tile(np.r_[0:size, size - 1 : -1 : -1], size)[: size * size]
    along = np.repeat(np.arange(size), size)
    return drawn + np.column_stack((3000 * across, 3000 * along, np.full(size * size, -5000)))


def test_a_stretch_too_long_to_be_measured_stays_and_the_rest_is_done(monkeypatch):
    """Noise below the tolerance on all axes: nearly all of the raster hangs together."""
    measured = []
    real = settling.departure

    def departure(old, new):
        measured.append(len(old))
        return real(old, new)

    monkeypatch.setattr(settling, "departure", departure)
    raster = chain(noisy_raster(24, 8)).split(b"\nG90 G0 Z5")[0]
    beside = chain(np.column_stack((
        np.arange(1, 41) * 3000, np.arange(40) % 2 * 10, np.zeros(40, int)
    ))).split(b"G0 Z5\n", 1)[1]  # fmt: skip
    text = raster + b"\nG0 Z5\n" + beside
    result = rewrite(SourceText.of(text), options=ONLY)
    assert result.proof.holds
    reasons = [each.reason for each in result.plan.refused]
    assert any("hang together" in each and "smaller tolerance" in each for each in reasons)
    assert max(measured, default=0) <= settling.LONGEST
    long = [each for each in result.plan.refused if "hang together" in each.reason]
    assert all(each.last_block - each.first_block >= settling.LONGEST // 2 for each in long)
    after = result.data.split(b"\n")
    assert result.after.in_cut < result.before.in_cut
    assert b"G1 X12.0000 Y0.0010 Z0.0000" in text.split(b"\n")
    assert after[-len(beside.split(b"\n")) :] != beside.split(b"\n")  # what is behind it is done
    again = rewrite(SourceText.of(result.data), options=ONLY)
    assert again.data == result.data


def test_a_program_that_is_left_alone_is_so_from_its_first_block_to_its_last() -> None:
    chained = chain(np.array([(0, 0, 0), (10000, 0, 0), (20000, 2, 0), (30000, 0, 0)]))
    program = read(chained.replace(b"M30", b"IF [1 EQ 2] GOTO 5\nM30"))
    mill = known_mill()
    motion = trace(program, mill.controller)
    context = Context(program, motion, find_reversals(motion), find_cuts(motion), mill, Job())
    (refusal,) = straighten(context)
    assert isinstance(refusal, Refusal)
    assert "steer the program" in refusal.reason
    assert (refusal.first_block, refusal.last_block) == (0, len(program) - 1)
