"""What comments of programs say of tools, as posts and hands write them; no source."""

import pytest

from gpre.program.tool_comments import tool_comments
from gpre.source.text import SourceText

MM, INCH, PROGRAM = 21, 20, 0


def said(text):
    found = tool_comments(SourceText.of(text.encode()))
    return [(one.number, one.diameter, one.units, one.shape) for one in found]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("(T1 D=6. CR=0. - ZMIN=-4. - FLAT END MILL)\nT1 M6", (1, 6.0, PROGRAM, "flat")),
        ("T3 M6 (6MM BALL)", (3, 6.0, MM, "ball")),
        ("T1 M6 (1/4 EM)", (1, 0.25, INCH, "flat")),
        ("N10 T01 M06 ; dia 8", (1, 8.0, PROGRAM, "flat")),
        ("(6MM END MILL)\nT2 M6", (2, 6.0, MM, "flat")),
        ("T2 M6\n(D 3.175 ENGRAVER 60 DEG)", (2, 3.175, PROGRAM, "vee")),
        ("(TOOL 5 - 10.0 MM CARBIDE END MILL)\nT5M6", (5, 10.0, MM, "flat")),
        ('T4 M6 (T4 H4 D4 - 1/2" FLAT ENDMILL)', (4, 0.5, INCH, "flat")),
        ("(T6 DIA .25 CR .03 BULL)\nT6\nM6", (6, 0.25, PROGRAM, "bull")),
        ("(T7  D=5 DRILL 118DEG)\nT7 M6", (7, 5.0, PROGRAM, "drill")),
        ("(\u00d812 END MILL)\nT9 M06", (9, 12.0, PROGRAM, "flat")),
        ("T1 M6 (ENDMILL 6MM)", (1, 6.0, MM, "flat")),
        ("T1 M6 (6 MM 3 FLUTE CARBIDE END MILL)", (1, 6.0, MM, "flat")),
        ("T6 M6 (D6.0)", (6, 6.0, PROGRAM, "flat")),
        ("t6 m6 (dia. = 6)", (6, 6.0, PROGRAM, "flat")),
        ("T5 M6 (DRILL 0.25 IN)", (5, 0.25, INCH, "drill")),
        ("T5 M6 (0.25 IN TWIST DRILL)", (5, 0.25, INCH, "drill")),
        ("(D=4.2 IN T5)\nT5 M6", (5, 4.2, PROGRAM, "flat")),  # not 4.2 inches
    ],
)
def test_one_diameter_for_one_tool_is_read(text, expected):
    assert said(text) == [expected]


@pytest.mark.parametrize(
    "text",
    [
        "T1 M6",
        "T6 M6 (D6)",  # may be the number of its offset
        "(T1 D=6)\nT2 M6",  # the program does not call it
        "(T1 6MM END MILL T2 8MM DRILL)\nT1 M6\nT2 M6",  # two tools in one comment
        "T1 M6 (6MM OR 8MM END MILL D=8)",
        "(THE WALL STANDS 6MM OFF)\nT1 M6",
        "(POCKET 6MM DEEP, FLAT)\nT1 M6",
        "(6MM DEEP FLAT SLOT)\nT1 M6",
        "(6MM END MILL)\nG0 X1\nT1 M6",  # does not stand beside the tool change
        "G0 X1 (6MM END MILL)\nT1 M6",
        "(T1 6MM LONG)\nT1 M6",
        "T1 M6 (T-SLOT D=12)",
        "T1 M6 (M8 TAP D=8)",
        "T1 M6 (THREAD MILL D=8)",
        "T1 M6 (KNURL 5MM)",
        "(TOP OF STRIP. DRILL 4.2 IN T5)\nT5 M6",  # in that place, of no unit
        "T5 M6 (DRILL 4.2 IN THE COLLET)",
    ],
)
def test_what_is_not_clear_is_not_taken(text):
    assert said(text) == []


def test_corner_and_point_belong_to_the_shapes_that_have_them():
    text = "(T1 D=8 CR=0.5)\n(T2 D=8 CR=0.)\n(T3 D=6 CHAMFER MILL 90 DEG)\nT1 M6\nT2 M6\nT3 M6"
    found = list(tool_comments(SourceText.of(text.encode())))
    assert [(one.shape, one.corner, one.point) for one in found] == [
        ("bull", 0.5, None), ("flat", None, None), ("vee", None, 90.0),
    ]  # fmt: skip
    assert [one.block for one in found] == [0, 1, 2]
