"""A program that leaves the table's travel is told of, at the move that goes farthest."""

import numpy as np
import pytest

from gpre.diagnostics.codes import TABLE
from gpre.driver.counting import count
from gpre.driver.rewrite import rewrite
from gpre.mill.mill import Axis, Controller, Mill
from gpre.source.text import SourceText

MILL = Mill(
    x=Axis(lost_motion=0.1, travel=(0.0, 400.0)),
    y=Axis(lost_motion=0.1, travel=(0.0, 180.0)),
    controller=Controller(origins={1: (150.0, 60.0, -120.0)}),
)
TEXT = "G21 G90 G17 G54\nG0 Z5\nG0 X{} Y{}\nG1 Z-1 F100\n{}\nG0 Z5\nG0 X0 Y0\nM30\n"


def told(text: str, mill: Mill = MILL) -> list[tuple[str, str]]:
    found = count(SourceText.of(text.encode()), mill).motion.findings
    lines = text.encode()
    return [
        (each.message, lines[slice(*each.span)].decode())
        for each in found
        if each.span and each.code == "MIL510"
    ]


@pytest.mark.parametrize(
    ("x", "y", "cut", "expected"),
    [
        (250, 120, "G1 X249", []),  # to the very end
        (250.5, 0, "G1 X251", [("X runs 1.000 mm", "G1 X251")]),
        (-151, -61, "G1 X0", [("X runs 1.000 mm", "X-151"), ("Y runs 1.000 mm", "X-151")]),
        # both ends of the arc lie within, its top does not: 60 + 118 + 5 - 180
        (0, 118, "G2 X10 I5 J0", [("Y runs 3.000 mm", "G2 X10")]),
    ],
)
def test_the_farthest_move_is_named(x: float, y: float, cut: str, expected: list) -> None:
    found = told(TEXT.format(x, y, cut))
    assert len(found) == len(expected)
    for (message, line), (said, where) in zip(found, expected, strict=True):
        assert message.startswith(said)
        assert where in line


def test_nothing_is_said_where_origin_or_travel_is_not_known() -> None:
    out = TEXT.format(900, 900, "G1 X901")
    assert told(out.replace("G54", "G55")) == []
    assert told(out, Mill()) == []
    assert "MIL510" in TABLE


def test_a_rewrite_may_reach_as_far_out_as_the_program_and_says_so() -> None:
    """The table's end is the program's own matter; an approach farther out is not made."""
    text = (
        "G21 G90 G17 G54\nT1 M6\nG0 Z5\nG0 X260 Y0\nG0 X0 Y10\nG1 Z-1 F100\nG0 Z5\nX260 Y0\nM30\n"
    )
    result = rewrite(SourceText.of(text.encode()), MILL)
    assert result.changed
    said = next(each for each in result.proof.obligations if each.name == "travel")
    assert said.holds
    assert said.figure.endswith("or where the original leaves it along X")
    assert float(np.nanmax(result.after.motion.end[:, 0])) == 260.0
