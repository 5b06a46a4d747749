"""Motions made by hand for the tests, and random ones."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from gpre.motion.motion import Kind, Motion
from gpre.motion.state import State

FRAMES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}  # NISTIR 6556, 4.3.6.1
NOWHERE = (math.nan, math.nan, math.nan)


@dataclass
class Maker:
    """Collects moves one after another; lengths mm."""

    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rows: list[tuple] = field(default_factory=list)

    def line(self, *to: float | None, rapid: bool = False) -> Maker:
        """Go straight to X, Y, Z; None leaves an axis where it is."""
        end = tuple(old if new is None else new for old, new in zip(self.at, to, strict=False))
        end += self.at[len(end) :]
        kind = Kind.RAPID if rapid else Kind.LINE
        self.rows.append((kind, self.at, end, NOWHERE, 0.0, 17))
        self.at = end
        return self

    def rapid(self, *to: float | None) -> Maker:
        return self.line(*to, rapid=True)

    def arc(
        self,
        plane: int,
        to_centre: tuple[float, float],
        sweep: float,
        rise: float = 0.0,
        grow: float = 0.0,
    ) -> Maker:
        """Turn by `sweep` radians about a centre given from the start, first axis first."""
        first, second, normal = FRAMES[plane]
        centre, end = list(self.at), list(self.at)
        centre[first] += to_centre[0]
        centre[second] += to_centre[1]
        radius = math.hypot(*to_centre) + grow
        angle = math.atan2(-to_centre[1], -to_centre[0]) + sweep
        end[first] = centre[first] + radius * math.cos(angle)
        end[second] = centre[second] + radius * math.sin(angle)
        end[normal] += rise
        self.rows.append((Kind.ARC, self.at, tuple(end), tuple(centre), sweep, plane))
        self.at = tuple(end)
        return self

    def arc_to(
        self, end: tuple[float, float, float], centre: tuple[float, float, float], sweep: float
    ) -> Maker:
        """An arc in XY with everything given outright."""
        self.rows.append((Kind.ARC, self.at, end, centre, sweep, 17))
        self.at = end
        return self

    def renumber(self, *at: float) -> Maker:
        """Stand still while the coordinates change, as after G92."""
        self.at = (at[0], at[1], at[2])
        return self

    def motion(self) -> Motion:
        return motion_of(self.rows)


def motion_of(rows: list[tuple]) -> Motion:
    n = len(rows)

    def column(index: int, width: int) -> np.ndarray:
        return np.array([row[index] for row in rows], float).reshape(n, width)

    return Motion(
        kind=np.array([row[0] for row in rows], np.uint8),
        start=column(1, 3),
        end=column(2, 3),
        rotary=np.zeros((0, 6)),
        centre=column(3, 3),
        sweep=np.array([row[4] for row in rows], float),
        plane=np.array([row[5] for row in rows], np.uint8),
        feed=np.full(n, 300.0),
        role=np.zeros(n, np.uint8),
        block=np.arange(n, dtype=np.int32) + 5,
        state=np.zeros(n, np.int32),
        called=np.zeros(n, bool),
        states=(State(),),
    )


def changed(motion: Motion, **columns: np.ndarray) -> Motion:
    """The same motion with other columns, all moves at feed unless `kind` says otherwise."""
    n = len(columns.get("start", motion.start))
    kind = columns.pop("kind", motion.kind)
    base = {
        "kind": kind,
        "start": motion.start,
        "end": motion.end,
        "centre": motion.centre,
        "sweep": motion.sweep,
        "plane": motion.plane,
    } | columns
    return Motion(
        **base,
        rotary=np.zeros((0, 6)),
        feed=np.full(n, 300.0),
        role=np.zeros(n, np.uint8),
        block=np.arange(n, dtype=np.int32),
        state=np.zeros(n, np.int32),
        called=np.zeros(n, bool),
        states=(State(),),
    )


@st.composite
def motions(draw: DrawFn, unknown: bool = True) -> Motion:
    """Lines, rapids, rests, tiny steps, arcs and helices in all planes, many turns."""
    make = Maker()
    kinds = ["line", "line", "rapid", "arc", "arc", "helix", "turns", "tiny", "rest", "renumber"]
    if unknown:
        kinds.append("unknown")
    for kind in draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=14)):
        _add(draw, make, kind)
    if not make.rows:
        make.line(1.0)
    return make.motion()


def _add(draw: DrawFn, make: Maker, kind: str) -> None:
    hundredth = st.integers(-2000, 2000).map(lambda value: value / 100.0)
    if kind in ("line", "rapid"):
        to = [draw(st.one_of(st.none(), hundredth)) for _ in range(3)]
        make.line(*to, rapid=kind == "rapid")
    elif kind == "tiny":
        _tiny_steps(draw, make)
    elif kind == "rest":
        make.line()
    elif kind == "renumber":
        make.renumber(draw(hundredth), draw(hundredth), draw(hundredth))
    elif kind == "unknown":
        axis = draw(st.integers(0, 2))
        lost = [math.nan if i == axis else make.at[i] for i in range(3)]
        known = make.at
        make.line(*lost, rapid=True)
        make.line(*known, rapid=True)
    else:
        plane = draw(st.sampled_from([17, 18, 19]))
        to_centre = draw(st.tuples(hundredth, hundredth).filter(lambda uv: math.hypot(*uv) > 0.05))
        if draw(st.booleans()):
            to_centre = draw(st.sampled_from([(to_centre[0], 0.0), (0.0, to_centre[1])]))
            if math.hypot(*to_centre) < 0.05:
                to_centre = (3.0, 0.0)
        most = 8 if kind == "turns" else 2
        quarter = draw(st.integers(1, 4 * most)) * math.pi / 2
        free = draw(st.floats(0.05, most * math.pi))
        sweep = draw(st.sampled_from([quarter, free])) * draw(st.sampled_from([-1, 1]))
        rise = draw(hundredth) if kind != "arc" else 0.0
        grow = draw(st.sampled_from([0.0, 0.0, 0.005, -0.005]))
        make.arc(plane, to_centre, sweep, rise, grow)


def _tiny_steps(draw: DrawFn, make: Maker) -> None:
    axis = draw(st.integers(0, 2))
    for step in draw(st.lists(st.integers(-9, 9), min_size=1, max_size=8)):
        to: list[float | None] = [None, None, None]
        to[axis] = make.at[axis] + step * 1.3e-5
        make.line(*to)
