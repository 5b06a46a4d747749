"""Drawn contours through the whole way: read, rewrite, prove, and cut in the tests' own metal."""

import metal
import numpy as np
from contour_maker import GREATEST, LEAST, RADIUS, ContourProgram, contour_programs
from examples import share
from hypothesis import given
from known_mill import KNOWN

from gpre.cuts.cuts import Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.motion.motion import Kind, Motion
from gpre.source.text import SourceText


def start_point(text: bytes) -> Rewritten:
    return rewrite(SourceText.of(text), KNOWN, options=Options(only=("start-point",)))


def turns(points: np.ndarray) -> int:
    """Turns of X and Y along points, rests skipped, by plain comparison of signs."""
    count = 0
    for axis in range(2):
        travel = np.diff(points[:, axis])
        signs = np.sign(travel[np.abs(travel) > 1e-7])
        count += int((signs[1:] != signs[:-1]).sum())
    return count


def first_round(motion: Motion) -> np.ndarray:
    """(k, 2) points of the first level, close together, its start and its end included."""
    rows = np.flatnonzero(motion.kind != Kind.RAPID)
    level = motion.end[rows[0], 2]
    flat = [
        row
        for row in rows
        if abs(motion.end[row, 2] - level) < 1e-9 and abs(motion.start[row, 2] - level) < 1e-9
    ]
    return np.concatenate([metal.samples(motion, row)[:, :2] for row in flat])


@given(contour_programs())
def test_the_start_leaves_as_few_turns_as_any_place_would(program: ContourProgram):
    result = start_point(program.text)
    old, new = first_round(result.before.motion), first_round(result.after.motion)
    ring = old[:-1]
    least = min(turns(np.concatenate((ring[k:], ring[: k + 1]))) for k in range(len(ring)))
    # samples stand beside the quadrants, so a turn there may show one step late: one more sample
    assert turns(new) <= turns(old)
    if result.changed:
        assert turns(new) == least
        assert turns(new) < turns(old)
    else:
        assert turns(old) - least <= 0 or result.plan.refused


@given(contour_programs())
def test_gains_are_true_a_second_run_changes_nothing_and_the_end_is_the_same(
    program: ContourProgram,
):
    result = start_point(program.text)
    assert start_point(result.data).data == result.data
    before, after = result.before.motion, result.after.motion
    assert np.allclose(before.end[-1], after.end[-1], rtol=0, atol=1e-9)
    assert before.state_of(len(before) - 1) == after.state_of(len(after) - 1)
    assert before.feed[-1] == after.feed[-1]
    gained = sum(each.gained for each in result.plan.chosen)
    x_y = [
        int((each.reversals.in_cut & (each.reversals.axis < 2)).sum())
        for each in (result.before, result.after)
    ]
    assert gained == x_y[0] - x_y[1]
    assert result.after.in_cut <= result.before.in_cut
    assert gained > 0 or not result.changed


@share(0.2)
@given(contour_programs())
def test_the_same_metal_goes_and_the_plunge_takes_no_more(program: ContourProgram):
    result = start_point(program.text)
    old, new = result.before.motion, result.after.motion
    metal_before, removed_before, _ = metal.run(old, LEAST, GREATEST, RADIUS)
    metal_after, removed_after, crashes = metal.run(new, LEAST, GREATEST, RADIUS)
    assert not crashes
    # a start at a quadrant splits an arc: cells that it only grazes may fall differently
    assert np.count_nonzero(metal_before.height != metal_after.height) <= 4
    plunges = [
        removed[np.hypot(*(motion.end - motion.start)[:, :2].T) < 1e-6]
        for motion, removed in ((old, removed_before), (new, removed_after))
    ]
    assert plunges[1].max() <= plunges[0].max() + 8 * metal.CELL**2 * 1.5


@given(contour_programs())
def test_direction_and_feeds_stay(program: ContourProgram):
    result = start_point(program.text)
    motions = [result.before.motion, result.after.motion]
    assert np.allclose(*(_area(first_round(motion)) for motion in motions), rtol=1e-3)
    lengths = [_length_by_feed(motion) for motion in motions]
    assert lengths[0].keys() == lengths[1].keys()
    for feed, length in lengths[0].items():
        assert abs(length - lengths[1][feed]) < 0.05


def _area(points: np.ndarray) -> float:
    x, y = points[:, 0], points[:, 1]
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def _length_by_feed(motion: Motion) -> dict[float, float]:
    found: dict[float, float] = {}
    level = np.abs(motion.end[:, 2] - motion.start[:, 2]) < 1e-9
    for row in np.flatnonzero((motion.kind != Kind.RAPID) & level):
        feed = round(float(motion.feed[row]), 3)
        points = metal.samples(motion, row)
        length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        found[feed] = found.get(feed, 0.0) + length
    return found


@given(contour_programs())
def test_every_drawn_contour_is_found_to_be_closed(program: ContourProgram):
    result = start_point(program.text)
    shapes = {cut.shape for cut in find_cuts(result.before.motion)}
    assert shapes == {Shape.CLOSED}
