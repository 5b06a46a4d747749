"""Many turns in one cut: how much of the rest each of them makes a rewrite look at."""

import math

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, rewrite
from gpre.geometry import path
from gpre.geometry.region import Swath
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.rewrites.loops_off.places import TurnInCut
from gpre.rewrites.loops_off.room import LoopWay, Room
from gpre.room.entries import first_ways, last_ways
from gpre.source.text import SourceText

MILL = known_mill(
    x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), compensation=Compensation("controller")
)
JOB = Job({1: Tool(3.0)}, Box((-80.0, -80.0, -10.0), (150.0, 80.0, 0.0)))
HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z5\nG0 X0 Y0\n"
TAIL = "G0 Z5\nM5\nM30\n"


def zigzag(turns: int) -> str:
    lines = ["G1 Z-1 F200"]
    for at in range(turns):
        angle, radius = 0.02 * at, 20.0 + 5.0 * math.sin(0.7 * at)
        x, y = radius * math.cos(angle) + 0.01 * at, radius * math.sin(angle)
        lines.append(f"G1 X{x:.3f} Y{y:.3f}")
    return HEAD + "\n".join(lines) + "\n" + TAIL


def test_areas_are_worked_out_only_where_points_do_not_tell(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made: list[int] = []
    init = Swath.__init__

    def counted(self: Swath, lines: list[np.ndarray], radius: float) -> None:
        made.append(len(lines))
        init(self, lines, radius)

    asked: list[TurnInCut] = []
    way = Room.way

    def noted(self: Room, turn: TurnInCut, *, at_once: bool) -> LoopWay:
        asked.append(turn)
        return way(self, turn, at_once=at_once)

    monkeypatch.setattr(Swath, "__init__", counted)
    monkeypatch.setattr(Room, "way", noted)
    text = SourceText.of(zigzag(900).encode())
    result = rewrite(text, MILL, JOB, Options(only=("corner-loop",)))
    assert len(result.plan.chosen) >= 3
    # each place may be looked at for seven ways off it
    assert len(asked) >= 100
    assert 0 < len(made) < len(asked)


def test_a_fall_below_the_resolution_from_chord_to_chord_is_a_way(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Else each turn of such a helix would look through all that follow."""
    turns = "".join(f"G2 X0 Y0 I5 J0 Z{-0.001 * at:.3f}\n" for at in range(1, 1001))
    motion = trace(read(SourceText.of((HEAD + "G1 Z0 F200\n" + turns + TAIL).encode())))
    looked: list[int] = []
    sample = path.sample

    def counted(moves: path.Path, chord: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        looked.append(len(moves.sweep))
        return sample(moves, chord)

    monkeypatch.setattr(path, "sample", counted)
    arcs = np.flatnonzero(motion.sweep)
    assert first_ways(motion, int(arcs[0]), int(arcs[-1]) + 1).tolist() == [1, 1, -1]
    assert last_ways(motion, int(arcs[0]), int(arcs[-1]) + 1).tolist() == [-1, 1, -1]
    assert sum(looked) <= 32


def test_rounding_at_a_quadrant_is_no_way() -> None:
    """The arc begins 0.00002 mm before its leftmost point."""
    text = HEAD + "G0 X0.00002 Y-0.01414\nG1 Z-1 F200\nG2 X10 Y0 I4.99998 J0.01414\n" + TAIL
    motion = trace(read(SourceText.of(text.encode())))
    (row,) = np.flatnonzero(motion.sweep).tolist()
    assert path.points(path.take(motion, slice(row, row + 1)), np.array([1e-3]))[0, 0] < 0.00002
    assert first_ways(motion, row, row + 1).tolist() == [1, 1, 0]
