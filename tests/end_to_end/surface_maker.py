"""Makes samples/knob_rib.ngc: a stretch of surface with the small wiggles that a CAM system leaves.

The wiggles come from a fixed sequence, so the text is the same each time:
`python tests/end_to_end/surface_maker.py > samples/knob_rib.ngc` writes it again.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator

WIGGLE = 0.0008  # mm, greatest distance from the even path; well below a tolerance of 0.002 mm
PASSES = 9
PASS_STEP = 0.75  # mm, from one pass to the next
POINT_STEP = 1.6  # mm, along a pass
POINTS = 43

HEAD = """\
%
(KNOB RIB, FINISHING OF THE CROWN - INVENTED DEMO PROGRAM)
(RIB 60 X 6 X 15 ALUMINIUM, ROUGHED TO 0.3 MM OVER SIZE, HELD IN THE VISE)
(ZERO LEFT FRONT CORNER OF THE RIB, Z0 ITS TOP BEFORE ROUGHING)
(TOOL 9 BALL END MILL 6 MM, 2 FLUTES)
(DRY RUN ABOVE THE PART, HAND ON FEED HOLD, EYE PROTECTION ON)
G21G17G90G94G40G49G80
G54
T9M6
S2400M3
G0X-4.0000Y0.0000
G43H9Z40.0000
M8
G0Z2.0000
"""
TAIL = """\
G0Z40.0000
M9
M5
G49
M30
%
"""


def wiggles() -> Iterator[float]:
    """Numbers between -WIGGLE and WIGGLE from a fixed linear congruential sequence."""
    state = 20_101
    while True:
        state = (1_103_515_245 * state + 12_345) % 2**31
        yield WIGGLE * (2.0 * state / 2**31 - 1.0)


def crown(x: float) -> float:
    """Height of the crown: an arch, flat on top, mm."""
    return min(-3.0 + 3.4 * math.sin(math.pi * min(max(x / 60.0, 0.0), 1.0)), -0.5)


def program() -> str:
    """Return the whole program: passes there and back along X, wiggles in Y and Z."""
    noise = wiggles()
    lines = []
    for number in range(PASSES):
        points = range(POINTS) if number % 2 == 0 else range(POINTS - 1, -1, -1)
        for point in points:
            x = -4.0 + POINT_STEP * point
            y = PASS_STEP * number + next(noise)
            z = crown(x) + next(noise)
            first = "" if lines else "G1"
            feed = "" if lines else "F350.0"
            lines.append(f"{first}X{x:.4f}Y{y:.4f}Z{z:.4f}{feed}\n")
    return HEAD + "".join(lines) + TAIL


if __name__ == "__main__":
    sys.stdout.write(program())
