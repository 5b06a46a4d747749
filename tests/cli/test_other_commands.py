"""`gpre diff`, `gpre explain`, the version, and the help pages as they are printed."""

import json
import os
from pathlib import Path

import pytest
from command import call

from gpre import __version__
from gpre.diagnostics.codes import TABLE

PAGES = Path(__file__).parent / "help"
A = b"G21 G90 F300\nG1 X10\nG1 X0\nM2\n"


@pytest.mark.parametrize(
    "command", ["", "count", "predict", "rewrite", "prove", "diff", "job", "explain"]
)
def test_help_pages_are_as_printed_before(capsys, monkeypatch, command):
    """Run with GPRE_UPDATE_HELP=1 to take the pages as they are now."""
    monkeypatch.setenv("COLUMNS", "80")
    status, out, err = call(capsys, *filter(None, [command]), "--help")
    assert (status, err) == (0, "")
    page = PAGES / f"{command or 'gpre'}.txt"
    if os.environ.get("GPRE_UPDATE_HELP") and not os.environ.get("CI"):
        page.write_text(out, encoding="utf-8")
    assert out == page.read_text(encoding="utf-8")
    assert all(len(line) <= 80 for line in out.splitlines())


def test_the_version_is_printed(capsys):
    assert call(capsys, "--version") == (0, f"gpre {__version__}\n", "")


def test_a_command_that_does_not_exist_is_wrong_usage(capsys):
    status, out, err = call(capsys, "cuont")
    assert (status, out) == (2, "")
    assert "cuont" in err


def test_no_command_prints_the_help_page(capsys):
    status, out, err = call(capsys)
    assert status in (0, 2)
    assert "Commands:" in out + err


def test_equal_programs_differ_in_nothing(capsys, tmp_path):
    (tmp_path / "a.ngc").write_bytes(A)
    (tmp_path / "b.ngc").write_bytes(A.replace(b"G1 X10", b"G01 X10.0 (SAME)"))
    status, out, err = call(capsys, "diff", tmp_path / "a.ngc", tmp_path / "b.ngc")
    assert (status, err) == (0, "")
    assert "same motion" in out


def test_different_programs_are_shown_and_have_a_status_of_their_own(capsys, tmp_path):
    (tmp_path / "a.ngc").write_bytes(A)
    (tmp_path / "b.ngc").write_bytes(A.replace(b"G1 X10", b"G1 X12"))
    status, out, _ = call(capsys, "diff", tmp_path / "a.ngc", tmp_path / "b.ngc")
    assert status == 1
    assert "G1 X10" in out
    assert "G1 X12" in out
    status, out, err = call(capsys, "diff", tmp_path / "a.ngc", tmp_path / "b.ngc", "--json")
    assert (status, err) == (1, "")
    assert json.loads(out)["same_motion"] is False


def test_standard_input_cannot_be_both_programs(capsys):
    status, _, err = call(capsys, "diff", "-", "-")
    assert status == 2
    assert "standard input" in err


@pytest.mark.parametrize("code", ["MIL504", "mil504", "[MIL504]"])
def test_a_code_is_explained(capsys, code):
    status, out, err = call(capsys, "explain", code)
    assert (status, err) == (0, "")
    assert out.startswith("MIL504 (fault): a value out of range\n\nWhat\n  The number is")
    assert all(len(line) <= 80 for line in out.splitlines())


def test_every_code_is_explained_and_listed(capsys):
    _, listed, _ = call(capsys, "explain")
    for code, entry in TABLE.items():
        status, out, _ = call(capsys, "explain", code)
        assert status == 0
        assert out.startswith(f"{code} (")
        for head in ("What", "Why", "Example", "Instead"):
            assert f"\n{head}\n" in out
        assert f"{code}  " in listed
        assert entry.title in listed


def test_explanations_come_as_json_too(capsys):
    shape = json.loads(call(capsys, "explain", "MIL504", "--json")[1])
    assert (shape["code"], shape["severity"]) == ("MIL504", "error")
    texts = {"title", "what", "why", "example", "instead"}
    assert set(shape) == {"code", "severity", "controllers_differ", *texts}
    every = json.loads(call(capsys, "explain", "--json")[1])["codes"]
    assert [each["code"] for each in every] == sorted(TABLE)


def test_it_is_said_where_controllers_differ(capsys):
    for code, differ in (("REA236", True), ("SRC104", False)):
        assert ("\nProof\n" in call(capsys, "explain", code)[1]) is differ
        shape = json.loads(call(capsys, "explain", code, "--json")[1])
        assert shape["controllers_differ"] is differ


def test_a_code_that_does_not_exist_gets_the_nearest_ones(capsys):
    status, _, err = call(capsys, "explain", "MIL599")
    assert status == 2
    assert "did you mean MIL5" in err
