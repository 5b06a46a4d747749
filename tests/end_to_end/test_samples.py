"""Each sample and programs in other manners, rewritten from end to end.

What is claimed is looked at a second time by `own_count` and `own_safety`, which read the texts
through the second reading and share no code with gpre.
"""

from __future__ import annotations

import difflib
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import own_count
import own_safety
import pytest
import surface_maker
from other_manners import Written, all_manners, facing, grid_by_hand, kite_contour
from own_paths import moves, samples
from own_reading import read_on
from own_steps import Step

from gpre import load_mill
from gpre.driver.rewrite import Options, Rewritten, rewrite
from gpre.mill.job import Job
from gpre.mill.job_file import find_job
from gpre.mill.mill import Mill
from gpre.proof.prove import prove
from gpre.reversals.find import find_reversals
from gpre.source.text import SourceText

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
NAMES = sorted(path.stem for path in SAMPLES.glob("*.ngc"))
MANNERS = {written.name: written for written in all_manners()}


@cache
def mill() -> Mill:
    return load_mill(SAMPLES / "mill.toml").from_its_start()


def sample(name: str) -> Written:
    path = SAMPLES / f"{name}.ngc"
    return Written(name, path.read_bytes(), find_job(None, str(path)).job)


@cache
def done(name: str) -> Rewritten:
    written = sample(name) if name in NAMES else MANNERS[name]
    return rewrite(SourceText.of(written.text, name), mill(), written.job)


@cache
def steps(name: str, which: str) -> list[Step]:
    """Return what the second reading makes of a program before or after."""
    result = done(name)
    text = result.before.program.source.data if which == "before" else result.data
    return read_on(text, mill())


def again(result: Rewritten, job: Job) -> Rewritten:
    return rewrite(SourceText.of(result.data, "again"), mill(), job)


def job_of(name: str) -> Job:
    return sample(name).job if name in NAMES else MANNERS[name].job


EVERY = [*NAMES, *MANNERS]


@pytest.mark.parametrize("name", EVERY)
def test_rewrite_ends_with_a_proved_program(name: str) -> None:
    result = done(name)
    assert result.proof.holds
    assert result.proof.obligations
    fresh = prove(
        result.before.program.source, SourceText.of(result.data, name), mill(), job_of(name)
    )
    assert fresh.holds  # the proof of the text itself, made anew


@pytest.mark.parametrize("name", EVERY)
def test_second_look_finds_nothing_unsafe(name: str) -> None:
    old, new = steps(name, "before"), steps(name, "after")
    assert own_safety.complaints(old, new, job_of(name)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"G1X84.7970Y46.0853F160.", b"G1X84.7970Y46.0853F170."),  # faster
        (b"N60G1X25.4163Y53.0000", b"N60G1X25.4163Y53.0100"),  # off the path
        (b"N60G1X25.4163Y53.0000", b"N60G0X25.4163Y53.0000"),  # a rapid while cutting
        (b"N95G0Z2.", b"N95G0Z2.\nG0X80.Y10."),  # across the part below the travel plane
        (b"N40G0Z2.", b"N40G0Z-1."),  # a rapid into the metal
        (b"N20S2400M3", b"N20S2000M3"),  # another speed
        (b"N35M8\n", b""),  # dry
    ],
)
def test_second_look_finds_planted_faults(old: bytes, new: bytes) -> None:
    written = sample("tube_saddle")
    assert written.text.count(old) >= 1
    faulty = written.text.replace(old, new, 1)
    before, after = (read_on(text) for text in (written.text, faulty))
    assert own_safety.complaints(before, before, written.job) == []
    assert own_safety.complaints(before, after, written.job) != []
    # and so does the proof
    proof = prove(SourceText.of(written.text, "a"), SourceText.of(faulty, "b"), mill(), written.job)
    assert not proof.holds


@pytest.mark.parametrize("name", EVERY)
def test_never_more_reversals_in_the_cut(name: str) -> None:
    result = done(name)
    before = own_count.in_cut(steps(name, "before"))
    after = own_count.in_cut(steps(name, "after"))
    assert sum(after) <= sum(before)
    assert after[2] <= before[2]
    if result.changed:
        holes = sum(each.holes for each in result.plan.chosen)
        assert sum(after) < sum(before) or holes


@pytest.mark.parametrize("name", EVERY)
def test_reported_counts_are_those_of_the_texts(name: str) -> None:
    result = done(name)
    for counted, which in ((result.before, "before"), (result.after, "after")):
        found = own_count.turns(steps(name, which))
        for axis in range(3):
            reported = int((counted.reversals.axis == axis).sum())
            assert sum(turn.axis == axis for turn in found) == reported
    text = SourceText.of(result.data, name)
    from gpre.driver.counting import count

    recounted = count(text, mill())
    assert len(recounted.reversals) == len(result.after.reversals)
    assert recounted.in_cut == result.after.in_cut


@pytest.mark.parametrize("name", EVERY)
def test_second_run_changes_nothing(name: str) -> None:
    first = done(name)
    second = again(first, job_of(name))
    assert second.data == first.data


@pytest.mark.parametrize("name", EVERY)
def test_blocks_outside_the_plan_stay(name: str) -> None:
    """Every original block that no chosen change is about stands in the output, in order."""
    result = done(name)
    old = result.before.program.text.splitlines(keepends=True)
    new = result.data.splitlines(keepends=True)
    touched = {
        block
        for each in result.plan.chosen
        for block in range(each.first_block, each.last_block + 1)
    }
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False)
    kept = {
        block
        for opcode, first, last, _, _ in matcher.get_opcodes()
        if opcode == "equal"
        for block in range(first, last)
    }
    lost = [block for block in range(len(old)) if block not in kept | touched]
    assert [old[block] for block in lost] == []


@pytest.mark.parametrize("name", EVERY)
def test_output_keeps_the_manner_of_the_program(name: str) -> None:
    result = done(name)
    old, new = result.before.program.text, result.data
    assert (b"\r\n" in new) == (b"\r\n" in old)
    assert new.count(b"\r") == (new.count(b"\n") if b"\r\n" in old else 0)
    assert new.count(b"%") == old.count(b"%")
    fresh = set(new.splitlines()) - set(old.splitlines())
    codes = [line.split(b"(")[0].split(b";")[0] for line in fresh]
    if old.count(b"N") < 5 and not old.startswith(b"%\nN"):
        assert not [line for line in codes if line.lstrip().upper().startswith(b"N")]
    if name == "dovetail_shoe" or ("inch" in name and "g81" in name):
        assert [line for line in codes if line != line.lower()] == []
    if name in ("clamp_ring", "tube_saddle", "knob_rib"):
        assert [line for line in codes if b" " in line.strip()] == []


@pytest.mark.parametrize("name", ["focuser_plate", "knob_rib", "tube_saddle"])
def test_without_comments_there_are_none_new(name: str) -> None:
    written = sample(name)
    result = rewrite(
        SourceText.of(written.text, name), mill(), written.job, Options(comments=False)
    )
    assert result.data.count(b"(") == written.text.count(b"(")
    assert result.proof.holds


# --- what each kind of program must come to ---------------------------------------------------


@pytest.mark.parametrize("along", ["X", "Y"])
@pytest.mark.parametrize("passes", [2, 3, 8, 13])
def test_zigzag_facing_turns_no_more_in_the_cut(passes: int, along: str) -> None:
    written = facing(passes, along=along)
    result = rewrite(SourceText.of(written.text, "facing"), mill(), written.job)
    texts = written.text, result.data
    before, after = (own_count.in_cut(read_on(text, mill()))[:2] for text in texts)
    # the last pass takes what the one before left on the side that is cut already; in the
    # direction of the others it would climb, so it may stay, and with it the turn that leads to it
    assert before != (0, 0)
    assert sum(after) <= 1
    climb = Job(written.job.tools, written.job.stock, "climb")
    asked = rewrite(SourceText.of(written.text, "facing"), mill(), climb)
    assert own_count.in_cut(read_on(asked.data, mill()))[:2] == (0, 0)


@pytest.mark.parametrize("cut", ["climb", "conventional", "as-is"])
def test_zigzag_facing_cut_as_asked(cut: str) -> None:
    written = facing(6)
    job = Job(written.job.tools, written.job.stock, cut)
    result = rewrite(SourceText.of(written.text, "facing"), mill(), job)
    assert result.proof.holds
    # the last pass stays unless climb is asked for: see above
    made = read_on(result.data, mill())
    assert own_count.in_cut(made)[:2] == (int(cut != "climb"), 0)
    motion = result.after.motion
    # every pass but the first and the last has most metal on the side of the greater Y: the tool
    # came from below
    fed = [
        (motion.start[row], motion.end[row])
        for row in range(len(motion))
        if motion.kind[row] and abs(motion.end[row, 0] - motion.start[row, 0]) > 50
    ]
    ways = {float(end[0] - start[0]) > 0 for start, end in fed if 1 < start[1] < 45}
    # going to +X metal at +Y is on the left of the travel: conventional with M3
    assert ways == {cut != "climb"}


def test_facing_without_tool_and_stock_says_what_to_give() -> None:
    written = facing(6)
    result = rewrite(SourceText.of(written.text, "facing"), mill(), Job())
    needs = {need for each in result.plan.refused for need in each.needs}
    assert "stock" in needs
    assert any("4" in need for need in needs)
    assert result.notes


HOLES = ["focuser_plate", "peg_strip", "grid in g81, inch", "grid by hand"]


@pytest.mark.parametrize("name", HOLES)
def test_every_hole_is_reached_from_the_same_side(name: str) -> None:
    before, after = (own_count.holes(steps(name, which)) for which in ("before", "after"))
    assert sorted((round(hole.x, 6), round(hole.y, 6)) for hole in before) == sorted(
        (round(hole.x, 6), round(hole.y, 6)) for hole in after
    )
    assert len({hole.way for hole in before}) > 1  # there was something to do
    for hole in after:
        assert hole.way == (mill().x.approach, mill().y.approach), hole
        for axis in range(2):  # and the backlash is taken up by then
            assert hole.run[axis] > mill().axes[axis].greatest_lost_motion, hole


def test_cycle_in_steps_is_left_alone_with_the_reason_or_done() -> None:
    result = done("grid in g91")
    ways = {hole.way for hole in own_count.holes(steps("grid in g91", "after"))}
    refused = [each for each in result.plan.refused if each.rewrite == "approach"]
    assert ways == {(1, 1)} or (refused and "G91" in refused[0].reason)


def test_holes_are_reached_from_the_side_that_the_mill_asks() -> None:
    other = replace(mill(), x=replace(mill().x, approach=-1))
    written = grid_by_hand()
    result = rewrite(SourceText.of(written.text, "grid"), other, written.job)
    assert {hole.way for hole in own_count.holes(read_on(result.data, other))} == {(-1, 1)}


@pytest.mark.parametrize("radius_form", [False, True])
@pytest.mark.parametrize("lead", [False, True])
def test_closed_contour_turns_once_less_in_the_cut(radius_form: bool, lead: bool) -> None:
    written = kite_contour(radius_form=radius_form, lead=lead)
    result = rewrite(SourceText.of(written.text, "kite"), mill(), written.job)
    before = own_count.in_cut(read_on(written.text, mill()))
    after = own_count.in_cut(read_on(result.data, mill()))
    if not lead:
        assert sum(after) < sum(before)
    assert sum(after) <= sum(before)


def test_tube_saddle_turns_once_less_in_each_round() -> None:
    before, after = (own_count.in_cut(steps("tube_saddle", each)) for each in ("before", "after"))
    assert sum(before) - sum(after) >= 3


def test_knob_rib_is_straightened() -> None:
    before, after = (own_count.in_cut(steps("knob_rib", each)) for each in ("before", "after"))
    assert after[1] <= before[1] // 10
    assert after[2] <= before[2] // 3


def test_mirror_cell_outline_starts_where_it_is_best_already() -> None:
    result = done("mirror_cell")
    assert not [each for each in result.plan.chosen if each.rewrite == "start-point"]


def test_wiggly_wall_loses_its_wiggles() -> None:
    name = "wiggly wall, inch"
    assert own_count.in_cut(steps(name, "before"))[1] > 50
    assert own_count.in_cut(steps(name, "after"))[1] <= 1


def test_parameter_program_is_left_as_it_is_where_it_depends_on_them() -> None:
    result = done("draw_tube_flange")
    old = [line for line in result.before.program.text.splitlines() if b"#" in line]
    new = [line for line in result.data.splitlines() if b"#" in line]
    assert old == new


# --- the samples themselves --------------------------------------------------------------------


def test_surface_is_what_its_maker_prints() -> None:
    assert (SAMPLES / "knob_rib.ngc").read_text() == surface_maker.program()


@pytest.mark.parametrize("name", NAMES)
def test_sample_is_read_without_a_warning(name: str) -> None:
    from gpre.diagnostics.codes import TABLE
    from gpre.diagnostics.diagnostic import Severity

    counted = done(name).before
    findings = (*counted.program.findings, *counted.motion.findings)
    loud = [one for one in findings if TABLE[one.code].severity is not Severity.NOTE]
    assert loud == []
    assert counted.motion.followed_to >= len(counted.program) - 1


@pytest.mark.parametrize("name", NAMES)
def test_sample_is_marked_as_invented(name: str) -> None:
    text = sample(name).text.lower()
    assert b"invented demo program" in text
    assert b"hand on feed hold" in text
    assert f"`{name}.ngc`" in (SAMPLES / "README.md").read_text()


@pytest.mark.parametrize("name", NAMES)
def test_sample_keeps_within_the_travel_of_the_sample_mill(name: str) -> None:
    # of tools without a length, since the profile names none
    told = replace(mill().controller, lengths=dict.fromkeys(range(100), 0.0))
    made = read_on(sample(name).text, replace(mill(), controller=told))
    for row, move in enumerate(moves(made)):
        points = samples(move)
        for axis, each in enumerate(mill().axes):
            if each.travel is not None and row:
                assert np.nanmin(points[:, axis], initial=np.inf) >= each.travel[0]
                assert np.nanmax(points[:, axis], initial=-np.inf) <= each.travel[1]


@pytest.mark.parametrize("name", NAMES)
def test_counts_of_the_samples_agree_with_samples_along_the_path(name: str) -> None:
    motion = done(name).before.motion
    mine = own_count.turns(steps(name, "before"))
    theirs = find_reversals(motion)
    assert sorted((turn.line, turn.axis, turn.way) for turn in mine) == sorted(
        (int(block) + 1, int(axis), int(way))
        for block, axis, way in zip(theirs.block, theirs.axis, theirs.direction, strict=True)
    )
