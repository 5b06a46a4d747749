"""A helix may be cut in fewer turns, and nothing else about it may change for the worse."""

from math import radians
from random import Random

import numpy as np
import pytest
from known_mill import KNOWN
from proof_stock import DUST, cut
from test_proof_planted import planted

from gpre.mill.job import Box, Job, Tool
from gpre.motion.motion import Kind
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.helices import Helices
from gpre.proof.prove import prove
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\nG0 Z5\nX10 Y10\nG0 Z0.5\nG1 Z0 F100\nX19 F200\n"
TAIL = "G1 X10 Y10\nG0 Z5\nM30\n"
FLOOR = "G3 X19 Y10 I-9 J0\n"
STOCK = Box((-10.0, -10.0, -10.0), (40.0, 40.0, 0.0))
JOB = Job({1: Tool(6.0, max_ramp_angle=radians(3.0))}, STOCK)


def turns(*depths: float, code: str = "G3", feed: int = 200) -> str:
    return "".join(f"{code} X19 Y10 Z{depth:g} I-9 J0 F{feed}\n" for depth in depths)


TWELVE = turns(*(-0.5 * turn for turn in range(1, 13)))
THREE = turns(-2, -4, -6)
LONG = HEAD + TWELVE + FLOOR + TAIL
SHORT = HEAD + THREE + FLOOR + TAIL


def failed(before: str, after: str, job: Job | None = JOB) -> set[str]:
    proof = prove(SourceText.of(before.encode()), SourceText.of(after.encode()), KNOWN, job)
    return {each.name for each in proof.failed}


def test_fewer_turns_within_the_ramp_and_half_the_diameter_pass() -> None:
    assert failed(LONG, SHORT) == set()
    assert failed(LONG, SHORT, Job(JOB.tools)) == set()
    halves = "".join(
        f"G3 X1 Y10 Z{-2 * turn - 1} I-9 J0\nG3 X19 Y10 Z{-2 * turn - 2} I9 J0\n"
        for turn in range(3)
    )
    assert failed(LONG, HEAD + halves + FLOOR + TAIL) == set()


def test_two_floors_are_reached_by_two_helices() -> None:
    lower = turns(*(-6 - 0.5 * turn for turn in range(1, 7)))
    long = HEAD + TWELVE + FLOOR + lower + FLOOR + TAIL
    assert failed(long, HEAD + THREE + FLOOR + turns(-8, -9) + FLOOR + TAIL) == set()
    assert failed(long, HEAD + THREE + FLOOR + turns(-7.5, -9) + FLOOR + TAIL) == set()
    # the second one must not begin before the first floor is cut
    assert failed(long, HEAD + THREE + turns(-7.5, -9) + FLOOR + TAIL)


def test_a_turn_as_deep_as_half_the_tool_passes_and_no_deeper() -> None:
    """Ten degrees on a circle of 9 mm would let it go 9.97 mm deep."""
    steep = Job({1: Tool(6.0, max_ramp_angle=radians(10.0))}, STOCK)
    assert failed(LONG, HEAD + turns(-3, -6) + FLOOR + TAIL, steep) == set()
    assert failed(LONG, HEAD + turns(-2, -5.1, -6) + FLOOR + TAIL, steep)


def test_what_comes_after_a_helix_may_be_slower() -> None:
    slow = TAIL.replace("Y10\n", "Y10 F50\n")
    assert failed(LONG.replace(TAIL, slow), SHORT.replace(TAIL, slow)) == set()


def test_each_helix_is_measured_by_its_own_turns() -> None:
    """Where the second helix stands in the new program the original has straight moves."""
    way = "".join(f"G1 X{10 + step} Y10\n" for step in (*range(9), *range(9)[::-1], 9))
    second = "G1 X10 Y10\nG0 Z0.5\n" + way.replace("Y10\n", "Y10 F300\n", 1) + "G1 Z0 F100\n"
    texts = (HEAD + each + FLOOR + second + each + FLOOR + TAIL for each in (TWELVE, THREE))
    assert failed(*texts) == set()


def stands_for(after: str, before: str = LONG) -> int:
    """How many moves of a program stand for longer helices of the long one."""
    sides = (Side.of(SourceText.of(each.encode()), KNOWN) for each in (before, after))
    pair = Pair(*sides, KNOWN, JOB)
    helices = Helices(pair, ~pair.steady[1])
    assert len(helices.feeds()[0]) == len(helices.feeds()[1])
    return len(helices.stands_for())


@pytest.mark.parametrize(
    ("feeds", "rows"),
    [((200, 200, 200), 4), ((150, 200, 200), 4), ((200, 200.1, 200), 0), ((200, 200, 210), 0)],
)
def test_no_turn_may_be_faster_than_the_slowest_of_the_original(
    feeds: tuple[float, ...], rows: int
) -> None:
    """Three turns and their floor."""
    made = "".join(
        f"G3 X19 Y10 Z{-2 * turn} I-9 J0 F{feed}\n" for turn, feed in enumerate(feeds, start=1)
    )
    assert stands_for(HEAD + made + FLOOR + TAIL) == rows


def test_both_helices_end_with_a_level_turn() -> None:
    """Else the last turn leaves a slope that the other does not."""
    bare = [HEAD + each + TAIL for each in (TWELVE, THREE)]
    assert stands_for(SHORT, LONG) == 4
    assert [stands_for(SHORT, bare[0]), stands_for(bare[1], LONG), stands_for(*bare[::-1])] == [
        0
    ] * 3


FAULTS = {
    "steeper than the tool's ramp": (LONG, HEAD + turns(-3, -6) + FLOOR + TAIL, JOB),
    "no ramp in the job": (LONG, SHORT, Job({1: Tool(6.0)}, STOCK)),
    "no job": (LONG, SHORT, None),
    "another tool's ramp": (LONG, SHORT, Job({2: Tool(6.0, max_ramp_angle=radians(3.0))}, STOCK)),
    "a drill": (LONG, SHORT, Job({1: Tool(6.0, "drill", max_ramp_angle=radians(3.0))}, STOCK)),
    "deeper a turn than half the tool": (
        LONG,
        SHORT,
        Job({1: Tool(3.0, max_ramp_angle=radians(20.0))}, STOCK),
    ),
    "faster": (LONG, HEAD + turns(-2, -4, -6, feed=210) + FLOOR + TAIL, JOB),
    "as fast as something else": (
        LONG.replace("G1 X10 Y10", "G1 X10 Y10 F400"),
        (HEAD + turns(-2, -4, -6, feed=400) + FLOOR + TAIL).replace(
            FLOOR, FLOOR.replace("J0", "J0 F200")
        ),
        JOB,
    ),
    "the other way round": (LONG, HEAD + turns(-2, -4, -6, code="G2") + FLOOR + TAIL, JOB),
    "uneven": (LONG, HEAD + turns(-3.5, -4.5, -6) + FLOOR + TAIL, JOB),
    "no floor": (LONG, HEAD + THREE + TAIL, JOB),
    "no floor in both": (HEAD + TWELVE + TAIL, HEAD + THREE + TAIL, JOB),
    "half a floor in both": (
        HEAD + TWELVE + "G3 X1 Y10 I-9 J0\n" + TAIL,
        HEAD + THREE + "G3 X1 Y10 I-9 J0\n" + TAIL,
        JOB,
    ),
    "deeper": (LONG, HEAD + turns(-2, -4, -6.01) + FLOOR + TAIL, JOB),
    "not as deep": (LONG, HEAD + turns(-2, -4, -5.99) + FLOOR + TAIL, JOB),
    "another circle": (LONG, SHORT.replace("I-9", "I-9.01").replace("X19", "X19.01"), JOB),
    "straight down": (LONG, HEAD + "G1 Z-6\n" + FLOOR + TAIL, JOB),
    "begun inside the stock": (
        LONG,
        SHORT,
        Job(JOB.tools, Box((-10.0, -10.0, -10.0), (40.0, 40.0, 2.0))),
    ),
    "the second time left out": (
        HEAD + TWELVE + FLOOR + "G0 Z0\n" + TWELVE + FLOOR + TAIL,
        HEAD + THREE + FLOOR + TAIL,
        JOB,
    ),
    "one of two left out": (
        HEAD + TWELVE + FLOOR + "G0 Z0\n" + TWELVE + FLOOR + TAIL,
        HEAD + THREE + FLOOR + "G0 Z0\nG0 Z-6\n" + FLOOR + TAIL,
        JOB,
    ),
    "after the wider pass that it made room for": (
        HEAD + TWELVE + FLOOR + "G1 X20\nG3 X20 I-10\nG1 X19\n" + TAIL,
        HEAD + "G1 X20\nG1 Z-6\nG3 X20 I-10\nG1 Z0\nG1 X19\n" + THREE + FLOOR + TAIL,
        JOB,
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_faults_of_a_shortened_helix_are_found(name: str) -> None:
    before, after, job = FAULTS[name]
    assert before != after
    assert failed(before, after, job)


def test_a_spring_run_stays_a_run_of_its_own() -> None:
    twice = HEAD + TWELVE + FLOOR + "G0 Z0\n" + TWELVE + FLOOR + TAIL
    assert failed(twice, HEAD + THREE + FLOOR + "G0 Z0\n" + THREE + FLOOR + TAIL) == set()


def test_what_passes_leaves_the_same_bore() -> None:
    """Faults planted at random; the judge is a height field that shares no code with the proof."""
    random = Random("helix")
    long, short = (each.replace("G1 X10 Y10\n", "") for each in (LONG, SHORT))  # the core stands
    old = cut(trace(read(long.encode())), STOCK, 3.0)
    passed = 0
    texts = {planted(short, random) for _ in range(80)} - {long, short}
    for text in sorted(texts):
        if failed(long, text):
            continue
        passed += 1
        new = cut(trace(read(text.encode())), STOCK, 3.0)
        assert np.abs(new.height - old.height).max() <= DUST, text
        assert new.by_rapid <= old.by_rapid, text
        assert new.deepest <= 3.0 + DUST, text  # half the tool's diameter
    assert 0 < passed < len(texts) / 2


def test_metal_is_excused_on_the_helix_alone() -> None:
    sides = (Side.of(SourceText.of(each.encode()), KNOWN) for each in (LONG, SHORT))
    pair = Pair(*sides, KNOWN, JOB)
    motion = pair.after.motion
    rows = np.arange(len(motion))
    excused = Helices(pair, ~pair.steady[1]).excuses(rows, motion.end, motion.end[:, 2])
    falls = (motion.kind == Kind.ARC) & (motion.end[:, 2] < motion.start[:, 2])
    assert excused[falls].all()
    floor = motion.kind == Kind.ARC  # the last turn is level
    assert not excused[~floor].any()


def test_a_helix_without_a_floor_does_not_stand_for_one_with_it() -> None:
    half = "G3 X1 Y10 I-9 J0\n"
    for before, after in (
        (LONG, HEAD + THREE + TAIL),
        (LONG, HEAD + THREE + half + TAIL),
        (HEAD + TWELVE + TAIL, SHORT),
        (HEAD + TWELVE + TAIL, HEAD + THREE + TAIL),
    ):
        assert failed(before, after) >= {"cutting path", "entry moves", "metal removed"}


@pytest.mark.parametrize(("off", "held"), [(0.0, True), (0.0009, True), (0.004, False)])
def test_fewer_turns_run_on_the_circle_of_the_original(off: float, *, held: bool) -> None:
    """Arcs of one circle may differ by rounding; those that are new may not stray by it."""
    aside = (
        f"G3 X1 Y10 Z-1 I-9 J0\nG3 X19 Y10 Z-2 I9 J0\nG3 X1 Y10 Z-3 I-9 J0\n"
        f"G3 X{19 - 2 * off:.4f} Y10 Z-4 I{9 - off:.4f} J0\nG3 X1 Y10 Z-5 I-{9 - off:.4f} J0\n"
        "G3 X19 Y10 Z-6 I9 J0\n"
    )
    assert (failed(LONG, HEAD + aside + FLOOR + TAIL) == set()) == held
