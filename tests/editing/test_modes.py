"""The modes between the moves, compared with the interpreter's at the moves."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.editing.modes import scan_modes
from gpre.motion.controller import Controller
from gpre.motion.trace import trace, trace_from
from gpre.program.read import read


def scan(text: bytes):
    program = read(text)
    return scan_modes(program, trace(program))


def test_modes_stated_alone_are_seen():
    found = scan(b"G21 G90\nG0 X1\nG91\nF200\nG18\nG1 X2\n")
    assert found.before(2).distance == 90
    assert found.before(3).distance == 91
    assert math.isnan(found.before(3).feed)
    assert found.before(4).feed == 200.0
    assert found.before(5).plane == 18
    assert found.before(5).motion == 0
    assert found.after(5).motion == 10


def test_a_feed_counts_in_the_units_of_its_block():
    found = scan(b"G20 F10\nG1 X1\nG21\nX2\n")
    assert found.before(1).feed == 254.0
    assert found.before(3).feed == 254.0


def test_older_codes_for_units():
    assert scan(b"G70\nG0 X1\n").before(1).units == 20
    assert scan(b"G71\nG0 X1\n").before(1).units == 21


def test_codes_of_statements_count_and_computed_ones_are_unsure():
    found = scan(b"G21\n#1=5\nG91 X[#1]\nG0 X1\n")
    assert found.before(3).distance == 91
    assert found.unsure_from == 4
    assert scan(b"G21\n#1=90\nG[#1] X1\nG0 X1\n").unsure_from == 2


def test_a_subprogram_that_leaves_other_modes_is_followed():
    text = b"G21 G90\nG0 X1\nM98 P100\nG0 X2\nM30\nO100\nG91\nX1\nM99\n"
    program = read(text)
    motion = trace(program)
    found = scan_modes(program, motion)
    rows = {int(block): row for row, block in enumerate(motion.block)}
    assert found.agrees(rows[1])
    assert found.agrees(rows[3])
    assert found.before(2).distance == 90
    assert found.after(2).distance == 90  # at the start of the subprogram
    assert found.before(3).distance == 91  # where it comes back


def test_modes_are_read_as_the_blocks_run():
    """Two runs of a subprogram, the second in the units that the first one leaves."""
    main = b"G21 G90 F100\nG1 X1\nM98 P1 L2\nG1 X3\nM30\n"
    text = main + b"O1\nF50\nM98 P2\nM99\nO2\nG1 X2\nG20\nM99\n"
    program = read(text)
    motion = trace(program)
    found = scan_modes(program, motion)
    assert motion.block.tolist() == [1, 10, 10, 3]
    assert all(found.agrees(row) for row in range(4))
    assert found.before(3).units == 20
    assert found.before(3).feed == 50.0 * 25.4
    assert found.before(10).feed == 50.0  # of the first run


@st.composite
def with_calls(draw: st.DrawFn) -> str:
    """A program of up to three subprograms that may call those behind them, some repeatedly."""
    parts = []
    for part in range(4):
        lines = draw(st.lists(blocks, min_size=1, max_size=6))
        for _ in range(draw(st.integers(0, 2))):
            if part < 3:
                number = draw(st.integers(part + 1, 3))
                call = f"M98 P{number}" + draw(st.sampled_from(["", " L1", " L2"]))
                lines.insert(draw(st.integers(0, len(lines))), call)
        head = "G21 F50" if part == 0 else f"O{part}"
        parts.append("\n".join([head, *lines, "M30" if part == 0 else "M99"]))
    return "\n".join(parts) + "\n"


@given(text=with_calls())
def test_the_modes_are_those_of_the_interpreter_through_calls(text: str):
    program = read(text.encode())
    motion = trace(program)
    if any(each.code.startswith("INT30") for each in motion.findings):
        return  # two words of one group
    slow, _ = trace_from(program, Controller(), fast=False)
    assert slow.walked.tolist() == motion.walked.tolist()
    found = scan_modes(program, motion)
    order = found.order
    assert (order.steps[order.of_row] == motion.block).all()
    assert (np.diff(order.of_row) >= 0).all()
    for row in range(len(motion)):
        assert found.agrees(row)
        step = int(order.of_row[row])
        assert found.feeds[step + 1] == pytest.approx(motion.feed[row])


words = st.sampled_from(
    ["G0", "G1", "G90", "G91", "G17", "G18", "G19", "G20", "G21", "G94", "F100", "F20.5", "G98"]
)
blocks = st.lists(words, max_size=3, unique_by=lambda word: word[: 1 + (word[0] == "G")]).flatmap(
    lambda chosen: st.sampled_from(["", " X1", " Y2 Z-1"]).map(lambda axes: " ".join(chosen) + axes)
)


@given(lines=st.lists(blocks, min_size=1, max_size=25))
def test_the_modes_are_those_of_the_interpreter(lines: list[str]):
    program = read(("G21 F50\n" + "\n".join(lines) + "\n").encode())
    motion = trace(program)
    if any(each.code.startswith("INT30") for each in motion.findings):
        return  # two words of one group: an error, nothing is rewritten
    found = scan_modes(program, motion)
    for row in range(len(motion)):
        assert found.agrees(row)
        block = int(motion.block[row])
        assert found.after(block).feed == pytest.approx(motion.feed[row])
