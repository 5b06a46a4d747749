"""Mills and programs for the tests of the prediction, and the play followed step by step."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st
from known_mill import KNOWN, known_mill

from gpre.mill.mill import Axis, Compensation, Mill, Twist
from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.trace import trace
from gpre.program.read import read


def mill(
    x=0.0, y=0.0, z=0.0, *, by="none", uncertainty=0.0, gravity_loaded=False, **others
) -> Mill:
    """A mill with these amounts, mm; nothing uncertain and no twist unless said."""
    return known_mill(
        x=Axis(lost_motion=x, uncertainty=uncertainty),
        y=Axis(lost_motion=y, uncertainty=uncertainty),
        z=Axis(lost_motion=z, uncertainty=uncertainty, gravity_loaded=gravity_loaded),
        twist=others.pop("twist", Twist()),
        compensation=Compensation(by=by, **others),
    )


def motion(*blocks: str, controller: Controller | None = None) -> Motion:
    """The motion of a program in mm, at F300."""
    text = "G21 G17 G90 G94 F300\n" + "\n".join(blocks) + "\n"
    return trace(read(text.encode()), controller or KNOWN.controller)


def place_on(motion: Motion, row: int, along: float) -> np.ndarray:
    """A point of a move by the plain formula, nothing shared with gpre.geometry."""
    start, end = motion.start[row], motion.end[row]
    result = start + (end - start) * along
    if motion.sweep[row]:
        u, v = {17: (0, 1), 18: (2, 0), 19: (1, 2)}[int(motion.plane[row])]
        centre = motion.centre[row]
        one = math.hypot(start[u] - centre[u], start[v] - centre[v])
        other = math.hypot(end[u] - centre[u], end[v] - centre[v])
        radius = one + (other - one) * along
        angle = math.atan2(start[v] - centre[v], start[u] - centre[u]) + motion.sweep[row] * along
        result[u] = centre[u] + radius * math.cos(angle)
        result[v] = centre[v] + radius * math.sin(angle)
    return result


def quarter_places(motion: Motion, row: int) -> list[float]:
    """Where an arc of one radius passes its quadrants, as fractions."""
    if not motion.sweep[row]:
        return []
    u, v = {17: (0, 1), 18: (2, 0), 19: (1, 2)}[int(motion.plane[row])]
    away = motion.start[row] - motion.centre[row]
    first = math.atan2(away[v], away[u])
    quarters = np.arange(-40, 41) * math.pi / 2
    at = (quarters - first) / motion.sweep[row]
    return [float(each) for each in at if 0.0 < each < 1.0]


def followed(motion: Motion, row_along, half, start, axis: int) -> list[float]:
    """The lag at places (row, along) in order: the definition, step by step, with many more steps.

    half: gives half the backlash at a position; start: the lag before the first move.
    """
    wanted: dict[int, list[float]] = {}
    for row, along in row_along:
        wanted.setdefault(int(row), []).append(float(along))
    table = motion.start[0][axis] + start
    result = []
    for row in range(len(motion)):
        if row:  # the program may count anew from here on: the table keeps its lag
            table += motion.start[row][axis] - motion.end[row - 1][axis]
        here = wanted.get(row, [])
        steps = sorted({*np.linspace(0, 1, 30).tolist(), *here, *quarter_places(motion, row)})
        lag = {}
        for along in steps:
            u = place_on(motion, row, along)[axis]
            r = half(u)
            table = max(u - r, min(u + r, table))
            lag[along] = table - u
        result += [lag[along] for along in here]
    return result


hundredth = st.integers(-300, 300).map(lambda value: value / 100.0)


@st.composite
def programs(draw) -> list[str]:
    """Lines short and long, arcs and helices in all planes, rests, and coordinates set anew."""
    blocks = []
    for _ in range(draw(st.integers(1, 12))):
        kind = draw(st.sampled_from(["line", "rapid", "tiny", "arc", "helix", "rest", "anew"]))
        x, y, z = draw(hundredth), draw(hundredth), draw(hundredth)
        if kind == "line":
            blocks.append(f"G1 X{x} Y{y} Z{z}")
        elif kind == "rapid":
            blocks.append(f"G0 X{x} Y{y}")
        elif kind == "tiny":
            blocks.append(f"G91 G1 X{x / 100:.4f} Y{y / 100:.4f}\nG90")
        elif kind == "rest":
            blocks.append("G91 G1 X0\nG90")
        elif kind == "anew":
            blocks.append(f"G92 X{x} Y{y}")
        else:
            plane, words = draw(st.sampled_from([(17, "IJ"), (18, "IK"), (19, "JK")]))
            normal = {17: "Z", 18: "Y", 19: "X"}[plane]
            i, j = draw(hundredth), draw(st.integers(10, 300)) / 100.0
            code = draw(st.sampled_from([2, 3]))
            ends = {17: "X0 Y0", 18: "X0 Z0", 19: "Y0 Z0"}[plane]
            rise = f" {normal}{x}" if kind == "helix" else ""
            # incremental with no way in the plane: a full turn
            blocks.append(f"G{plane} G91 G{code} {ends}{rise} {words[0]}{i} {words[1]}{j}\nG90 G17")
    return blocks
