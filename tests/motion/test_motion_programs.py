"""Whole programs of the standard, compared with figures computed from their text.

The texts are published (NISTIR 6556), the figures are not: lengths, arcs and reversals were worked
out from the texts by plane geometry, apart from this project's code.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from motion_checks import codes, ends, lengths, run, sampled_reversals

from gpre.motion.motion import Kind

PROGRAMS = Path(__file__).parent / "programs"


def load(name: str) -> str:
    return (PROGRAMS / name).read_text(encoding="ascii")


def test_greeting_has_the_lengths_and_the_end_computed_from_its_text() -> None:
    # NISTIR 6556, C.1, computed: feed path 183.43047 mm, rapid 202.05280 mm, end (81, 5, 50)
    motion = run(load("greeting.ngc"), start=(0.0, 0.0, 50.0))
    assert codes(motion) == []
    length = lengths(motion)
    assert length[motion.at_feed].sum() == pytest.approx(183.43047, abs=5e-6)
    assert length[~motion.at_feed].sum() == pytest.approx(202.05280, abs=5e-6)
    assert ends(motion)[-1] == (81.0, 5.0, 50.0)


def test_greeting_has_the_arcs_computed_from_its_text() -> None:
    # NISTIR 6556, C.1, computed: centre, radius and turn of every arc
    motion = run(load("greeting.ngc"), start=(0.0, 0.0, 50.0))
    arcs = np.flatnonzero(motion.kind == Kind.ARC)
    expected = [
        (13.5, 2.5, 2.5, 270.0),
        (32.5, 2.5, 2.5, -360.0),
        (57.5, 2.5, 2.5, -360.0),
        (66.5, 0.8775010, 4.0, -77.36437),
        (79.5, 2.5, 2.5, -180.0),
    ]
    assert len(arcs) == len(expected)
    for row, (x, y, radius, turn) in zip(arcs.tolist(), expected, strict=True):
        assert motion.centre[row][:2] == pytest.approx((x, y), abs=5e-8)
        assert math.dist(motion.start[row][:2], motion.centre[row][:2]) == pytest.approx(radius)
        assert math.degrees(motion.sweep[row]) == pytest.approx(turn, abs=5e-6)
    assert lengths(motion)[arcs[3]] == pytest.approx(5.40105, abs=5e-6)


def test_greeting_has_the_reversals_counted_in_its_text() -> None:
    # NISTIR 6556, C.1, counted: X 12, Y 24, Z 23
    motion = run(load("greeting.ngc"), start=(0.0, 0.0, 50.0))
    assert sampled_reversals(motion) == (12, 24, 23)


def test_greeting_reverses_in_the_blocks_counted_in_its_text() -> None:
    # NISTIR 6556, C.1, counted: the blocks of the reversals, several of them twice or three times
    text = load("greeting.ngc")
    motion = run(text, start=(0.0, 0.0, 50.0))
    numbers = [line.split()[0] for line in text.splitlines()]
    found: dict[str, list[int]] = {"x": [], "y": []}
    last = {"x": 0, "y": 0}
    for row in range(len(motion)):
        number = int(numbers[int(motion.block[row])][1:])
        for axis, directions in quarter_directions(motion, row).items():
            for direction in directions:
                if direction and last[axis] and direction != last[axis]:
                    found[axis].append(number)
                last[axis] = direction or last[axis]
    assert found["x"] == [190, 190, 320, 320, 320, 340, 430, 430, 430, 450, 580, 590]
    assert found["y"] == [
        *(70, 130, 150, 190, 190, 240, 280, 320, 320, 340, 360, 370, 380, 390, 410),
        *(430, 430, 470, 480, 490, 490, 530, 570, 590),
    ]


def quarter_directions(motion, row: int) -> dict[str, list[int]]:
    """The sign of the travel in X and Y on each piece of a move, arcs cut at their quadrants."""
    if motion.kind[row] != Kind.ARC:
        change = motion.end[row] - motion.start[row]
        return {"x": [int(np.sign(change[0]))], "y": [int(np.sign(change[1]))]}
    from_centre = motion.start[row] - motion.centre[row]
    angle = math.atan2(from_centre[1], from_centre[0])
    sweep = float(motion.sweep[row])
    quarter = math.pi / 2
    steps = sorted(
        t for k in range(-9, 10) if 1e-9 < (t := (k * quarter - angle) / sweep) < 1 - 1e-9
    )
    places = [0.0, *steps, 1.0]
    x, y = [], []
    for low, high in zip(places, places[1:], strict=False):
        before, after = angle + low * sweep, angle + high * sweep
        x.append(int(np.sign(math.cos(after) - math.cos(before))))
        y.append(int(np.sign(math.sin(after) - math.sin(before))))
    return {"x": x, "y": y}


def test_compensation_contour_has_the_length_and_reversals_of_plane_geometry() -> None:
    # NISTIR 6556, Table 12, computed: N20 to N100 13 + 2.5 pi = 20.85398, X 2, Y 1; comp is ignored
    motion = run(load("compensation_contour.ngc"), start=(1.0, 5.0, 0.0))
    assert codes(motion) == []
    assert lengths(motion).sum() == pytest.approx(13 + 2.5 * math.pi, abs=1e-9)
    assert sampled_reversals(motion)[:2] == (2, 1)
    turns = [math.degrees(sweep) for sweep in motion.sweep[motion.kind == Kind.ARC].tolist()]
    assert turns == pytest.approx([90, -90, -90, -143.1301, -36.8699], abs=5e-5)
    assert {motion.state_of(move).compensation for move in range(len(motion))} == {41}
