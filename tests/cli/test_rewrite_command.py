"""`gpre rewrite`: what is written, what is told, and when nothing is written."""

import io
import json
import re
import shutil
import sys
from pathlib import Path

import pytest
from four_holes import HOLES

from gpre.cli.bridge import OWN_FAULT, run
from gpre.cli.main import gpre
from gpre.diagnostics.faults import ProofFault

SAMPLES = Path(__file__).parents[2] / "samples"


def call(capsysbinary, *arguments):
    status = run(gpre, [str(each) for each in arguments])
    out, err = capsysbinary.readouterr()
    return status, out, err.decode()


def in_cut(axes):
    return sum(axes[axis]["cutting"] for axis in "xyz")


def test_a_program_is_rewritten_proved_written_and_told(capsysbinary, holes, tmp_path):
    out = tmp_path / "new.ngc"
    status, told, err = call(capsysbinary, "rewrite", holes, "--output", out)
    assert (status, err) == (0, "")
    text = told.decode()
    assert out.read_bytes() != HOLES
    assert holes.read_bytes() == HOLES
    assert "MIL508" in text
    assert "done\n  approach" in text
    assert "proof: holds" in text
    assert "FAIL" not in text
    assert f"written: {out}, " in text
    assert "hand on feed hold" in text
    longest = max(len(line) for line in text.splitlines() if str(tmp_path) not in line)
    assert longest <= 80
    assert "\x1b" not in text


def test_rewriting_again_changes_nothing(capsysbinary, holes, tmp_path):
    once, twice = tmp_path / "once.ngc", tmp_path / "twice.ngc"
    assert call(capsysbinary, "rewrite", holes, "--output", once)[0] == 0
    status, told, _ = call(capsysbinary, "rewrite", once, "--output", twice)
    assert status == 0
    assert twice.read_bytes() == once.read_bytes()
    assert "the same bytes as the original" in told.decode()


def test_json_has_the_documented_shape(capsysbinary, holes, tmp_path):
    out = tmp_path / "new.ngc"
    status, told, err = call(capsysbinary, "rewrite", holes, "--output", out, "--json")
    assert (status, err) == (0, "")
    result = json.loads(told)
    assert set(result) == {
        *("file", "output", "written", "changed", "blocks", "moves", "axes", "predicted"),
        *("done", "not_worth_it"),
        *("skipped", "proof", "mill", "job", "not_stated", "more", "findings"),
    }
    assert (result["file"], result["output"]) == (str(holes), str(out))
    assert result["written"] is result["changed"] is True
    assert result["blocks"]["before"] == 12
    assert result["blocks"]["after"] == out.read_bytes().count(b"\n")
    assert in_cut(result["axes"]["after"]) <= in_cut(result["axes"]["before"])
    assert sum(each["holes"] for each in result["done"]) > 0
    assert all(1 <= each["lines"][0] <= each["lines"][1] <= 12 for each in result["done"])
    assert result["proof"]["holds"] is True
    assert {
        "name",
        "holds",
        "figure",
        "value",
        "limit",
        "line_before",
        "line_after",
        "looked",
    } == set(result["proof"]["obligations"][0])
    assert [each["code"] for each in result["findings"]] == ["MIL508"]


def test_the_plan_is_printed_and_nothing_written(capsysbinary, holes, tmp_path):
    status, told, _ = call(capsysbinary, "rewrite", holes, "--plan")
    assert status == 0
    assert b"done\n  approach" in told
    table, _, _ = told.partition(b"done\n  approach")
    assert b"lines " in table
    assert b"least possible" in table
    assert b"nothing written: the plan alone was asked for" in told
    out = tmp_path / "new.ngc"
    assert call(capsysbinary, "rewrite", holes, "--plan", "--output", out)[0] == 0
    assert not out.exists()
    status, told, _ = call(capsysbinary, "rewrite", holes, "--plan", "--json")
    result = json.loads(told)
    assert result["written"] is False
    for when, key in (("before", "cutting"), ("after", "cutting_after")):
        every = [*result["cuts"], result["outside_cuts"]]
        sums = {axis: sum(each[key][axis] for each in every) for axis in "xyz"}
        assert sums == {axis: result["axes"][when][axis]["cutting"] for axis in "xyz"}
    told = call(capsysbinary, "rewrite", holes, "--output", out, "--json")[1]
    assert "cuts" not in json.loads(told)
    told = call(capsysbinary, "rewrite", holes, "--output", out)[1]
    assert b"least possible" not in told


def test_standard_input_without_output_goes_to_standard_output(
    capsysbinary, holes, tmp_path, monkeypatch
):
    out = tmp_path / "new.ngc"
    assert call(capsysbinary, "rewrite", holes, "-o", out)[0] == 0
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(HOLES), encoding="utf-8"))
    status, told, err = call(capsysbinary, "rewrite", "-")
    assert status == 0
    assert told == out.read_bytes()
    assert "written: standard output" in err


@pytest.mark.parametrize("json_too", [[], ["--json"]])
def test_standard_output_carries_the_program_and_nothing_else(
    capsysbinary, holes, tmp_path, json_too
):
    out = tmp_path / "new.ngc"
    call(capsysbinary, "rewrite", holes, "--output", out)
    status, told, err = call(capsysbinary, "rewrite", holes, "--output", "-", *json_too)
    assert status == 0
    assert told == out.read_bytes()
    assert ("proof: holds" in err) if not json_too else json.loads(err)["proof"]["holds"]


def test_line_ends_and_other_bytes_go_through_standard_output_unchanged(capsysbinary, tmp_path):
    path = tmp_path / "crlf.ngc"
    data = HOLES.replace(b"\n", b"\r\n").replace(b"M2", b"(FR\xc4SE)\r\nM2")
    path.write_bytes(data)
    status, told, _ = call(capsysbinary, "rewrite", path, "--output", "-")
    assert status == 0
    assert b"(FR\xc4SE)\r\n" in told
    assert told.count(b"\n") == told.count(b"\r\n")


def test_standard_input_is_read(capsysbinary, monkeypatch, holes, tmp_path):
    out, piped = tmp_path / "new.ngc", tmp_path / "piped.ngc"
    call(capsysbinary, "rewrite", holes, "--output", out)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(HOLES), encoding="utf-8"))
    assert call(capsysbinary, "rewrite", "-", "--output", piped)[0] == 0
    assert piped.read_bytes() == out.read_bytes()


def test_names_choose_the_rewrites(capsysbinary, holes):
    def done(*options):
        told = call(capsysbinary, "rewrite", holes, "--plan", "--json", *options)[1]
        return {each["rewrite"] for each in json.loads(told)["done"]}

    assert done() == {"approach"}
    assert done("--only", "approach, straighten") == {"approach"}
    assert done("--only", "straighten") == set()
    assert done("--skip", "approach") == set()
    assert done("--skip", "straighten,one-way") == {"approach"}


@pytest.mark.parametrize(
    ("options", "word"),
    [
        (["--only", "aproach"], "aproach"),
        (["--skip", "aproach"], "aproach"),
        (["--tool", "6"], "--tool 6"),
        (["--stock", "1,2"], "--stock 1,2"),
        (["--tolerance", "0"], "--tolerance 0"),
        (["--tolerance", "nan"], "'nan' is no number"),
        (["--tolerance", "inf"], "'inf' is no number"),
        (["--tolerance", "0.0_1"], "'0.0_1' is no number"),
        (["--tolerance", "\u0660.\u0660\u0661"], "is no number"),
        (["--tolerance", "1e999"], "is no number"),
        (["--tool", "1=\u0665"], "--tool 1=\u0665"),
        (["--tool", "1=1_0"], "--tool 1=1_0"),
        (["--tool", "1=inf"], "--tool 1=inf"),
        (["--tool", "\u0661=5"], "--tool \u0661=5"),
        (["--stock", "0,0,0,1_0,5,5"], "--stock 0,0,0,1_0,5,5"),
        (["--stock", "0,0,0,\u0665,5,5"], "--stock 0,0,0,\u0665,5,5"),
        (["--stock", "nan,0,0,5,5,5"], "--stock nan"),
        (["--only", ""], "--only names no rewrite"),
        (["--skip", " , "], "--skip names no rewrite"),
        (["--mill", ""], "the name of a file is empty"),
        (["--job", ""], "the name of a file is empty"),
        (["--certificate", ""], "the name of a file is empty"),
        (["--output", ""], "the name of a file is empty"),
        (["--output", "  "], "the name of a file is empty"),
        (["--tolerance", "much"], "much"),
        (["--cut", "down"], "down"),
    ],
)
def test_wrong_options_are_named_and_nothing_is_written(
    capsysbinary, holes, tmp_path, options, word
):
    out = tmp_path / "new.ngc"
    status, told, err = call(capsysbinary, "rewrite", holes, "--output", out, *options)
    assert (status, told) == (2, b"")
    assert word in err
    assert not out.exists()


def test_new_blocks_carry_a_comment_unless_told_otherwise(capsysbinary, holes):
    with_comments = call(capsysbinary, "rewrite", holes, "--output", "-")[1]
    without = call(capsysbinary, "rewrite", holes, "--output", "-", "--no-comments")[1]
    assert b"(" in with_comments
    assert b"(" not in without


def sample(tmp_path, name):
    for suffix in (".ngc", ".job.toml"):
        if (SAMPLES / f"{name}{suffix}").exists():
            shutil.copy(SAMPLES / f"{name}{suffix}", tmp_path)
    return tmp_path / f"{name}.ngc"


def test_a_first_user_learns_in_one_line_what_to_name(capsysbinary, tmp_path):
    program = sample(tmp_path, "dovetail_shoe")
    (tmp_path / "dovetail_shoe.job.toml").unlink(missing_ok=True)
    program.write_text(re.sub(r"\(.*?\)|;.*", "", program.read_text()))  # they name its tool
    told = call(capsysbinary, "rewrite", program, "--plan")[1].decode()
    (line,) = [line for line in told.splitlines() if line.startswith("more: name ")]
    assert "--tool 2=DIAMETER --stock XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX" in line
    told = call(capsysbinary, "rewrite", program, "--plan", "--json")[1]
    assert json.loads(told)["more"] == line


def test_the_job_file_beside_the_program_is_taken_and_that_is_said(capsysbinary, tmp_path):
    program = sample(tmp_path, "tube_saddle")
    told = call(capsysbinary, "rewrite", program, "--plan")[1].decode()
    assert "JOB603" in told
    result = json.loads(call(capsysbinary, "rewrite", program, "--plan", "--json")[1])
    assert result["job"] == str(tmp_path / "tube_saddle.job.toml")
    other = tmp_path / "other.toml"
    other.write_text("cut = 'climb'\n")
    told = call(capsysbinary, "rewrite", program, "--plan", "--job", other)[1].decode()
    assert "JOB603" not in told


def test_a_faulty_or_missing_job_file_ends_the_command(capsysbinary, holes, tmp_path):
    job, out = tmp_path / "holes.job.toml", tmp_path / "new.ngc"
    job.write_text("[tool.1]\ndiameter = -3\n")
    status, _, err = call(capsysbinary, "rewrite", holes, "--output", out)
    assert status == 3
    assert "holes.job.toml  line 2 " in err
    assert "diameter = [-3]" in err
    status, _, err = call(capsysbinary, "rewrite", holes, "--output", out, "--job", tmp_path / "no")
    assert status == 3
    assert "FIL001" in err
    assert not out.exists()


@pytest.mark.parametrize("json_too", [[], ["--json"]])
def test_a_program_with_errors_is_told_so_and_nothing_is_written(capsysbinary, tmp_path, json_too):
    path, out = tmp_path / "faulty.ngc", tmp_path / "new.ngc"
    path.write_bytes(HOLES.replace(b"X20\n", b"X20 X21\n"))
    out.write_bytes(b"old")
    status, told, err = call(capsysbinary, "rewrite", path, "--output", out, *json_too)
    assert (status, err) == (3, "")
    assert out.read_bytes() == b"old"
    if json_too:
        result = json.loads(told)
        assert result["written"] is False
        assert any(each["line"] == 6 for each in result["findings"])
    else:
        assert b" line 6 " in told
        assert b"nothing written: the program has faults" in told
    status, told, err = call(capsysbinary, "rewrite", path, "--output", "-", *json_too)
    assert (status, told) == (3, b"")
    assert err


def test_the_output_must_not_be_the_profile_or_the_job_file(capsysbinary, holes, tmp_path):
    mill, job = tmp_path / "mill.toml", tmp_path / "holes.job.toml"
    mill.write_text("")
    job.write_text("")
    for target, word in ((mill, "the mill profile"), (job, "the job file")):
        told = call(capsysbinary, "rewrite", holes, "--output", target, "--mill", mill)
        assert told[0] == 2
        assert word in told[2]
        assert target.read_text() == ""


def test_where_the_proof_fails_nothing_is_written(capsysbinary, holes, tmp_path, monkeypatch):
    def fail(*_):
        raise ProofFault("could not be proved (cutting path: 0.3 mm)", help="nothing was written")

    out = tmp_path / "new.ngc"
    out.write_bytes(b"old")
    monkeypatch.setattr("gpre.driver.course.rewrite", fail)
    status, told, err = call(capsysbinary, "rewrite", holes, "--output", out)
    assert (status, told) == (4, b"")
    assert "could not be proved" in err
    assert out.read_bytes() == b"old"
    status, told, _ = call(capsysbinary, "rewrite", holes, "--output", out, "--json")
    assert status == 4
    assert json.loads(told)["fault"]["status"] == 4


def test_a_fault_of_our_own_leaves_no_file(capsysbinary, holes, tmp_path, monkeypatch):
    def fail(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("gpre.cli.rewriting.render_rewrite", fail)
    out = tmp_path / "new.ngc"
    status, _, err = call(capsysbinary, "rewrite", holes, "--output", out)
    assert status == OWN_FAULT
    assert "no program was written" in err
    assert not out.exists()


def test_options_of_length_are_in_the_units_of_the_program(capsysbinary, holes, monkeypatch):
    seen = []
    import gpre.driver.course as module

    real = module.rewrite
    monkeypatch.setattr(
        module, "rewrite", lambda *args: seen.append(args[2]) or real(*args), raising=True
    )
    options = ["--plan", "--tool", "1=0.25", "--stock", "-1,-1,-1,2,2,0", "--cut", "climb"]
    assert call(capsysbinary, "rewrite", holes, *options)[0] == 0
    assert seen[-1].tools[1].diameter == 0.25
    holes.write_bytes(HOLES.replace(b"G21", b"G20"))
    assert call(capsysbinary, "rewrite", holes, *options)[0] == 0
    assert seen[-1].tools[1].diameter == pytest.approx(6.35)
    assert seen[-1].stock.min == pytest.approx((-25.4, -25.4, -25.4))
    assert seen[-1].cut == "climb"


def test_the_tolerance_reaches_the_rewrites(capsysbinary, tmp_path):
    program = sample(tmp_path, "knob_rib")

    def after(*options):
        told = call(capsysbinary, "rewrite", program, "--plan", "--json", *options)[1]
        return in_cut(json.loads(told)["axes"]["after"])

    assert after("--tolerance", "0.02") < after("--tolerance", "0.000001")


@pytest.mark.parametrize("name", sorted(each.stem for each in SAMPLES.glob("*.ngc")))
def test_every_sample_ends_proved_and_no_worse(capsysbinary, tmp_path, name):
    program, out = sample(tmp_path, name), tmp_path / "new.ngc"
    mill = SAMPLES / "mill.toml"
    status, told, err = call(
        capsysbinary, "rewrite", program, "--output", out, "--mill", mill, "--json"
    )
    assert (status, err) == (0, "")
    result = json.loads(told)
    assert result["proof"]["holds"]
    for axis in "xyz":
        before, after = (result["axes"][when][axis]["cutting"] for when in ("before", "after"))
        assert after <= before
    counted = json.loads(call(capsysbinary, "count", out, "--mill", mill, "--json")[1])
    assert counted["axes"] == result["axes"]["after"]  # what is told is what is in the file
    diffed = call(capsysbinary, "diff", program, out, "--mill", mill, "--json")
    assert diffed[0] in (0, 1)
    assert json.loads(diffed[1])["same_motion"] is (diffed[0] == 0)


def test_what_a_change_brings_is_told_of_itself_alone(capsysbinary, holes):
    """Loops over holes: places reached from one side, no marks, nothing taken up in cuts."""
    told = json.loads(call(capsysbinary, "rewrite", holes, "--plan", "--json")[1])
    assert told["done"]
    for each in told["done"]:
        assert each["rewrite"] == "approach"
        assert each["witness_marks"] == 0
        assert each["holes"] > 0
        assert each["longer"] > 0.0
