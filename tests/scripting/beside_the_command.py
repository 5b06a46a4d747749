"""What the commands print and write, for the tests that hold the functions to them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from command import call

import gpre

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples"
MILL = SAMPLES / "mill.toml"
NAMES = sorted(path.stem for path in SAMPLES.glob("*.ngc"))
SHORT = [name for name in NAMES if name != "mirror_cell"]  # rewriting it takes ten seconds
QUICK = ("dovetail_shoe", "focuser_plate", "peg_strip")  # a second each
FAULTY = b"G21 G90 G17\nG0 X1 Y1\nG2 X2 Y2 I0.4 J0.1 F100\nM2\n"  # line 3: two radii differ
ZIGZAG = b"G21 G90 G17\nG0 X0 Y0 Z5\nG1 Z-1 F100\nX10\nX0\nX10\nG0 Z5\nM2\n"


def told(capsys: pytest.CaptureFixture[str], *arguments: object) -> dict:
    """Return the JSON of a command."""
    return json.loads(call(capsys, *arguments, "--json")[1])


def as_json(finding: gpre.Finding) -> dict:
    return {name: getattr(finding, name) for name in finding.__dataclass_fields__}


def axes(counts) -> dict:
    """Return counts in the shape in which `--json` has them."""
    return {
        name: {"total": axis.total, "cutting": axis.cutting, "by_kind": dict(axis.by_kind)}
        for name, axis in (("x", counts.x), ("y", counts.y), ("z", counts.z))
    }
