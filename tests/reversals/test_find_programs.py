"""The finder on programs of the standard."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.program import Program
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.reversals.reversals import ReversalKind, Reversals

PROGRAMS = Path(__file__).parent.parent / "motion" / "programs"


def found_in(name: str, start: tuple[float, float, float]) -> tuple[Program, Motion, Reversals]:
    program = read((PROGRAMS / name).read_bytes())
    motion = trace(program, Controller(start=start))
    return program, motion, find_reversals(motion)


def numbers(program: Program, found: Reversals, axis: int) -> list[tuple[int, bool]]:
    """Block number of each reversal of an axis, and whether it lies inside the move."""
    rows = np.flatnonzero(found.axis == axis)
    return [(int(program.blocks.number[found.block[row]]), bool(found.along[row])) for row in rows]


def test_the_greeting_program_turns_as_often_as_counted_from_its_text() -> None:
    # NISTIR 6556, C.1: its text is published, the counts are computed; from (0, 0, 50), arcs cut at
    # their quadrants, a reversal being a change of sign of an axis's last motion: X 12, Y 24, Z 23
    _, _, found = found_in("greeting.ngc", (0.0, 0.0, 50.0))
    assert np.bincount(found.axis).tolist() == [12, 24, 23]


def test_the_greeting_program_turns_in_these_blocks() -> None:
    program, _, found = found_in("greeting.ngc", (0.0, 0.0, 50.0))
    at, inside = False, True
    assert numbers(program, found, 0) == [
        *((190, at), (190, inside), (320, at), (320, inside), (320, inside), (340, at)),
        *((430, at), (430, inside), (430, inside), (450, at), (580, at), (590, inside)),
    ]
    y = [70, 130, 150, 190, 190, 240, 280, 320, 320, 340, 360, 370, 380, 390, 410, 430, 430, 470]
    y += [480, 490, 490, 530, 570, 590]
    assert [block for block, _ in numbers(program, found, 1)] == y
    assert [block for block, inner in numbers(program, found, 1) if inner] == [190, 320, 430, 490]
    # the third quarter piece of N190, a turn of 270 degrees that starts on a quadrant
    row = np.flatnonzero((found.axis == 0) & (found.along > 0))[0]
    assert found.along[row] == pytest.approx(2 / 3)


def test_kinds_and_cuts_of_the_greeting_program() -> None:
    _, motion, found = found_in("greeting.ngc", (0.0, 0.0, 50.0))
    assert np.array_equal(found.in_cut, motion.at_feed[found.move])
    kinds = np.bincount(found.kind, minlength=5)
    assert kinds[ReversalKind.HELIX] == 0  # the program has plane arcs only
    assert kinds[ReversalKind.QUADRANT] == np.count_nonzero(found.along)
    assert kinds[ReversalKind.LINK] == np.count_nonzero(~found.in_cut)


def test_the_compensation_contour_turns_as_often_as_plane_geometry_says() -> None:
    # NISTIR 6556, Table 12, computed from its text: X at the start of N60 and inside N80, Y at the
    # start of N80
    program, _, found = found_in("compensation_contour.ngc", (1.0, 5.0, 0.0))
    assert numbers(program, found, 0) == [(60, False), (80, True)]
    assert numbers(program, found, 1) == [(80, False)]
    assert numbers(program, found, 2) == []
    inner = np.flatnonzero(found.along)[0]
    assert found.position[inner] == pytest.approx([-3.0, -1.0, 0.0], abs=1e-9)
