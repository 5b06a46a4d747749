"""What a take-up writes, block by block: half the backlash beyond each place.

X has 0.09 mm of backlash and Y 0.06: coordinates are 0.045 and 0.03 beyond the place, in the
direction of travel. Each program is run by the step-by-step mill of the bench as well.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest
from take_up_bench import MILL, carried, reasons, take_up, worst_error

from gpre.mill.mill import Axis

LOOSE = replace(MILL, z=Axis(lost_motion=0.05))
HEAD = "G21 G90 G17\nT1 M6\nS3000 M3\nG0 X0 Y0\nG0 Z5\n"
FIRST = "X-0.135 Y-0.09 (take up backlash)\nX0.045 Y0.03\nG1 Z-1 F100\n"

# what follows the head, and what it becomes
PROGRAMS = {
    "an offset in between, come to in increments": (
        (
            "G1 Z-1 F100\nG1 X10 F300\nG1 X5 Y5\nG0 Z5\nG92 X0 Y0\nG91\nG0 X5\nG90\nG1 Z-1 F100\n"
            "G1 X15 F300\nG1 X8 Y3\nG0 Z5\nG92.1\nG0 X0 Y0\nM30\n"
        ),
        (
            "G0 X-0.135 Y-0.09 (take up backlash)\nG0 X0.045 Y0.03\nG1 Z-1 F100\nG1 X10.045 F300\n"
            "G1 X9.955 F110.2 (take up X, tool stands)\nG1 X4.955 Y5.03 F300\nG0 Z5\n"
            "G0 X5 Y5 (take-up undone)\nG92 X0 Y0\nG91\nG0 X5.045\n"
            "G0 Y0.03 (take up backlash)\nG90\n"
            "G1 Z-1 F100\nG1 X15.045 F300\nG1 X14.955 F110.2 (take up X, tool stands)\n"
            "G1 X7.955 Y3.03 F300\nG0 Z5\nG0 X8 Y3 (take-up undone)\nG92.1\nG0 X0 Y0\nM30\n"
        ),
    ),
    "words in odd places": (
        "G1 Z-1 F100\nN7 G1 (out) X10. (here) F300 ; end\nN8 X+5.50 Y05\nN9 Y0 X 1 0\nG0 Z5\nM30\n",
        (
            f"{FIRST}N7 G1 (out) X10.045 (here) F300 ; end\n"
            "N8 X9.955 F110.2 (take up X, tool stands)\nX5.455 Y5.03 F300\n"
            "N9 X5.545 Y4.97 F132.4 (take up XY, tool stands)\nX10.045 Y-0.03 F300\nG0 Z5\n"
            "X10. Y0 (take-up undone)\nM30\n"
        ),
    ),
    "in increments": (
        (
            "G91\nG1 Z-6 F100\nG1 X10 F300\nX-5\nX-3 Y5\nG0 Z6\nX10 Y-2\nZ-6\nG1 X-4\n"
            "Y3 X5\nG0 Z6\nG90\nM30\n"
        ),
        (
            "X-0.135 Y-0.09 (take up backlash)\nX0.045 Y0.03\nG91\nG1 Z-6 F100\nG1 X10 F300\n"
            "X-0.09 F110.2 (take up X, tool stands)\nX-5 F300\nX-3 Y5\nG0 Z6\nX10.09 Y-2.06\n"
            "X-0.09 Y0.06 (take up backlash)\nZ-6\nG1 X-4\nX0.09 F110.2 (take up X, tool stands)\n"
            "X5 Y3 F300\nG0 Z6\nX-0.045 Y-0.03 (take-up undone)\nG90\nM30\n"
        ),
    ),
    "other words stay in their blocks": (
        "G1 Z-1 F100\nG1 X10 F300 M8\nX5 Y5 M9\nX10 S2000\nG0 Z5\nM30\n",
        (
            f"{FIRST}G1 X10.045 F300 M8\nX9.955 F110.2 M9 (take up X, tool stands)\n"
            "X4.955 Y5.03 F300\nX5.045 F110.2 S2000 (take up X, tool stands)\nX10.045 F300\nG0 Z5\n"
            "X10 Y5 (take-up undone)\nM30\n"
        ),
    ),
    "arcs by centre and by radius": (
        (
            "G1 Z-1 F100\nG1 X10 F300\nG2 X20 Y-10 I0 J-10 (round)\nG3 X30 Y-20 R10 M8\n"
            "G1 Y-15 X29\nM9\nG0 Z5\nM30\n"
        ),
        (
            "G0 X-0.135 Y0.09 (take up backlash)\nG0 X0.045 Y-0.03\nG1 Z-1 F100\nG1 X10.045 F300\n"
            "G2 X20.045 Y-10.03 I0 J-10 (round)\nG3 X29.8777 Y-20.0286 I10 J0 M8\n"
            "G1 X30.045 Y-19.9686 F251 (take up Y)\n"
            "G1 X29.955 Y-19.97 F110.2 (take up X, tool stands)\n"
            "G1 X28.955 Y-14.97 F300\nM9\nG0 Z5\nG0 X29 Y-15 (take-up undone)\nM30\n"
        ),
    ),
}


OUT = "X-0.135 Y-0.09 (take up backlash)\n{0}X0.045 Y0.03\n#1=4\nG1 Z-1 F100\nG1 X10.045 F300\n"
BACK = "{0}X9.955 F110.2 (take up X, tool stands)\n{0}X4.955 Y5.03 F300\nG0 Z5\n"
KEPT = {
    "in increments": (
        "G91\nG0 X[#1+1]\nG0 Y2\nG90\nG1 Z-1 F100\nX20 F300\nG0 Z5\nM30\n",
        (
            "G91\nG0 X[#1+1]\nG0 Y2\nG0 X0.09 (take up backlash)\nG90\nG1 Z-1 F100\nX20.045 F300\n"
            "G0 Z5\n"
            "G0 X20 Y7 (take-up undone)\nM30\n"
        ),
    ),
    "of its own place": (
        "G0 X[#1+8]\nG0 Y2\nG1 Z-1 F100\nX20 F300\nG0 Z5\nM30\n",
        (
            "G0 X[#1+8]\nG0 Y1.97\nG0 X12.045 (take up backlash)\nG1 Z-1 F100\n"
            "X20.045 F300\nG0 Z5\n"
            "G0 X20 Y2 (take-up undone)\nM30\n"
        ),
    ),
    "in the mode in force": (
        "X8\nX[#1+8]\nG1 Z-1 F100\nX20 F300\nG0 Z5\nM30\n",
        (
            "X8.045\nX[#1+8]\nG0 X12.045 (take up backlash)\nG1 Z-1 F100\n"
            "X20.045 F300\nG0 Z5\n"
            "G0 X20 Y5 (take-up undone)\nM30\n"
        ),
    ),
}


@pytest.mark.parametrize("name", KEPT)
def test_a_block_of_an_expression_stays_and_what_follows_knows_where_it_led(name: str) -> None:
    """X comes back from it without the shift, so it is taken up behind it."""
    body, after = KEPT[name]
    before = f"{HEAD}#1=4\nG1 Z-1 F100\nG1 X10 F300\nG1 X5 Y5\nG0 Z5\n{body}"
    found = carried(before)
    wanted = f"{HEAD}{OUT}{BACK}{after}".replace("{0}", "")
    assert found.split("\n", 1)[1].replace("G0 X", "X").replace("G1 X", "X") == (
        wanted.replace("G0 X", "X").replace("G1 X", "X")
    )
    assert worst_error(before, found, (0.09, 0.06, 0.0)) <= 0.002


@pytest.mark.parametrize("name", PROGRAMS)
def test_what_becomes_of_each_block(name: str) -> None:
    body, after = PROGRAMS[name]
    found = carried(HEAD + body)
    assert found.split("\n", 1)[1] == HEAD + after
    assert worst_error(HEAD + body, found, (0.09, 0.06, 0.0)) <= 0.002


def test_a_loose_z_goes_on_from_where_a_cycle_leaves_it() -> None:
    """G98 comes back to where the row began; for the plunge behind it Z is taken up downwards."""
    head = HEAD.replace("X0 Y0", "X10 Y10")
    before = (
        f"{head}G98 G81 X10 Y10 Z-5 R2 F100\nX20\nG80\nG1 Z-1 F100\nX10 F300\nX20\nG0 Z20\nM30\n"
    )
    after = carried(before, LOOSE)
    assert after.split("S3000 M3\n")[1] == (
        "G0 X10.045 Y10.03\nG0 Z5.025\nX9.865 Y9.91 (take up backlash)\nX10.045 Y10.03\n"
        "G98 G81 X10.045 Y10.03 Z-5.025 R1.975 F100\nX20.045\nG0 X19.955 (take up backlash)\n"
        "Z4.975 (take up backlash)\nG80\nG1 Z-1.025 F100\nX9.955 F300\n"
        "X10.045 F110.2 (take up X, tool stands)\nX20.045 F300\nG0 Z20\n"
        "X20 Y10 (take-up undone)\nM30\n"
    )
    assert worst_error(before, after, (0.09, 0.06, 0.05), LOOSE) <= 0.002


def test_what_cannot_be_followed_is_left_alone() -> None:
    cut = "G1 Z-1 F100\nG1 X10 F300\nG1 X5 Y5\nG0 Z5\n"
    called = f"{HEAD}{cut}M98 P7\nM30\nO7\nG0 X30 Y30\nM99\n"
    assert "it calls subprograms" in reasons(called)[0]
    machine = f"{HEAD}{cut}G53 G0 X30\nY10\nG1 Z-1 F100\nG1 Y15 F300\nG1 X33\nG0 Z5\nM30\n"
    stays = take_up(machine)  # where X is not known
    assert "lines 13-14 stay without it" in stays.plan.chosen[0].summary
    assert "G53 G0 X30\nY10\nG1 Z-1 F100\nG1 Y15 F300\nG1 X33\nG0 Z5\nM30" in stays.data.decode()
    on = machine.replace("G1 X33\n", "G1 X33\nG1 X40\n")  # it cuts on where X is known again
    assert any("no move in the air leads to the cut in line 15" in each for each in reasons(on))


def test_where_the_units_change_numbers_are_as_fine_as_inches_need() -> None:
    """A tenth of a thousandth of a millimetre is five decimals of an inch."""
    inches = "G20\nG0 X1 Y1\nG1 Z-.04 F4\nX2 F12\nX1.5 Y1.2\nG0 Z.2\nM30\n"
    before = f"{HEAD}G1 Z-1 F100\nG1 X10 F300\nG0 Z5\n{inches}"
    after = carried(before)
    # half of 0.09 and of 0.06 mm are 0.00177 and 0.00118 in, rounded up to the step
    assert "X2.00178 F12" in after
    assert "X1.49822 Y1.20119" in after
    rounded = hypot(0.00178 * 25.4 - 0.045, 0.00119 * 25.4 - 0.03)
    assert worst_error(before, after, (0.09, 0.06, 0.0)) <= rounded * 1.02
