"""Traps of the trade: no rapid and no new plunge into metal, no wider cut than before."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import own_count
import own_safety
import own_stock
import pytest
import traps
from other_manners import Written
from own_reading import read_on

from gpre import load_mill
from gpre.driver.rewrite import Rewritten, rewrite
from gpre.source.text import SourceText

MILL = load_mill(Path(__file__).resolve().parents[2] / "samples" / "mill.toml").from_its_start()
TRAPS = {written.name: written for written in traps.all_traps()}
RINGS = [name for name in TRAPS if name.startswith("rings")]


@cache
def done(name: str) -> Rewritten:
    return rewrite(SourceText.of(TRAPS[name].text, name), MILL, TRAPS[name].job)


def chosen(name: str, rewrite_name: str) -> list[str]:
    return [each.summary for each in done(name).plan.chosen if each.rewrite == rewrite_name]


@pytest.mark.parametrize("name", TRAPS)
def test_the_stock_fares_no_worse(name: str) -> None:
    result = done(name)
    assert result.proof.holds
    job = TRAPS[name].job
    old, new = read_on(TRAPS[name].text, MILL), read_on(result.data, MILL)
    assert own_stock.complaints(old, new, job) == []
    assert own_safety.complaints(old, new, job) == []
    assert sum(own_count.in_cut(new)) <= sum(own_count.in_cut(old))


@pytest.mark.parametrize("name", TRAPS)
def test_a_second_run_changes_nothing(name: str) -> None:
    first = done(name)
    again = rewrite(SourceText.of(first.data, name), MILL, TRAPS[name].job)
    assert again.data == first.data


def test_passes_that_end_in_solid_metal_stay() -> None:
    assert chosen("zigzag in solid", "one-way") == []
    reasons = [each.reason for each in done("zigzag in solid").plan.refused]
    assert any("metal" in reason for reason in reasons)


def test_step_overs_that_cut_a_wall_stay_cut() -> None:
    assert chosen("zigzag between walls", "one-way")
    motion = done("zigzag between walls").after.motion
    steps = [
        row
        for row in range(len(motion))
        if motion.kind[row] and abs(motion.end[row, 1] - motion.start[row, 1]) == 4
    ]
    assert [motion.end[row, 0] for row in steps].count(45) == 4


def test_start_of_a_pocket_cut_in_rings_stays() -> None:
    assert [name for name in RINGS if chosen(name, "start-point")] == []


def test_start_in_a_drilled_hole_stays() -> None:
    assert chosen("from a drilled hole", "start-point") == []


def test_nothing_is_put_into_a_slot() -> None:
    assert done("slot there and back").data == TRAPS["slot there and back"].text


def test_holes_below_the_top_of_walls_are_reached_from_above_or_not_at_all() -> None:
    name = "holes by hand in a pocket"
    after = done(name).after.motion
    low = [
        row
        for row in range(len(after))
        if not after.kind[row]
        and min(after.start[row, 2], after.end[row, 2]) < 0
        and abs(after.start[row, :2] - after.end[row, :2]).max() > 0
    ]
    reach = [after.end[row, :2].tolist() for row in low]
    assert all(20 <= x <= 40 and 20 <= y <= 40 for x, y in reach)


def test_nothing_crosses_a_stop() -> None:
    assert chosen("stops between passes", "one-way") == []
    events = [(each.kind, each.value) for each in done("stops between passes").before.motion.events]
    after = [(each.kind, each.value) for each in done("stops between passes").after.motion.events]
    assert events == after


def test_own_stock_finds_planted_faults() -> None:
    written: Written = TRAPS["zigzag in solid"]
    before = read_on(written.text)
    assert own_stock.complaints(before, before, written.job) == []
    planted = [
        (b"G1 Y14\n", b"G0 Y14\n", "rapids"),
        (b"G1 Y14\n", b"G0 Z2\nG0 X30 Y50\nG1 Z-1\nG0 Z2\nG0 X50 Y14\nG1 Z-1\n", "plunges"),
        (b"G1 Z-1 F60", b"G1 Z-1.5 F60", "plunge"),
        (b"G1 Y18\nG1 X50\nG1 Y22\n", b"G1 Y22\n", "cells"),
        (b"G1 Y14\nG1 X10\n", b"G1 Y18\nG1 X10\nG1 X50\nG1 Y14\nG1 X10\n", "full width"),
    ]
    for old, new, word in planted:
        assert old in written.text, old
        after = read_on(written.text.replace(old, new, 1))
        said = own_stock.complaints(before, after, written.job)
        assert any(word in each for each in said), (word, said)
