"""What a command shows while it works: on a terminal only, and nothing of it stays."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PART = "G21 G17 G90 G94\nT1 M6\nS3000 M3\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F100\nX20\nX5\nG0 Z5\nM5\nM2\n"


def read_all(descriptor: int) -> bytes:
    """Read what a program wrote to a terminal; the other end is closed when it has ended."""
    found = b""
    while True:
        try:
            more = os.read(descriptor, 4096)
        except OSError:  # how Linux says that the other end is closed
            return found
        if not more:
            return found
        found += more


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are not for Windows")
def test_a_terminal_is_told_what_is_being_done_and_is_left_clean(tmp_path: Path) -> None:
    part = tmp_path / "shoe.ngc"
    part.write_text(PART)
    ours, theirs = os.openpty()
    command = [sys.executable, "-m", "gpre.cli.main", "rewrite", str(part)]
    with subprocess.Popen(
        [*command, "--output", str(tmp_path / "new.ngc")],
        stdout=subprocess.PIPE,
        stderr=theirs,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
    ) as running:
        os.close(theirs)
        shown = read_all(ours)
        assert running.stdout is not None
        product = running.stdout.read()
    os.close(ours)
    assert running.returncode == 0
    assert b"proving the new program" in shown or b"looking at" in shown
    assert b"looking at" not in product
    # the line is wiped, and the cursor is there again
    assert shown.rstrip().endswith((b"\x1b[2K", b"\x1b[?25h"))


def test_a_pipe_is_told_nothing_of_it(tmp_path: Path) -> None:
    part = tmp_path / "shoe.ngc"
    part.write_text(PART)
    command = [sys.executable, "-m", "gpre.cli.main", "rewrite", str(part), "--output"]
    done = subprocess.run([*command, str(tmp_path / "new.ngc")], capture_output=True, check=True)
    assert b"looking at" not in done.stdout + done.stderr
    assert b"\x1b" not in done.stdout + done.stderr
