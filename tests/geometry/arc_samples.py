"""Arcs for the tests, drawn at random, and a way to walk along them that uses no kernel."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from gpre.geometry.arc import Arcs

_Row = tuple[list[float], list[float], list[float], float, int]
FRAMES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}  # NISTIR 6556, 4.3.6.1


@st.composite
def arcs(draw: DrawFn, turns: float = 3.0, uneven: float = 0.02) -> Arcs:
    """One to four arcs in any plane; radii may differ by a share `uneven`."""
    rows = draw(st.lists(_arc(turns, uneven), min_size=1, max_size=4))
    return Arcs(
        np.array([row[0] for row in rows]),
        np.array([row[1] for row in rows]),
        np.array([row[2] for row in rows]),
        np.array([row[3] for row in rows]),
        np.array([row[4] for row in rows], np.uint8),
    )


@st.composite
def _arc(draw: DrawFn, turns: float, uneven: float) -> _Row:
    plane = draw(st.sampled_from([17, 18, 19]))
    first, second, normal = FRAMES[plane]
    number = st.integers(-4000, 4000).map(lambda value: value / 100.0)
    centre = [draw(number) for _ in range(3)]
    radius = draw(st.integers(10, 3000)) / 100.0
    last = radius
    if draw(st.booleans()):
        last = radius * (1.0 + draw(st.floats(-uneven, uneven)))
    angle = draw(
        st.one_of(
            st.floats(-math.pi, math.pi),
            st.sampled_from([0.0, math.pi / 2, math.pi, -math.pi / 2]),
        )
    )
    sweep = draw(st.floats(0.02, turns * 2.0 * math.pi)) * draw(st.sampled_from([-1, 1]))
    rise = draw(st.one_of(st.just(0.0), st.floats(-20.0, 20.0)))
    start, end = [0.0] * 3, [0.0] * 3
    start[first] = centre[first] + radius * math.cos(angle)
    start[second] = centre[second] + radius * math.sin(angle)
    start[normal] = centre[normal]
    end[first] = centre[first] + last * math.cos(angle + sweep)
    end[second] = centre[second] + last * math.sin(angle + sweep)
    end[normal] = centre[normal] + rise
    return start, end, centre, sweep, plane


def walk(arcs: Arcs, row: int, t: np.ndarray) -> np.ndarray:
    """(m, 3) mm: points of one arc, straight from the definition."""
    first, second, normal = FRAMES[int(arcs.plane[row])]
    start, end, centre = arcs.start[row], arcs.end[row], arcs.centre[row]
    u, v = start[first] - centre[first], start[second] - centre[second]
    r0 = math.hypot(u, v)
    r1 = math.hypot(end[first] - centre[first], end[second] - centre[second])
    angle = math.atan2(v, u) + arcs.sweep[row] * t
    radius = r0 * (1.0 - t) + r1 * t
    result = np.empty((len(t), 3))
    result[:, first] = centre[first] + radius * np.cos(angle)
    result[:, second] = centre[second] + radius * np.sin(angle)
    result[:, normal] = start[normal] + (end[normal] - start[normal]) * t
    return result
