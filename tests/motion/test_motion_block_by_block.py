"""Blocks of one text share what was found of them, and still run each in its own place."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from motion_checks import assert_same, codes, ends, run, slow
from steps import steps

from gpre.motion.state import State
from gpre.motion.trace import trace
from gpre.program.read import read

OTHER = {int: 7, float: 2.5, bool: True, tuple: (1.0, 2.0, 3.0)}  # by the kind of a part


def test_a_changed_state_is_what_replacing_its_part_makes() -> None:
    state = State(units=20, spindle=300.0, mist=True)
    for each in fields(State):
        value = OTHER[type(getattr(state, each.name))]
        value = not getattr(state, each.name) if isinstance(value, bool) else value
        change: dict[str, Any] = {each.name: value}
        assert repr(state.changed(**change)) == repr(replace(state, **change))
    assert repr(state) == repr(State(units=20, spindle=300.0, mist=True))


def test_blocks_of_one_text_run_in_the_state_of_their_own_place() -> None:
    motion = run("G21 G90 F100\nG1 X1\nX2\nG91\nX2\nG20\nX2\nG90\nX2\nG53 G0 X2\nG1\nX2")
    # 25.4 mm an inch (NISTIR 6556, 2.1.2.10); G53 without a known origin goes nobody knows where
    wanted = [1.0, 2.0, 4.0, 54.8, 50.8, np.nan, 50.8]
    np.testing.assert_allclose([end[0] for end in ends(motion)], wanted)


@pytest.mark.parametrize(
    ("line", "code"),
    [("G1 X5 I3", "INT327"), ("G999", "INT303"), ("G4", "INT314"), ("G0 G1 X1", "INT302")],
)
def test_a_fault_is_found_in_each_block_of_one_text(line: str, code: str) -> None:
    text = "G21 G90 F100\n  " + "\n (again) ".join([line] * 3) + f"\nG0 X3\n{line}\n"
    found = [each.span for each in run(text).findings if each.code == code]
    assert len(found) == 4
    places = [text.encode()[span.start : span.end] for span in found if span]
    assert len(set(places)) == 1
    assert len({span.start for span in found if span}) == 4


def test_a_fault_of_one_block_leaves_the_next_of_its_text_alone() -> None:
    """A move that cannot be run where the mode is not known can be run later."""
    motion = run("G21 G90 F100\nG1 X1\nG80\nX2\nG1\nX2")
    assert codes(motion) == ["INT312"]
    assert [end[0] for end in ends(motion)][-1] == 2.0


MIXED = """G21 G90 G17 F100
G0 X0 Y0 Z5
{}
G81 X1 Y1 Z-2 R1
X2
G80
M3 S100
M98 P1 L3
G20
#1=[#1+1] X#1
@@
G92 X0
T1 M6
M98 P1
M30
O1
G91 G1 X1
G90 Y2
G55
G4 P1
M8
G54
M99
"""


@pytest.mark.parametrize(("longest", "most"), [(0, 2048), (256, 1), (256, 3), (4, 2048)])
def test_how_much_is_kept_changes_nothing(
    monkeypatch: pytest.MonkeyPatch, longest: int, most: int
) -> None:
    text = MIXED.format("X1\nX1 X2\nG999\n?\n#2=1\n" * 9)
    wanted, alone = run(text), slow(text)
    monkeypatch.setattr("gpre.motion.reference.LONGEST_KEPT", longest)
    monkeypatch.setattr("gpre.motion.reference.MOST_KEPT", most)
    for motion in (run(text), slow(text)):
        assert_same(motion, wanted, tolerance=0.0)
        assert motion.events == wanted.events == alone.events
        assert motion.findings == wanted.findings == alone.findings
        assert motion.followed_to == wanted.followed_to


# what is repeated, the blocks that run for each, and the lines of Python that may run for one
COSTS = [
    ("M98 P1", 5, 210),
    ("M98 P1 L3", 13, 210),
    ("G20\nG21", 2, 260),
    ("G20\nG1 X1 F5\nG21\nX0", 4, 290),
    ("#1=[#1+1]\nG0 X#1", 2, 600),
    ("G54\nG55", 2, 470),
    ("G61\nG64", 2, 290),
    ("M8\nM9", 2, 250),
    ("X", 1, 190),
    ("@@", 1, 190),
    ("#1=5", 1, 400),
    ("X#7", 1, 560),
    ("P1", 1, 200),
    ("T1 M6", 1, 230),
]


@pytest.mark.parametrize(("unit", "blocks", "most"), COSTS)
def test_a_block_alone_costs_few_lines_of_python(unit: str, blocks: int, most: int) -> None:
    """Reading and running together, in steps, so that it is the same on every machine."""

    def text(repeats: int) -> bytes:
        head, tail = "G21 G90 F100\nG0 X0\n#1=0\n", "M30\nO1\nG0 X1\nX0\nM99\n"
        return (head + (unit + "\n") * repeats + tail).encode()

    few, many = text(100), text(300)
    trace(read(few))  # what is made once is made
    more = steps(lambda: trace(read(many))) - steps(lambda: trace(read(few)))
    assert more <= most * blocks * 200
