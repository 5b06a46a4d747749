"""What the tests of the interpreter share: short ways to run a text and to compare motions."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from gpre.motion.controller import Controller
from gpre.motion.events import EventKind
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind, Motion
from gpre.motion.trace import trace, trace_from
from gpre.program.program import Program
from gpre.program.read import read


def program(text: str | bytes) -> Program:
    return read(text.encode() if isinstance(text, str) else text, "test")


def run(text: str | bytes, **options: Any) -> Motion:
    return trace(program(text), Controller(**options))


def slow(text: str | bytes, **options: Any) -> Motion:
    return trace_from(program(text), Controller(**options), fast=False)[0]


def end_state(text: str | bytes, **options: Any) -> Machine:
    return trace_from(program(text), Controller(**options))[1]


def codes(motion: Motion) -> list[str]:
    return [finding.code for finding in motion.findings]


def ends(motion: Motion) -> list[tuple[float, float, float]]:
    return [tuple(round(value, 9) for value in row) for row in motion.end.tolist()]


def kinds(motion: Motion) -> str:
    """R for a rapid, L for a line, A for an arc."""
    return "".join("RLA"[kind] for kind in motion.kind.tolist())


def events(motion: Motion, kind: EventKind) -> list[tuple[int, int, str]]:
    return [(each.block, each.move, each.value) for each in motion.events if each.kind is kind]


def place(motion: Motion, text: str, code: str) -> str:
    """The bytes under the caret of the one finding with this code."""
    (finding,) = [each for each in motion.findings if each.code == code]
    assert finding.span is not None
    return text.encode()[finding.span.start : finding.span.end].decode()


def lengths(motion: Motion) -> np.ndarray:
    """(n,) mm along each move, from the definition of a helix (math.uni.lu/helix/length.html)."""
    result = np.linalg.norm(motion.end - motion.start, axis=1)
    for row in np.flatnonzero(motion.kind == Kind.ARC).tolist():
        normal = {17: 2, 18: 1, 19: 0}[int(motion.plane[row])]
        flat = [axis for axis in range(3) if axis != normal]
        radius = math.dist(motion.start[row][flat], motion.centre[row][flat])
        rise = motion.end[row][normal] - motion.start[row][normal]
        result[row] = math.hypot(radius * motion.sweep[row], rise)
    return result


def assert_same(
    left: Motion,
    right: Motion,
    *,
    tolerance: float = 1e-9,
    blocks: bool = True,
    states: bool = True,
) -> None:
    """Both motions are the same within the tolerance, findings and events apart."""
    assert len(left) == len(right)
    for name in ("kind", "plane", "role", "called", *(("block",) if blocks else ())):
        np.testing.assert_array_equal(getattr(left, name), getattr(right, name), err_msg=name)
    for name in ("start", "end", "centre", "sweep", "feed", "rotary"):
        np.testing.assert_allclose(
            getattr(left, name), getattr(right, name), rtol=0, atol=tolerance, err_msg=name
        )
    if states:
        for move in range(len(left)):
            assert repr(left.state_of(move)) == repr(right.state_of(move))


def sampled_reversals(motion: Motion, resolution: float = 1e-4) -> tuple[int, int, int]:
    """Turns of each axis by dense sampling: what no formula for quadrants has touched."""
    points = [motion.start[0]]
    for row in range(len(motion)):
        if motion.kind[row] != Kind.ARC:
            points.append(motion.end[row])
            continue
        first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[
            int(motion.plane[row])
        ]
        start, end, centre = motion.start[row], motion.end[row], motion.centre[row]
        radius = math.dist(start[[first, second]], centre[[first, second]])
        angle = math.atan2(start[second] - centre[second], start[first] - centre[first])
        for t in np.linspace(0, 1, 721)[1:]:
            point = np.empty(3)
            point[first] = centre[first] + radius * math.cos(angle + t * motion.sweep[row])
            point[second] = centre[second] + radius * math.sin(angle + t * motion.sweep[row])
            point[normal] = start[normal] + t * (end[normal] - start[normal])
            points.append(point)
    counts = []
    for axis in range(3):
        way, extreme, count = 0, points[0][axis], 0
        for value in (point[axis] for point in points):
            if way == 0 and abs(value - extreme) > resolution:
                way = 1 if value > extreme else -1
                extreme = value
            elif way and (value - extreme) * way > 0:
                extreme = value
            elif way and (extreme - value) * way > resolution:
                way, extreme, count = -way, value, count + 1
        counts.append(count)
    return counts[0], counts[1], counts[2]
