"""What rewriting gains on the parts of tests/bench/effect.py, and the README's table of it.

The predicted figures are looked at a second time by `own_count`, which shares no code with gpre,
and by the step-by-step mill of take_up_bench, which shares none with the lash model.
"""

from __future__ import annotations

import os
import re
import sys
from functools import cache
from pathlib import Path

import numpy as np
import own_count
import pytest
from own_reading import read_on

from gpre.driver.predicting import predict_program
from gpre.driver.rewrite import rewrite
from gpre.motion.motion import Motion
from gpre.proof.prove import prove
from gpre.source.text import SourceText

TESTS = Path(__file__).resolve().parents[1]
sys.path += [str(TESTS / "bench"), str(TESTS / "rewrites")]

import effect as bench  # noqa: E402
from effect_parts import BACKLASH_X, BACKLASH_Y, MODES, PARTS, UNSURE  # noqa: E402
from take_up_bench import worst_error  # noqa: E402

README = TESTS.parent / "README.md"
NAMES = [make.__name__ for make in PARTS]
TABLE = re.compile(r"^\| part \| backlash taken up by .*?\n(?=\n)", re.MULTILINE | re.DOTALL)
EVERY = [(name, by) for name in NAMES for by in MODES]


@cache
def effect(name: str, by: str) -> bench.Effect:
    part = next(make for make in PARTS if make.__name__ == name)()
    return bench.effect(part, by)


def on_wall(motion: Motion, radius: float) -> np.ndarray:
    """(n,) bool: arcs about zero with this radius."""
    wall: np.ndarray = (motion.sweep != 0.0) & np.isclose(
        np.hypot(motion.start[:, 0], motion.start[:, 1]), radius
    )
    return wall & (np.hypot(motion.centre[:, 0], motion.centre[:, 1]) < 1e-9)


def take_ups_on(result: bench.Effect, which: str, rows: np.ndarray) -> int:
    """How many marks of the controller's take-ups lie on these moves."""
    counted = getattr(result.rewritten, which)
    found = predict_program(counted, result.part.on(result.by), result.part.job)
    return int(rows[found.prediction.marks.row].sum())


@pytest.mark.parametrize(("name", "by"), EVERY)
def test_every_rewritten_program_is_proved_and_rewriting_it_again_changes_nothing(
    name: str, by: str
) -> None:
    found = effect(name, by)
    part, mill = found.part, found.part.on(by)
    # a controller that takes the backlash up reaches the holes from any side
    assert found.rewritten.changed == ((name, by) != ("hole_grid", "controller"))
    after = SourceText.of(found.rewritten.data, "again")
    assert prove(SourceText.of(part.text, part.name), after, mill, part.job).holds
    assert rewrite(after, mill, part.job).data == after.data


@pytest.mark.parametrize(("name", "by"), EVERY)
def test_reversals_are_those_of_the_text_and_never_more_than_before(name: str, by: str) -> None:
    found = effect(name, by)
    mill = found.part.on(by)
    before, after = read_on(found.part.text, mill), read_on(found.rewritten.data, mill)
    assert found.before.in_cut == sum(own_count.in_cut(before))
    assert found.after.in_cut == sum(own_count.in_cut(after))
    assert found.after.in_cut <= found.before.in_cut


@pytest.mark.parametrize(("name", "by"), EVERY)
def test_rewriting_makes_nothing_worse_but_within_the_tolerance(name: str, by: str) -> None:
    found = effect(name, by)
    tolerance = found.part.mill.limits.tolerance
    assert found.after.error <= found.before.error + tolerance
    assert found.after.unsure <= found.before.unsure + tolerance
    assert found.after.spread <= found.before.spread + 1e-9
    # a step that the wiggles of the surface hid may stand for some thousandths of a second
    assert found.after.standing <= found.before.standing + 0.02


@pytest.mark.parametrize("name", NAMES)
def test_before_a_program_carries_its_take_ups_nobody_takes_the_backlash_up(name: str) -> None:
    assert effect(name, "program").before == effect(name, "none").before


def test_ring_pocket_comes_out_true_without_a_stop_in_the_wall() -> None:
    found = effect("ring_pocket", "program")
    assert found.after.marks == 0
    assert found.after.standing == 0.0
    assert found.before.error > BACKLASH_X / 2 - 0.001  # half the backlash, closed form of a circle
    assert found.after.error <= 0.002


def test_ring_pocket_with_the_backlash_a_fifth_off_stays_within_twelve_microns() -> None:
    found = effect("ring_pocket", "program")
    mill = found.part.mill
    assert (mill.x.lost_motion, mill.y.lost_motion) == (0.09, 0.06)
    assert (mill.x.uncertainty, mill.y.uncertainty) == pytest.approx((0.018, 0.012))
    # half of what each axis is off by shows on either side
    assert 0.5 * UNSURE * BACKLASH_X < found.after.unsure <= 0.012
    before, after = found.part.text.decode(), found.rewritten.data.decode()
    for x in (0.8, 1.2):
        for y in (0.8, 1.2):
            assert worst_error(before, after, (x * BACKLASH_X, y * BACKLASH_Y, 0.0)) <= 0.012


def test_helix_bore_keeps_a_third_of_its_take_ups_on_the_wall() -> None:
    found = effect("helix_bore", "controller")
    before, after = found.rewritten.before.motion, found.rewritten.after.motion
    down = on_wall(before, 9.0) & (before.start[:, 2] != before.end[:, 2])
    assert down.sum() == 12
    assert take_ups_on(found, "before", down) == 48
    wall = take_ups_on(found, "before", on_wall(before, 9.0))
    assert wall == 52  # and those of the circle at depth
    assert take_ups_on(found, "after", on_wall(after, 9.0)) <= 16
    assert set(found.rewrites) & {"helix", "lift-over"}
    assert found.after.seconds < found.before.seconds


def test_helix_bore_that_carries_its_take_ups_never_stops_and_loses_no_time() -> None:
    found = effect("helix_bore", "program")
    assert found.after.marks == 0
    assert found.after.standing == 0.0
    assert found.after.error <= 0.002
    assert found.after.seconds <= 1.05 * found.after.without
    assert found.after.seconds <= 1.05 * found.before.without


@pytest.mark.parametrize("name", ["ring_pocket", "helix_bore", "rounded_outline"])
def test_the_table_shows_what_a_mill_walked_step_by_step_makes(name: str) -> None:
    found = effect(name, "program")
    before, after = found.part.text.decode(), found.rewritten.data.decode()
    walked = worst_error(before, after, (BACKLASH_X, BACKLASH_Y, 0.0))
    assert found.after.error == pytest.approx(walked, abs=2e-4)


@pytest.mark.parametrize("name", ["ring_pocket", "helix_bore"])
def test_marks_that_stay_on_a_wall_are_told_with_the_reason(name: str) -> None:
    found = effect(name, "controller")
    assert found.after.marks
    assert any("lift-over: material ahead" in reason for reason in found.reasons)


def test_holes_come_to_lie_as_the_program_has_them_to_one_another() -> None:
    found = effect("hole_grid", "none")
    assert found.before.spread == pytest.approx(BACKLASH_X, abs=1e-6)  # reached from both sides
    assert found.after.spread == pytest.approx(0.0, abs=1e-6)


def test_wiggles_below_the_tolerance_turn_no_axis_any_more() -> None:
    for by in MODES:
        found = effect("wiggly_surface", by)
        assert found.before.in_cut > 100
        # four ends of passes; Z goes up and down the crown five times
        assert found.after.in_cut <= 4 + 10


def test_the_readme_has_the_table_of_the_bench() -> None:
    """Run with GPRE_UPDATE_README=1 to take the table as it is made now."""
    text = README.read_text(encoding="utf-8")
    made = "".join(f"{line}\n" for line in bench.markdown([effect(*each) for each in EVERY]))
    (old,) = TABLE.findall(text)
    now = text.replace(old, made)
    if os.environ.get("GPRE_UPDATE_README") and not os.environ.get("CI"):
        README.write_text(now, encoding="utf-8")
    assert now == text
