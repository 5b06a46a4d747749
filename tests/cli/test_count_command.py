"""`gpre count`: the table, the list, JSON, the limit, and what it does with faulty input."""

import io
import json
import sys
from pathlib import Path

import pytest
from command import call

SAMPLES = Path(__file__).parents[2] / "samples"

# By hand: three passes there and back in X, stepped over in +Y at feed. X turns at the start of
# the second and third pass, both while cutting; Y never; Z goes up to 5, down to -1 (a turn at
# feed: the plunge) and up again by a rapid (a turn in the air).
ZIGZAG = b"G21 G90 F300\nG0 Z5\nG1 Z-1\nG1 X40\nG1 Y4\nG1 X0\nG1 Y8\nG1 X40\nG0 Z5\nM2\n"
# By hand: a full circle anticlockwise from its rightmost point at 1 inch. X starts by going back,
# against the rapid; Y turns at the top, X on the left, Y at the bottom.
CIRCLE = b"G20 G90 F10\nG0 X1 Y0\nG3 X1 Y0 I-1 J0\nM2\n"


@pytest.fixture
def zigzag(tmp_path):
    path = tmp_path / "zigzag.ngc"
    path.write_bytes(ZIGZAG)
    return str(path)


def counts(out):
    result = json.loads(out)
    return {name: (axis["total"], axis["cutting"]) for name, axis in result["axes"].items()}


def test_the_table_is_plain_and_fits_80_columns(capsys, zigzag):
    status, out, err = call(capsys, "count", zigzag)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].endswith("zigzag.ngc: 10 blocks, 8 moves")
    assert lines[1:] == [
        "",
        "axis  total  cutting  corner  quadrant  helix  join  link",
        "X         2        2       2         0      0     0     0",
        "Y         0        0       0         0      0     0     0",
        "Z         2        1       1         0      0     0     1",
        "all       4        3       3         0      0     0     1",
    ]


def test_json_has_the_documented_shape(capsys, zigzag):
    status, out, err = call(capsys, "count", zigzag, "--json")
    assert (status, err) == (0, "")
    result = json.loads(out)
    assert result["axes"]["x"] == {
        "total": 2,
        "cutting": 2,
        "by_kind": {"corner": 2, "quadrant": 0, "helix": 0, "join": 0, "link": 0},
    }
    assert counts(out) == {"x": (2, 2), "y": (0, 0), "z": (2, 1)}
    assert (result["moves"], result["blocks"]) == (8, 10)
    assert result["file"] == zigzag
    assert result["stops_at_line"] is None
    assert result["mill"] is None
    assert result["limit"] is None
    assert result["not_stated"] == []
    assert "reversals" not in result


def test_the_list_gives_line_axis_position_and_kind(capsys, zigzag):
    _, out, _ = call(capsys, "count", zigzag, "--list")
    lines = [line.split() for line in out.splitlines()[9:]]
    assert lines == [
        ["3", "Z", "-", "0.0000", "0.0000", "5.0000", "corner", "yes"],
        ["6", "X", "-", "40.0000", "4.0000", "-1.0000", "corner", "yes"],
        ["8", "X", "+", "0.0000", "8.0000", "-1.0000", "corner", "yes"],
        ["9", "Z", "+", "40.0000", "8.0000", "-1.0000", "link", "no"],
    ]
    assert all(len(line) <= 80 for line in out.splitlines()[1:])


def test_the_list_is_in_the_units_of_the_program_and_json_in_mm(capsys, tmp_path):
    path = tmp_path / "circle.ngc"
    path.write_bytes(CIRCLE)
    _, out, _ = call(capsys, "count", str(path), "--list")
    rows = [line.split() for line in out.splitlines()[9:]]
    assert [(row[1], row[3], row[4], row[6]) for row in rows] == [
        ("X", "1.00000", "0.00000", "join"),
        ("Y", "0.00000", "1.00000", "quadrant"),
        ("X", "-1.00000", "0.00000", "quadrant"),
        ("Y", "0.00000", "-1.00000", "quadrant"),
    ]
    _, out, _ = call(capsys, "count", str(path), "--list", "--json")
    listed = json.loads(out)["reversals"]
    assert [each["position"] for each in listed][2] == pytest.approx([-25.4, 0, 0])
    assert listed[1] == {
        "line": 3,
        "axis": "y",
        "direction": -1,
        "kind": "quadrant",
        "cutting": True,
        "position": [pytest.approx(0), pytest.approx(25.4), 0.0],
        "move": 1,
        "along": pytest.approx(0.25),
    }


@pytest.mark.parametrize(("limit", "status"), [("3", 0), ("2", 1), ("0", 1), ("100", 0)])
def test_the_limit_is_on_reversals_in_the_cut(capsys, zigzag, limit, status):
    found, out, err = call(capsys, "count", zigzag, "--limit", limit)
    assert found == status
    assert "all " in out
    assert ("limit exceeded: 3 reversals while cutting" in err) == (status == 1)
    assert call(capsys, "count", zigzag, "--limit", limit, "--json")[0] == status


def test_standard_input_is_read(capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(ZIGZAG), encoding="utf-8"))
    status, out, _ = call(capsys, "count", "-", "--json")
    assert status == 0
    assert counts(out)["x"] == (2, 2)
    assert json.loads(out)["file"] == "standard input"


def test_faulty_blocks_are_named_what_can_be_counted_is_and_the_status_says_so(capsys, tmp_path):
    path = tmp_path / "faulty.ngc"
    path.write_bytes(ZIGZAG.replace(b"G1 Y8", b"G1 Y8 Y9"))
    status, out, err = call(capsys, "count", str(path))
    assert status == 3
    assert "all " in out
    assert "faulty.ngc  line 7 " in err
    assert "Traceback" not in err
    status, out, err = call(capsys, "count", str(path), "--json", "--limit", "0")
    assert (status, err) == (3, "")
    finding = json.loads(out)["findings"][-1]
    assert (finding["severity"], finding["line"]) == ("error", 7)


def test_the_resolution_of_the_profile_is_kept(capsys, tmp_path):
    path, mill = tmp_path / "wiggle.ngc", tmp_path / "mill.toml"
    path.write_bytes(b"G21 G90 F300\nG1 X10\nG1 X9.95\nG1 X20\nM2\n")
    assert counts(call(capsys, "count", str(path), "--json")[1])["x"] == (2, 2)
    mill.write_text("[x]\nresolution = 0.06\n")
    status, out, _ = call(capsys, "count", str(path), "--json", "--mill", str(mill))
    assert status == 0
    assert counts(out)["x"] == (0, 0)
    assert json.loads(out)["mill"] == str(mill)


def test_the_start_of_the_profile_is_kept(capsys, tmp_path):
    path, mill = tmp_path / "start.ngc", tmp_path / "mill.toml"
    path.write_bytes(b"G21 G90 F300\nG1 X10\nG1 X20\nM2\n")
    mill.write_text("[controller]\nstart = [15.0, 0.0, 0.0]\n")
    _, out, _ = call(capsys, "count", str(path), "--json", "--mill", str(mill))
    assert counts(out)["x"] == (1, 1)


def test_a_doubt_about_the_profile_is_told_with_its_place(capsys, zigzag, tmp_path):
    mill = tmp_path / "mill.toml"
    mill.write_text("[x]\nlost_motion = 2.0\n")
    status, _, err = call(capsys, "count", zigzag, "--mill", str(mill))
    assert status == 0
    assert "WARNING  " in err
    assert "mill.toml  line 2 " in err
    assert "MIL509\n         lost_motion = [2.0]\n" in err


def test_a_faulty_profile_ends_the_command(capsys, zigzag, tmp_path):
    mill = tmp_path / "mill.toml"
    mill.write_text("[x]\nlost_motoin = 2.0\n")
    status, out, err = call(capsys, "count", zigzag, "--mill", str(mill))
    assert (status, out) == (3, "")
    assert "did you mean lost_motion?" in err
    status, out, err = call(capsys, "count", zigzag, "--mill", str(mill), "--json")
    assert (status, err) == (3, "")
    assert json.loads(out)["fault"]["status"] == 3
    assert json.loads(out)["findings"][0]["code"] == "MIL502"


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        (b"", "FIL006", "post the program again"),
        (b"\xef\xbb\xbf", "FIL006", "post the program again"),
        (b"G1 X1\x00\n", "FIL007", "plain text"),
        (b"\x7fELF" + bytes(200), "FIL007", "plain text"),
        ("G1 X1\n".encode("utf-16"), "FIL007", "UTF-16"),
        ("G1 X1\n".encode("utf-16-be"), "FIL007", "UTF-16"),
    ],
)
def test_what_is_no_program_is_refused(capsys, tmp_path, data, code, words):
    path = tmp_path / "bad.ngc"
    path.write_bytes(data)
    status, out, err = call(capsys, "count", str(path))
    assert (status, out) == (3, "")
    assert code in err
    assert err.startswith("FAULT    ")
    assert "bad.ngc" in err
    assert words in err


def test_a_missing_file_and_a_folder_are_told_apart(capsys, tmp_path):
    assert "FIL001" in call(capsys, "count", str(tmp_path / "none.ngc"))[2]
    assert "FIL002" in call(capsys, "count", str(tmp_path))[2]
    assert call(capsys, "count", str(tmp_path / "none.ngc"))[0] == 3
    assert "FIL005" in call(capsys, "count", "n" * 5000)[2]
    assert "FIL001" in call(capsys, "count", str(tmp_path / "none" / "a.ngc"))[2]


def test_a_program_that_hands_over_is_counted_as_far_as_it_can_be_followed(capsys, tmp_path):
    path = tmp_path / "loop.ngc"
    path.write_bytes(b"G21 G90 F300\nG1 X10\nG1 X0\nGOTO 20\nG1 X10\nN20 G1 X0\nM2\n")
    status, out, err = call(capsys, "count", str(path))
    result = json.loads(call(capsys, "count", str(path), "--json")[1])
    assert result["axes"]["x"]["total"] == 1
    assert result["stops_at_line"] == 4
    assert "counted up to line 3 only" in out
    assert "loop.ngc  line 4 " in err
    assert status in (0, 3)


def test_a_program_that_has_an_end_does_not_stop_early(capsys, tmp_path):
    path = tmp_path / "end.ngc"
    path.write_bytes(b"G21 G90 F300\nG1 X10\nM30\nG1 X0\n")
    result = json.loads(call(capsys, "count", str(path), "--json")[1])
    assert result["stops_at_line"] is None
    assert result["axes"]["x"]["total"] == 0


def test_positions_that_are_not_known_are_left_open(capsys, tmp_path):
    path = tmp_path / "home.ngc"
    path.write_bytes(b"G21 G90 F300\nG1 X10 Y5\nG28 X0\nG1 Y2\nG1 X20\nG1 X10\nM2\n")
    status, out, _ = call(capsys, "count", str(path), "--list", "--json")
    assert status == 0
    assert {type(value) for each in json.loads(out)["reversals"] for value in each["position"]} <= {
        float,
        type(None),
    }
    assert call(capsys, "count", str(path), "--list")[0] == 0


@pytest.mark.parametrize("name", sorted(each.name for each in SAMPLES.glob("*.ngc")))
def test_every_sample_counts_without_a_fault(capsys, name):
    status, out, err = call(capsys, "count", str(SAMPLES / name), "--json", "--list")
    assert (status, err) == (0, "")
    result = json.loads(out)
    assert result["moves"] > 0
    totals = {axis: result["axes"][axis]["total"] for axis in "xyz"}
    in_cut = sum(result["axes"][axis]["cutting"] for axis in "xyz")
    for axis, total in totals.items():
        assert total == sum(result["axes"][axis]["by_kind"].values())
        assert total == sum(each["axis"] == axis for each in result["reversals"])
    assert in_cut == sum(each["cutting"] for each in result["reversals"])
