"""The keys of profile and job as people find them: gpre explain, the samples and their README."""

import os
import re
import tomllib
from pathlib import Path

import pytest

from gpre.cli.bridge import run
from gpre.cli.main import gpre
from gpre.mill.profile import load_mill
from gpre.report.keys import key_rows, keys_named

SAMPLES = Path(__file__).parents[2] / "samples"
README = SAMPLES / "README.md"
START = "<!-- keys: written by tests/report/test_report_keys.py -->\n"
HEAD = "| key | takes | left out | meaning |\n| --- | --- | --- | --- |\n"


def table():
    """Return the keys as the README of the samples has them."""
    parts, last = [], None
    for row in key_rows():
        where = ", ".join(f"`[{each}]`" for each in row.tables if each) or "at the top"
        if (row.file, where) != last:
            title = f"\n### {row.file.capitalize()}\n" * (last is None or last[0] != row.file)
            parts.append(f"{title}\n{where[0].upper()}{where[1:]}:\n\n{HEAD}")
            last = (row.file, where)
        parts.append(f"| `{row.name}` | {row.takes} | {row.left_out} | {row.text} |\n")
    return "".join(parts)


def test_the_table_of_keys_is_that_of_the_records():
    """Run with GPRE_UPDATE_README=1 to take it as it is now."""
    text = README.read_text(encoding="utf-8")
    before, _ = text.split(START)
    now = f"{before}{START}{table()}"
    if os.environ.get("GPRE_UPDATE_README") and not os.environ.get("CI"):
        README.write_text(now, encoding="utf-8")
    assert now == text


def test_every_key_has_a_sentence_and_says_what_it_takes():
    rows = list(key_rows())
    assert len(rows) > 40
    for row in rows:
        assert re.fullmatch(r"[A-Z][^|\n]+\.", row.text), row
        assert row.takes, row
        assert row.left_out, row


def test_the_sample_profile_has_every_key_as_it_says():
    """The commented ones too: without their mark the file is read as well."""
    text = (SAMPLES / "mill.toml").read_text(encoding="utf-8")
    whole = re.sub(r"^# (?=\w+ = )", "", text, flags=re.MULTILINE)
    values = tomllib.loads(whole)
    wanted = {
        (table, row.name)
        for row in key_rows()
        if row.file == "mill profile"
        for table in row.tables[:1]
    }
    has = {("", name) for name, value in values.items() if not isinstance(value, dict)}
    has |= {(table, name) for table, part in values.items() if table != "name" for name in part}
    assert wanted <= has | {("x", "gravity_loaded")}
    assert "gravity_loaded" in values["z"]


def test_the_whole_sample_profile_is_read(tmp_path):
    text = (SAMPLES / "mill.toml").read_text(encoding="utf-8")
    whole = tmp_path / "mill.toml"
    whole.write_text(re.sub(r"^# (?=\w+ = )", "", text, flags=re.MULTILINE), encoding="utf-8")
    mill = load_mill(whole)
    assert mill.controller.second_home == (0.0, 0.0, 0.0)
    assert mill.controller.lengths == {2: 82.5}


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("max_ramp_angle", ["max_ramp_angle"]),
        ("steepest_ramp", ["max_ramp_angle"]),
        ("tool.n.corner", ["corner_radius"]),
        ("units", ["units", "units"]),
        ("controller.units", ["units"]),
        ("[y].travel", ["travel"]),
        ("q.travel", []),
        ("y.travel", ["travel"]),
        ("nothing", []),
    ],
)
def test_a_key_is_found_by_its_name(name, found):
    assert [row.name for row in keys_named(name)] == found


def test_explain_says_what_a_key_means(capsys):
    assert run(gpre, ["explain", "max_ramp_angle"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("max_ramp_angle (job file, [tool.N])\n\nWhat\n  How steeply")
    assert "more than 0, at most 90 degrees" in out
    assert "Old name\n  steepest_ramp" in out
    assert run(gpre, ["explain", "max_ramp_angel"]) == 2
    assert "did you mean max_ramp_angle?" in capsys.readouterr().err


def test_explain_of_a_key_as_json(capsys):
    import json

    assert run(gpre, ["explain", "approach", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {
        "keys": [
            {
                "file": "mill profile",
                "tables": ["x", "y", "z"],
                "name": "approach",
                "takes": 'one of "+", "-"',
                "left_out": '"+"',
                "text": "The direction in which positions are reached; a drill goes down to its "
                "depth.",
                "old": "",
            }
        ]
    }
