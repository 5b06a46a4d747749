"""What is in force between the blocks of a program, and what is known of the tool's place there."""

from __future__ import annotations

import numpy as np
import pytest
from known_mill import known_mill

from gpre.editing.editable import Editable, editable_of
from gpre.editing.state_after import Freedom, freedom_after
from gpre.editing.word_edits import g_codes
from gpre.editing.writer import Gap, gap_at
from gpre.mill.job import Box, Job
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.room.clearance import Clearance
from gpre.source.edit import EditSet

X, Y, Z = range(3)


def editable(text: str) -> Editable:
    program = read(text.encode())
    return editable_of(program, trace(program, known_mill().controller))


def clearance(text: str, job: Job | None = None) -> Clearance:
    on = editable(text)
    return Clearance(on.program, on.motion, known_mill(), job or Job())


def test_before_an_offset_the_tool_stands_in_the_old_numbers() -> None:
    found = editable("G21 G90\nG0 X30 Y10 Z5\nG92 X0 Y0\nM8\nX5\nM30\n")
    assert found.position_before(2).tolist() == [30.0, 10.0, 5.0]
    assert found.position_before(3).tolist() == [0.0, 0.0, 5.0]
    assert np.isnan(editable("G92 X3\nG0 X5 Y5\nM30\n").position_before(0)).all()


@pytest.mark.parametrize("end", ["", "\n"])
def test_what_is_put_in_keeps_the_line_ends_of_the_file(end: str) -> None:
    text = "G21 G90\nG0 X1\nX2\nX3" + end
    for block, wanted in ((1, "G21 G90\nG0 X9\nX2\nX3"), (3, "G21 G90\nG0 X1\nX2\nX9")):
        found = editable(text)
        writer = found.writer(block, comments=False)
        writer.rapid((9.0, None, None))
        edit = found.replacement(block, block, writer)
        assert EditSet.of([edit]).apply(found.program.source.data).decode() == wanted + end


def test_the_numbers_before_a_gap_are_the_nearest_however_long_the_program() -> None:
    lines = [f"N{10 * count} G1 X{count}\n" for count in range(1, 200)]
    for block in (1, 63, 64, 65, 66, 130, 198):
        assert gap_at(read("".join(lines).encode()), block) == Gap(10 * block, 10 * block + 10)
    apart = read("".join([lines[0], *["\n"] * 40, *lines[1:]]).encode())
    assert gap_at(apart, 30) == Gap(10, 20)


def test_a_place_is_known_once_the_program_has_stated_it_and_until_it_is_lost() -> None:
    text = "G21 G90\nG0 X1\nY2 Z5\nT2 M6\nG0 X3\nZ5\nG28\nG0 X4\nY4\nZ4\nM30\n"
    found = clearance(text)
    rows = range(len(found.motion))
    blocks = found.motion.block.tolist()
    at = {block: row for row, block in reversed(list(zip(rows, blocks, strict=True)))}
    before = {block: [found.known_before(at[block], axis) for axis in (X, Y, Z)] for block in at}
    assert before[1] == [False, False, False]
    assert before[2] == [True, False, False]
    assert before[4] == [True, True, False]  # another tool has another length
    assert before[5] == [True, True, False]
    assert before[7] == [False, False, False]  # home
    assert before[8] == [True, False, False]
    assert before[9] == [True, True, False]
    assert found.stated(at[2], Z)
    assert not found.stated(at[4], Z)
    assert found.stated(at[5], Z)
    assert found.stated(at[9], Z)


def test_in_increments_the_way_counts_until_the_place_is_lost() -> None:
    found = clearance("G21 G91\nG0 X1\nX1\nT2 M6\nX1\nM30\n")
    assert [found.known_before(row, X) for row in range(3)] == [True, True, True]
    assert [found.stated(row, X) for row in range(3)] == [True, True, True]
    assert [found.known_before(row, Z) for row in range(3)] == [True, True, False]
    assert [found.stated(row, Z) for row in range(3)] == [True, True, False]


TWO_SETUPS = (
    "G21 G17 G90\nG0 Z5\nX10 Y10\nG1 Z-1 F100\nX20\nG0 Z8\nX30\nZ5\n"
    "T2 M6\nG0 Z9\nX0 Y0\nG1 Z-2\nG0 Z9\nM30\n"
)


def test_a_height_is_clear_where_the_setup_travels_level_above_all_cuts() -> None:
    found = clearance(TWO_SETUPS)
    assert found.highest_cut == -1.0
    assert found.why_not_level(5.0, 2) == ("", ())
    for height, row in ((4.0, 2), (8.0, 9)):  # the second tool travels at Z9 alone
        reason, needs = found.why_not_level(height, row)
        assert "shows that all is clear" in reason
        assert needs == ("stock",)
    assert found.why_not_level(9.0, 9) == ("", ())
    assert found.why_not_level(4.0) == ("", ())
    assert "cuts at Z-1" in found.why_not_level(-1.0)[0]
    assert "below Z0" in found.why_not_level(-0.5)[0]
    assert "not known" in found.why_not_level(float("nan"))[0]


def test_over_a_known_stock_the_rapid_clearance_is_kept() -> None:
    found = clearance(TWO_SETUPS, Job(stock=Box((0.0, 0.0, -9.0), (50.0, 50.0, 2.0))))
    keep = found.mill.limits.rapid_clearance
    assert "not above the stock" in found.why_not_level(2.0)[0]
    assert "above the stock" in found.why_not_level(2.0 + keep / 2.0)[0]
    assert found.why_not_level(2.0 + keep) == ("", ())
    assert "travels over the part higher" in found.why_not_level(8.0, 9)[0]
    assert found.why_not_level(8.0, 9, aside=False) == ("", ())


@pytest.mark.parametrize(
    ("behind", "z", "xy"),
    [
        ("G0 Z5\nX10 Y20\n", True, True),
        ("G0 X10 Y20 Z5\n", True, True),
        ("G0 X1 Z5\nY20\n", True, True),  # X is stated where the tool stands
        ("G0 Z5\nX10\nY20\n", True, False),  # it moves before Y is stated
        ("G0 Z5\nY20\n", True, False),
        ("G0 Z2\nX10 Y20\n", True, False),  # below the clearance
        ("G0 X10 Y20\nZ5\n", False, False),
        ("G1 Z5\nG0 X10 Y20\n", False, False),
        ("G91 G0 Z5\nX10 Y20\n", False, False),
        ("G0 Z5\nM0\nX10 Y20\n", True, False),
        ("G0 Z5 M8\nX10 Y20\n", False, False),
    ],
)
def test_what_the_blocks_behind_state_themselves(behind: str, z: bool, xy: bool) -> None:
    found = editable("G21 G17 G90\nG0 Z5\nX1 Y1\nG1 Z-1 F100\n" + behind + "G1 Z-1\nM30\n")
    assert freedom_after(found, 3, 3.0) == Freedom(z, xy)


@pytest.mark.parametrize(
    ("block", "free"),
    [
        ("G1 X5", True),
        ("N20 G1 X5 (A COMMENT)", True),
        ("/G1 X5", False),  # can be switched off
        ("/3 G1 X5", False),
        ("G1 X[2+3]", False),
        ("G1 X5 #1=3", False),
        ("G1 X5 $", False),
        ("O5", False),
    ],
)
def test_blocks_that_are_not_plain_words_or_can_be_switched_off_stay(
    block: str, *, free: bool
) -> None:
    found = editable(f"G21 G90\nG1 X1 F100\n{block}\nG1 X6\nM30\n")
    assert (found.why_not_touch(2) == "") == free
    rows = np.flatnonzero(found.motion.block == 2)
    assert found.touchable[rows].tolist() == [free] * len(rows)


def test_the_signs_that_open_and_end_a_program_stay() -> None:
    """And its end, behind which no move follows."""
    found = editable("%\nO12\nG21 G90\nG1 X1 F100\nM30\n%\n")
    assert [at for at in range(6) if found.why_not_touch(at)] == [0, 1, 4, 5]


def test_the_codes_of_a_block_are_told_in_plain_words_and_in_statements() -> None:
    found = editable("G21 G90.1 G1 X1\nG1 G#2 X[1+1] M8\nG61.1 X#1\nM8\n")
    assert [g_codes(found, at) for at in range(4)] == [[210, 901, 10], [10], [611], []]
