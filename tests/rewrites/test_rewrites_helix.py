"""The parts of `helix`: what is a bore and what a thread, and how its blocks are written."""

from math import pi, radians

import numpy as np
import pytest
from known_mill import known_mill

from gpre.cuts.helices import find_helices, like_a_thread, pitches
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Job, Tool
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\nG0 Z5\nX10 Y10\nG0 Z0.5\nG1 Z0 F100\nX19 F200\n"
TAIL = "G1 X10 Y10\nG0 Z5\nM30\n"
FLOOR = "G3 X19 Y10 I-9 J0\n"
JOB = Job({1: Tool(6.0, max_ramp_angle=radians(3.0))})


def turns(*depths: float, x: float = 19.0) -> str:
    return "".join(f"G3 X{x:g} Y10 Z{depth:g} I{10 - x:g} J0\n" for depth in depths)


BORE = HEAD + turns(-0.5, -1, -1.5, -2) + FLOOR + TAIL


def run(text: str, job: Job = JOB) -> Rewritten:
    result = rewrite(SourceText.of(text.encode()), known_mill(), job, Options(only=("helix",)))
    assert result.proof.holds
    return result


def test_a_helix_and_its_floor_are_found() -> None:
    motion = trace(read(BORE.encode()))
    (found,) = find_helices(motion)
    assert (found.last - found.first, found.floor - found.last, found.way) == (4, 1, 1)
    assert found.turn == pytest.approx(8 * pi)
    assert found.radius == 9.0
    assert found.full_floor
    assert pitches(motion, found) == pytest.approx(np.full(4, 0.5))


def test_an_event_another_circle_or_another_way_round_ends_a_helix() -> None:
    for part in ("M8\n", "G4 P1\n", "G0 Z0\n", "G1 X19.5\nG1 X19\n"):
        text = BORE.replace("G3 X19 Y10 Z-1.5", f"{part}G3 X19 Y10 Z-1.5")
        first = find_helices(trace(read(text.encode())))[0]
        assert not first.full_floor
    motion = trace(read((HEAD + turns(-1) + "G2 X19 Y10 Z-2 I-9 J0\n" + TAIL).encode()))
    assert [each.way for each in find_helices(motion)] == [1, -1]


THREADS = {
    "back up in it": HEAD + turns(-0.5, -1, -1.5, -2) + FLOOR + turns(-1.5, -1) + TAIL,
    "two passes": HEAD.replace("X19 F", "X18.5 F")
    + turns(-0.5, -1, -1.5, -2, x=18.5)
    + "G1 X10\nG0 Z0\nG1 X19\n"
    + turns(-0.5, -1, -1.5, -2)
    + FLOOR
    + TAIL,
}


@pytest.mark.parametrize("name", THREADS)
def test_a_thread_keeps_its_pitch_whatever_ends_it(name: str) -> None:
    text = THREADS[name]
    motion = trace(read(text.encode()))
    every = find_helices(motion)
    (bored,) = (each for each in every if each.full_floor)
    assert like_a_thread(motion, bored, every)
    result = run(text)
    assert not result.changed
    assert any("may be a thread" in each.reason for each in result.plan.refused)
    # and the proof would not let it pass
    (floor,) = (at for at in range(len(text)) if text.startswith(FLOOR, at))
    steep = text[: text.rindex("G3 X19 Y10 Z-0.5", 0, floor)] + turns(-1, -2) + text[floor:]
    found = prove(SourceText.of(text.encode()), SourceText.of(steep.encode()), known_mill(), JOB)
    assert not found.holds


@pytest.mark.parametrize("name", ["up by another tool", "another pitch", "a bore in two passes"])
def test_what_is_no_thread_is_bored_in_fewer_turns(name: str) -> None:
    if name == "up by another tool":
        text = BORE.replace("M30\n", "T2 M6\nG0 Z5\nG0 X19\nG1 Z-1 F50\n") + turns(-0.5) + "M30\n"
    elif name == "another pitch":
        text = THREADS["two passes"].replace(turns(-0.5, -1, -1.5, -2, x=18.5), turns(-2, x=18.5))
    else:
        last = "G3 X18.5 Y10 I-8.5 J0\nG1 X10\nG0 Z0\n"
        text = THREADS["two passes"].replace("G1 X10\nG0 Z0\n", last)
    assert run(text).changed


@pytest.mark.parametrize(
    ("tool", "pitch"),
    [
        (Tool(6.0, max_ramp_angle=radians(3.0)), 2.0),
        (Tool(6.0, max_ramp_angle=radians(1.2)), 1.0),
        (Tool(2.0, max_ramp_angle=radians(3.0)), 1.0),  # half the diameter
        (Tool(6.0, max_ramp_angle=radians(0.6)), 0.5),  # as steep as it may be already
        (Tool(6.0, "ball", max_ramp_angle=radians(3.0)), 2.0),
        (Tool(6.0, "vee", max_ramp_angle=radians(3.0)), 0.5),
        (Tool(6.0), 0.5),
    ],
)
def test_a_turn_is_no_deeper_than_the_tool_may_go(tool: Tool, pitch: float) -> None:
    motion = run(BORE, Job({1: tool})).after.motion
    (found,) = find_helices(motion)
    assert pitches(motion, found).max() == pytest.approx(pitch)


def test_words_of_the_blocks_that_stay_are_kept() -> None:
    numbered = BORE.replace("G3 X19 Y10 Z-0.5", "N100 g03 x19. y10.0 Z-0.50", 1)
    after = run(numbered).data.decode()
    assert "N100 g03 x19. y10.0 Z-2.00 I-9 J0\n" in after


def test_the_feed_is_the_slowest_of_the_turns_and_that_behind_it_stays() -> None:
    text = BORE.replace("Z-1 I-9 J0", "Z-1 I-9 J0 F120").replace("Z-2 I-9 J0", "Z-2 I-9 J0 F300")
    motion = run(text).after.motion
    (found,) = find_helices(motion)
    assert motion.feed[found.first : found.floor].tolist() == [120.0, 300.0]


@pytest.mark.parametrize("block", ["G3 X19 Y10 Z-1 I-9 J0 P2\n", "G3 X19 Y10 Z-2 I-9 J0 P4\n"])
def test_a_block_of_several_turns_stays_among_others_too(block: str) -> None:
    text = HEAD + block + (turns(-1.5, -2) if "P2" in block else "") + FLOOR + TAIL
    result = run(text)
    assert result.data == text.encode()
    assert [each.reason for each in result.plan.refused] == ["a block makes more than one turn"]


def test_a_block_of_several_turns_in_one_bore_says_nothing_of_the_next() -> None:
    second = "X50 Y10\nG0 Z0.5\nG1 Z0 F100\nX59 F200\n" + BORE[len(HEAD) :].replace("X19", "X59")
    text = f"{HEAD}G3 X19 Y10 Z-2 I-9 J0 P4\n{FLOOR}G1 X10 Y10\nG0 Z5\n{second}"
    result = run(text)
    assert [each.reason for each in result.plan.refused] == ["a block makes more than one turn"]
    one, other = find_helices(result.after.motion)
    # 2 mm down at no more than 3 degrees and half the tool's diameter, 3 mm: one turn is enough
    assert (one.turn, other.turn) == pytest.approx((8 * pi, 2 * pi))


def test_a_helix_one_turn_of_which_is_as_steep_as_allowed_stays() -> None:
    """Its other turns could go down faster; it is not evened out."""
    job = Job({1: Tool(2.0, max_ramp_angle=radians(3.0))})  # at most 1 mm a turn
    text = HEAD + turns(-1, -1.25, -1.5, -1.75) + FLOOR + TAIL
    assert run(text, job).data == text.encode()
    less = HEAD + turns(-0.9, -1.15, -1.4, -1.65) + FLOOR + TAIL
    (found,) = find_helices(run(less, job).after.motion)
    assert found.turn == pytest.approx(4 * pi)
