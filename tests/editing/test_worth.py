"""What a proposal is worth, by who compensates, and what time it is found to take."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.find_cuts import find_cuts
from gpre.driver.counting import count
from gpre.editing.context import Context
from gpre.editing.proposal import Claim, Proposal
from gpre.editing.worth import why_not_worth, worth_of
from gpre.mill.costs import error_from_wrong_side
from gpre.mill.job_file import find_job
from gpre.mill.mill import Axis, Compensation, Twist, Weights
from gpre.mill.profile import load_mill
from gpre.mill.timing import cycle_time
from gpre.rewrites.catalogue import CATALOGUE
from gpre.rewrites.planner import choose
from gpre.source.edit import Edit, EditSet
from gpre.source.files import read_program_text
from gpre.source.text import SourceText

SAMPLES = Path(__file__).parents[2] / "samples"
KNEE = known_mill(
    x=Axis(lost_motion=0.09),
    y=Axis(lost_motion=0.06),
    z=Axis(lost_motion=0.05, gravity_loaded=True),
    compensation=Compensation("controller", 60.0, 0.08),
)


def by(who, **weights):
    compensation = replace(KNEE.compensation, by=who)
    return replace(KNEE, compensation=compensation, weights=replace(KNEE.weights, **weights))


def proposal(x=0, y=0, z=0, start=1, **more):
    return Proposal(
        "one-way", (Edit(start, start + 2, b"x"),), Claim.SAME_METAL, "do", start, start,
        gained=x + y + z, gained_by_axis=(x, y, z), **more,
    )  # fmt: skip


def test_with_the_controller_each_reversal_is_a_mark_and_a_take_up():
    worth = worth_of(proposal(2, 1), by("controller", dwell_mark=10.0))
    assert (worth.marks, worth.error) == (3, 0.0)
    # 0.09 mm and 0.06 mm at 1 mm/s, and a pause of 0.08 s each
    assert worth.seconds == pytest.approx(-(2 * 0.17 + 0.14))
    assert worth.total == pytest.approx(30.0 + 0.48)


def test_with_nobody_each_reversal_is_an_error_of_the_backlash():
    worth = worth_of(proposal(2, 1), by("none", error=5.0))
    assert worth.marks == 0
    assert worth.error == pytest.approx(0.24)
    assert worth.seconds == 0.0
    assert worth.total == pytest.approx(24 * 5.0)


def test_with_the_program_it_is_half_of_it():
    assert worth_of(proposal(2, 1), by("program")).error == pytest.approx(0.12)


def test_an_axis_that_hangs_on_its_screw_costs_nothing_where_it_turns():
    for who in ("none", "controller", "program"):
        worth = worth_of(proposal(z=4), by(who))
        assert (worth.marks, worth.error, worth.total) == (0, 0.0, 0.0)


def test_a_turn_that_goes_over_the_air_is_still_taken_up_there():
    assert worth_of(proposal(1, longer=10.0), by("controller")).seconds > 0.0


def test_what_the_rewrite_has_rehearsed_is_taken_as_it_is():
    worth = worth_of(proposal(1, longer=1e6, seconds=12.5), by("controller"))
    assert worth.seconds == 12.5
    assert worth.total == KNEE.weights.dwell_mark - 12.5


def test_where_the_axes_are_not_told_apart_the_mean_counts():
    told = replace(proposal(2, 1), gained_by_axis=None)
    worth = worth_of(told, by("none"))
    assert worth.error == pytest.approx(3 * (0.09 + 0.06 + 0.0) / 3)


def test_positions_that_come_nearer_to_size_count_as_errors():
    assert worth_of(proposal(holes=4, nearer=0.3), by("controller")).error == pytest.approx(0.3)
    (vain,) = choose([proposal(holes=4, seconds=3.0)], by("controller")).declined
    assert vain.summary.endswith("it costs 3.0 s and saves nothing that counts on this mill")


def test_a_position_reached_from_the_wrong_side_is_out_by_the_backlash_and_the_twist():
    """The yaw swings by its full angle, 0.0004 rad, about the pivot, here 300-400-500 mm away."""
    mill = by("none")
    place = np.array([300.0, 400.0])
    assert error_from_wrong_side(mill, 0, place) == pytest.approx(0.09)
    assert error_from_wrong_side(by("controller"), 0, place) == 0.0
    twisted = replace(by("controller"), twist=Twist(x=0.0004, pivot=(0.0, 0.0)))
    assert error_from_wrong_side(twisted, 0, place) == pytest.approx(0.2)
    assert error_from_wrong_side(twisted, 1, place) == 0.0
    nowhere = np.full(2, np.nan)
    assert error_from_wrong_side(twisted, 0, nowhere) == pytest.approx(0.0004 * 100.0 * 2**0.5)
    box = replace(
        twisted, x=replace(twisted.x, travel=(-300.0, 0.0)), y=replace(twisted.y, travel=(0, 400))
    )
    assert error_from_wrong_side(box, 0, nowhere) == pytest.approx(0.2)


def test_what_costs_more_than_it_saves_is_declined_with_the_figures():
    dear = proposal(2, seconds=41.0)
    mill = by("controller", dwell_mark=20.0)
    plan = choose([dear], mill)
    assert plan.chosen == ()
    (declined,) = plan.declined
    assert declined.summary == (
        "do; it costs 41.0 s and saves 2 marks while cutting, weighed as 40.0 s"
    )
    assert choose([dear], by("controller", dwell_mark=21.0)).chosen == (dear,)
    mill = by("none", error=1.0)
    assert choose([dear], mill).declined[0].summary == (
        "do; it costs 41.0 s and saves 0.180 mm of error in total, weighed as 18.0 s"
    )
    (vain,) = choose([proposal(z=1, seconds=2.0)], KNEE).declined
    assert vain.summary.endswith("it costs 2.0 s and saves nothing that counts on this mill")
    assert (
        "0.0" not in why_not_worth(worth_of(proposal(1, seconds=9.0), KNEE)).split("saves")[1][:2]
    )


def test_what_takes_no_time_is_done_though_nothing_weighs_anything():
    free = proposal(1, seconds=0.0)
    nothing = replace(KNEE, weights=Weights(0.0, 0.0))
    assert choose([free], nothing).chosen == (free,)
    assert choose([replace(free, seconds=0.1)], nothing).chosen == ()


@pytest.mark.parametrize("reason", [{"take_ups": 1}, {"asked": True}])
def test_what_is_asked_for_or_takes_backlash_up_is_done_whatever_it_weighs(reason):
    wanted = proposal(seconds=1e4, **reason)
    assert choose([wanted], replace(KNEE, weights=Weights(0.0, 0.0))).chosen == (wanted,)


def test_of_two_that_collide_the_one_worth_more_on_this_mill_goes_first():
    """Three turns of Y against two of X: with more backlash on X these are worth more."""
    many, dear = proposal(y=3, start=1), proposal(x=2, start=2)
    tight = replace(by("none"), y=Axis(lost_motion=0.01))
    plan = choose([many, dear], tight)
    assert plan.chosen == (dear,)
    assert [each.reason for each in plan.refused] == ["another change at the same place gains more"]
    assert [each.first_block for each in plan.refused] == [1]
    loose = replace(by("none"), y=Axis(lost_motion=0.09))
    assert choose([many, dear], loose).chosen == (many,)


def test_of_two_that_collide_the_quicker_one_goes_first_where_they_save_alike():
    slow, quick = proposal(1, start=1, seconds=9.0), proposal(1, start=2, seconds=3.0)
    assert choose([slow, quick], KNEE).chosen == (quick,)


def test_one_that_costs_too_much_does_not_keep_another_out():
    dear, other = proposal(5, start=1, seconds=1e4), proposal(1, start=2, seconds=3.0)
    plan = choose([dear, other], KNEE)
    assert plan.chosen == (other,)
    assert (len(plan.declined), plan.refused) == (1, ())


@pytest.mark.parametrize("who", ["none", "controller"])
@pytest.mark.parametrize(
    ("name", "rewrite"),
    [("dovetail_shoe", "one-way"), ("tube_saddle", "start-point"), ("mirror_cell", "lift-over")],
)
def test_the_seconds_rehearsed_are_those_of_the_whole_program(name, rewrite, who):
    mill = load_mill(SAMPLES / "mill.toml")
    mill = replace(mill, compensation=replace(mill.compensation, by=who))
    path = str(SAMPLES / f"{name}.ngc")
    source, job = read_program_text(path), find_job(None, path).job
    now = count(source, mill)
    cuts = find_cuts(now.motion)
    context = Context(now.program, now.motion, now.reversals, cuts, mill, job)
    said = [each for each in dict(CATALOGUE)[rewrite](context) if isinstance(each, Proposal)]
    assert said or who == "none"
    for each in said[:3]:
        data = EditSet.of(each.edits).apply(source.data)
        new = count(SourceText.of(data, "new"), mill)
        took, takes = (cycle_time(one.motion, one.reversals, mill).total for one in (now, new))
        # the way to what is rehearsed may have been cut short, and with it a ramp or two
        assert each.seconds == pytest.approx(takes - took, abs=0.001)
        axes = [
            int((one.reversals.in_cut & (one.reversals.axis == axis)).sum())
            for axis in (0, 1)
            for one in (now, new)
        ]
        assert each.gained_by_axis == (axes[0] - axes[1], axes[2] - axes[3], 0)
