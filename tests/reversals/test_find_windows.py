"""Large motions are looked at a window at a time; how large the windows are changes nothing."""

from __future__ import annotations

import dataclasses
import random
from unittest import mock

import numpy as np
import pytest
from examples import seeds

from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals import find, pieces
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import ReversalKind, Reversals


def walk(seed: int) -> Motion:
    """Make lines, arcs, helices, rests, rapids and places where the position gets lost."""
    dice = random.Random(seed)
    lines, x = ["G21 G90 G17 G94 F300", "G0 X0 Y0 Z0"], 0
    for _ in range(300):
        kind = dice.random()
        if kind < 0.3:
            r = dice.choice((1, 2, 3)) * dice.choice((-1, 1))
            z = f" Z{dice.randint(-2, 2)}" if dice.random() < 0.3 else ""
            lines += [f"G{dice.choice((2, 3))} X{x + 2 * r} Y0{z} I{r} J0"]
            x += 2 * r
        elif kind < 0.6:
            x += dice.randint(-3, 3)
            code = dice.choice((0, 1))
            lines += [f"G{code} X{x}.{dice.choice(('', '0005', '00000001'))} Y0", f"G{code} X{x}"]
        elif kind < 0.97:
            lines += ["G1 X" + str(x)] * dice.choice((1, 1, 12, 40))
        else:
            lines += ["G65 P9000", f"G3 X{x} Y0 I1 J0", f"G0 X{x} Y0 Z0"]
    return trace(read("\n".join(lines).encode()))


def same(some: Reversals, others: Reversals) -> None:
    for field in dataclasses.fields(Reversals):
        a, b = getattr(some, field.name), getattr(others, field.name)
        assert a.dtype == b.dtype
        assert np.array_equal(a, b, equal_nan=a.dtype == np.float64), field.name


@pytest.mark.parametrize("seed", seeds(0.12))
def test_the_windows_change_nothing(seed: int) -> None:
    motion = walk(seed)
    whole = find_reversals(motion)
    kinds = {ReversalKind.CORNER, ReversalKind.QUADRANT, ReversalKind.JOIN, ReversalKind.LINK}
    assert kinds <= {ReversalKind(each) for each in whole.kind.tolist()}
    assert np.isnan(motion.start).any()
    for size in (1, 7, 64):
        with mock.patch.object(find, "_WINDOW", size), mock.patch.object(pieces, "_WINDOW", size):
            same(find_reversals(motion), whole)


def test_an_arc_before_rests_over_many_windows_still_makes_a_join() -> None:
    for count in (0, 5, 9, 60, 200):
        text = "G21 G90 G17 F300\nG1 X0 Y0\nG3 X2 Y0 I1 J0\n" + "G1 X2\n" * count + "G1 X0\n"
        motion = trace(read(text.encode()))
        with mock.patch.object(find, "_WINDOW", 16):
            found = find_reversals(motion)
        assert found.kind[-1] == ReversalKind.JOIN


def test_rests_from_the_first_move_on_have_nothing_before_them() -> None:
    text = "G21 G90 F300\nG0 X0 Y0 Z0\n" + "G1 X0\n" * 50
    motion = trace(read(text.encode()))
    motion = dataclasses.replace(motion, start=motion.end.copy())
    with mock.patch.object(find, "_WINDOW", 16):
        before = find._moving_before(motion, np.array([30, 50]))
    assert before.tolist() == [-1, -1]
