"""Random outlines through the rewrites that lift off the part, compared with areas in the plane.

A longer run of the same is made by hand: `python tests/rewrites/test_random_loops.py 300`.
"""

import difflib
import re
import sys
from random import Random

import loop_checker
import loop_maker
import own_count
import own_safety
import pytest
from known_mill import known_mill
from own_reading import read_on

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.mill import Axis, Compensation
from gpre.proof.prove import prove
from gpre.source.text import SourceText

MILL = known_mill(
    x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), compensation=Compensation("controller")
)
BOTH = Options(only=("corner-loop", "lift-over"))


def done(loop: loop_maker.Loop) -> Rewritten:
    return rewrite(SourceText.of(loop.text.encode()), MILL, loop.job, BOTH)


def complaints(loop: loop_maker.Loop, result: Rewritten) -> list[str]:
    old, new = read_on(loop.text, MILL), read_on(result.data, MILL)
    said = loop_checker.complaints(old, new, loop.job, MILL)
    said += own_safety.complaints(old, new, loop.job)
    gained = sum(each.gained for each in result.plan.chosen)
    if sum(own_count.in_cut(new)) != sum(own_count.in_cut(old)) - gained:
        said.append("the turns that were promised gone are not")
    said += [each.reason for each in result.plan.refused if "taken back" in each.reason]
    if done(loop_maker.Loop(loop.kind, result.data.decode(), loop.job)).data != result.data:
        said.append("a second run changes it again")
    return said


@pytest.mark.parametrize("seed", [303, 305, 308, 316, 327])
def test_loops_off_random_outlines_are_safe(seed: int) -> None:
    loop = loop_maker.random_loop(seed)
    result = done(loop)
    assert result.changed
    assert complaints(loop, result) == []


def test_where_no_room_is_known_nothing_is_done() -> None:
    for seed in (300, 302, 307, 317, 323):
        loop = loop_maker.random_loop(seed)
        assert not done(loop).changed, loop.kind


def damaged(lines: list[str], at: int) -> list[tuple[str, list[str]]]:
    """Return what may go wrong in a block: each number off, left out, another code, swapped."""
    line, found = lines[at], []
    for word in re.finditer(r"([XYZIJR])(-?\d*\.?\d+)", line):
        for off in (0.1, -0.1, 1.0, -1.0):
            told = f"{float(word[2]) + off:.4f}".rstrip("0").rstrip(".")
            found.append((word[1], line[: word.start(2)] + told + line[word.end(2) :]))
    found += [
        (one, re.sub(rf"\b{one}\b", other, line))
        for one, other in (("G0", "G1"), ("G1", "G0"), ("G2", "G3"), ("G3", "G2"))
        if re.search(rf"\b{one}\b", line)
    ]
    result = [(what, [*lines[:at], text, *lines[at + 1 :]]) for what, text in found]
    result.append(("left out", [*lines[:at], *lines[at + 1 :]]))
    result.append(("swapped", [*lines[:at], lines[at + 1], line, *lines[at + 2 :]]))
    return result


def dangers(loop: loop_maker.Loop, text: str) -> list[str]:
    """What the checker finds that changes the part or endangers the tool, not only the look."""
    old, new = read_on(loop.text, MILL), read_on(text, MILL)
    said = loop_checker.complaints(old, new, loop.job, MILL)
    only_marks = ("stops at a wall", "go on as it came", "takes up only", "at an angle")
    return [each for each in said if not any(mark in each for mark in only_marks)]


@pytest.mark.parametrize(("seed", "tried"), [(305, 10), (316, 6)])
def test_the_proof_finds_what_is_wrong_with_a_loop(seed: int, tried: int) -> None:
    loop = loop_maker.random_loop(seed)
    result = done(loop)
    was, now = loop.text.splitlines(), result.data.decode().splitlines()
    matcher = difflib.SequenceMatcher(None, was, now, autojunk=False)
    new = [
        at for kind, _, _, a, b in matcher.get_opcodes() if kind != "equal" for at in range(a, b)
    ]
    every = [each for at in new for each in damaged(now, at)]
    found = 0
    for what, lines in Random(seed).sample(every, tried):
        text = "\n".join(lines) + "\n"
        proof = prove(
            SourceText.of(loop.text.encode()), SourceText.of(text.encode()), MILL, loop.job
        )
        found += not proof.holds
        if proof.holds:
            assert dangers(loop, text) == [], what
    assert found > tried / 3


if __name__ == "__main__":
    for number in range(int(sys.argv[1])):
        made = loop_maker.random_loop(number)
        answer = done(made)
        print(number, made.kind, answer.changed, complaints(made, answer))
