"""R and the bottom of canned cycles under a Z that is loose: half the backlash lower, both of them.

The screw comes down in minus, so with a backlash b it stands b/2 below the table (the symmetric
convention of the play operator); what the cycle writes is read again and compared with that.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from take_up_bench import MILL, carried, motion_of

from gpre.mill.mill import Axis
from gpre.motion.motion import Motion, Role

BACKLASH = 0.05
LOOSE = replace(MILL, z=Axis(lost_motion=BACKLASH))


def program(*, inch: bool, relative: bool, retract: int) -> str:
    unit, decimals = (25.4, 5) if inch else (1.0, 4)

    def n(value: float) -> str:
        return f"{value / unit:.{decimals}f}"

    head = f"G{20 if inch else 21} G17 G90\nT1 M6\nS3000 M3\nG0 X{n(10)} Y{n(10)}\nG0 Z{n(5)}\n"
    if relative:  # R from where Z stands, the bottom from R; X is the step to the hole
        first = f"G91 G{retract} G81 X{n(10)} R{n(-3)} Z{n(-7)} F{n(100)}\n"
        return f"{head}{first}X{n(10)}\nG90 G80\nG0 Z{n(20)}\nM30\n"
    first = f"G{retract} G83 X{n(10)} Y{n(10)} Z{n(-5)} R{n(2)} Q{n(4)} F{n(100)}\n"
    return f"{head}{first}X{n(20)}\nX{n(30)} Z{n(-6)}\nG80\nG0 Z{n(20)}\nM30\n"


def lower_by_half_the_backlash(old: Motion, new: Motion, *, inch: bool) -> None:
    # half the backlash is rounded up to what is written, and each number to the nearest
    step = 1e-5 * 25.4 if inch else 1e-4
    for role, column in ((Role.DOWN, "end"), (Role.FEED, "end"), (Role.FEED, "start")):
        was, now = (getattr(one, column)[one.role == role, 2] for one in (old, new))
        assert len(was) == len(now) > 1
        lower = was - now - BACKLASH / 2.0
        assert (lower >= -0.51 * step).all()
        assert (lower <= 1.51 * step).all()


@pytest.mark.parametrize("inch", [False, True])
@pytest.mark.parametrize("relative", [False, True])
def test_the_bottom_and_r_are_lower_by_half_the_backlash(*, inch: bool, relative: bool) -> None:
    for retract in (98, 99):
        before = program(inch=inch, relative=relative, retract=retract)
        old, new = motion_of(before, LOOSE), motion_of(carried(before, LOOSE), LOOSE)
        lower_by_half_the_backlash(old, new, inch=inch)
