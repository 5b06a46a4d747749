"""No rewrite that leaves the tool down gets below the least possible; start-point reaches it."""

from contour_maker import contour_programs
from examples import share
from hypothesis import assume, given
from known_mill import known_mill

from gpre.cuts.cuts import Shape
from gpre.driver.cut_plan import cut_plan
from gpre.driver.rewrite import Options, rewrite
from gpre.mill.job import Job
from gpre.source.text import SourceText


@share(0.25)
@given(program=contour_programs())
def test_contours_begun_elsewhere_keep_to_the_least_possible(program):
    assume(program.lifted or program.rounds == 1)  # else a lift may be put between the rounds
    options = Options(only=("start-point", "approach", "straighten"))
    done = rewrite(SourceText.of(program.text, "made.ngc"), known_mill(), Job(), options)
    for row in cut_plan(done, known_mill(), Job()).rows:
        for figures in (row.now, row.after):
            assert sum(figures) >= row.least.together
            assert all(a >= b for a, b in zip(figures, row.least.by_axis, strict=True))
        if "start-point" in row.rewrites:
            assert row.shape is Shape.CLOSED
            assert sum(row.after[:2]) == row.least.together  # Z turns where it plunges at feed
