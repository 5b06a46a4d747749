"""`gpre predict`: streams, statuses, settings, and the shape of its JSON."""

import io
import json
import sys
from pathlib import Path

import pytest
from command import call

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
ZIGZAG = (
    b"G21 G90 T1 M6\nS1500 M3 F300\nG0 Z5\nG1 Z-1\nG1 X40\nG1 Y4\nG1 X0\nG1 Y8\nG1 X40\nG0 Z5\nM2\n"
)
PROFILE = """
name = "test mill"
[x]
lost_motion = 0.09
[compensation]
by = "controller"
[controller]
tool_change_moves = "none"
"""


@pytest.fixture
def zigzag(tmp_path):
    (tmp_path / "zigzag.ngc").write_bytes(ZIGZAG)
    (tmp_path / "mill.toml").write_text(PROFILE)
    return tmp_path


def predicted(capsys, folder, *more):
    return call(capsys, "predict", folder / "zigzag.ngc", "--mill", folder / "mill.toml", *more)


def test_the_prediction_goes_to_standard_output_and_the_notes_to_the_other(capsys, zigzag):
    (zigzag / "zigzag.job.toml").write_text("[tool.1]\ndiameter = 10\nflutes = 4\n")
    status, out, err = predicted(capsys, zigzag)
    assert status == 0
    lines = out.splitlines()
    assert lines[0].endswith("zigzag.ngc: 11 blocks, 8 moves")
    assert lines[1].startswith("predicted for: test mill")
    # file names may be long
    assert all(len(line) <= 80 or line.endswith((".toml)", "moves")) for line in lines)
    assert "the chip can grow from 0.050 to 0.140 mm" in out
    assert "hand on feed hold" in out
    assert "JOB603" in err
    assert "JOB603" not in out


def test_without_a_profile_it_is_a_guess(capsys, zigzag, monkeypatch):
    monkeypatch.setattr("gpre.mill.profile.default_place", lambda: zigzag / "none.toml")
    status, out, err = call(capsys, "predict", zigzag / "zigzag.ngc")
    assert status == 0
    assert "predicted for: a guess" in out
    assert "MIL508" in err
    shape = json.loads(call(capsys, "predict", zigzag / "zigzag.ngc", "--json")[1])
    assert shape["mill"] is None
    assert [each["code"] for each in shape["findings"]] == ["MIL508"]


def test_tool_and_stock_can_be_named_on_the_command_line(capsys, zigzag):
    more = ("--tool", "1=10", "--stock", "-20,-20,-5,60,28,0")
    status, out, _ = predicted(capsys, zigzag, *more)
    assert status == 0
    assert "from tool, stock box and program" in out
    status, _, err = predicted(capsys, zigzag, "--stock", "1,2,3")
    assert status == 2
    assert "--stock" in err


def test_lengths_on_the_command_line_are_in_the_units_of_the_program(capsys, zigzag):
    (zigzag / "zigzag.ngc").write_bytes(ZIGZAG.replace(b"G21", b"G20"))
    _, out, _ = predicted(capsys, zigzag, "--tool", "1=0.5")
    assert "0.5 in" in out


def test_standard_input_is_read(capsys, zigzag, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(ZIGZAG), encoding="utf-8"))
    status, out, _ = call(capsys, "predict", "-", "--mill", zigzag / "mill.toml", "--json")
    assert status == 0
    assert json.loads(out)["moves"] == 8
    status, _, err = call(capsys, "predict", "-", "--intended", "-")
    assert status == 2
    assert "standard input" in err


def test_errors_in_the_program_give_status_3_and_a_warning(capsys, zigzag):
    (zigzag / "zigzag.ngc").write_bytes(ZIGZAG.replace(b"G1 Y8", b"G2 X1 Y8 I9"))
    status, out, err = predicted(capsys, zigzag)
    assert status == 3
    assert "INT304" in err
    assert "warning: the program has faults" in out
    status, out, _ = predicted(capsys, zigzag, "--json")
    assert status == 3
    assert "faults" in json.loads(out)["warnings"][0]


def test_what_cannot_be_followed_is_left_out_and_said(capsys, zigzag):
    (zigzag / "zigzag.ngc").write_bytes(ZIGZAG.replace(b"G1 Y8", b"GOTO 20"))
    _, out, err = predicted(capsys, zigzag)
    assert "INT329" in err
    assert "predicted up to line 7 only; what follows could not be followed" in out
    assert json.loads(predicted(capsys, zigzag, "--json")[1])["stops_at_line"] == 8


def test_files_that_are_not_there_are_faults(capsys, zigzag):
    assert call(capsys, "predict", zigzag / "none.ngc")[0] == 3
    assert predicted(capsys, zigzag, "--intended", zigzag / "none.ngc")[0] == 3
    assert predicted(capsys, zigzag, "--job", zigzag / "none.toml")[0] == 3


def test_a_program_that_carries_take_ups_is_held_against_the_one_that_is_meant(capsys, zigzag):
    mark = b"(gpre take-up: X0.09 Y0 Z0 mm in the program, controller compensation OFF)\n"
    (zigzag / "new.ngc").write_bytes(mark + ZIGZAG)
    new, profile = zigzag / "new.ngc", zigzag / "mill.toml"
    profile.write_text(PROFILE.replace('"controller"', '"program"'))
    status, out, _ = call(capsys, "predict", new, "--mill", profile)
    assert status == 0
    assert "--intended FILE" in " ".join(out.split())
    assert "\nsizes\n" not in out
    meant = ("--intended", zigzag / "zigzag.ngc")
    status, out, _ = call(capsys, "predict", new, "--mill", profile, *meant)
    assert status == 0
    assert "\nsizes\n" in out
    # a fault in either program counts, and each is shown by its own name
    (zigzag / "zigzag.ngc").write_bytes(ZIGZAG.replace(b"G1 Y8", b"G2 X1 Y8 I9"))
    status, _, err = call(capsys, "predict", new, "--mill", profile, *meant)
    assert status == 3
    assert "zigzag.ngc  line 8 " in err


def test_an_intended_program_without_a_move_is_wrong_usage(zigzag, capsys):
    (zigzag / "none.ngc").write_bytes(b"(nothing is cut)\nM2\n")
    files = zigzag / "zigzag.ngc", "--intended", zigzag / "none.ngc"
    status, out, err = call(capsys, "predict", *files, "--mill", zigzag / "mill.toml")
    assert (status, out) == (2, "")
    assert "makes no move" in err
