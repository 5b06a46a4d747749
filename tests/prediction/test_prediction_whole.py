"""The worst case over the uncertainty, the whole prediction, and its summary."""

import dataclasses
import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from prediction_maker import mill, motion, programs

from gpre.mill.job import Job, Tool
from gpre.mill.mill import Mill, Twist
from gpre.prediction.features import _worst_first
from gpre.prediction.predict import predict
from gpre.prediction.sensitivity import corners_of, sensitivity
from gpre.report.records import parts
from gpre.report.records.encode import plain
from gpre.reversals.find import find_reversals

WALL = ("G0 X-9 Y-9", "X-3 Y-3", "G1 X10", "Y20")


def predicted(on, *blocks, **others):
    made = motion(*blocks)
    return predict(made, find_reversals(made), on, **others)


def test_corners_are_all_combinations_of_the_axes_that_are_uncertain():
    on = mill(0.09, 0.06, 0.05, uncertainty=0.01)
    made = motion("G1 X10 Y10 Z-1")
    assert len(corners_of(made, on)) == 8
    assert set(corners_of(motion("G1 X10 Y10"), on)) == {
        (x, y, 0.0) for x in (-0.01, 0.01) for y in (-0.01, 0.01)
    }
    loaded = dataclasses.replace(on, z=dataclasses.replace(on.z, gravity_loaded=True))
    assert len(corners_of(made, loaded)) == 4
    assert corners_of(made, mill(0.09)) == ()


def test_worst_case_without_compensation_is_half_the_greatest_backlash():
    worst = sensitivity(motion(*WALL), mill(0.09, 0.06, uncertainty=0.01)).worst
    assert worst is not None
    assert worst.greatest == pytest.approx(0.05)
    assert worst.change[0] == 0.01


def test_worst_case_with_the_controller_is_half_the_uncertainty():
    worst = sensitivity(motion(*WALL), mill(0.09, 0.06, uncertainty=0.01, by="controller")).worst
    assert worst is not None
    assert worst.greatest == pytest.approx(0.005, abs=1e-6)


def test_uncertainty_greater_than_the_backlash_leaves_no_backlash_below_zero():
    found = sensitivity(motion(*WALL), mill(0.005, 0.005, uncertainty=0.01))
    assert min(corner.greatest for corner in found.corners) == pytest.approx(0.0, abs=1e-12)


def test_prediction_gathers_it_all():
    on = dataclasses.replace(
        mill(0.09, 0.06, 0.05, uncertainty=0.01, gravity_loaded=True),
        twist=Twist(0.0004, 0.0, (200.0, 0.0)),
    )
    job = Job(tools={1: Tool(6.0), 2: Tool(3.0), 9: Tool(1.0)})
    blocks = (
        "T1 M6",
        *WALL,
        "G0 Z5 X9 Y0",
        "G3 X9 Y0 I-9",
        "G2 X9 Y0 I-9",
        "G0 Z9",
        "T2 M6",
        "G81 X0 Y0 Z-3 R2",
        "X9",
        "X3",
        "G80",
    )
    found = predicted(on, *blocks, job=job)
    assert found.by == "none"
    assert found.greatest == found.worst[0].size > 0.04
    assert len(found.holes) == 3
    assert [each.h is None for each in found.circles] == [False, False]
    assert found.smallest_tool == 3.0
    assert found.sensitivity is not None
    assert found.sensitivity.worst.greatest > found.greatest
    assert found.unsettled == ()
    assert found.too_quick


def test_controller_that_takes_up_too_fast_is_named():
    found = predicted(mill(0.09, by="controller", take_up_feed=300.0), *WALL)
    assert found.quick_controller
    assert found.greatest == 0.0
    assert not predicted(mill(0.09, by="controller", take_up_feed=100.0), *WALL).quick_controller


def test_blocks_where_the_state_is_not_known_are_named():
    assert predicted(mill(0.09), "G1 Y5", "X9", "X0").unsettled == (1, 2)


def test_intended_path_makes_the_take_ups_of_the_program_right():
    wanted = motion(*WALL)
    made = motion("G0 X-9 Y-9", "X-2.955 Y-2.97", "G1 X10.045", "Y20.03")
    on = mill(0.09, 0.06, by="program", uncertainty=0.01)
    found = predict(made, find_reversals(made), on, intended=wanted)
    assert found.intended
    assert found.greatest == pytest.approx(0.0, abs=1e-9)
    assert found.missed == pytest.approx(0.0, abs=1e-9)
    # at the corner both axes are out by 0.005
    assert found.sensitivity.worst.greatest == pytest.approx(math.hypot(0.005, 0.005), abs=1e-9)
    alone = predict(made, find_reversals(made), on)
    assert not alone.intended
    assert alone.greatest == pytest.approx(0.045)


def summary(found, made):
    """What `gpre predict --json` has of a prediction."""
    return plain(
        {
            "deviation": parts.deviation_record(found),
            "features": [parts.feature_record(each, made) for each in found.features],
            "holes": parts.holes_record(found.holes, made),
            "circles": parts.circles_record(found.circles, made),
            "marks": parts.marks_record(found.marks, made),
            "take_ups": parts.take_ups_record(found, made),
            "sensitivity": parts.sensitivity_record(found.sensitivity),
        }
    )


def numbers(of):
    if isinstance(of, dict):
        return [each for value in of.values() for each in numbers(value)]
    if isinstance(of, list):
        return [each for value in of for each in numbers(value)]
    return [of]


def test_summary_is_json_and_counts_lines_from_one():
    made = motion(*WALL, "G0 Z5", "G81 X0 Y0 Z-3 R2", "G80", "G0 X9 Y0", "G3 X9 Y0 I-9")
    told = summary(predict(made, find_reversals(made), mill(0.09, 0.06, uncertainty=0.01)), made)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert told["deviation"]["worst"][0]["line"] >= 2
    assert told["holes"]["count"] == told["circles"]["count"] == 1
    assert told["sensitivity"]["worst"]["deviation"] > 0.0


@given(programs())
def test_any_program_is_predicted_and_told(blocks):
    made = motion(*blocks)
    on = mill(0.09, 0.06, 0.05, uncertainty=0.01, twist=Twist(0.0004, 0.0001, (20.0, 9.0)))
    for by in ("none", "controller", "program"):
        one = dataclasses.replace(on, compensation=dataclasses.replace(on.compensation, by=by))
        told = summary(predict(made, find_reversals(made), one), made)
        json.dumps(told, allow_nan=False)
        greatest = told["deviation"]["greatest"]
        # no place can be out by more than the backlash and the twist make together
        most = 0.045 + 0.03 + 0.025 + 0.00025 * 60
        assert greatest <= most
        again = predict(made, find_reversals(made), one, intended=made, uncertain=False)
        assert again.greatest <= (most if made.at_feed.any() else 0.0)


def test_program_without_moves():
    found = predicted(Mill(), "M0")
    assert (found.greatest, len(found.holes), found.circles) == (0.0, 0, ())
    json.dumps(summary(found, motion("M0")), allow_nan=False)


def test_same_prediction_twice_and_for_any_order_of_asking():
    made, on = motion(*WALL), mill(0.09, 0.06, uncertainty=0.01)
    one = summary(predict(made, find_reversals(made), on), made)
    assert one == summary(predict(made, find_reversals(made), on), made)


def test_long_program_takes_few_samples_more_than_it_has_moves():
    rng = np.random.default_rng(5)
    x, y = np.cumsum(rng.uniform(-0.5, 1.0, 2000)), rng.uniform(-3, 3, 2000)
    made = motion(*(f"G1 X{a:.3f} Y{b:.3f}" for a, b in zip(x, y, strict=True)))
    found = predict(made, find_reversals(made), mill(0.09, 0.06), uncertain=False)
    assert found.sensitivity is None
    assert found.greatest <= math.hypot(0.045, 0.03) + 1e-9


@given(programs())
def test_each_corner_is_what_a_mill_with_that_backlash_gives(blocks):
    made = motion("G0 X-9 Y-9 Z9", "X-5 Y-5 Z5", *blocks)
    on = mill(0.09, 0.06, 0.05, uncertainty=0.02, twist=Twist(0.0004, 0.0, (20.0, 9.0)))
    for corner in sensitivity(made, on).corners:
        x, y, z = (
            backlash + by for backlash, by in zip((0.09, 0.06, 0.05), corner.change, strict=True)
        )
        other = predict(made, find_reversals(made), mill(x, y, z, twist=on.twist), uncertain=False)
        # the corners have more samples on arcs, so they may see a little more
        assert corner.greatest == pytest.approx(other.greatest, abs=2e-4)


# lines from 1: the head is 1, T1 M6 2, and so on
TOLD = (
    "T1 M6",  # 2
    "G0 X-9 Y-9 Z5",
    "X-5 Y-5",
    "X0 Y0",  # 5
    "G1 Z-1",
    "X40",  # 7
    "X10",  # 8: X turns
    "Y20",
    "G0 Z5",
    "X30 Y-40",
    "X60 Y0",  # 12
    "G1 Z-1",
    "Y30 F60",
    "Y10",  # 15: Y turns, slowly
    "G0 Z5",
    "X90 Y-20",
    "G81 X90 Y0 Z-3 R2 F50",  # 18
    "X100",
    "G80",
    "G0 X140 Y-30",
    "X149 Y0",
    "G1 Z-1 F300",
    "G3 X149 Y0 I-9",  # 24
    "G2 X149 Y0 I-9",  # 25
    "G0 Z5",
)


def test_cuts_come_worst_first_with_what_lies_on_each():
    """By hand: an axis lags by half its backlash, 0.045 in X, 0.03 in Y, with no compensation."""
    made = motion(*TOLD)
    told = summary(predict(made, find_reversals(made), mill(0.09, 0.06)), made)
    cuts = {each["first_line"]: each for each in told["features"]}
    assert sorted(cuts) == [6, 13, 23]
    assert [cuts[line]["last_line"] for line in (6, 13, 23)] == [9, 15, 25]
    assert [cuts[line]["worst_line"] for line in (6, 13)] == [9, 14]
    # X stays behind beside a way along Y
    assert cuts[6]["deviation"] == cuts[13]["deviation"] == pytest.approx(0.045)
    sizes = [each["deviation"] for each in told["features"]]
    assert sizes == sorted(sizes, reverse=True)
    assert {each["tool"] for each in told["features"]} == {1}
    assert all(each["size_x"] is None for line, each in cuts.items() if line != 23)


def test_the_lines_of_holes_and_circles_and_which_way_round_they_are():
    made = motion(*TOLD)
    told = summary(predict(made, find_reversals(made), mill(0.09, 0.06)), made)
    assert [(each["line"], each["cycle"]) for each in told["holes"]["first"]] == [
        (18, True), (19, True),
    ]  # fmt: skip
    circles = {each["line"]: each["way"] for each in told["circles"]["worst"]}
    assert circles == {24: "G3", 25: "G2"}


def test_take_ups_above_the_limit_are_those_that_are_too_quick():
    """Along an axis its screw crosses the backlash as fast as the program feeds."""
    made = motion(*TOLD)
    on = mill(0.09, 0.06)
    for limit, quick in ((299.0, [8]), (300.0, []), (301.0, []), (59.0, [8, 15])):
        limits = dataclasses.replace(on.limits, max_take_up_feed=limit)
        one = dataclasses.replace(on, limits=limits)
        found = predict(made, find_reversals(made), one)
        rows = [found.take_ups.row[each] for each in found.too_quick]
        lines = [int(made.block[row]) + 1 for row in rows if made.sweep[row] == 0.0]
        assert [line for line in lines if line in {8, 15}] == quick
        assert all(found.take_ups.speed[each] > limit for each in found.too_quick)
        told = summary(found, made)["take_ups"]
        assert told["too_quick"] == len(found.too_quick)
        if quick == [8, 15]:
            speed = {each["line"]: (each["axis"], each["speed"]) for each in told["quickest"]}
            assert (speed[8], speed[15]) == (("x", 300.0), ("y", 60.0))


def worst_by_hand(size, head, tail):
    return [max(size[first:last]) for first, last in zip(head, tail, strict=True)]


@given(st.lists(st.tuples(st.integers(0, 3), st.lists(st.floats(0, 9), min_size=1)), max_size=6))
def test_the_worst_of_each_cut_is_its_own(parts):
    size, head, tail = [], [], []
    for gap, mine in parts:
        size += [10.0] * gap  # between the cuts
        head.append(len(size))
        size += mine
        tail.append(len(size))
    order, worst = _worst_first(np.array(size), np.array(head, int), np.array(tail, int))
    assert worst.tolist() == worst_by_hand(size, head, tail)
    assert sorted(order.tolist()) == list(range(len(head)))
    assert [worst[at] for at in order] == sorted(worst, reverse=True)
