"""Cut by cut: the figures add up to those of the whole, and never fall below what is possible."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.cuts import Shape
from gpre.driver.cut_plan import cut_plan
from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.mill.job_file import find_job
from gpre.mill.profile import load_mill
from gpre.mill.timing import cycle_time
from gpre.motion.motion import Kind
from gpre.source.files import read_program_text
from gpre.source.text import SourceText

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = sorted(path.stem for path in SAMPLES.glob("*.ngc"))
LIFTS = {"one-way", "lift-over", "corner-loop"}
HEAD = "G21 G17 G90 G94 F300\nT1 M6\nS1500 M3\n"


def planned(text, mill=None, job=None, **options):
    source = SourceText.of(text.encode(), "made.ngc")
    done = rewrite(source, mill or known_mill(), job or Job(), Options(**options))
    return done, cut_plan(done, mill or known_mill(), job or Job())


def counts(counted):
    turns = counted.reversals
    return tuple(int((turns.in_cut & (turns.axis == axis)).sum()) for axis in range(3))


def sums(figures):
    return tuple(sum(each) for each in zip(*figures, strict=True))


@pytest.mark.parametrize("who", ["none", "controller", "program"])
@pytest.mark.parametrize("name", NAMES)
def test_the_rows_add_up_and_keep_to_what_is_possible(name, who):
    mill = load_mill(SAMPLES / "mill.toml")
    mill = replace(mill, compensation=replace(mill.compensation, by=who))
    path = str(SAMPLES / f"{name}.ngc")
    job = find_job(None, path).job
    done = rewrite(read_program_text(path), mill, job)
    plan = cut_plan(done, mill, job)
    every = [*plan.rows, plan.elsewhere]
    assert sums(each.now for each in every) == counts(done.before)
    assert sums(each.after for each in every) == counts(done.after)
    took, takes = (
        cycle_time(each.motion, each.reversals, mill) for each in (done.before, done.after)
    )
    assert sum(each.seconds for each in every) == pytest.approx(takes.total - took.total)
    air = []
    for motion in (done.before.motion, done.after.motion):
        rapid = motion.kind == Kind.RAPID
        lengths = np.linalg.norm(motion.end[rapid] - motion.start[rapid], axis=1)
        air.append(float(np.nansum(lengths)))
    assert sum(each.longer for each in every) == pytest.approx(air[1] - air[0])
    for row in plan.rows:
        for figures in (row.now, row.after):
            bound = row.least
            if figures is row.after and LIFTS & set(row.rewrites):
                bound = row.lifted
            if bound is not None:
                assert sum(figures) >= bound.together
                assert all(a >= b for a, b in zip(figures, bound.by_axis, strict=True))
    assert [row.first_block for row in plan.rows] == sorted(row.first_block for row in plan.rows)


def test_a_hole_with_its_pecks_is_one_and_each_block_a_row():
    text = HEAD + "G0 X0 Y0\nZ5\nG99 G83 X5 Y5 Z-9 R2 Q3\nX15\nX25 Y9\nG80\nG0 Z50\nM2\n"
    _, plan = planned(text)
    assert [(row.shape, row.cuts, row.first_block + 1) for row in plan.rows] == [
        (Shape.HOLE, 1, 6), (Shape.HOLE, 1, 7), (Shape.HOLE, 1, 8)
    ]  # fmt: skip


def test_a_subprogram_called_twice_is_one_row_of_two_cuts():
    text = (
        HEAD + "M98 P100\nG0 X50\nM98 P100\nG0 Z50\nM2\n"
        "O100\nG91\nG0 Z-5\nG1 X20\nG1 Y5\nG1 X-20\nG0 Z5\nG90\nM99\n"
    )
    done, plan = planned(text)
    rows = [row for row in plan.rows if row.cuts == 2]
    assert len(rows) == 1
    assert (rows[0].shape, rows[0].first_block + 1, rows[0].last_block + 1) == (
        Shape.OPEN, 12, 14
    )  # fmt: skip
    assert sums([*(row.now for row in plan.rows), plan.elsewhere.now]) == counts(done.before)
    assert rows[0].least.by_axis == (2, 0, 0)


def test_the_lift_off_a_cut_belongs_to_it_and_the_way_on_to_the_next():
    cuts = "G0 X{0} Y0\nG0 Z1\nG1 Z-1\nG1 X{1}\nG0 Z5\n"
    text = HEAD + "G0 Z5\n" + cuts.format(0, 20) + cuts.format(60, 40) + "G0 X-9\nM2\n"
    done, plan = planned(text, skip=("order",))
    assert [row.rewrites for row in plan.rows] == [("approach",), ("approach",)]
    assert all(row.longer > 0.0 for row in plan.rows)
    assert plan.elsewhere.longer == 0.0
    assert done.changed


def test_a_program_that_is_left_alone_has_its_rows_all_the_same():
    text = HEAD + "G0 X0 Y0\nZ1\nG1 Z-1\nX9\nX0\nX9\nG0 Z5\nG65 P9 A1\nM2\n"
    done, plan = planned(text)
    assert not done.changed
    assert [row.now for row in plan.rows] == [row.after for row in plan.rows]
    assert all(row.seconds == row.longer == 0.0 for row in plan.rows)
    assert sum(row.now[0] for row in plan.rows) == 2


@pytest.mark.parametrize("text", ["", "%\n", "G1\n", "(nothing)\n", "G0 Z5\nM2\n"])
def test_programs_without_a_cut_have_no_rows(text):
    assert planned(text)[1].rows == ()


ODD = sorted((Path(__file__).parents[1] / "identity").glob("*.ngc"))


@pytest.mark.parametrize("path", ODD, ids=[path.stem for path in ODD])
def test_odd_programs_are_looked_at_too(path):
    """As they stand, so that none is passed over because its rewriting fails."""
    source = SourceText.of(path.read_bytes(), path.name)
    done = rewrite(source, known_mill(), Job(), Options(only=("straighten",)))
    plan = cut_plan(done, known_mill(), Job())
    every = [*plan.rows, plan.elsewhere]
    assert sums(each.now for each in every) == counts(done.before)
    for row in plan.rows:
        assert all(a >= b for a, b in zip(row.now, row.least.by_axis, strict=True))
        assert sum(row.now) >= row.least.together


@pytest.mark.parametrize("size", ["1e6", "99999999999", "123456789012345678901234567890"])
def test_sizes_beyond_all_measure_are_no_crash(size):
    size = f"{float(size):.0f}"
    arcs = f"G2 X{size} Y0 I{size}\nG3 X0 Y{size} R{size}\nG2 X0 Y{size} J-{size}\n"
    text = (
        f"{HEAD}G0 X0 Y0\nZ1\nG1 Z-1\nX{size}\nX-{size}\nY{size} Z-{size}\nX0 Y0\n{arcs}G0 Z9\nM2\n"
    )
    done, plan = planned(text, only=("straighten",))
    every = [*plan.rows, plan.elsewhere]
    assert sums(each.now for each in every) == counts(done.before)


@pytest.mark.parametrize(("mark", "done"), [(60.0, True), (3.0, False)])
def test_loops_are_made_where_a_mark_is_worth_their_time(mark, done):
    """Each takes some 4 s there."""
    mill = load_mill(SAMPLES / "mill.toml")
    mill = replace(mill, weights=replace(mill.weights, dwell_mark=mark))
    path = str(SAMPLES / "mirror_cell.ngc")
    job = find_job(None, path).job
    found = rewrite(read_program_text(path), mill, job, Options(only=("lift-over",)))
    assert found.changed is done
    declined = [each.summary for each in found.plan.declined]
    assert bool(declined) is not done
    assert all("s and saves 1 mark while cutting, weighed as 3.0 s" in each for each in declined)
    names = {name for row in cut_plan(found, mill, job).rows for name in row.rewrites}
    assert names == ({"lift-over"} if done else set())
