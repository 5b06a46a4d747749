"""Feeds and units: NISTIR 6556, 2.1.2.5, 3.5.17 to 3.5.19."""

from __future__ import annotations

import math

import numpy as np
import pytest
from motion_checks import codes, ends, lengths, run


def test_inches_become_mm() -> None:
    # 1 in = 25.4 mm; NISTIR 6556, 2.1.2.10
    motion = run("G20 G1 X1 Y-2 F10\nG91 X1\nG90 G2 X4 Y-2 I1 J0")
    assert ends(motion) == [(25.4, -50.8, 0), (50.8, -50.8, 0), (101.6, -50.8, 0)]
    assert motion.feed.tolist() == pytest.approx([254, 254, 254])
    assert motion.centre[2][:2] == pytest.approx((76.2, -50.8))


def test_units_of_the_controller_hold_until_stated() -> None:
    assert run("G0 X1", units=20).end[0][0] == 25.4
    assert run("G21 G0 X1", units=20).end[0][0] == 1


def test_a_change_of_units_moves_nothing() -> None:
    # NISTIR 6556, 2.1.2.10: the same place under another number
    motion = run("G21 G0 X25.4\nG20 G91 X1\nG21 X1")
    assert [end[0] for end in ends(motion)] == [25.4, 50.8, 51.8]
    assert motion.start[1].tolist() == motion.end[0].tolist()


@pytest.mark.parametrize(("inch", "metric"), [("G70", "G71"), ("G20", "G21")])
def test_older_codes_for_the_units(inch: str, metric: str) -> None:
    text = f"{inch}\nG0 X1\n{metric}\nG0 X1"
    motion = run(text)
    if "G7" in text and len(motion) != 2:
        pytest.skip("read as codes of a lathe")
    assert [end[0] for end in ends(motion)] == [25.4, 1]


def test_a_feed_in_the_other_unit_is_noted() -> None:
    motion = run("G21 G1 X1 F100\nG20 X2\nX3")
    assert codes(motion) == ["INT342"]
    assert motion.feed.tolist() == [100, 100, 100]


def test_inverse_time() -> None:
    # NISTIR 6556, 3.5.19: F2.0 is half a minute; the feed along the path is length times F
    motion = run("G93 G1 X30 Y40 F2\nG0 X0 Y0\nG2 X10 Y0 I5 Z3 F4\nG94 F100 G1 X0")
    assert codes(motion) == []
    assert motion.feed[0] == pytest.approx(100)
    assert np.isnan(motion.feed[1])
    assert motion.feed[2] == pytest.approx(lengths(motion)[2] * 4)
    assert motion.feed[3] == 100
    assert lengths(motion)[0] / motion.feed[0] == pytest.approx(0.5)


def test_inverse_time_needs_f_in_every_block() -> None:
    motion = run("G93 G1 X1 F2\nX2")
    assert codes(motion) == ["INT317"]
    assert len(motion) == 1


def test_feed_a_turn() -> None:
    motion = run("S1000 M3 G95 G1 X1 F0.1\nS500 X2\nG94 X3\nF50 X4")
    assert codes(motion) == ["INT316"]
    assert motion.feed[:2].tolist() == [100, 50]
    assert np.isnan(motion.feed[2])
    assert motion.feed[3] == 50


def test_feed_a_turn_without_speed() -> None:
    motion = run("G95 G1 X1 F0.1\nX2")
    assert codes(motion) == ["INT318"]
    assert np.isnan(motion.feed).all()


def test_a_missing_feed_is_noted_once() -> None:
    motion = run("G1 X1\nX2\nG2 X4 I1\nF9 X6 I1")
    assert codes(motion) == ["INT316"]
    assert motion.feed[3] == 9


def test_rapids_carry_the_feed_in_force() -> None:
    motion = run("G0 X1\nF20 X2\nG1 X3\nG0 X4")
    assert math.isnan(motion.feed[0])
    assert motion.feed[1:].tolist() == [20, 20, 20]


@pytest.mark.parametrize(
    "text",
    [
        "G1 X1 F0",
        "F0\nG0 X5\nG1 X1",
        "F100 G1 X1\nX2 F-0\nX3",
        "F0 G3 X2 I1",
        "S500 M3 G95 F0 G1 X1\nX2",
        "S500 M3 F0 G81 X1 Z-3 R1\nX5",
        "#1=5\nG1 X1 F[#1-5]\nX2",
    ],
)
def test_a_move_at_a_feed_of_zero_is_an_error_told_once(text: str) -> None:
    # every controller known to us stops at it (common practice, no source)
    motion = run(text)
    assert codes(motion) == ["INT349"]
    assert all(motion.feed[motion.at_feed][-1:] == 0)


def test_in_inverse_time_each_zero_is_told_of() -> None:
    assert codes(run("G93 G1 X1 F0\nX2 F0\nX3 F1")) == ["INT349", "INT349"]


def test_each_word_of_zero_is_told_of() -> None:
    assert codes(run("G1 X1 F0\nX2\nX3 F9\nX4 F0\nX5 F0")) == ["INT349"] * 3


@pytest.mark.parametrize(
    "text", ["F0\nG0 X1\nG1 X2 F9", "G1 X1 F9\nG0 X2 F0\nG0 X3", "G93 G0 X1 F0"]
)
def test_a_zero_that_no_move_uses_is_harmless(text: str) -> None:
    assert codes(run(text)) == []


def test_the_place_of_a_zero_is_its_word_or_the_block_that_uses_it() -> None:
    text = "G1 X1 F0\nF9 G1 X2\nF0\nX3"
    spans = [each.span for each in run(text).findings]
    assert [text[span.start : span.end] for span in spans if span] == ["F0", "X3"]
