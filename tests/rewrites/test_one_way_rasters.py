"""Drawn rasters through the whole way: read, rewrite, prove, and cut in the tests' own metal."""

import metal
import numpy as np
from examples import share
from hypothesis import given
from known_mill import known_mill
from raster_maker import RasterProgram, raster_programs

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.motion.motion import Kind, Motion
from gpre.source.text import SourceText


def one_way(program: RasterProgram, text: bytes) -> Rewritten:
    return rewrite(SourceText.of(text), known_mill(), program.job, Options(only=("one-way",)))


def passes(program: RasterProgram, motion: Motion) -> np.ndarray:
    """Rows of the moves at feed along the passes."""
    delta = motion.end - motion.start
    long = np.abs(delta[:, program.axis]) > 10.0
    return np.flatnonzero((motion.kind == Kind.LINE) & long)


@given(raster_programs())
def test_no_reversal_of_x_and_y_is_left_where_every_pass_ends_clear(program: RasterProgram):
    result = one_way(program, program.text)
    if not program.clear:
        assert result.data == program.text
        assert all("clear of the stock" in each.reason for each in result.plan.refused)
        assert result.plan.refused
        return
    assert result.changed, result.plan.refused
    assert not (result.after.reversals.in_cut & (result.after.reversals.axis < 2)).any()
    assert sum(each.gained for each in result.plan.chosen) == (
        result.before.in_cut - result.after.in_cut
    ) - _of_z(result)
    ways = _ways(program, result.after.motion).reshape(program.levels, program.passes)
    assert (ways == ways[:, :1]).all()  # each level may have its own way: it steps the other way


def _of_z(result: Rewritten) -> int:
    counts = [
        int((each.reversals.in_cut & (each.reversals.axis == 2)).sum())
        for each in (result.before, result.after)
    ]
    return counts[0] - counts[1]


def _ways(program: RasterProgram, motion: Motion) -> np.ndarray:
    rows = passes(program, motion)
    return np.sign((motion.end - motion.start)[rows, program.axis])


@given(raster_programs())
def test_a_second_run_changes_nothing_and_the_end_is_the_same(program: RasterProgram):
    result = one_way(program, program.text)
    assert one_way(program, result.data).data == result.data
    before, after = result.before.motion, result.after.motion
    assert np.allclose(before.end[-1], after.end[-1], rtol=0, atol=1e-9)
    assert before.state_of(len(before) - 1) == after.state_of(len(after) - 1)
    assert before.feed[-1] == after.feed[-1]


@share(0.25)
@given(raster_programs().filter(lambda program: program.clear))
def test_the_same_metal_goes_and_no_rapid_meets_any(program: RasterProgram):
    result = one_way(program, program.text)
    old, new = result.before.motion, result.after.motion
    args = (program.least, program.greatest, program.radius)
    metal_before, _, crashes = metal.run(old, *args)
    assert not crashes
    metal_after, removed, crashes = metal.run(new, *args)
    assert not crashes
    assert np.abs(metal_after.height - metal_before.height).max() <= 1e-9
    upright = np.hypot(*(new.end - new.start)[:, :2].T) < 1e-6
    assert removed[upright].max(initial=0.0) == 0.0  # no descent plunges into metal


@share(0.25)
@given(raster_programs().filter(lambda program: program.clear and program.job.cut != "as-is"))
def test_the_metal_lies_on_the_side_asked_for(program: RasterProgram):
    result = one_way(program, program.text)
    motion = result.after.motion
    for row in passes(program, motion)[1:2]:  # the first pass is a slot, or has all on one side
        left, right = metal.side_of(
            motion, int(row), program.least, program.greatest, program.radius
        )
        # M3: metal on the right of the travel is climb (direction check in the trade's terms:
        # a clockwise cutter's tooth runs with the work there)
        assert (right > left) == (program.job.cut == "climb")


@given(raster_programs().filter(lambda program: program.clear))
def test_each_stretch_keeps_its_feed(program: RasterProgram):
    result = one_way(program, program.text)
    old, new = result.before.motion, result.after.motion
    stretches = [
        {
            (
                *sorted((tuple(m.start[row].round(6)), tuple(m.end[row].round(6)))),
                round(float(m.feed[row]), 6),
            )
            for row in np.flatnonzero(m.kind == Kind.LINE)
            if abs(m.end[row, 2] - m.start[row, 2]) < 1e-9
        }
        for m in (old, new)
    ]
    assert stretches[0] == stretches[1]
