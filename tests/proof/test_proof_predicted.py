"""How much the predicted error may grow: by the tolerance and the mill's greatest uncertainty."""

from __future__ import annotations

import pytest
from known_mill import known_mill

from gpre.mill.job import Job
from gpre.mill.mill import Axis
from gpre.proof.predicted import predicted_error
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

MILL = known_mill(
    x=Axis(lost_motion=0.3, uncertainty=0.01), y=Axis(lost_motion=0.04, uncertainty=0.03)
)
HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\nG0 X-20 Y-20 Z5\nG0 X-5 Y0\nG0 Z-1\n"
ONE_WAY = "G1 X20 F300\nG1 X40 Y2\n"
BACK = "G1 X20 F300\nG1 X17 Y20\n"


def error(before: str, after: str, *, taking: tuple[bool, bool] = (True, True)) -> Obligation:
    texts = (HEAD + each + "G0 Z5\nM30\n" for each in (before, after))
    sides = [Side.of(SourceText.of(each.encode()), MILL) for each in texts]
    metal = [side.motion.at_feed & each for side, each in zip(sides, taking, strict=True)]
    return predicted_error(Pair(sides[0], sides[1], MILL, Job()), (metal[0], metal[1]))


@pytest.mark.parametrize("body", [ONE_WAY, BACK])
def test_the_same_error_leaves_tolerance_and_uncertainty(body: str) -> None:
    """0.002 mm, the default, and 0.03 mm of Y."""
    found = error(body, body)
    assert found.holds
    assert found.limit == pytest.approx((found.value or 0.0) + 0.032, abs=1e-9)


def test_a_reversal_that_the_original_has_not_is_told_with_its_move() -> None:
    """X turns round, so the table stands by the whole backlash from where it should, or by half."""
    found = error(ONE_WAY, BACK)
    assert not found.holds
    assert 0.1 < (found.value or 0.0) <= 0.3
    assert found.after == HEAD.count("\n") + 1
    assert error(BACK, ONE_WAY).holds


def test_where_no_metal_is_taken_there_is_no_error_and_no_place() -> None:
    found = error(ONE_WAY, BACK, taking=(False, False))
    assert (found.holds, found.value, found.after) == (True, 0.0, None)
    assert found.limit == pytest.approx(0.032)


def test_each_program_is_looked_at_where_it_takes_metal_itself() -> None:
    assert error(BACK, BACK, taking=(True, True)).holds
    assert not error(BACK, BACK, taking=(False, True)).holds
    found = error(BACK, BACK, taking=(True, False))
    assert (found.holds, found.value) == (True, 0.0)
