"""Standard streams that were closed when gpre started: plain words where one is left, and a status.

Run through a shell, which closes descriptors for real.
"""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from four_holes import HOLES

from gpre.cli.bridge import run
from gpre.cli.main import gpre
from gpre.cli.streams import program_goes_to_output

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX shell")

ROOT = Path(__file__).parents[2]
BUFFERED = {key: value for key, value in os.environ.items() if key != "PYTHONUNBUFFERED"}


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "part.ngc").write_bytes(HOLES)
    (tmp_path / "copy.ngc").write_bytes(HOLES)
    return tmp_path


def in_shell(folder, line, given=b""):
    return subprocess.run(
        ["sh", "-c", line],
        cwd=folder,
        env=BUFFERED,
        input=given,
        capture_output=True,
        check=False,
        timeout=240,
    )


def shell(folder, arguments, streams, *, script=False, given=b""):
    """Run gpre with the streams redirected as a shell has it; standard input is `given`.

    script: through a script of the shell, which takes the lowest free descriptor.
    """
    start = f"{shlex.quote(sys.executable)} -m gpre.cli.main"
    line = f"{start} {arguments}"
    if script:
        (folder / "run.sh").write_text(f"exec {line}\n")
        line = "sh run.sh"
    done = in_shell(folder, f"{line} {streams}", given)
    (folder / "run.sh").unlink(missing_ok=True)
    for said in (done.stdout, done.stderr):
        assert b"Traceback" not in said, said.decode()
        assert b"this is a fault of gpre" not in said, said.decode()
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def names(folder):
    return {each.name for each in folder.iterdir()} - {"part.ngc", "copy.ngc"}


COMMANDS = {
    "count part.ngc": 0,
    "count part.ngc --json": 0,
    "count none.ngc": 3,
    "prove part.ngc copy.ngc": 0,
    "--help": 0,
    "sharpen": 2,
}


@pytest.mark.parametrize("arguments", COMMANDS)
def test_without_standard_output_nothing_is_done(folder, arguments):
    status, out, err = shell(folder, arguments, ">&-", given=HOLES)
    assert (status, out) == (3, "")
    assert "FIL010" in err
    assert "standard output: it is closed; nothing was read" in err
    assert names(folder) == set()


@pytest.mark.parametrize(
    ("output", "streams"),
    [
        ("", ">&-"),
        ("-o -", ">&-"),
        ("-o new.ngc --force --json", ">&-"),
        ("-o new.ngc", ">&- 2>&-"),
        ("-o new.ngc", "<&- >&- 2>&-"),
    ],
)
def test_without_standard_output_no_program_is_written(folder, output, streams):
    """Each way the status says so: 3."""
    status, out, err = shell(folder, f"rewrite part.ngc {output} --certificate c.txt", streams)
    assert (status, out) == (3, "")
    assert ("nothing was written" in err.replace("\n ", "")) == ("2>" not in streams)
    assert names(folder) == set()


@pytest.mark.parametrize(
    ("arguments", "streams"),
    [
        ("count -", "<&-"),
        ("count -", "0>/dev/null"),
        ("count - --json", "<&-"),
        ("rewrite -", "<&-"),
        ("prove part.ngc -", "<&-"),
        ("diff - part.ngc", "<&-"),
    ],
)
def test_without_standard_input_it_cannot_be_read(folder, arguments, streams):
    status, out, err = shell(folder, arguments, streams)
    assert status == 3
    assert "cannot read standard input: it is closed" in out + err
    assert names(folder) == set()


@pytest.mark.parametrize("arguments", ["count part.ngc", "rewrite part.ngc -o new.ngc"])
def test_without_standard_input_all_else_is_as_ever(folder, arguments):
    expected = shell(folder, arguments, "")
    assert shell(folder, arguments, "<&-") == expected
    assert expected[0] == 0


@pytest.mark.parametrize(
    ("streams", "script"), [("2>&-", False), ("<&- 2>&-", False), ("2>&-", True)]
)
@pytest.mark.parametrize("arguments", COMMANDS)
def test_without_standard_error_the_talk_goes_to_standard_output(
    folder, arguments, streams, script
):
    status, out, err = shell(folder, arguments, streams, script=script)
    assert (status, err) == (COMMANDS[arguments], "")
    usual = shell(folder, arguments, "2>&1")
    assert usual[0] == status
    if "--json" in arguments:
        assert json.loads(out)["file"] == "part.ngc"
    else:
        assert out == usual[1]


def test_without_standard_error_json_and_program_stay_alone(folder):
    status, out, _ = shell(folder, "count none.ngc --json", "2>&-")
    assert status == 3
    assert json.loads(out)["fault"]["status"] == 3
    assert shell(folder, "rewrite none.ngc -o -", "2>&-") == (3, "", "")
    assert shell(folder, "rewrite - --json", "2>&-", given=b"\0") == (3, "", "")
    status, out, _ = shell(folder, "rewrite part.ngc -o -", "2>&-")
    assert status == 0
    assert out == shell(folder, "rewrite part.ngc -o -", "2>/dev/null")[1]
    assert out.startswith("G21 G90")


def test_without_standard_error_a_file_is_written_and_the_report_is_told(folder):
    status, out, _ = shell(folder, "rewrite part.ngc", "2>&-")
    assert status == 0
    assert "written: part_new.ngc" in out
    assert names(folder) == {"part_new.ngc"}


@pytest.mark.parametrize("streams", ["<&- 2>&-", "<&- >&-", "<&- >&- 2>&-"])
def test_with_two_or_three_streams_closed_the_status_is_right(folder, streams):
    status, out, err = shell(folder, "count -", streams)
    assert status == 3
    assert ("it is closed" in out + err) == (streams != "<&- >&- 2>&-")


def test_an_output_that_is_open_the_wrong_way_is_a_closed_one(folder):
    status, out, err = shell(folder, "rewrite part.ngc", "1</dev/null")
    assert (status, out) == (3, "")
    assert "it is closed" in err
    assert names(folder) == set()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device")
@pytest.mark.parametrize(
    ("arguments", "written"),
    [
        ("rewrite part.ngc --json", ["part_new.ngc"]),
        ("rewrite part.ngc -o a.ngc --certificate c.txt", ["c.txt", "a.ngc"]),
        ("rewrite part.ngc -o - --certificate c.txt", []),
        ("prove part.ngc copy.ngc --certificate c.txt", ["c.txt"]),
    ],
)
def test_where_the_report_cannot_be_told_the_files_are_there_and_named(folder, arguments, written):
    """A full disk behind the stream: status 3, and what was written all the same is said."""
    status, _, err = shell(folder, arguments, ">/dev/full")
    assert status == 3
    assert "cannot write standard output: the disk is full" in err
    said = " ".join(err.split())
    verb = "was" if len(written) == 1 else "were"
    assert (f"{' and '.join(written)} {verb} written before that" in said) == bool(written)
    assert names(folder) >= set(written)


def test_where_nobody_reads_the_report_the_file_is_there_and_named(folder):
    line = f"{shlex.quote(sys.executable)} -m gpre.cli.main rewrite part.ngc"
    done = in_shell(folder, f"({line}; echo $? >status) | true")
    assert (folder / "status").read_text() == "141\n"
    assert done.stderr == (
        b"the report was not read to its end; part_new.ngc was written before that\n"
    )
    assert (folder / "part_new.ngc").exists()


def test_a_certificate_without_a_program_is_named(folder):
    status, _, err = shell(folder, "rewrite part.ngc -o none/new.ngc --certificate c.txt", "")
    assert status == 3
    assert "the certificate c.txt was written, for no program" in " ".join(err.split())
    assert names(folder) == {"c.txt"}


@pytest.mark.parametrize(
    ("arguments", "kept"),
    [
        (["rewrite", "a", "--output", "-"], True),
        (["rewrite", "a", "--output=-"], True),
        (["rewrite", "a", "-o", "-"], True),
        (["rewrite", "-o-", "a"], True),
        (["rewrite", "-"], True),
        (["rewrite", "--json", "-"], True),
        (["rewrite", "--", "-"], True),
        (["rewrite", "-", "--plan"], False),
        (["rewrite", "-", "-o", "b"], False),
        (["rewrite", "a", "--mill", "-"], False),
        (["rewrite", "a"], False),
        (["count", "-"], False),
        ([], False),
    ],
)
def test_when_standard_output_is_kept_for_the_program(arguments, kept):
    assert program_goes_to_output(arguments) is kept


def test_within_a_process_that_has_no_streams(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdout", None)
    assert run(gpre, ["--version"]) == 3
    monkeypatch.undo()
    assert "it is closed" in capsys.readouterr().err
