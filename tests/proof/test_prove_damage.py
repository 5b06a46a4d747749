"""The proof bites: sound rewrites pass, and each kind of damage to them is found.

The programs are invented: a focuser plate with a rim, faced, and its holes.
"""

import pytest
from known_mill import KNOWN
from proof_programs import (
    FACE,
    FACE_JOB,
    FACE_ONE_WAY,
    HOLES,
    HOLES_APPROACHED,
    LEVELS,
    LEVELS_MIXED,
    LOOP_ONE,
    LOOP_TWO,
    RIM,
    RIM_JOB,
    SPRING,
    SPRING_PASS,
    TWO,
    TWO_SWAPPED,
    moved_start,
)

from gpre.mill.job import Box, Job, Tool
from gpre.proof.proof import Proof
from gpre.proof.prove import NAMES, prove
from gpre.source.text import SourceText


def proof_of(before: str, after: str, job: Job | None = None) -> Proof:
    return prove(SourceText.of(before.encode()), SourceText.of(after.encode()), KNOWN, job)


def failed(before: str, after: str, job: Job | None = None) -> set[str]:
    return {each.name for each in proof_of(before, after, job).failed}


def test_the_same_text_passes_at_once() -> None:
    proof = proof_of(RIM, RIM)
    assert proof.holds
    assert tuple(each.name for each in proof.obligations) == NAMES


def test_every_proof_has_every_obligation_once() -> None:
    for after in (moved_start(), RIM.replace("M8\n", ""), ""):
        assert tuple(each.name for each in proof_of(RIM, after).obligations) == NAMES


SOUND = {
    "loop cut the other way": (
        RIM,
        RIM.replace(LOOP_TWO, "G1 Z-2 F100\nG1 Y30 F300\nG1 X40\nG1 Y0\nG1 X0\n"),
        Job(cut="climb"),
    ),
    "start moved along the contour": (RIM, moved_start(), RIM_JOB),
    "slower plunge": (RIM, moved_start(80), RIM_JOB),
    "a side cut in two": (RIM, RIM.replace("G1 Y30\nG1 X0\n", "G1 Y11\nY30\nG1 X0\n"), None),
    "comment added": (RIM, RIM.replace("G1 Y30\n", "G1 Y30 (as before)\n", 1), None),
    "approach loop over the part": (
        RIM,
        RIM.replace("M8\nG0 Z1\n", "M8\nG0 X-1.25 Y-1.25\nG0 X0 Y0\nG0 Z1\n"),
        None,
    ),
    "restated feed": (RIM, RIM.replace("G1 Y30\n", "G1 Y30 F300\n"), None),
    "one way beside the stock": (FACE, FACE_ONE_WAY, FACE_JOB),
    "one way just over the stock": (
        FACE,
        FACE_ONE_WAY.replace("G0 Z10\nG0 X-10", "G0 Z2\nG0 X-10"),
        FACE_JOB,
    ),
    "holes approached": (HOLES, HOLES_APPROACHED, None),
    "wobble taken out": (
        RIM.replace("G1 X40 F300\n", "G1 X10 Y0.001 F300\nG1 X20 Y-0.001\nG1 X40 Y0\n"),
        RIM,
        None,
    ),
}


@pytest.mark.parametrize("name", SOUND)
def test_sound_rewrites_pass(name: str) -> None:
    before, after, job = SOUND[name]
    assert failed(before, after, job) == set()


def _lifted(down: str) -> str:
    """Lift off and come back down at rapid, to `down`, in the middle of the second loop."""
    loop = LOOP_TWO.replace("G1 X0\n", f"G1 X0\nG0 Z5\nG0 {down}\nG1 Z-2 F100\nF300\n")
    return RIM.replace(LOOP_TWO, loop)


DAMAGED = {
    # name: (before, after, job, one obligation that must fail)
    "pass dropped": (RIM, RIM.replace("G1 Y30\nG1 X0\n", "G1 X0 Y30\n", 1), None, "cutting path"),
    "shallow loop dropped": (RIM, RIM.replace(LOOP_ONE, ""), None, "depth order"),
    "a side of the shallow loop dropped": (
        RIM,
        RIM.replace("G1 Y30\nG1 X0\nG1 Y0\nG1 Z-2", "G0 Z5\nG0 X0 Y0\nG0 Z-1\nG1 Z-2"),
        None,
        "depth order",
    ),
    "loops swapped": (
        RIM,
        RIM.replace(LOOP_ONE + LOOP_TWO, LOOP_TWO + LOOP_ONE),
        None,
        "depth order",
    ),
    "Z a tenth too deep": (RIM, RIM.replace("Z-2 F", "Z-2.1 F"), None, "cutting path"),
    "Z a tenth too high": (RIM, RIM.replace("Z-2 F", "Z-1.9 F"), None, "cutting path"),
    "X a hundredth off": (
        RIM,
        RIM.replace("G1 X40 F300", "G1 X40.01 F300", 1),
        None,
        "cutting path",
    ),
    "feed doubled": (
        RIM,
        RIM.replace("Z-1 F100\nG1 X40 F300", "Z-1 F100\nG1 X40 F600"),
        None,
        "feed",
    ),
    "F lost after the plunge": (
        moved_start(),
        moved_start().replace("Z-2 F100", "Z-2"),
        None,
        "feed",
    ),
    "plunge too fast": (RIM, moved_start(300), None, "entry moves"),
    "plunge at rapid": (RIM, RIM.replace("G1 Z-2 F100\n", "G0 Z-2\n"), None, "air moves"),
    "moved plunge at rapid": (
        RIM,
        moved_start().replace("G1 Z-2 F100\nG1 X0", "G0 Z-2\nG1 X0"),
        None,
        "air moves",
    ),
    "rapid through the wall": (
        RIM,
        RIM.replace("G1 Z-2 F100\n", "G0 X40 Y30\nG0 X0 Y0\nG1 Z-2 F100\n"),
        None,
        "air moves",
    ),
    "lift too low": (
        RIM,
        moved_start().replace("G0 Z5\nG0 X40", "G0 Z-0.5\nG0 X40"),
        None,
        "air moves",
    ),
    "rapid down onto the floor": (RIM, _lifted("Z-2"), None, "air moves"),
    "slanted rapid down": (
        RIM,
        moved_start().replace("G0 X40 Y30\nG0 Z1\n", "G0 X40 Y30 Z1\n"),
        None,
        "air moves",
    ),
    "coolant gone": (RIM, RIM.replace("M8\n", ""), None, "stops and switches"),
    "coolant later": (RIM, RIM.replace("M8\nG0 Z1\n", "G0 Z1\nM8\n"), None, "position at stops"),
    "tool change moved": (
        RIM,
        RIM.replace("T1 M6\n", "").replace("M5\nM30", "M5\nT1 M6\nM30"),
        None,
        "stops and switches",
    ),
    "spindle speed changed": (RIM, RIM.replace("S2000", "S2500"), None, "stops and switches"),
    "length offset changed": (RIM, RIM.replace("H1", "H2"), None, "state"),
    "comment lost": (RIM, RIM.replace(" (FOCUSER PLATE RIM)", ""), None, "comments"),
    "end lost": (RIM, RIM.replace("M30\n", ""), None, "stops and switches"),
    "line ends changed": (RIM, moved_start().replace("\n", "\r\n"), None, "line ends and layout"),
    "loop cut into the metal": (
        RIM,
        RIM.replace("G1 Y30\nG1 X0\n", "G1 Y30\nG1 X20\nG1 Y28\nG1 Y30\nG1 X0\n"),
        None,
        "cutting path",
    ),
    "another start off the contour": (
        RIM,
        RIM.replace("G1 Z-2 F100\n", "G0 Z5\nG0 X10 Y10\nG0 Z1\nG1 Z-2 F100\nG1 X0 Y0\n"),
        None,
        "cutting path",
    ),
    "spring pass lost": (
        SPRING,
        SPRING.replace(SPRING_PASS, ""),
        None,
        "passes",
    ),
    "spring pass at rapid": (
        SPRING,
        SPRING.replace(SPRING_PASS, SPRING_PASS.replace("G1 X", "G0 X").replace("G1 Y", "G0 Y")),
        None,
        "passes",
    ),
    "feed of the spring pass on the first": (
        SPRING,
        SPRING.replace("X40 F300", "X40 F301")
        .replace("X40 F500", "X40 F300")
        .replace("X40 F301", "X40 F500"),
        None,
        "feed",
    ),
    "levels mixed": (LEVELS, LEVELS_MIXED, None, "level order"),
    "outline cut before the pocket": (TWO, TWO_SWAPPED, None, "cut order"),
    "more reversals": (
        RIM,
        RIM.replace("G1 Y30\n", "G1 Y20\nG1 Y19\nG1 Y30\n", 1),
        None,
        "reversals",
    ),
    "out of travel": (
        RIM,
        RIM.replace("M8\nG0 Z1\n", "M8\nG0 X-80\nG0 X0\nG0 Z1\n"),
        None,
        "travel",
    ),
    "one way without the stock": (FACE, FACE_ONE_WAY, None, "air moves"),
    "one way into a wider stock": (
        FACE,
        FACE_ONE_WAY,
        Job({2: Tool(8.0)}, Box((-8.0, -2.0, -10.0), (50.0, 12.0, 0.0))),
        "air moves",
    ),
    "one way with a wider tool": (
        FACE,
        FACE_ONE_WAY,
        Job({2: Tool(30.0)}, FACE_JOB.stock),
        "air moves",
    ),
    "one way over the stock too low": (
        FACE,
        FACE_ONE_WAY.replace("G0 Z10\nG0 X-10", "G0 Z-0.2\nG0 X-10"),
        FACE_JOB,
        "air moves",
    ),
    "facing pass shortened": (
        FACE,
        FACE.replace("G1 X60\nG0 Z10", "G1 X59\nG0 Z10"),
        FACE_JOB,
        "cutting path",
    ),
    "hole lost": (HOLES, HOLES.replace("X30 Y25\n", ""), None, "cutting path"),
    "hole shallower": (
        HOLES,
        HOLES_APPROACHED.replace("X10 Y25 Z-12", "X10 Y25 Z-11"),
        None,
        "cutting path",
    ),
    "peck changed": (
        HOLES,
        HOLES_APPROACHED.replace("Y25 Z-12 R2 Q4", "Y25 Z-12 R2 Q8", 1),
        None,
        "holes",
    ),
    "drilled without pecks": (
        HOLES,
        HOLES_APPROACHED.replace("G83 X10 Y25 Z-12 R2 Q4", "G81 X10 Y25 Z-12 R2"),
        None,
        "holes",
    ),
    "hole made twice": (HOLES, HOLES.replace("X10\nG80", "X10\nX10\nG80"), None, "holes"),
    "approach below R": (
        HOLES,
        HOLES_APPROACHED.replace("G0 X28.75 Y23.75\n", "G0 X28.75 Y23.75 Z1\n"),
        None,
        "air moves",
    ),
    "lower R": (
        HOLES,
        HOLES_APPROACHED.replace("X10 Y25 Z-12 R2", "X10 Y25 Z-12 R0.5"),
        None,
        "air moves",
    ),
    "drilled faster": (
        HOLES,
        HOLES_APPROACHED.replace("X10 Y25 Z-12 R2 Q4 F80", "X10 Y25 Z-12 R2 Q4 F160"),
        None,
        "feed",
    ),
}


@pytest.mark.parametrize("name", DAMAGED)
def test_damage_is_found(name: str) -> None:
    before, after, job, obligation = DAMAGED[name]
    assert before != after
    assert obligation in failed(before, after, job)


TWO_TOOLS = """G21 G90 G17
T1 M6
S1000 M3
G0 X10 Y10
G0 Z20
G0 Z5
G1 Z-2 F100
G0 Z20
T2 M6
G0 X10 Y10
G0 Z5
G1 Z-4 F100
G0 Z20
M30
"""


def test_a_rapid_up_out_of_a_hole_opens_no_way_down() -> None:
    # where the first tool was the second may be wider
    head, last = TWO_TOOLS.rsplit("G0 Z5\n", 1)
    assert failed(TWO_TOOLS, f"{head}G0 Z4.9\n{last}") == {"air moves"}


def test_a_corner_between_two_feeds_stays_where_it_is() -> None:
    slower = RIM.replace("Z-2 F100\nG1 X40 F300\nG1 Y30", "Z-2 F100\nG1 X40 F300\nG1 Y30 F250")
    early = slower.replace("Z-2 F100\nG1 X40 F300", "Z-2 F100\nG1 X40 F300\nG1 Y0.03")
    assert slower not in (RIM, early)
    assert failed(slower, early) == {"feed"}


def test_a_rapid_down_ends_a_little_above_the_floor_and_away_from_walls() -> None:
    named = Job({1: Tool(6.0)}, Box((-10.0, -10.0, -10.0), (60.0, 60.0, 0.0)))
    assert failed(RIM, _lifted("Z-1.5"), named) == {"rapid clearance"}  # the walls of its slot
    assert failed(RIM, _lifted("Z-1.55"), named) >= {"air moves"}


@pytest.mark.parametrize("down", ["Z-1.5", "Z-0.5", "Z0", "Z0.99", "Z4.9"])
def test_a_rapid_down_of_a_tool_that_is_not_named_may_be_beside_a_wall(down: str) -> None:
    assert failed(RIM, _lifted(down), None) == {"air moves"}
    # how low the original's own rapid comes down elsewhere says nothing of the walls here
    assert failed(RIM, _lifted("Z1"), None) == {"air moves"}
    assert failed(RIM, _lifted("Z0.49"), RIM_JOB) == {"air moves"}
    assert failed(RIM, _lifted("Z0.5"), RIM_JOB) == set()


ARC_RIM = """G21 G90 G17
T1 M6
S2000 M3
G0 X10 Y0 Z5
G0 Z1
G1 Z-1 F100
G3 X-10 Y0 I-10 J0 F300
G3 X10 Y0 I10 J0
G0 Z5
M5
M30
"""


def test_a_circle_may_start_elsewhere_and_not_be_cut_the_wrong_way() -> None:
    start = ARC_RIM.replace("G0 X10 Y0 Z5", "G0 X0 Y10 Z5")
    moved = start.replace(
        "G3 X-10 Y0 I-10 J0 F300\nG3 X10 Y0 I10 J0", "G3 X0 Y-10 I0 J-10 F300\nG3 X0 Y10 I0 J10"
    )
    # the spindle starts before the first move, so its place is the same
    stock = Box((-20.0, -20.0, -9.0), (20.0, 20.0, 0.0))
    assert failed(ARC_RIM, moved, Job({}, stock)) == set()
    assert failed(ARC_RIM, moved) == {"air moves", "entry moves"}
    turned = ARC_RIM.replace("G3 X-10", "G2 X-10")
    assert "cutting path" in failed(ARC_RIM, turned)
    both = turned.replace("G3 X10", "G2 X10")
    assert failed(ARC_RIM, both) == {"cutting direction"}
    assert failed(ARC_RIM, both, Job(cut="climb")) == set()


START_HOLE = (
    """G21 G90 G17
T4 M6
S900 M3
G0 X0 Y0 Z5
G81 X0 Y0 Z-4 R2 F80
G80
G0 Z5
"""
    + "\n".join(RIM.splitlines()[2:]).replace("%", "")
    + "\n"
)


def test_a_plunge_into_a_start_hole_stays_there() -> None:
    after = START_HOLE.replace(
        LOOP_TWO, moved_start()[moved_start().index("G0 Z5\nG0 X40") :].split("G0 Z5\nM9")[0]
    )
    assert after != START_HOLE
    assert "entry moves" in failed(START_HOLE, after)
    # the first loop has been there by then: its metal is what the hole is missing from
    assert failed(START_HOLE, START_HOLE.replace("G1 Y30\n", "G1 Y30 F300\n")) == set()
