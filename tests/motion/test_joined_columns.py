"""Stretches and single moves joined: the columns are those that the scalar interpreter makes."""

from __future__ import annotations

import random
from unittest import mock

import numpy as np
import pytest
from examples import seeds

from gpre.motion import columns, recorder
from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace_from
from gpre.program.read import read

NAMES = (
    *("kind", "start", "end", "rotary", "centre", "sweep", "plane", "feed"),
    *("role", "block", "state", "called"),
)


def moves(count: int, dice: random.Random, *, arcs: bool) -> list[str]:
    lines = []
    for at in range(count):
        if arcs and at % 9 == 0:
            lines += ["G1 X0 Y0", "G2 X4 Y0 I2 J0"]
        lines.append(f"G1 X{dice.randint(-9, 9)} Y{dice.randint(-9, 9)}")
    return lines


def program(seed: int) -> str:
    dice = random.Random(seed)
    lines = ["G21 G90 G17 G94 F300", "G0 X1 Y1 Z1"]
    # a new zero makes that a move does not start where the one before ended
    between = ["M3 S500", "G0 X1 Z3\nM8", "M9"] + (["G92 X0", "G55"] if seed % 2 else [])
    for _ in range(dice.randint(2, 5)):
        lines += moves(dice.randint(0, 120), dice, arcs=dice.random() < 0.4)
        lines.append(dice.choice(between))
    return "\n".join(lines) + "\n"


def run(text: str, *, fast: bool) -> Motion:
    return trace_from(read(text.encode()), Controller(), fast=fast)[0]


@pytest.mark.parametrize("room", [0, 1, 4, 64])
@pytest.mark.parametrize("seed", seeds(0.16))
def test_joined_columns_are_those_of_the_scalar_interpreter(seed: int, room: int) -> None:
    text = program(seed)
    slow = run(text, fast=False)
    with mock.patch.object(columns, "ROOM", room), mock.patch.object(recorder, "_LARGE", 0):
        fast = run(text, fast=True)
    for name in NAMES:
        mine, theirs = getattr(fast, name), getattr(slow, name)
        assert mine.dtype == theirs.dtype
        assert mine.shape == theirs.shape
        if name in {"centre", "sweep"}:  # arctan2 and hypot of numpy may differ in the last digit
            assert np.allclose(mine, theirs, rtol=0, atol=1e-12, equal_nan=True)
        else:
            assert np.array_equal(mine, theirs, equal_nan=mine.dtype == np.float64), name
    assert fast.states == slow.states


def test_starts_are_views_of_the_ends_where_each_move_starts_at_one() -> None:
    text = "G21 G90 F300\nG0 X1 Y1 Z1\n" + "".join(f"X{i % 7} Y{i % 5}\n" for i in range(200))
    with mock.patch.object(recorder, "_LARGE", 0):
        whole = run(text + "M8\nX1\n", fast=True)
        apart = run(text + "G92 X50\nX1\nX2\n", fast=True)
    assert np.shares_memory(whole.start, whole.end)
    assert not np.shares_memory(apart.start, apart.end)
    assert not np.array_equal(apart.start[1:], apart.end[:-1], equal_nan=True)
    with pytest.raises(ValueError, match="read-only"):
        whole.end[0] = 1.0


def test_centres_of_a_program_without_arcs_take_no_memory() -> None:
    text = "G21 G90 F300\nG0 X1 Y1 Z1\n" + "".join(f"X{i % 7} Y{i % 5}\n" for i in range(200))
    with mock.patch.object(recorder, "_LARGE", 0):
        straight = run(text + "M8\nX1\n", fast=True)
        bent = run(text + "M8\nX1 Y0\nG2 X3 I1 J0\n", fast=True)
    assert straight.centre.shape == bent.centre[:-1].shape
    assert np.isnan(straight.centre).all()
    assert straight.centre.strides[0] == 0
    assert bent.centre[-1, :2].tolist() == [2.0, 0.0]
    assert np.isnan(bent.centre[:-1]).all()
