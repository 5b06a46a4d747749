"""Programs that do not state their units: what each command says first, and what --units does."""

import json
import re

import pytest
from command import call

# By hand, invented: two holes of a focuser plate, inches by the look of it.
PLATE = (
    b"G40\nS2000 M3\nG90 G17\nG0 Z.1\nG0 X1.0000 Y1.0000\nG1 Z-.2500 F12.\nG0 Z.1\n"
    b"G0 X.5000 Y1.5000\nG1 Z-.2500\nG0 Z.1\nM30\n"
)
NEAR = PLATE.replace(b"X1.0000", b"X1.0005")
FIRST = "neither the program nor a mill profile says mm or inch"
HINTS = [
    {"for": "inch", "what": "a feed of 12", "line": 6},
    {"for": "inch", "what": "clearance Z0.1", "line": 4},
    {"for": "inch", "what": "four decimals", "line": 5},
]
NOT_STATED = [
    {
        "setting": "units",
        "taken": "mm",
        "others": ["inch"],
        "first_line": 4,
        "last_line": 10,
        "hints": HINTS,
    }
]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("gpre.mill.profile.default_place", lambda: tmp_path / "none.toml")
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "plate.ngc").write_bytes(PLATE)
    (tmp_path / "near.ngc").write_bytes(NEAR)
    (tmp_path / "stated.ngc").write_bytes(b"G21\n" + PLATE)
    (tmp_path / "bare.toml").write_text('[controller]\nplane = "XY"\nstart = [0.0, 0.0, 0.0]\n')
    (tmp_path / "mm.toml").write_text('[controller]\nunits = "mm"\nstart = [0.0, 0.0, 0.0]\n')
    return tmp_path


def flat(text):
    return " ".join(text.split())


COMMANDS = {
    "count": ("count", "plate.ngc"),
    "predict": ("predict", "plate.ngc"),
    "rewrite": ("rewrite", "plate.ngc", "--output", "new.ngc"),
    "prove": ("prove", "plate.ngc", "plate.ngc"),
    "diff": ("diff", "plate.ngc", "near.ngc"),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_says_it_before_all_else(capsys, folder, name):
    _, out, err = call(capsys, *COMMANDS[name])
    first = flat(err + out)
    code = "REW505" if name == "rewrite" else "INT351"
    assert re.match(rf"WARNING plate.ngc line 4 {code} \[.*?\] {FIRST}", first)
    assert "Speaks for inch: a feed of 12 (line 6), clearance Z0.1 (line 4)" in first
    assert "give --units mm or --units inch" in first
    told = out if name == "rewrite" else err
    assert all(len(line) <= 80 for line in told.splitlines() if str(folder) not in line)


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("settled", [("--units", "mm"), ("--units", "inch"), ("--mill", "mm.toml")])
def test_the_option_or_the_profile_settles_it(capsys, folder, name, settled):
    _, out, err = call(capsys, *COMMANDS[name], *settled)
    assert "INT351" not in err + out
    assert "REW505" not in err + out


@pytest.mark.parametrize("name", COMMANDS)
def test_a_profile_without_the_key_does_not(capsys, folder, name):
    _, out, err = call(capsys, *COMMANDS[name], "--mill", "bare.toml")
    assert FIRST in flat(err + out)


@pytest.mark.parametrize("name", COMMANDS)
def test_json_says_it_too(capsys, folder, name):
    _, out, _ = call(capsys, *COMMANDS[name], "--json")
    result = json.loads(out)
    where = result["before"] if name in {"prove", "diff"} else result
    assert where["not_stated"] == NOT_STATED
    if name != "diff":
        code = "REW505" if name == "rewrite" else "INT351"
        assert code in [each["code"] for each in result["findings"]]
    _, out, _ = call(capsys, *COMMANDS[name], "--json", "--units", "inch")
    result = json.loads(out)
    where = result["before"] if name in {"prove", "diff"} else result
    assert where["not_stated"] == []


def test_the_program_is_written_as_it_is(capsys, folder):
    status, out, _ = call(capsys, "rewrite", "plate.ngc", "--output", "new.ngc")
    assert status == 0
    assert (folder / "new.ngc").read_bytes() == PLATE
    assert "the same bytes as the original" in out


def test_with_units_the_loop_has_the_right_size(capsys, folder):
    """1.25 mm is 0.0492 inches, and a loop is rounded up to a hundredth of the unit."""
    status, _, _ = call(capsys, "rewrite", "plate.ngc", "--output", "new.ngc", "--units", "inch")
    assert status == 0
    assert b"G0 X.4500 Y1.5000 (approach X+)\n" in (folder / "new.ngc").read_bytes()


def test_what_was_written_as_it_is_gives_way_to_the_rewritten_program(capsys, folder):
    """Nobody's work is lost with a copy of the original, so --units can follow at once."""
    assert call(capsys, "rewrite", "plate.ngc")[0] == 0
    assert (folder / "plate_new.ngc").read_bytes() == PLATE
    assert call(capsys, "rewrite", "plate.ngc", "--units", "inch")[0] == 0
    assert b"approach" in (folder / "plate_new.ngc").read_bytes()
    (folder / "plate_new.ngc").write_bytes(NEAR)
    assert call(capsys, "rewrite", "plate.ngc", "--units", "inch")[0] == 2
    assert (folder / "plate_new.ngc").read_bytes() == NEAR


def test_prove_looks_at_both_and_says_which_one_failed(capsys, folder):
    start = ("--mill", "start.toml")
    (folder / "start.toml").write_text("[controller]\nstart = [0.0, 0.0, 0.0]\n")
    status, out, _ = call(capsys, "prove", "plate.ngc", "near.ngc", *start)
    assert status == 4
    assert flat(out).startswith(
        "not stated: mm or inch (first needed in line 4 before and line 4 after); the proof must "
        "hold for mm or inch before plate.ngc: 11 blocks"
    )
    assert "(read in inches)" in flat(out)
    status, out, _ = call(capsys, "prove", "plate.ngc", "near.ngc", "--units", "mm", *start)
    assert status == 0
    assert "not stated" not in out
    assert call(capsys, "prove", "plate.ngc", "near.ngc", "--units", "inch", *start)[0] == 4


def test_the_certificate_says_what_was_not_stated(capsys, folder):
    call(capsys, "prove", "plate.ngc", "near.ngc", "--certificate", "c.txt")
    text = (folder / "c.txt").read_text()
    assert "\nNOT STATED\n" in text
    assert text.index("NOT STATED") < text.index("MILL PROFILE")
    assert "mm, and inch too" in flat(text)
    call(capsys, "prove", "plate.ngc", "near.ngc", "--certificate", "c.json", "--units", "inch")
    shape = json.loads((folder / "c.json").read_text())
    assert shape["before"]["not_stated"] == []
    (units,) = [each for each in shape["controller"] if each["key"] == "units"]
    assert (units["taken"], units["from_profile"], units["from_option"]) == ("inch", False, True)
    call(capsys, "prove", "plate.ngc", "near.ngc", "--certificate", "d.txt", "--units", "inch")
    assert "(--units)" in flat((folder / "d.txt").read_text())
    assert "NOT STATED" not in (folder / "d.txt").read_text()


@pytest.mark.parametrize(
    "option", [("--tool", "1=0.25"), ("--stock", "0,0,-1,3,3,0")], ids=["tool", "stock"]
)
@pytest.mark.parametrize("name", ["predict", "rewrite", "prove"])
def test_lengths_of_options_cannot_be_read_in_units_that_nobody_knows(capsys, folder, name, option):
    status, out, err = call(capsys, *COMMANDS[name], *option)
    assert status == 2
    assert " ".join(option) in flat(err)
    assert "--units mm or --units inch" in flat(err)
    assert out == ""
    assert not (folder / "new.ngc").exists()
    status, out, err = call(capsys, *COMMANDS[name], *option, "--units", "inch")
    assert status == 0
    if name != "prove":
        assert "JOB606" in err + out  # read in inches, and told in mm


def test_the_option_over_the_profile_is_told(capsys, folder):
    _, out, _ = call(
        capsys, "rewrite", "plate.ngc", "--plan", "--mill", "mm.toml", "--units", "inch"
    )
    assert "MIL516 --units inch counts, not the units of the profile" in flat(out)


def test_an_option_that_changes_nothing_is_told(capsys, folder):
    _, out, _ = call(capsys, "rewrite", "stated.ngc", "--plan", "--units", "inch")
    assert "MIL517 --units inch changes nothing" in flat(out)
    assert "states G21 before it needs it" in flat(out)


def test_a_word_that_is_no_unit_is_wrong_usage(capsys, folder):
    status, _, err = call(capsys, "count", "plate.ngc", "--units", "cm")
    assert status == 2
    assert "--units" in err


def test_positions_of_the_list_are_in_the_units_of_the_program(capsys, folder):
    _, out, _ = call(capsys, "count", "plate.ngc", "--list", "--units", "inch")
    assert "1.00000" in out
    assert "25.4" not in out
