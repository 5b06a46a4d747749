"""Parts on which the effect of backlash and of rewriting is shown; all invented demo data.

Fittings of a two-person workshop for field telescopes, each with one thing that backlash spoils.
Nothing here is a sample: the programs are there to be measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation, Limits, Mill, Twist
from gpre.motion.controller import Controller

MODES = ("none", "controller", "program")
BACKLASH_X, BACKLASH_Y = 0.09, 0.06  # mm
UNSURE = 0.2  # the true backlash is the profile's, more or less by this share

MILL = Mill(
    name="knee mill",
    x=Axis(lost_motion=BACKLASH_X, uncertainty=UNSURE * BACKLASH_X),
    y=Axis(lost_motion=BACKLASH_Y, uncertainty=UNSURE * BACKLASH_Y),
    z=Axis(lost_motion=0.05, top_speed=800.0, approach=-1, gravity_loaded=True),
    limits=Limits(tolerance=0.002),
    controller=Controller(tool_change_moves="none"),
)
FAR = replace(
    MILL,
    twist=Twist(x=0.0004, pivot=(200.0, 90.0)),
    controller=Controller(origins={1: (300.0, 150.0, -120.0)}, tool_change_moves="none"),
)
_HEAD = """\
%
({title}: INVENTED DEMO PROGRAM)
(DRY RUN ABOVE THE PART, HAND ON FEED HOLD, EYE PROTECTION ON)
G21 G17 G90 G94 G40 G49 G80 G64
G54
T{tool} M6
S{speed} M3
G0 X{x:g} Y{y:g}
G43 H{tool} Z40.
M8
"""
_TAIL = """\
G0 Z40.
M9
M5
G49
M30
%
"""


@dataclass(frozen=True)
class Part:
    """name: as the table has it. what: a few words more. text: the program."""

    name: str
    what: str
    text: bytes
    job: Job
    mill: Mill = MILL

    def on(self, by: str) -> Mill:
        """Return the mill with one of the three ways of taking backlash up."""
        return replace(self.mill, compensation=Compensation(by=by))


def _program(
    title: str, tool: int, speed: int, at: tuple[float, float], blocks: Iterator[str]
) -> bytes:
    head = _HEAD.format(title=title, tool=tool, speed=speed, x=at[0], y=at[1])
    return (head + "".join(f"{block}\n" for block in blocks) + _TAIL).encode()


def _box(*sides: float) -> Box:
    x0, y0, z0, x1, y1, z1 = sides
    return Box((x0, y0, z0), (x1, y1, z1))


def ring_pocket() -> Part:
    """Make a ring between a boss and a wall, both cut conventional."""

    def blocks() -> Iterator[str]:
        yield "G0 Z2."
        yield "(round the boss, down on a helix, and once at depth)"
        yield "G1 Z0.3 F100."
        for depth in ("-0.7", "-1.7", "-2.7", "-3.7"):
            yield f"G3 X7. Y0. Z{depth} I-7. J0. F240."
        yield "G3 X7. Y0. I-7. J0. F300."
        yield "(wall R 12, tool on R 9: arc on, once round, arc off)"
        yield "G2 X9. Y0. I1. J0."
        yield "G2 X9. Y0. I-9. J0."
        yield "G2 X7. Y0. I-1. J0."

    text = _program("RING POCKET IN THE CLAMP RING", 6, 2600, (7.0, 0.0), blocks())
    tool = Tool(6.0, flutes=2, max_ramp_angle=math.radians(3.0))
    job = Job({6: tool}, _box(-20.0, -20.0, -10.0, 20.0, 20.0, 0.0))
    return Part("ring pocket", "two walls, tool on R 7 and R 9", text, job)


def helix_bore() -> Part:
    """Make a bore of 28 mm by twelve turns of a helix; the tool may go down at 4 degrees."""

    def blocks() -> Iterator[str]:
        yield "G0 Z2."
        yield "G1 Z0. F100."
        for turn in range(1, 13):
            feed = " F300." if turn == 1 else ""
            yield f"G2 X9. Y0. Z{-0.5 * turn:g} I-9. J0.{feed}"
        yield "G2 X9. Y0. I-9. J0."
        yield "G2 X5. Y0. I-2. J0."

    text = _program("BORE OF THE DRAW TUBE FLANGE", 7, 1800, (9.0, 0.0), blocks())
    tool = Tool(10.0, flutes=3, max_ramp_angle=math.radians(4.0))
    job = Job({7: tool}, _box(-30.0, -30.0, -6.0, 30.0, 30.0, 0.0))
    return Part("helix bore", "twelve turns and one at depth, R 9", text, job)


def zigzag_face() -> Part:
    """Make a face milled there and back."""

    def blocks() -> Iterator[str]:
        yield "G0 Z5."
        yield "G0 X-12."
        yield "G0 Z1."
        yield "G1 Z-0.5 F150."
        for number in range(6):
            y = 2.0 + 10.0 * number
            if number:
                yield f"G1 Y{y:g}"
            yield f"G1 X{(112.0, -12.0)[number % 2]:g}" + ("" if number else " F350.")

    text = _program("FACE OF THE FOCUSER PLATE", 2, 1500, (-24.0, 2.0), blocks())
    job = Job({2: Tool(16.0, flutes=3)}, _box(0.0, 0.0, -12.0, 100.0, 56.0, 0.0))
    return Part("zigzag face", "six passes there and back", text, job)


def hole_grid() -> Part:
    """Make twenty holes drilled row by row, there and back."""

    def blocks() -> Iterator[str]:
        yield "G0 Z2."
        for row in range(4):
            columns = range(5) if row % 2 == 0 else range(4, -1, -1)
            for column in columns:
                first = "G98 G81 Z-8. R1. F120. " if (row, column) == (0, 0) else ""
                yield f"{first}X{10 + 15 * column:g}. Y{8 + 12 * row:g}."
        yield "G80"

    text = _program("HOLES OF THE FOCUSER PLATE", 3, 3000, (10.0, 8.0), blocks())
    job = Job({3: Tool(4.2, shape="drill")}, _box(0.0, 0.0, -6.0, 80.0, 52.0, 0.0))
    return Part("hole grid", "twenty holes, row by row", text, job)


def rounded_outline() -> Part:
    """Make the outline of a plate with rounded corners, conventional, in three depths."""

    def blocks() -> Iterator[str]:
        yield "G0 Z2."
        yield "G0 Y-10."
        for number, depth in enumerate(("-2", "-4", "-6")):
            if number:
                yield "G0 X24. Y-10."
            yield f"G1 Z{depth}. F100."
            yield "G2 X30. Y-4. I6. J0. F250."
            yield "G1 X52."
            yield "G3 X64. Y8. I0. J12."
            yield "G1 Y32."
            yield "G3 X52. Y44. I-12. J0."
            yield "G1 X8."
            yield "G3 X-4. Y32. I0. J-12."
            yield "G1 Y8."
            yield "G3 X8. Y-4. I12. J0."
            yield "G1 X30."
            yield "G2 X36. Y-10. I0. J-6."
            yield "G0 Z2."

    text = _program("OUTLINE OF THE DOVETAIL SHOE", 5, 2000, (24.0, -25.0), blocks())
    job = Job({5: Tool(8.0, flutes=2)}, _box(-3.0, -3.0, -6.0, 63.0, 43.0, 0.0))
    return Part("rounded outline", "a plate 60 x 40, three depths", text, job)


def wiggly_surface() -> Part:
    """Make a crowned surface whose points lie off it by less than the tolerance."""

    def blocks() -> Iterator[str]:
        yield "G0 Z2."
        noise = _noise(0.0008)
        for number in range(5):
            points = range(31) if number % 2 == 0 else range(30, -1, -1)
            for point in points:
                x = -4.0 + 1.6 * point
                y = 0.75 * number + next(noise)
                z = -3.0 + 2.5 * math.sin(math.pi * min(max(x / 40.0, 0.0), 1.0)) + next(noise)
                feed = " F350." if (number, point) == (0, 0) else ""
                yield f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f}{feed}"

    text = _program("CROWN OF THE KNOB", 9, 2400, (-4.0, 0.0), blocks())
    job = Job({9: Tool(6.0, "ball", flutes=2)}, _box(0.0, -1.0, -12.0, 40.0, 4.0, 0.0))
    return Part("wiggly surface", "five passes, wiggles below the tolerance", text, job)


def _noise(size: float) -> Iterator[float]:
    """Numbers between -size and size from a fixed linear congruential sequence."""
    state = 20_101
    while True:
        state = (1_103_515_245 * state + 12_345) % 2**31
        yield size * (2.0 * state / 2**31 - 1.0)


def far_slot() -> Part:
    """Make a slot open at both ends, one pass a depth, on a table that twists, far from its pivot.

    After each pass the tool lifts out of the chips.
    """

    def blocks() -> Iterator[str]:
        for number in range(4):
            yield "G0 Z2."
            yield f"G0 Z{-1.5 * (number + 1):g}"
            yield f"G1 X{(126, -6)[number % 2]}. F220."

    text = _program("SLOT OF THE TUBE SADDLE", 8, 2200, (-6.0, 20.0), blocks())
    job = Job({8: Tool(8.0, flutes=2)}, _box(0.0, 0.0, -10.0, 120.0, 40.0, 0.0))
    return Part("far slot", "120 mm along X, up to 220 mm from the pivot", text, job, FAR)


PARTS: tuple[Callable[[], Part], ...] = (
    ring_pocket,
    helix_bore,
    zigzag_face,
    hole_grid,
    rounded_outline,
    wiggly_surface,
    far_slot,
)
