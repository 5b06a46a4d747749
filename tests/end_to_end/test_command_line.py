"""The main job through the real command, on every sample: count, rewrite, diff agree."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples"
NAMES = sorted(path.stem for path in SAMPLES.glob("*.ngc"))


def gpre(*arguments: str | Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "gpre.cli.main", *map(str, arguments)],
        capture_output=True,
        stdin=subprocess.DEVNULL,
        timeout=240,
        check=False,
        cwd=ROOT,
    )


def answer(*arguments: str | Path, status: int = 0) -> Any:
    done = gpre(*arguments, "--json")
    assert done.returncode == status, done.stderr.decode()
    return json.loads(done.stdout)


MILL = ("--mill", SAMPLES / "mill.toml")


@pytest.mark.parametrize("name", NAMES)
def test_rewrite_count_and_diff_agree(name: str, tmp_path: Path) -> None:
    source, out = SAMPLES / f"{name}.ngc", tmp_path / "out.ngc"
    text = source.read_bytes()
    said = answer("rewrite", source, "--output", out, *MILL)
    assert said["proof"]["holds"]
    assert said["written"]
    assert source.read_bytes() == text
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.ngc"]
    for path, key in ((source, "before"), (out, "after")):
        counted = answer("count", path, *MILL)
        assert counted["axes"] == said["axes"][key]
        assert counted["blocks"] == said["blocks"][key]
        assert counted["moves"] == said["moves"][key]
    compared = answer("diff", source, out, *MILL, status=1 if said["changed"] else 0)
    assert compared["same_motion"] != said["changed"]
    path = compared["cutting_path"]
    done = {each["rewrite"] for each in said["done"]}
    if not done & {"start-point", "helix"}:  # another place for the plunge, another pitch
        assert path["before_leaves_after"]["greatest"] <= 0.002  # mm, the profile's tolerance
    if not done & {"one-way", "start-point", "helix"}:  # one-way adds ways down at feed
        assert path["after_leaves_before"]["greatest"] <= 0.002
    job = source.with_name(f"{name}.job.toml")
    given = ("--job", job) if job.exists() else ()
    once_more = answer("rewrite", out, "--output", tmp_path / "again.ngc", *MILL, *given)
    assert not once_more["changed"]
    assert (tmp_path / "again.ngc").read_bytes() == out.read_bytes()


def test_standard_output_is_the_program_and_nothing_else(tmp_path: Path) -> None:
    source, out = SAMPLES / "tube_saddle.ngc", tmp_path / "out.ngc"
    to_file = gpre("rewrite", source, "--output", out, *MILL)
    to_pipe = gpre("rewrite", source, "--output", "-", *MILL)
    assert to_file.returncode == to_pipe.returncode == 0
    assert to_pipe.stdout == out.read_bytes()
    assert b"proof" in to_pipe.stderr


def test_plan_writes_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out.ngc"
    done = gpre("rewrite", SAMPLES / "focuser_plate.ngc", "--plan", "--output", out, *MILL)
    assert done.returncode in (0, 2)
    assert not out.exists()
    done = gpre("rewrite", SAMPLES / "focuser_plate.ngc", "--plan", *MILL)
    assert done.returncode == 0
    assert b"approach" in done.stdout + done.stderr


def test_same_program_makes_no_difference() -> None:
    source = SAMPLES / "mirror_cell.ngc"
    assert answer("diff", source, source)["same_motion"]


@pytest.mark.parametrize("only", ["straighten", "one-way", "start-point", "approach"])
def test_one_rewrite_alone(only: str, tmp_path: Path) -> None:
    for name in ("knob_rib", "dovetail_shoe", "tube_saddle", "focuser_plate"):
        said = answer(
            "rewrite", SAMPLES / f"{name}.ngc", "--output", tmp_path / name, "--only", only, *MILL
        )
        assert {each["rewrite"] for each in said["done"]} <= {only}
        assert said["proof"]["holds"]


def test_first_use_is_told_what_more_there_is(tmp_path: Path) -> None:
    """Without a job file, and no tool in comments, one line says what naming them would give."""
    alone = tmp_path / "shoe.ngc"
    text = (SAMPLES / "dovetail_shoe.ngc").read_bytes()
    alone.write_bytes(text.replace(b"end mill 16 mm", b"end mill"))
    done = gpre("rewrite", alone, "--output", tmp_path / "out.ngc")
    assert done.returncode == 0
    said = (done.stdout + done.stderr).decode()
    assert any("stock" in line and "tool" in line for line in said.splitlines()), said
    given = gpre(
        "rewrite",
        alone,
        "--output",
        tmp_path / "more.ngc",
        "--tool",
        "2=16",
        "--stock",
        "0,0,-16,100,46,0",
    )
    assert given.returncode == 0
    turns = [
        sum(axis["cutting"] for axis in answer("count", tmp_path / name)["axes"].values())
        for name in ("out.ngc", "more.ngc")
    ]
    assert turns[1] < turns[0]
