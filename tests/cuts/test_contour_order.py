"""A contour that comes close to itself keeps its start: one part of it opens another."""

from __future__ import annotations

import math

import pytest

from gpre.cuts.contour_order import is_convex, narrowest
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read


def contour(*blocks: str) -> Motion:
    return trace(read("\n".join(["G21 G90 G17 F200", *blocks, ""]).encode()))


CIRCLE = contour("G0 X10 Y0", "G3 X10 Y0 I-10 J0")
ROUNDED = contour("G0 X5 Y0", "G1 X40", "G3 X45 Y5 J5", "G1 Y20", "X0", "Y5", "G3 X5 Y0 I5")
# a C, 30 wide, with a mouth of 6
C_SHAPE = contour("G0 X0 Y0", "G1 X30", "Y12", "X10", "Y18", "X30", "Y30", "X0", "Y0")
RINGS = contour(
    "G0 X4 Y0", "G3 X4 Y0 I-4 J0", "G1 X8", "G3 X8 Y0 I-8 J0", "G1 X4"
)  # fmt: skip


@pytest.mark.parametrize("motion", [CIRCLE, ROUNDED])
def test_convex_contours_are_told(motion: Motion) -> None:
    assert is_convex(motion, 1, len(motion))


@pytest.mark.parametrize("motion", [C_SHAPE, RINGS])
def test_others_are_not_convex(motion: Motion) -> None:
    assert not is_convex(motion, 1, len(motion))


def test_mouth_of_a_c_is_its_narrowest_place() -> None:
    assert narrowest(C_SHAPE, 1, len(C_SHAPE)) == pytest.approx(6.0, abs=0.002)


def test_rings_touch_themselves() -> None:
    assert narrowest(RINGS, 1, len(RINGS)) < 0.1


def test_corner_of_a_square_does_not_count_as_close() -> None:
    square = contour("G0 X0 Y0", "G1 X20", "Y20", "X0", "Y0")
    # opposite sides face each other across the square; its corners meet at root 2
    assert narrowest(square, 1, len(square)) > 20.0 / math.sqrt(2.0)
