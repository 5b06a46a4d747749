"""Each function agrees with its command, on the samples: figures, findings, written bytes."""

from __future__ import annotations

import math

import pytest
from beside_the_command import (
    FAULTY,
    MILL,
    NAMES,
    QUICK,
    SAMPLES,
    SHORT,
    ZIGZAG,
    as_json,
    axes,
    told,
)
from command import call

import gpre


@pytest.mark.parametrize("name", NAMES)
def test_count_is_what_the_command_prints(capsys, name):
    place = str(SAMPLES / f"{name}.ngc")
    shown = told(capsys, "count", place, "--mill", MILL, "--list")
    found = gpre.count(place, mill=MILL)
    assert (found.name, found.blocks, found.moves) == (place, shown["blocks"], shown["moves"])
    assert (found.mill, found.stops_at_line) == (shown["mill"], shown["stops_at_line"])
    assert axes(found.reversals) == shown["axes"]
    assert found.reversals.total == len(found.places) == len(shown["reversals"])
    assert found.reversals.cutting == sum(each.cutting for each in found.places)
    for mine, row in zip(found.places, shown["reversals"], strict=True):
        assert (mine.line, mine.axis, mine.direction) == (
            row["line"],
            row["axis"],
            row["direction"],
        )
        assert (mine.kind, mine.cutting) == (row["kind"], row["cutting"])
        assert list(mine.position) == row["position"]
    assert [as_json(each) for each in found.findings] == shown["findings"]


@pytest.mark.parametrize("name", NAMES)
def test_predict_is_what_the_command_prints(capsys, name):
    place = str(SAMPLES / f"{name}.ngc")
    shown = told(capsys, "predict", place, "--mill", MILL)
    found = gpre.predict(place, mill=str(MILL))
    assert (found.mill, found.job, found.name) == (shown["mill"], shown["job"], place)
    assert found.worst_error == pytest.approx(shown["deviation"]["greatest"], abs=1e-6)
    assert [each.line for each in found.worst] == [e["line"] for e in shown["deviation"]["worst"]]
    for mine, row in zip(found.cuts, shown["features"], strict=True):
        assert (mine.first_line, mine.last_line) == (row["first_line"], row["last_line"])
        assert (mine.shape, mine.tool, mine.worst_line) == (
            *(row["shape"], row["tool"], row["worst_line"]),
        )
        assert mine.error == pytest.approx(row["deviation"], abs=1e-6)
        assert mine.size_x == (row["size_x"] and pytest.approx(row["size_x"], abs=1e-6))
        assert mine.size_y == (row["size_y"] and pytest.approx(row["size_y"], abs=1e-6))
    assert found.holes_spread == pytest.approx(shown["holes"]["spread"], abs=1e-6)
    assert found.dwell_marks == shown["marks"]["count"]
    assert found.dwelling_seconds == pytest.approx(shown["marks"]["cutting_seconds"], abs=1e-6)
    assert found.take_ups_too_quick == shown["take_ups"]["too_quick"]
    assert found.seconds == pytest.approx(shown["cycle_time"]["total"], abs=1e-3)
    assert found.seconds_lost == pytest.approx(shown["seconds_lost"], abs=1e-3)
    assert list(found.warnings) == shown["warnings"]
    assert [as_json(each) for each in found.findings] == shown["findings"]


@pytest.mark.parametrize("name", SHORT)
def test_rewrite_is_what_the_command_writes_and_prints(capsys, tmp_path, name):
    place, out = str(SAMPLES / f"{name}.ngc"), tmp_path / "new.ngc"
    shown = told(capsys, "rewrite", place, "--mill", MILL, "--output", out)
    done = gpre.rewrite(place, mill=MILL)
    assert done.data == out.read_bytes()
    assert done.text.encode() == done.data
    assert done.original.data == (SAMPLES / f"{name}.ngc").read_bytes()
    assert done.changed is shown["changed"] is (done.data != done.original.data)
    assert (done.mill, done.job, done.more or None) == (shown["mill"], shown["job"], shown["more"])
    assert axes(done.reversals_before) == shown["axes"]["before"]
    assert axes(done.reversals_after) == shown["axes"]["after"]
    for mine, rows in ((done.done, shown["done"]), (done.not_worth_it, shown["not_worth_it"])):
        for each, row in zip(mine, rows, strict=True):
            assert (each.rewrite, each.summary) == (row["rewrite"], row["summary"])
            assert [each.first_line, each.last_line] == row["lines"]
            assert each.reversals_fewer == row["reversals_gained"]
            assert each.longer == pytest.approx(row["longer"], abs=1e-6)
    for each, row in zip(done.skipped, shown["skipped"], strict=True):
        assert (each.rewrite, each.reason) == (row["rewrite"], row["reason"])
        assert ([each.first_line, each.last_line], list(each.needs)) == (row["lines"], row["needs"])
    assert done.proof.holds is shown["proof"]["holds"] is True
    assert [each.name for each in done.proof.obligations] == [
        row["name"] for row in shown["proof"]["obligations"]
    ]
    assert [as_json(each) for each in done.findings] == shown["findings"]


@pytest.mark.parametrize("name", QUICK)
def test_the_seconds_of_a_rewrite_are_those_of_predict(name):
    place = SAMPLES / f"{name}.ngc"
    done = gpre.rewrite(place, mill=MILL)
    job = place.with_suffix(".job.toml")
    named = job if job.exists() else None
    assert done.seconds_before == gpre.predict(place, mill=MILL).seconds
    assert done.seconds_after == gpre.predict(done.data, mill=MILL, job=named).seconds


@pytest.mark.parametrize("name", QUICK)
def test_prove_and_compare_are_what_the_commands_print(capsys, tmp_path, name):
    place, out = str(SAMPLES / f"{name}.ngc"), str(tmp_path / "new.ngc")
    gpre.rewrite(place, mill=MILL).save(out)
    _is_what_prove_prints(capsys, place, out)
    shown = told(capsys, "diff", place, out, "--mill", MILL)
    found = gpre.compare(place, out, mill=MILL)
    assert found.same_motion is shown["same_motion"]
    assert (found.first_difference or None) == shown["first_difference"]
    for mine, row in ((found.before, shown["before"]), (found.after, shown["after"])):
        assert (mine.name, mine.blocks, mine.moves) == (row["file"], row["blocks"], row["moves"])
        assert {
            name: {key: axis[key] for key in ("total", "cutting")}
            for name, axis in axes(mine.reversals).items()
        } == row["axes"]
        assert mine.feed_length == pytest.approx(row["feed_length"], abs=1e-6)
        assert mine.rapid_length == pytest.approx(row["rapid_length"], abs=1e-6)
    apart = shown["cutting_path"]
    for far, row in (
        (found.before_leaves_after, apart["before_leaves_after"]),
        (found.after_leaves_before, apart["after_leaves_before"]),
    ):
        assert (far if math.isfinite(far) else None) == pytest.approx(row["greatest"], abs=1e-9)
    assert {"added": found.moves_added, "gone": found.moves_gone} == shown["moves"]
    for mine, row in zip(found.changed_lines, shown["hunks"], strict=True):
        assert [mine.line_before, list(mine.lines_before)] == list(row["before"].values())
        assert [mine.line_after, list(mine.lines_after)] == list(row["after"].values())


def _is_what_prove_prints(capsys, before, after):
    shown = told(capsys, "prove", before, after, "--mill", MILL)
    found = gpre.prove(before, after, mill=MILL)
    assert (found.before, found.after) == (before, after)
    assert found.holds is found.proof.holds is shown["proved"]
    assert (found.proof.weaker, found.more or None) == (shown["weaker"], shown["more"])
    for mine, row in zip(found.proof.obligations, shown["proof"]["obligations"], strict=True):
        assert (mine.name, mine.verdict, mine.figure) == (
            *(row["name"], row["verdict"], row["figure"]),
        )
        assert (mine.line_before, mine.line_after) == (row["line_before"], row["line_after"])
        if row["value"] is not None:
            assert mine.value == row["value"]
    for mine, row in zip(found.controller, shown["controller"], strict=True):
        assert (mine.name, mine.taken, mine.why) == (row["name"], row["taken"], row["why"])
        assert (mine.key, mine.line_before, mine.line_after) == (
            *(row["key"], row["line_before"], row["line_after"]),
        )
    assert [as_json(each) for each in found.findings] == shown["findings"]
    return found


def test_what_makes_another_part_is_not_proved(capsys, tmp_path):
    before, after = tmp_path / "a.ngc", tmp_path / "b.ngc"
    before.write_bytes(ZIGZAG)
    after.write_bytes(ZIGZAG.replace(b"X10\nX0", b"X11\nX0"))
    found = _is_what_prove_prints(capsys, str(before), str(after))
    assert not found.holds
    assert {each.verdict for each in found.proof.failed} == {"failed"}
    assert "cutting path" in {each.name for each in found.proof.failed}
    assert gpre.compare(before, after).after_leaves_before == pytest.approx(1.0)


def test_a_proof_without_tools_is_the_weaker_one():
    found = gpre.prove(ZIGZAG, ZIGZAG.replace(b"F100", b"F90"))
    assert found.holds
    assert found.proof.weaker
    assert "--tool 0=DIAMETER" in found.more
    job = gpre.Job(tools={0: gpre.Tool(6.0)})
    assert not gpre.prove(ZIGZAG, ZIGZAG.replace(b"F100", b"F90"), job=job).proof.weaker


def test_the_options_of_the_command_are_keyword_arguments(capsys, tmp_path):
    place, out = SAMPLES / "dovetail_shoe.ngc", tmp_path / "new.ngc"
    options = ["--only", "approach", "--no-comments", "--tolerance", "0.003"]
    assert call(capsys, "rewrite", place, "--mill", MILL, "-o", out, *options)[0] == 0
    done = gpre.rewrite(place, mill=MILL, only="approach", comments=False, tolerance=0.003)
    assert done.data == out.read_bytes()
    assert {each.rewrite for each in done.done} == {"approach"}
    others = gpre.rewrite(place, mill=MILL, skip=["approach", "one-way"])
    assert not others.changed
    inches = ZIGZAG.replace(b"G21 ", b"")
    assert {each.code for each in gpre.count(inches).findings} >= {"INT351"}
    places = gpre.count(inches, units="inch").places
    assert max(each.position[0] for each in places) == pytest.approx(254.0)


def test_predict_takes_the_intended_program(tmp_path):
    """A program that carries take-ups has other coordinates than the part."""
    profile = MILL.read_text(encoding="utf-8").replace('by = "controller"', 'by = "program"')
    mill = tmp_path / "mill.toml"
    mill.write_text(profile, encoding="utf-8")
    mark = b"(gpre take-up: X0.09 Y0.06 Z0 mm in the program, controller compensation OFF)\n"
    alone = gpre.predict(mark + ZIGZAG, mill=mill)
    assert (alone.worst_error, alone.worst, alone.cuts, alone.holes_spread) == (None, (), (), None)
    assert any("--intended" in each for each in alone.warnings)
    found = gpre.predict(mark + ZIGZAG, mill=mill, intended=ZIGZAG)
    assert found.worst_error == gpre.predict(ZIGZAG, mill=mill).worst_error
    assert found.worst[0].line == gpre.predict(ZIGZAG, mill=mill).worst[0].line + 1
    with pytest.raises(gpre.GpreError, match="makes no move"):
        gpre.predict(mark + ZIGZAG, mill=mill, intended=b"M2\n")


@pytest.mark.parametrize(
    "ask",
    [
        gpre.count,
        gpre.predict,
        gpre.rewrite,
        lambda program: gpre.prove(program, ZIGZAG),
        lambda program: gpre.prove(ZIGZAG, program),
        lambda program: gpre.compare(ZIGZAG, program),
        lambda program: gpre.compare(program, ZIGZAG),
        lambda program: gpre.predict(ZIGZAG, intended=program),
    ],
)
def test_a_program_with_errors_gives_no_result(ask):
    with pytest.raises(
        gpre.GpreError, match="has faults\nthe program, line 3: the two radii"
    ) as it:
        ask(FAULTY)
    assert it.value.status == 3
    (error,) = (each for each in it.value.findings if each.severity == "error")
    assert (error.code, error.line, error.file) == ("INT304", 3, "the program")
