"""New moves within what the tool has swept: a loop off a boss passes, planted faults do not."""

import numpy as np
import pytest
from known_mill import KNOWN

from gpre.mill.job import Box, Job, Tool
from gpre.proof import swept
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 Z5\nG0 X0 Y-24\nG0 Z1\nG1 Z-2 F100\n"
ROUGH = "G2 X0 Y-24 I0 J24 F300\nG1 Y-23\n"
TAIL = "G0 Z5\nG0 X0 Y0\nM5\nM30\n"
BEFORE = f"{HEAD}{ROUGH}G2 X0 Y-23 I0 J23\n{TAIL}"
LOOP = "G1 Y3\nG0 Z5\nG0 X-24.25 Y-4.25\nG0 X-23 Y-3\nG1 Z-2 F100\nG1 Y0 F300\n"
AFTER = f"{HEAD}{ROUGH}G2 X-23 Y0 I0 J23\n{LOOP}G2 X0 Y-23 I23 J0\n{TAIL}"
DOWN = AFTER.replace("G0 X-23 Y-3\n", "G0 X-23 Y-3\nG0 Z-1\n")  # at rapid beside the boss
JOB = Job({1: Tool(6.0)})


def failed(before: str, after: str, job: Job = JOB) -> set[str]:
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()), None, job)
    return {each.name for each in proof.failed}


def test_a_loop_off_a_boss_is_shown() -> None:
    assert failed(BEFORE, AFTER) == set()


def test_down_at_rapid_it_would_come_too_near_to_the_boss() -> None:
    assert failed(BEFORE, DOWN) == {"rapid clearance"}
    # 5 along the tangent of a radius of 23 the tool stands 0.54 off the boss, and 0.54 off what
    # is left outside a rough cut at a radius of 24.08
    wider = "G2 X0 Y-24.08 I0 J24.08 F300\nG1 Y-23\n"
    rough = BEFORE.replace("Y-24\n", "Y-24.08\n").replace(ROUGH, wider)
    far = DOWN.replace("Y-24\n", "Y-24.08\n").replace(ROUGH, wider)
    assert failed(rough, far) == {"rapid clearance"}
    far = (
        far.replace("G1 Y3\n", "G1 Y5\n").replace("X-23 Y-3", "X-23 Y-5").replace("-4.25", "-6.25")
    )
    assert failed(rough, far) == set()


def test_without_a_flat_tool_that_is_known_it_is_not() -> None:
    assert failed(BEFORE, AFTER, Job()) >= {"cutting path", "entry moves"}
    assert "air moves" in failed(BEFORE, DOWN, Job())
    assert "cutting path" in failed(BEFORE, AFTER, Job({1: Tool(6.0, "ball")}))
    assert "cutting path" in failed(BEFORE, AFTER, Job({2: Tool(6.0)}))


def test_without_the_rough_cut_there_is_metal_or_a_clamp() -> None:
    before, after = (
        text.replace("G1 Y-23\n", "G0 Z5\nG0 X0 Y-23\nG0 Z1\nG1 Z-2 F100\n")
        .replace("G2 X0 Y-24 I0 J24 F300\n", "")
        .replace("I0 J23\n", "I0 J23 F300\n")
        for text in (BEFORE, AFTER)
    )
    assert "cutting path" in failed(before, after)
    small = Box((-20.0, -20.0, -9.0), (20.0, 20.0, 0.0))
    assert failed(before, after, Job({1: Tool(6.0)}, small)) == set()
    # what is cut from another zero as well lies nobody knows where
    other = "G55\nG0 X0 Y0 Z5\nG1 Z-1 F100\nG0 Z5\n"
    two = (text.replace(TAIL, other + TAIL) for text in (before, after))
    assert "cutting path" in failed(*two, Job({1: Tool(6.0)}, small))
    # with the stock all round it is metal
    large = Box((-40.0, -40.0, -9.0), (40.0, 40.0, 0.0))
    assert "cutting path" in failed(before, after, Job({1: Tool(6.0)}, large))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("G1 Y3\n", "G1 X-22.9 Y3\n"),  # into the boss
        ("G1 Y3\n", "G1 Y12\n"),  # out of what the rough cut has cleared
        ("G1 Y3\n", "G1 Y3 F900\n"),  # faster than anything is cut
        ("G1 Y3\n", "G1 Y3 Z-2.2\n"),  # deeper
        ("G1 Y3\n", "G1 Y3 Z-1.9\n"),  # a ramp is not looked at
        ("G1 Y3\n", "G0 Y3\n"),  # no rapid sideways while cutting
        ("G0 X-23 Y-3\n", "G0 X-23 Y-3\nG0 Z-2\n"),  # rapid to the floor
        ("G0 X-23 Y-3\n", "G0 X-23 Y-3\nG0 Z-1.8\n"),  # a little above it
        ("G0 X-23 Y-3\n", "G0 X-22.8 Y-3\nG0 Z-1\n"),  # down on the boss
        ("G0 X-23 Y-3\n", "G0 X-26 Y-3\nG0 Z-1\n"),  # down beside the rough cut
        ("G0 X-24.25 Y-4.25\n", "G0 X-34.25 Y-4.25 Z-1\n"),  # across at depth
        ("G0 Z5\nG0 X-24.25", "G0 Z0.5\nG0 X-24.25"),  # too low over the part
        ("G1 Z-2 F100\nG1 Y0 F300\n", "G1 Z-2.1 F100\nG1 Y0 Z-2 F300\n"),  # deeper, coming on
        ("G1 Z-2 F100\nG1 Y0 F300\n", "G1 Z-1.5 F100\nG1 Y0 F300\n"),  # not as deep
        (f"{ROUGH}G2 X-23 Y0", "G1 Y-23 F300\nG2 X-23 Y0"),  # the rough cut left out
    ],
)
def test_faults_planted_in_the_loop_are_found(old: str, new: str) -> None:
    start = AFTER.index("G1 Y3") if old in LOOP else 0
    at = AFTER.index(old, start)
    planted = AFTER[:at] + new + AFTER[at + len(old) :]
    assert planted != AFTER
    assert failed(BEFORE, planted)


def test_room_does_not_creep_outwards() -> None:
    """Each step lies within a millimetre of the one before, beside the stock."""
    job = Job({1: Tool(6.0)}, Box((-20.0, -20.0, -9.0), (20.0, 20.0, 0.0)))
    creeping = "".join(f"G1 X{-23 - each * 0.9:g} Y{each:g}\n" for each in range(1, 8))
    back = "G0 Z5\nG0 X-24.25 Y-4.25\nG0 X-23 Y-3\nG1 Z-2 F100\nG1 Y0 F300\n"
    assert failed(BEFORE, AFTER.replace(LOOP, creeping + back), job)


def test_a_stop_between_takes_the_room_away() -> None:
    before, after = (text.replace("G1 Y-23\n", "M0\nG1 Y-23\n") for text in (BEFORE, AFTER))
    assert failed(before, after)


def test_a_tool_does_not_run_ahead_of_its_cut_far_from_where_it_leaves() -> None:
    """In a slot that the cut only comes to later the tool would be in full metal."""
    before = f"{HEAD}G1 Y0 F300\nG1 X40\nG1 Y-24\nG1 X20\nG1 Y-1\n{TAIL}"
    ahead = "G1 X40\nG1 X20\nG1 Y-20\nG1 Y0\nG1 X40\nG1 Y-24\n"
    after = before.replace("G1 X40\nG1 Y-24\n", ahead)
    assert after != before
    assert failed(before, after)


def test_what_the_original_makes_too_is_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The rings of one boss, depth below depth, with a loop in each: 120 new moves at feed."""
    levels = [-0.1 * at for at in range(1, 31)]
    rings = (f"G1 Z{z:.1f} F100\n{ROUGH}{{}}G1 Y-24\n" for z in levels)
    before, after = ["", ""]
    for z, ring in zip(levels, rings, strict=True):
        before += ring.format("G2 X0 Y-23 I0 J23\n")
        loop = LOOP.replace("Z-2 F", f"Z{z:.1f} F")
        after += ring.format(f"G2 X-23 Y0 I0 J23\n{loop}G2 X0 Y-23 I23 J0\n")
    head = HEAD.replace("G1 Z-2 F100\n", "")
    asked: list[int] = []
    measure = swept.distances

    def counted(point: np.ndarray, *by: object, **how: object) -> np.ndarray:
        asked.append(len(point))
        return measure(point, *by, **how)

    monkeypatch.setattr(swept, "distances", counted)
    assert failed(head + before + TAIL, head + after + TAIL) == set()
    # the obligations that ask share nothing, so twice; the ways on start at one depth each
    assert sum(count > 60 for count in asked) <= 2
    assert max(count for count in asked if count <= 60) <= 8


ROWS = "".join(
    f"G0 X{x} Y0\nG0 Z1\nG1 Z-2 F100\nG1 Y{{way}}20 F300\nG0 Z5\n" for x in (0, 5.7, 11.5)
)
ACROSS = "G0 X0 Y10\nG0 Z1\nG1 Z-2 F100\n{}\nG0 Z5\n"


def pair_of(bodies: tuple[str, str], tool: Tool) -> Pair:
    head = HEAD.replace("G0 Z1\nG1 Z-2 F100\n", "")
    sides = [Side.of(SourceText.of((head + body + TAIL).encode()), KNOWN) for body in bodies]
    return Pair(sides[0], sides[1], KNOWN, Job({1: tool}))


def holds(pair: Pair, line: str) -> bool:
    """Whether the last new move that is written in one way meets nothing."""
    texts = [each.decode().strip() for each in pair.after.program.source.blocks()]
    rows = np.flatnonzero(pair.after.motion.block == len(texts) - 1 - texts[::-1].index(line))
    assert pair.partner[rows].tolist() == [-1]
    return swept.Swept(pair).holds(int(rows[0]))


def meets_nothing(line: str, tool: Tool, way: str = "") -> bool:
    """Whether a new move at X0 Y10 Z-2, in the middle of three rows 20 mm long, meets nothing."""
    bodies = ROWS.format(way=""), ROWS.format(way=way) + ACROSS.format(line)
    return holds(pair_of(bodies, tool), line)


@pytest.mark.parametrize(
    ("line", "tool", "nothing"),
    [
        ("G1 X7 F300", Tool(6.0), True),
        ("G1 X9 F300", Tool(6.0), True),
        ("G1 X12 F300", Tool(6.0), False),  # out of the third row
        ("G1 X7 F300", Tool(5.0), False),  # between the rows a thin wall stands
        ("G1 X7 F300", Tool(6.0, "ball"), False),
        ("G0 X7", Tool(6.0), False),  # no rapid sideways
        ("G1 X7 Z-1.9 F300", Tool(6.0), False),  # no ramp
        ("G1 X7 Z-2.1 F300", Tool(6.0), False),
        ("G1 Z-1 F300", Tool(6.0), True),
        ("G1 Z-2.2 F300", Tool(6.0), False),
        ("G0 Z-1", Tool(6.0), True),
        ("G2 X2 I1 J0 F300", Tool(6.0), True),
        ("G18 G2 X2 I1 K0 F300", Tool(6.0), False),
    ],
)
def test_what_keeps_within_three_rows(line: str, tool: Tool, *, nothing: bool) -> None:
    assert meets_nothing(line, tool) == nothing
    # rows cut in two pieces are the original's all the same
    assert meets_nothing(line, tool, way="5\nY") == nothing


@pytest.mark.parametrize(
    ("line", "nothing"),
    [
        ("G1 X21 Y2", True),
        ("G1 X22 Y2", False),
        ("G1 X21 Y-1", False),
        ("G1 X21 Y2 Z-2.1", False),
        ("G0 X21 Y2", False),
    ],
)
def test_a_short_way_takes_what_the_original_takes_right_there(line: str, *, nothing: bool) -> None:
    """The original goes on by 1 mm, then at a right angle; the new way cuts the corner."""
    slot = "G0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X20 F300\n{}G1 X21\nG1 Y20\nG0 Z5\n"
    bodies = slot.format(""), slot.format(f"{line}\nG1 X20 Y0 Z-2\n")
    assert holds(pair_of(bodies, Tool(6.0)), line) == nothing


@pytest.mark.parametrize(("line", "nothing"), [("G1 X25.9", True), ("G1 X26.1", False)])
def test_no_way_ahead_is_longer_than_the_tool_is_wide(line: str, *, nothing: bool) -> None:
    slot = "G0 X0 Y0\nG0 Z1\nG1 Z-2 F100\nG1 X20 F300\n{}G1 X21\nG1 X40\nG0 Z5\n"
    bodies = slot.format(""), slot.format(f"{line}\nG1 X20\n")
    assert holds(pair_of(bodies, Tool(6.0)), line) == nothing
