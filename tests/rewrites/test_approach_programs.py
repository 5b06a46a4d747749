"""Approach on programs in many manners, judged by a play model of the test's own."""

import numpy as np
import pytest
from approach_maker import programs, reached
from examples import share
from hypothesis import example, given
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.mill.mill import Axis, Mill
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

ONLY = Options(only=("approach",))
DEPTH = 0.09 + 0.01


def mill(x: int = 1, y: int = 1) -> Mill:
    return known_mill(
        x=Axis(lost_motion=0.09, uncertainty=0.01, approach=x),
        y=Axis(lost_motion=0.09, uncertainty=0.01, approach=y),
    )


def feed_moves(motion) -> np.ndarray:
    rows = motion.kind != Kind.RAPID
    return np.column_stack((motion.start[rows], motion.end[rows], motion.feed[rows]))


FROM_HIGHER = (
    b"G21 G17 G90 G94\nG0 Z5.000\nG0 X-0.700\nG0 Y1.500\nG1 Z-2.000 F100\nG0 Z5.000\n"
    b"G0 Z15.000\nG0 X0.000 Y-0.400 Z5.000\nG1 Z-2.000 F100\nG0 Z5.000\nM30\n"
)


@example(text=FROM_HIGHER)
@share(0.8)
@given(text=programs())
def test_every_place_is_reached_right_or_named(text: bytes):
    result = rewrite(SourceText.of(text), mill(), options=ONLY)
    assert result.proof.holds
    taken_back = [each for each in result.plan.refused if "taken back" in each.reason]
    # a loop may make a later cut, which cannot have one, start with a turn: then it is not made;
    # nor is one where the original passes its place only on a slant from higher up, or from where
    # nobody knows
    known = ("reversals", "where the original goes only higher; a clamp may stand there")
    assert all(any(one in each.reason for one in known) for each in taken_back)
    lacking = {
        block for each in taken_back for block in range(each.first_block, each.last_block + 1)
    }
    before, after = feed_moves(result.before.motion), feed_moves(result.after.motion)
    assert before.shape == after.shape
    assert np.allclose(before, after, atol=1e-6)  # every cut is the old one, in the old order
    named = {
        block
        for each in result.plan.refused
        for block in range(each.first_block, each.last_block + 1)
    }
    old = reached(result.before.motion, DEPTH)
    new = reached(result.after.motion, DEPTH)
    assert len(old) == len(new)
    motion = result.before.motion
    last = (
        None,
        None,
    )  # the same hole again, without a move in X or Y, is as it was the first time
    # an axis that lacks a loop that was taken back stays as it is until it travels again
    as_it_was = [False, False]
    for (row, _), (after_row, sides) in zip(old, new, strict=True):
        block = int(motion.block[row])
        wanted = wanted_sides(motion, row)
        here = tuple(motion.start[row, :2])
        as_it_was = [
            stale and one == other for stale, one, other in zip(as_it_was, here, last, strict=True)
        ]
        again, last = here == last, here
        if block in lacking:
            as_it_was = [True, True]
        if again or block in named or wanted is None:
            continue
        for axis in (0, 1):
            assert as_it_was[axis] or sides[axis] == wanted[axis], (block, after_row, axis)
    assert result.after.in_cut <= result.before.in_cut


def wanted_sides(motion, row: int):
    """The side of each axis: the way it first goes while cutting, else the profile's (here +)."""
    sides = []
    if row and motion.kind[row - 1] != Kind.RAPID:
        return None  # from one depth to the next in the metal
    for axis in range(2):
        side = 1
        for later in range(row, len(motion)):
            if motion.kind[later] == Kind.RAPID or motion.role[later] != motion.role[row]:
                break
            step = motion.end[later, axis] - motion.start[later, axis]
            if abs(step) > 1e-4:
                side = 1 if step > 0 else -1
                break
        sides.append(side)
    return tuple(sides)


@share(0.6)
@given(text=programs())
def test_a_second_run_changes_nothing(text: bytes):
    once = rewrite(SourceText.of(text), mill(-1, 1), options=ONLY)
    twice = rewrite(SourceText.of(once.data), mill(-1, 1), options=ONLY)
    assert twice.data == once.data


@share(0.6)
@given(text=programs())
def test_new_moves_are_rapids_at_heights_where_the_program_travels(text: bytes):
    result = rewrite(SourceText.of(text), mill(), options=ONLY)
    old, new = result.before.motion, result.after.motion

    def level(motion):
        travel = np.abs(motion.end - motion.start)
        rows = (motion.kind == Kind.RAPID) & (travel[:, :2].max(axis=1) > 1e-6)
        return motion, rows

    _, rows = level(old)
    heights = {round(float(z), 4) for z in (*old.start[rows, 2], *old.end[rows, 2])}
    cut = old.kind != Kind.RAPID
    highest = np.minimum(old.start[cut, 2], old.end[cut, 2]).max(initial=-np.inf)
    _, rows = level(new)
    for z in (*new.start[rows, 2], *new.end[rows, 2]):
        assert round(float(z), 4) in heights | {5.0, 15.0, 20.0}
        assert z > highest or round(float(z), 4) in heights


@share(0.6)
@given(text=programs())
def test_old_blocks_stay_in_order(text: bytes):
    """Only blocks that a proposal names may change; all others stand in the output, in order."""
    result = rewrite(SourceText.of(text), mill(), options=ONLY)
    touched = {
        block
        for each in result.plan.chosen
        for block in range(each.first_block, each.last_block + 1)
    }
    rest = iter(result.data.splitlines())
    old = text.splitlines()
    assert all(line in rest for block, line in enumerate(old) if block not in touched)


@pytest.mark.parametrize("lost_motion", [0.02, 0.3, 2.0])
def test_the_loop_goes_further_than_twice_the_backlash(lost_motion: float):
    text = b"G21 G90\nG0 Z5\nG0 X30 Y10\nG1 Z-2 F100\nG0 Z5\nX20\nG1 Z-2\nG0 Z5\nM30\n"
    other = known_mill(x=Axis(lost_motion=lost_motion, uncertainty=0.01))
    result = rewrite(SourceText.of(text), other, options=ONLY)
    least = float(result.after.motion.end[:, 0][2:].min())
    # "at least one-fourth of a turn" of a 5 mm lead (shop course), and never less than the backlash
    assert 20.0 - least >= max(1.25, 2 * (lost_motion + 0.01)) - 1e-9


def test_a_table_of_lost_motion_counts_with_its_greatest():
    text = b"G21 G90\nG0 Z5\nG0 X30 Y10\nG1 Z-2 F100\nG0 Z5\nX20\nG1 Z-2\nG0 Z5\nM30\n"
    other = known_mill(x=Axis(lost_motion=((0.0, 0.1), (100.0, 1.5))))
    result = rewrite(SourceText.of(text), other, options=ONLY)
    assert b"X16.98" in result.data  # 20 - 2 * (1.5 + 0.01)


def test_a_dive_goes_on_in_the_way_of_its_approach_though_the_place_is_rounded():
    """Y0.99985 written to three decimals is beyond the place: the dive would turn Y again."""
    text = b"G21 G90\nG0 Z15\nG0 X8 Y8\nG0 X1 Y[0.9+0.09985] Z1\nG1 Z-2 F100\nG0 Z15\nM30\n"
    once = rewrite(SourceText.of(text), mill(), options=ONLY)
    assert b"(approach X+ Y+)" in once.data
    cut = int(np.flatnonzero(once.after.motion.at_feed)[0])
    travel = np.diff(once.after.motion.end[:cut, :2], axis=0)
    assert [travel[travel[:, axis] != 0.0, axis][-1] > 0.0 for axis in (0, 1)] == [True, True]
    assert rewrite(SourceText.of(once.data), mill(), options=ONLY).data == once.data
