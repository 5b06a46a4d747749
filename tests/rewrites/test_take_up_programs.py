"""Take-ups in programs drawn at random: lines, arcs and helices in many manners."""

from dataclasses import replace

import numpy as np
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from take_up_bench import MILL, motion_of, take_up, worst_error
from take_up_programs import cut_programs

from gpre.geometry import path as paths
from gpre.mill.mill import Axis

MILLS = (
    (MILL, (0.09, 0.06, 0.0)),
    (replace(MILL, z=Axis(lost_motion=0.05)), (0.09, 0.06, 0.05)),
    (replace(MILL, x=Axis(lost_motion=0.3), y=Axis(lost_motion=0.21)), (0.3, 0.21, 0.0)),
    (replace(MILL, x=Axis(lost_motion=0.0873), y=Axis(lost_motion=0.0)), (0.0873, 0.0, 0.0)),
)


@share(0.4)
@given(cut_programs(), st.sampled_from(MILLS))
def test_every_program_is_carried_true_and_settled(text, mill_and_backlash):
    mill, backlash = mill_and_backlash
    result = take_up(text, mill)
    assert result.proof.holds
    refused = [each.reason for each in result.plan.refused]
    assert not any(reason.startswith("taken back") for reason in refused), refused
    assert result.changed
    after = result.data
    # a tenth of the tolerance is for the steps of the bench
    assert worst_error(text, after, backlash, mill) <= 0.0022
    assert not take_up(after, mill).changed
    newline = b"\r\n" if "\r\n" in text else b"\n"
    assert after.count(b"\n") == after.count(newline)
    old, new = motion_of(text), motion_of(after)
    assert new.feed[new.at_feed].max() <= old.feed[old.at_feed].max() * (1.0 + 1e-9)
    np.testing.assert_allclose(new.end[-1], old.end[-1], atol=3e-4)
    # half the backlash on both axes, and what rounding and the windows add
    limit = np.linalg.norm(backlash) / 2.0 + 0.003
    low, high = paths.bounds(paths.take(new, new.at_feed))
    old_low, old_high = paths.bounds(paths.take(old, old.at_feed))
    assert (low.min(axis=0) >= old_low.min(axis=0) - limit).all()
    assert (high.max(axis=0) <= old_high.max(axis=0) + limit).all()
