"""The work grows with the text, not faster: counted in steps, not in time."""

import pytest
from steps import steps

from gpre.program.line import LONGEST, scan_line
from gpre.program.read import read

BIG = 20_000
SMALL = BIG // 4


@pytest.mark.parametrize(
    "unit",
    ["(", ")", "()", "((", "(;", "X1", "X", "1 ", "X1 ", "% ", "/", "[", "#", ";", ".", "-", "%/"],
)
def test_one_long_line_is_read_in_steps_that_grow_as_it_does(unit: str) -> None:
    small, big = (unit * (size // len(unit)) for size in (SMALL, BIG))
    assert len(big) < LONGEST
    few = steps(lambda: scan_line(small.encode(), 0, len(small)))
    many = steps(lambda: scan_line(big.encode(), 0, len(big)))
    assert many <= 4.5 * few + 200


@pytest.mark.parametrize(
    "line",
    [
        "X 5 Y6",
        "MO6",
        "#1=5",
        "G1 E5",
        "U1",
        "X1 X2",
        "G96",
        "M1 M2 M3 M4 M5",
        "%",
        "N1234567",
        "G65 P1",
    ],
)
def test_many_odd_lines_are_read_in_steps_that_grow_as_they_do(line: str) -> None:
    read(b"#1=1\n")  # the grammar is made once
    small, big = ((line + "\n").encode() * size for size in (100, 400))
    assert steps(lambda: read(big)) <= 4.5 * steps(lambda: read(small)) + 2000


def test_plain_blocks_cost_no_steps_of_their_own() -> None:
    small, big = (b"G1 X1.5 Y-2 (text)\n/N5 Z3\n" * size for size in (200, 2000))
    assert steps(lambda: read(big)) <= steps(lambda: read(small)) + 50
