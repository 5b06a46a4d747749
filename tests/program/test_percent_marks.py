"""Which blocks lie outside the program; NISTIR 6556, 3.1 and what programs in use hold."""

import pytest

from gpre.program.read import read
from gpre.program.words import BlockFlag


def outside(text: str) -> tuple[str, list[str]]:
    """A letter for each block, `-` outside and `+` inside the program, and the codes found."""
    program = read(text.encode())
    marks = "".join(
        "-" if flag & BlockFlag.OUTSIDE else "+" for flag in program.blocks.flags.tolist()
    )
    return marks, [each.code for each in program.findings]


@pytest.mark.parametrize(
    ("text", "expected", "codes"),
    [
        ("%\nX1\n%", "+++", []),
        ("\n%\nX1\n%\n\n", "-+++-", []),
        ("%\nX1\n%\nX2\nX3", "+++--", ["REA248"]),
        ("%\nX1\n%\nnot a block", "+++-", ["REA248"]),
        ("%\nX1\n%\n(the end)", "+++-", []),
        ("X1\nM30", "++", []),
        ("X1\nM30\n%", "+++", []),
        ("X1\nX2\n%\n", "+++", []),
        ("X1\nM2\n%\nX2", "+++-", ["REA248"]),
        ("O5\nX1\nM99\n%\nX2", "++++-", ["REA248"]),
        ("%\nX1\nM30", "+++", ["REA249"]),
        ("%\n%\nX1\n%", "++++", ["REA247"]),
        ("%\n(title)\nO1000\n%\nX1\n%", "++++++", ["REA247"]),
        ("%\n%", "++", []),
        ("CLAMP RING\n%\nX1\n%", "-+++", ["REA245"]),
        ("O1000\n(title)\n%\nX1\n%", "--+++", ["REA245"]),
        ("CLAMP RING\nT1 D6\n%\nX1\n%", "--+++", ["REA245"]),
        ("G21\n%\nX1\n%", "++++", ["REA246"]),
        ("G21\nCLAMP RING\n%\nX1\n%", "+++++", ["REA246", "REA202"]),
        ("G21\n%\nX1", "+++", ["REA246", "REA249"]),
        ("X1\nM30 %", "++", ["REA242"]),
        ("X1\nM30 %\nX2", "++-", ["REA242", "REA248"]),
        ("%\nX1\nM30 %\nX2", "+++-", ["REA242", "REA248"]),
        ("%O1000\nX1\n%", "+++", ["REA242"]),
        ("%\nX1\n% X2\nX3", "++--", ["REA248"]),
        ("%\nX1\n%\n%\nX2\n%", "+++---", ["REA248"]),
        ("%\nMO6\n%", "+++", ["REA203"]),
        ("%\n#1=5\n%\nX1", "+++-", ["REA248"]),
        ("50% of the feed\nX1", "++", ["REA201"]),
    ],
)
def test_blocks_outside_the_program(text: str, expected: str, codes: list[str]) -> None:
    assert outside(text) == (expected, codes)


def test_nothing_is_said_of_faults_outside_the_program() -> None:
    text = "%\nX1\n%\nMO6\nX1 X1\nG65 P1\nM1 M2 M3 M4 M5\nG96\nE5\nX[1"
    assert outside(text) == ("+++-------", ["REA248"])


def test_a_byte_order_mark_before_the_first_percent() -> None:
    program = read(b"\xef\xbb\xbf%\nX1\n%\nX2\n")
    assert [bool(flag & BlockFlag.OUTSIDE) for flag in program.blocks.flags.tolist()] == [
        False,
        False,
        False,
        True,
    ]
