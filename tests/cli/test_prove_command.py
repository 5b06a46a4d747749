"""`gpre prove` and the certificates: verdicts, statuses, what is written and what is not."""

import hashlib
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from command import call

from gpre import __version__
from gpre.driver.trial import Trial
from gpre.proof.proof import Obligation, Proof

SAMPLES = Path(__file__).parents[2] / "samples"
# By hand: one slot in two depths, from outside the stock; invented demo program.
SLOT = (
    b"(DOVETAIL TRIAL, INVENTED)\nG21 G17 G90 G94\nT1 M6\nS2000 M3\nG0 X-5 Y10\nG0 Z2\nM8\n"
    b"G1 Z-1 F200\nG1 X65 F300\nG0 Z2\nG0 X-5\nG1 Z-2 F200\nG1 X65 F300\nG0 Z2\nM9\nM5\nM2\n"
)
STOCK = "0,0,-10,60,20,0"
NAMED = ("--tool", "1=6", "--stock", STOCK)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("gpre.mill.profile.default_place", lambda: tmp_path / "none.toml")
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "a.ngc").write_bytes(SLOT)
    (tmp_path / "respelled.ngc").write_bytes(SLOT.lower().replace(b"(", b"(my "))
    (tmp_path / "deeper.ngc").write_bytes(SLOT.replace(b"Z-2", b"Z-2.1"))
    (tmp_path / "faulty.ngc").write_bytes(SLOT.replace(b"X65", b"X6O", 1))
    return tmp_path


def test_a_harmless_edit_is_proved(capsys, folder):
    status, out, err = call(capsys, "prove", "a.ngc", "respelled.ngc", *NAMED)
    assert status == 0
    lines = out.splitlines()
    assert lines[:2] == [
        "before  a.ngc: 17 blocks, 9 moves",
        "after   respelled.ngc: 17 blocks, 9 moves",
    ]
    assert "  differs  comments  " in out
    assert "FAIL" not in out
    assert "\nPROVED: the second program makes the same part" in out
    assert "weaker" not in out
    assert "hand on feed hold" in out
    assert all(len(line) <= 80 for line in lines)
    assert "MIL508" in err


def test_a_harmful_edit_is_shown_in_both_programs(capsys, folder):
    status, out, _ = call(capsys, "prove", "a.ngc", "deeper.ngc", *NAMED)
    assert status == 4
    assert "\nNOT PROVED: " in out
    assert "  FAIL     metal removed" in out
    assert "after    deeper.ngc  line 12\n         G1 Z-2.1 F200\n" in out
    status, out, _ = call(capsys, "prove", "deeper.ngc", "a.ngc", *NAMED)
    assert status == 4
    assert re.search(r"\nbefore   deeper\.ngc  line 1[23]\n +G1 ", out)


def test_without_the_tool_it_says_what_to_name(capsys, folder):
    (folder / "slower.ngc").write_bytes(SLOT.replace(b"F300", b"F250", 1))
    status, out, _ = call(capsys, "prove", "a.ngc", "slower.ngc")
    assert status == 0
    assert "  --       metal removed" in out
    told = " ".join(out.split())
    assert "this is the weaker proof: tool 1 is not named" in told
    assert "--tool 1=DIAMETER" in told
    assert "\nPROVED, of the paths alone: " in out


def test_the_job_file_is_found_beside_either_program(capsys, folder):
    (folder / "respelled.job.toml").write_text("[tool.1]\ndiameter = 6\n")
    status, out, err = call(capsys, "prove", "a.ngc", "respelled.ngc")
    assert status == 0
    assert "JOB603" in err
    assert "weaker" not in out
    shape = json.loads(call(capsys, "prove", "a.ngc", "respelled.ngc", "--json")[1])
    assert shape["job"] == "respelled.job.toml"
    (folder / "a.job.toml").write_text("[tool.1]\ndiameter = 5\n")
    shape = json.loads(call(capsys, "prove", "a.ngc", "respelled.ngc", "--json")[1])
    assert shape["job"] == "a.job.toml"


def test_a_program_with_errors_is_shown_and_not_proved(capsys, folder):
    for pair in (("a.ngc", "faulty.ngc"), ("faulty.ngc", "a.ngc"), ("faulty.ngc", "faulty.ngc")):
        status, out, err = call(capsys, "prove", *pair, *NAMED)
        assert status == 3
        assert "NOT PROVED: a program has faults" in out
        assert "FAULT    faulty.ngc  line 9 " in err
    shape = json.loads(call(capsys, "prove", "faulty.ngc", "faulty.ngc", "--json")[1])
    assert shape["proved"] is False


def test_json_has_the_documented_shape(capsys, folder):
    arguments = ("prove", "a.ngc", "respelled.ngc", *NAMED, "--json")
    status, out, err = call(capsys, *arguments)
    assert (status, err) == (0, "")
    shape = json.loads(out)
    assert set(shape) == {
        *("before", "after", "proved", "weaker", "more", "proof", "controller"),
        *("certificate", "mill", "job", "findings"),
    }
    unknown = shape["before"].pop("not_known")
    data = (folder / "a.ngc").read_bytes()
    assert shape["before"] == {
        "file": "a.ngc",
        "bytes": len(data),
        "sha256": hashlib.sha256(data).hexdigest(),
        "blocks": 17,
        "moves": 9,
        "not_stated": [],
    }
    assert unknown[0] == {
        "axis": "x",
        "since_line": 3,
        "first_line": 5,
        "last_line": 5,
        "reason": "where the tool change leaves the axes is not in the profile",
    }
    assert [each["axis"] for each in unknown] == ["x", "y", "z"]
    assert shape["proved"] is True
    assert (shape["weaker"], shape["more"]) == (False, None)
    assert (shape["certificate"], shape["mill"], shape["job"]) == (None, None, None)
    assert shape["proof"]["holds"] is True
    verdicts = {each["name"]: each["verdict"] for each in shape["proof"]["obligations"]}
    assert verdicts["comments"] == "differs"
    assert verdicts["metal removed"] == "ok"
    assert {"name", "holds", "figure", "value", "limit", "line_before", "line_after"} <= set(
        shape["proof"]["obligations"][0]
    )
    assert [each["name"] for each in shape["controller"]] == ["rounding of corners"]
    assert set(shape["controller"][0]) == {
        *(
            "name",
            "taken",
            "key",
            "from_profile",
            "from_option",
            "why",
            "line_before",
            "line_after",
        ),
    }
    assert [each["code"] for each in shape["findings"]] == ["MIL508"]


def test_json_of_a_failed_proof_is_json_whatever_is_missing(capsys, folder):
    """A figure without a bound (a pass far away is gone) is null."""
    far = SLOT.replace(b"G0 Z2\nG0 X-5\nG1 Z-2", b"G0 Z2\nG0 X-5 Y500\nG1 Z-2")
    (folder / "far.ngc").write_bytes(far)
    status, out, _ = call(capsys, "prove", "a.ngc", "far.ngc", *NAMED, "--json")
    assert status == 4
    shape = json.loads(out)
    assert shape["proved"] is shape["proof"]["holds"] is False
    failed = [each for each in shape["proof"]["obligations"] if each["verdict"] == "failed"]
    assert any(each["line_after"] or each["line_before"] for each in failed)


def test_one_of_the_two_can_be_standard_input(capsys, folder, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SLOT), encoding="utf-8"))
    status, out, _ = call(capsys, "prove", "a.ngc", "-", *NAMED)
    assert status == 0
    assert "all obligations hold: same bytes" in out
    assert "after   standard input: " in out
    assert call(capsys, "prove", "-", "-")[0] == 2


def test_a_program_that_was_rewritten_is_proved_by_prove_too(capsys, folder):
    sample, mill = SAMPLES / "dovetail_shoe.ngc", SAMPLES / "mill.toml"
    made = call(
        capsys, "rewrite", sample, "--mill", mill, "--output", "new.ngc", "--certificate", "r.json"
    )
    assert made[0] == 0
    status, out, _ = call(
        capsys, "prove", sample, "new.ngc", "--mill", mill, "--certificate", "p.json"
    )
    assert status == 0
    assert "differs" not in out
    by_rewrite, by_prove = (
        json.loads(Path(each).read_text(encoding="utf-8")) for each in ("r.json", "p.json")
    )
    by_rewrite.pop("date")
    by_prove.pop("date")
    assert by_rewrite == by_prove


def test_the_certificate_is_written_and_named(capsys, folder):
    status, out, _ = call(
        capsys, "prove", "a.ngc", "respelled.ngc", *NAMED, "--certificate", "slot.txt"
    )
    assert status == 0
    assert "certificate: slot.txt\n" in out
    text = Path("slot.txt").read_text(encoding="utf-8")
    assert text.startswith("CERTIFICATE: PROVED\n")
    assert all(len(line) <= 80 for line in text.splitlines())
    for name in ("a.ngc", "respelled.ngc"):
        data = Path(name).read_bytes()
        assert hashlib.sha256(data).hexdigest() in text
        assert f"{len(data)} bytes" in text
    assert f"gpre  {__version__}\n" in text
    assert "none: guessed values" in text
    assert "tool 1: flat, 6 mm" in text
    assert "stock: from X0 Y0 Z-10 to X60 Y20 Z0 mm" in text


def test_two_certificates_differ_in_their_date_alone(capsys, folder, monkeypatch):
    """Nor does it matter in what order Python goes through its sets."""
    for seed, suffix in (("1", "txt"), ("2", "txt"), ("1", "json"), ("2", "json")):
        done = process(
            folder, "a.ngc", "respelled.ngc", *NAMED, "--certificate", f"{seed}.{suffix}",
            seed=seed,
        )  # fmt: skip
        assert done.returncode == 0
    for suffix in ("txt", "json"):
        one, two = (
            Path(f"{seed}.{suffix}").read_text(encoding="utf-8").splitlines() for seed in "12"
        )
        (date,) = [at for at, line in enumerate(one) if "date" in line.split(" 20")[0]]
        assert "20" in one[date]
        del one[date], two[date]
        assert one == two


def test_a_failed_proof_has_a_certificate_that_says_so(capsys, folder):
    status, _, _ = call(capsys, "prove", "a.ngc", "deeper.ngc", *NAMED, "--certificate", "c.txt")
    assert status == 4
    text = Path("c.txt").read_text(encoding="utf-8")
    assert text.startswith("CERTIFICATE: NOT PROVED\n")
    assert "deeper.ngc:12: G1 Z-2.1 F200" in text
    call(capsys, "prove", "a.ngc", "deeper.ngc", *NAMED, "--certificate", "c.json")
    assert json.loads(Path("c.json").read_text(encoding="utf-8"))["certificate"] == "not proved"
    call(capsys, "prove", "a.ngc", "faulty.ngc", *NAMED, "--certificate", "c.json")
    assert json.loads(Path("c.json").read_text(encoding="utf-8"))["certificate"] == "not proved"


@pytest.mark.parametrize("name", ["a.ngc", "./a.ngc", "b.ngc", "mill.toml", "a.job.toml", "-"])
def test_a_certificate_goes_over_nothing_that_was_read(capsys, folder, name):
    (folder / "b.ngc").write_bytes(SLOT.lower())
    (folder / "mill.toml").write_text("name = 'knee mill'\n")
    (folder / "a.job.toml").write_text("[tool.1]\ndiameter = 6\n")
    before = {each: each.read_bytes() for each in folder.iterdir()}
    arguments = ("a.ngc", "b.ngc", "--mill", "mill.toml", "--certificate", name)
    status, out, err = call(capsys, "prove", *arguments)
    assert (status, out) == (2, "")
    assert "certificate" in err or "is the " in err
    assert {each: each.read_bytes() for each in folder.iterdir()} == before


def test_a_certificate_that_cannot_be_written_is_a_fault(capsys, folder):
    status, out, err = call(
        capsys, "prove", "a.ngc", "a.ngc", "--certificate", folder / "no" / "c.txt"
    )
    assert (status, out) == (3, "")
    assert "cannot write" in err


def test_rewrite_writes_a_certificate_beside_the_program(capsys, folder):
    sample = folder / "dovetail_shoe.ngc"
    sample.write_bytes((SAMPLES / sample.name).read_bytes())
    for name in ("dovetail_shoe.job.toml", "mill.toml"):
        (folder / name).write_bytes((SAMPLES / name).read_bytes())
    more = ("--mill", "mill.toml", "--output", "new.ngc")
    status, out, _ = call(capsys, "rewrite", sample.name, *more, "--certificate", "new.txt")
    assert status == 0
    assert "\ncertificate: new.txt\n" in out
    text = Path("new.txt").read_text(encoding="utf-8")
    assert text.startswith("CERTIFICATE: PROVED\n")
    for name in ("dovetail_shoe.ngc", "new.ngc", "mill.toml", "dovetail_shoe.job.toml"):
        assert hashlib.sha256(Path(name).read_bytes()).hexdigest() in text
    assert all(len(line) <= 80 for line in text.splitlines())
    shape = json.loads(
        call(capsys, "rewrite", sample.name, *more, "--certificate", "new.txt", "--json")[1]
    )
    assert shape["certificate"] == "new.txt"


def test_rewrite_certifies_nothing_that_it_does_not_write(capsys, folder):
    for more in (
        ("--plan", "--certificate", "c.txt"),
        ("--output", "c.txt", "--certificate", "c.txt"),
        ("--output", "new.ngc", "--certificate", "a.ngc"),
    ):
        assert call(capsys, "rewrite", "a.ngc", *more)[0] == 2
    status, _, _ = call(
        capsys, "rewrite", "faulty.ngc", "--output", "new.ngc", "--certificate", "c.txt"
    )
    assert status == 3
    status, _, _ = call(
        capsys, "rewrite", "a.ngc", "--output", "new.ngc", "--certificate", "no/c.txt"
    )
    assert status == 3
    assert not Path("c.txt").exists()
    assert not Path("new.ngc").exists()
    assert Path("a.ngc").read_bytes() == SLOT


def test_rewrite_writes_nothing_where_its_certificate_would_say_no(capsys, folder, monkeypatch):
    failed = Obligation("modal codes set", holds=False, figure="G21 is no longer stated")
    monkeypatch.setattr(Trial, "whole_proof", lambda *_: Proof((failed,)))
    more = ("--output", "new.ngc", "--certificate", "c.txt")
    status, out, err = call(capsys, "rewrite", "a.ngc", *more)
    assert (status, out) == (4, "")
    assert "modal codes set: G21 is no longer stated" in " ".join(err.split())
    assert not Path("c.txt").exists()
    assert not Path("new.ngc").exists()


def process(folder, *arguments, seed="0"):
    """Run `gpre prove` as a process of its own."""
    settings = {**os.environ, "PYTHONHASHSEED": seed, "HOME": str(folder)}
    settings.pop("XDG_CONFIG_HOME", None)
    command = [sys.executable, "-m", "gpre.cli.main", "prove", *arguments]
    return subprocess.run(command, cwd=folder, env=settings, capture_output=True, check=False)


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("a.ngc", "respelled.ngc"), 0),
        (("a.ngc", "deeper.ngc"), 4),
        (("a.ngc", "faulty.ngc"), 3),
        (("a.ngc", "not there.ngc"), 3),
        (("a.ngc",), 2),
        (("a.ngc", "a.ngc", "--tool", "six"), 2),
        (("-", "-"), 2),
    ],
)
def test_exit_statuses(folder, arguments, status):
    done = process(folder, *arguments)
    assert done.returncode == status
    assert b"Traceback" not in done.stderr
