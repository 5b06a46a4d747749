"""How loops off the part are written: height, feeds, true arcs, and where none is made."""

import math

import numpy as np
import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

MILL = known_mill(
    x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), compensation=Compensation("controller")
)
JOB = Job({1: Tool(6.0)})
HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z5\n"
RINGS = "G2 X0 Y-24 I0 J24 F300\nG1 Y-23\nG2 X0 Y-23 I0 J23\n"
TAIL = "M5\nM30\n"


def done(text: str, job: Job = JOB, only: tuple[str, ...] = ("lift-over",)) -> Rewritten:
    return rewrite(SourceText.of(text.encode()), MILL, job, Options(only=only))


def lifts(result: Rewritten) -> set[float]:
    """Z to which the tool goes in each loop."""
    lines = result.data.decode().splitlines()
    starts = [at for at, line in enumerate(lines) if "(lift over)" in line]
    return {float(lines[at + 1].split("Z")[1]) for at in starts}


def test_a_loop_lifts_as_high_as_the_program_came_to_the_cut() -> None:
    """Holes are reached at Z2, but the outline, where clamps may stand, at Z8.

    Walls may stand as high, so the tool comes down at feed from there; Z turns 1 mm above it.
    """
    holes = "G0 Z2\nG0 X60 Y0\nG1 Z-2 F100\nG0 Z2\nG0 X70 Y0\nG1 Z-2\nG0 Z2\n"
    outline = f"G0 Z8\nG0 X0 Y-24\nG0 Z1\nG1 Z-2 F100\n{RINGS}G0 Z30\n"
    assert lifts(done(HEAD + holes + outline + TAIL)) == {9.0}
    # the other way round the level that the whole setup has in common counts
    low = f"G0 Z2\nG0 X0 Y-24\nG1 Z-2 F100\n{RINGS}G0 Z5\nG0 X60 Y0\nG0 Z30\n"
    assert lifts(done(HEAD.replace("Z5", "Z20") + low.replace("G0 Z2\n", "") + TAIL)) == {21.0}


@pytest.mark.parametrize("between", ["", "S2500\n", "M8\n"])
def test_the_way_down_is_as_slow_as_the_program_came_down(between: str) -> None:
    """A word that changes the spindle or the coolant begins a new cut, which has no plunge."""
    text = f"{HEAD}G0 X0 Y-24\nG0 Z1\nG1 Z-2 F100\n{RINGS}G0 Z5\n{TAIL}"
    motion = done(text.replace("G1 Y-23\n", f"{between}G1 Y-23\n")).after.motion
    down = (motion.kind == Kind.LINE) & (motion.end[:, 2] < motion.start[:, 2])
    assert down.sum() == 4
    assert set(motion.feed[down].tolist()) == {100.0}


def test_what_radius_compensation_cuts_is_no_room() -> None:
    """The tool runs beside what is written there, nobody knows how far."""
    rough = "G41 D1 G1 Y-24 F300\nG2 X0 Y-24 I0 J24\nG1 G40 Y-40\nG0 Z5\n"
    finish = "G0 X0 Y-23\nG0 Z1\nG1 Z-2 F100\nG2 X0 Y-23 I0 J23 F300\nG0 Z5\n"
    text = f"{HEAD}G0 X0 Y-40\nG0 Z1\nG1 Z-2 F100\n{rough}{finish}{TAIL}"
    result = done(text)
    assert result.data == text.encode()
    assert not any(each.reason.startswith("taken back") for each in result.plan.refused)


HELIX = "G0 X0 Y-23\nG0 Z1\nG1 Z{0} F100\nG2 X0 Y-23 Z{1} I0 J23 F300\nG0 Z5\n"
BESIDE = Job({1: Tool(6.0)}, Box((-20.0, -20.0, -20.0), (20.0, 20.0, 0.0)))


@pytest.mark.parametrize(
    ("first", "last", "reason"),
    [("-0.5", "-3", "could not come back as deep"), ("-4", "-2", "Z would turn")],
)
def test_on_a_helix_no_loop_is_tried(first: str, last: str, reason: str) -> None:
    text = HEAD + HELIX.format(first, last) + TAIL
    result = done(text, BESIDE)
    assert result.data == text.encode()
    assert {reason in each.reason for each in result.plan.refused} == {True}


def test_the_level_turn_at_the_end_of_a_helix_round_a_boss_is_helped() -> None:
    text = f"{HEAD}{HELIX.format('-0.5', '-3')}{TAIL}"
    level = text.replace("F300\n", "F300\nG2 X0 Y-23 I0 J23\n")
    result = done(level, BESIDE)
    assert result.before.in_cut - result.after.in_cut == 3
    arcs = result.after.motion.kind == Kind.ARC
    assert set(result.after.motion.end[arcs][1:, 2].tolist()) == {-3.0}


def rounded(places: int) -> str:
    """A square with round corners, turned a little, in round numbers: its radii differ."""
    lines = []
    for corner in range(4):
        angle = 0.3 - corner * math.pi / 2.0
        out = np.array([math.cos(angle), math.sin(angle)])
        along = np.array([math.sin(angle), -math.cos(angle)])
        middle = 12.0 * (out + along)
        first, last = np.round(middle + 11.0 * out, places), np.round(middle + 11.0 * along, places)
        centre = np.round(middle - first, places)
        lines.append(f"G1 X{first[0]:g} Y{first[1]:g} F300")
        lines.append(f"G2 X{last[0]:g} Y{last[1]:g} I{centre[0]:g} J{centre[1]:g}")
    start = lines[0].removeprefix("G1 ").removesuffix(" F300")
    way_in = [f"G0 {start}", "G0 Z1", "G1 Z-2 F100"]
    return HEAD + "\n".join([*way_in, *lines, f"G1 {start}", "G0 Z5", TAIL])


@pytest.mark.parametrize("places", [2, 3, 4])
def test_arcs_in_round_numbers_are_parted_truly(places: int) -> None:
    job = Job({1: Tool(6.0)}, Box((-23.5, -23.5, -9.0), (23.5, 23.5, 0.0)))
    result = done(rounded(places), job)
    assert result.data.count(b"(lift over)") == 4
    motion = result.after.motion
    arcs = motion.kind == Kind.ARC
    radii = [np.hypot(*(ends - motion.centre)[arcs, :2].T) for ends in (motion.start, motion.end)]
    assert np.abs(radii[0] - radii[1]).max() <= 0.002  # NISTIR 6556, 3.5.3


def test_an_outline_with_bridges_is_helped_too() -> None:
    bridge = "G1 X-10\nG1 Z-3\nG1 X-14\nG1 Z-6\nG1 X-15\n"
    text = (
        f"{HEAD}G0 X0 Y-30\nG0 Z1\nG1 Z-6 F100\nG1 Y-23 F300\n{bridge}G2 X-23 Y-15 R8\nG1 Y15\n"
        f"G2 X-15 Y23 R8\nG1 X15\nG2 X23 Y15 R8\nG1 Y-15\nG2 X15 Y-23 R8\nG1 X0\nG0 Z5\n{TAIL}"
    )
    result = done(text, BESIDE)
    assert result.data.count(b"(lift over)") == 3
    assert result.proof.holds


def test_nothing_is_done_at_a_wall_on_both_sides() -> None:
    """Two rings whose walls leave the tool just its own width."""
    text = f"{HEAD}G0 X0 Y-23\nG0 Z1\nG1 Z-2 F100\nG2 X0 Y-23 I0 J23 F300\nG0 Z5\n{TAIL}"
    wide = Job({1: Tool(6.0)}, Box((-60.0, -60.0, -9.0), (60.0, 60.0, 0.0)))
    result = done(text, wide)
    assert result.data == text.encode()
    assert [each.reason[:23] for each in result.plan.refused] == ["material ahead: in a bo"]
