"""How far a loop comes down at rapid: 1 mm above the cut or the rapid clearance, the greater."""

from __future__ import annotations

from dataclasses import replace

import pytest
from known_mill import known_mill

from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Axis, Compensation
from gpre.motion.motion import Kind
from gpre.source.text import SourceText

MILL = known_mill(
    x=Axis(lost_motion=0.09), y=Axis(lost_motion=0.06), compensation=Compensation("controller")
)
JOB = Job({1: Tool(6.0)}, Box((-0.5, -0.5, -10.0), (50.5, 40.5, 0.0)))


def outline(depth: float, height: float = 20.0, *, inch: bool = False) -> str:
    """Round a plate of 50 by 40 mm, from a run in beside the stock."""
    unit = 25.4 if inch else 1.0

    def words(**places: float) -> str:
        return " ".join(f"{axis.upper()}{place / unit:.6f}" for axis, place in places.items())

    places = [{"y": 43.0}, {"x": 53.0}, {"y": -3.0}, {"x": -13.0}]
    cuts = "".join(f"G1 {words(**each)} F{300 / unit:.4f}\n" for each in places)
    return (
        f"G{20 if inch else 21} G17 G90 G94\nT1 M6\nS2000 M3\nG0 {words(z=height)}\n"
        f"G0 {words(x=-3, y=-13)}\nG0 {words(z=2)}\nG1 {words(z=depth)} F{100 / unit:.4f}\n{cuts}"
        f"G0 {words(z=height)}\nM5\nM30\n"
    )


def done(text: str, clearance: float = 0.5) -> Rewritten:
    mill = replace(MILL, limits=replace(MILL.limits, rapid_clearance=clearance))
    options = Options(only=("corner-loop",))
    return rewrite(SourceText.of(text.encode()), mill, JOB, options)


def floors(found: Rewritten, height: float) -> set[float]:
    """Where rapids straight down from the loops' height end, but for the program's own."""
    motion = found.after.motion
    down = (motion.kind == Kind.RAPID) & (motion.end[:, 2] < motion.start[:, 2] - 1e-6)
    ends = motion.end[down & (motion.start[:, 2] > height - 1e-6), 2].round(4).tolist()
    assert ends[0] == pytest.approx(2.0)
    return set(ends[1:])


@pytest.mark.parametrize("depth", [-3.0, -0.4, -0.05])
def test_it_ends_a_millimetre_above_the_cut_however_little_that_is(depth: float) -> None:
    found = done(outline(depth))
    assert found.proof.holds
    assert floors(found, 20.0) == {round(depth + 1.0, 4)}


def test_where_a_wall_is_nearer_than_the_clearance_it_ends_above_the_stock() -> None:
    found = done(outline(-0.4), clearance=1.6)
    assert found.proof.holds
    assert floors(found, 20.0) == {1.6}


def test_in_inches_it_is_rounded_up_to_a_hundredth() -> None:
    found = done(outline(-0.508, inch=True))
    assert found.proof.holds
    # 0.04 in is the first hundredth above 1 mm, over Z-0.02
    assert floors(found, 20.0) == {round(0.02 * 25.4, 4)}


@pytest.mark.parametrize(("height", "lifts"), [(1.7, True), (1.5, False)])
def test_a_millimetre_lower_than_the_program_travels_or_not_at_all(
    height: float, *, lifts: bool
) -> None:
    text = outline(-0.4, height).replace("G0 Z2.000000\n", "")
    found = done(text)
    assert bool(found.plan.chosen) == lifts
    if not lifts:
        assert any("too low to come down" in each.reason for each in found.plan.refused)
