"""Runs that are killed, runs beside each other, and names of files that are hard to handle."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from random import Random

import pytest

ROOT = Path(__file__).resolve().parents[2]
# a wall that wiggles below the tolerance: rewriting straightens it, so old and new differ
PROGRAM = b"".join(
    [
        b"G21 G90\nG0 Z5\nG0 X0 Y0\nG1 Z-1 F60\n",
        *(b"G1 X%d.5 Y0.00%d F200\n" % (at, at % 2) for at in range(40)),
        b"G0 Z5\nM2\n",
    ]
)
OLD = b"(an older program)\nG0 Z9\nM2\n"
TEMPORARY = ".gpre-"

# `gpre rewrite` whose bytes go to the disk in small portions, with a pause before each; the pauses
# make it likely that a signal comes while the file is half written
SLOWLY = """
import os, sys, time
import gpre.driver.output as output
whole = os.fdopen
class Slow:
    def __init__(self, file): self.file = file
    def __enter__(self): return self
    def __exit__(self, *_): self.file.close()
    def write(self, data):
        for at in range(0, len(data), 64):
            self.file.write(data[at:at + 64]); self.file.flush(); time.sleep(0.004)
    def flush(self): self.file.flush()
    def fileno(self): return self.file.fileno()
output.os.fdopen = lambda *given: Slow(whole(*given))
print("writing", flush=True)
from gpre.cli.main import main
main()
"""


def start(
    *arguments: str | Path, cwd: Path | None = None, code: str = ""
) -> subprocess.Popen[bytes]:
    how = ["-c", code] if code else ["-m", "gpre.cli.main"]
    return subprocess.Popen(
        [sys.executable, *how, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        cwd=cwd or ROOT,
    )


def gpre(*arguments: str | Path, cwd: Path | None = None) -> tuple[int, str]:
    process = start(*arguments, cwd=cwd)
    out, err = process.communicate(timeout=120)
    for stream in (out, err):
        assert b"Traceback" not in stream, stream.decode()
        assert b"fault of gpre" not in stream, stream.decode()
    return process.returncode, (out + err).decode("utf-8", "replace")


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


@pytest.fixture(scope="module")
def rewritten(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """What comes of the program when nothing goes wrong."""
    folder = tmp_path_factory.mktemp("whole")
    (folder / "in.ngc").write_bytes(PROGRAM)
    status, said = gpre("rewrite", folder / "in.ngc", "--output", folder / "out.ngc")
    assert status == 0, said
    assert names(folder) == {"in.ngc", "out.ngc"}
    whole = (folder / "out.ngc").read_bytes()
    assert whole != PROGRAM
    return whole


def wait_for_writing(process: subprocess.Popen[bytes], folder: Path, least: int = 1) -> None:
    """Wait until `least` bytes stand in the temporary file, or the process has ended."""
    until = time.monotonic() + 60
    while time.monotonic() < until and process.poll() is None:
        parts = [folder / name for name in names(folder) if name.startswith(TEMPORARY)]
        if any(part.exists() and part.stat().st_size >= least for part in parts):
            return
        time.sleep(0.001)


# --- killed -------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
@pytest.mark.parametrize("old", [None, OLD], ids=["no-old-file", "old-file"])
@pytest.mark.parametrize("seed", range(6))
def test_killed_while_it_writes(
    tmp_path: Path, rewritten: bytes, old: bytes | None, seed: int
) -> None:
    source, out = tmp_path / "in.ngc", tmp_path / "out.ngc"
    source.write_bytes(PROGRAM)
    if old is not None:
        out.write_bytes(old)
    process = start("rewrite", source, "--output", out, "--force", code=SLOWLY)
    wait_for_writing(process, tmp_path)
    time.sleep(Random(seed).random() * 0.09)
    with suppress(ProcessLookupError):
        process.kill()
    process.communicate()
    assert source.read_bytes() == PROGRAM
    found = out.read_bytes() if out.exists() else None
    assert found in (old, rewritten)
    left = names(tmp_path) - {"in.ngc", "out.ngc"}
    assert len(left) <= 1
    # a part that is left says whose it is, and hides from lists of programs
    assert all(name.startswith(TEMPORARY) and name.endswith(".part") for name in left)
    # what is left is in nobody's way
    status, said = gpre("rewrite", source, "--output", out, "--force")
    assert status == 0, said
    assert out.read_bytes() == rewritten


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL there")
def test_a_kill_does_come_while_the_file_is_half_written(tmp_path: Path) -> None:
    """The tests above show something: the part is there, shorter than the whole."""
    source, out = tmp_path / "in.ngc", tmp_path / "out.ngc"
    source.write_bytes(PROGRAM)
    process = start("rewrite", source, "--output", out, code=SLOWLY)
    wait_for_writing(process, tmp_path)
    time.sleep(0.01)
    process.kill()
    process.communicate()
    assert not out.exists()
    assert [name for name in names(tmp_path) if name.startswith(TEMPORARY)]


@pytest.mark.skipif(sys.platform == "win32", reason="signals are others there")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP"])
@pytest.mark.parametrize("least", [0, 1], ids=["as-soon-as-it-is-there", "half-written"])
def test_asked_to_end_while_it_writes(tmp_path: Path, name: str, least: int) -> None:
    """Then it takes the half-written file away."""
    source, out = tmp_path / "in.ngc", tmp_path / "out.ngc"
    source.write_bytes(PROGRAM)
    out.write_bytes(OLD)
    process = start("rewrite", source, "--output", out, "--force", code=SLOWLY)
    wait_for_writing(process, tmp_path, least)
    process.send_signal(getattr(signal, name))
    _, err = process.communicate(timeout=60)
    assert process.returncode == 130, err.decode()
    assert b"Traceback" not in err
    assert out.read_bytes() == OLD
    assert names(tmp_path) == {"in.ngc", "out.ngc"}


# --- beside each other --------------------------------------------------------------------------


def test_runs_beside_each_other_on_one_input_and_one_output(
    tmp_path: Path, rewritten: bytes
) -> None:
    source, out = tmp_path / "in.ngc", tmp_path / "out.ngc"
    source.write_bytes(PROGRAM)
    running = [
        start("rewrite", source, "--output", out, code=code) for code in (SLOWLY, "", SLOWLY, "")
    ]
    seen = set()
    while any(process.poll() is None for process in running):
        if out.exists():
            seen.add(out.read_bytes())
        time.sleep(0.005)
    for process in running:
        _, err = process.communicate()
        assert process.returncode == 0, err.decode()
    assert seen | {out.read_bytes()} == {rewritten}
    assert source.read_bytes() == PROGRAM
    assert names(tmp_path) == {"in.ngc", "out.ngc"}


# --- names --------------------------------------------------------------------------------------

LONGEST = 255  # bytes of a name on most file systems
NAMES = [
    "spiegel zelle größe.ngc",
    'it\'s "half" done.ngc',
    "a;b&c|d$e`f.ngc",
    "[red]ring[bold].ngc",
    "*.ngc",
    "~.ngc",
    "%20.ngc",
    "two\nlines.ngc",
    "e\u0301 and \u00e9.ngc",
    "\U0001f6e0.ngc",
    "no suffix",
    ".hidden",
    "x" * (LONGEST - 4) + ".ngc",
]


@pytest.mark.skipif(sys.platform == "win32", reason="names are others there")
@pytest.mark.parametrize("name", NAMES, ids=lambda name: ascii(name)[1:20])
def test_name_that_is_hard_to_handle(tmp_path: Path, rewritten: bytes, name: str) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    source, out = tmp_path / "in" / name, tmp_path / "out" / name
    source.write_bytes(PROGRAM)
    status, said = gpre("rewrite", source, "--output", out)
    assert status == 0, said
    assert out.read_bytes() == rewritten
    assert source.read_bytes() == PROGRAM
    assert names(tmp_path / "out") == {name}
    assert gpre("prove", source, out)[0] == 0
    assert gpre("count", source)[0] == 0


def test_name_that_is_too_long(tmp_path: Path) -> None:
    source = tmp_path / "in.ngc"
    source.write_bytes(PROGRAM)
    status, said = gpre("rewrite", source, "--output", tmp_path / ("x" * (LONGEST + 1)))
    assert status == 3
    assert "too long" in said
    assert names(tmp_path) == {"in.ngc"}


def test_name_that_begins_with_a_dash(tmp_path: Path, rewritten: bytes) -> None:
    (tmp_path / "-plate.ngc").write_bytes(PROGRAM)
    status, said = gpre("count", "-plate.ngc", cwd=tmp_path)
    assert status == 2, said
    status, said = gpre("rewrite", "--output=-out.ngc", "--", "-plate.ngc", cwd=tmp_path)
    assert status == 0, said
    assert (tmp_path / "-out.ngc").read_bytes() == rewritten
    assert gpre("diff", "--", "-plate.ngc", "-out.ngc", cwd=tmp_path)[0] in (0, 1)


def test_relative_path_through_the_folder_above(tmp_path: Path, rewritten: bytes) -> None:
    (tmp_path / "here").mkdir()
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    status, said = gpre(
        "rewrite", "../in.ngc", "--output", "../here/../out.ngc", cwd=tmp_path / "here"
    )
    assert status == 0, said
    assert (tmp_path / "out.ngc").read_bytes() == rewritten
    assert names(tmp_path) == {"here", "in.ngc", "out.ngc"}


# --- devices and pipes --------------------------------------------------------------------------


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
@pytest.mark.parametrize("name", ["/dev/zero", "/dev/urandom"])
@pytest.mark.parametrize("command", ["count", "rewrite"])
def test_endless_device_is_no_program(tmp_path: Path, name: str, command: str) -> None:
    status, said = gpre(command, name, *(["-o", tmp_path / "out.ngc"] * (command == "rewrite")))
    assert status == 3
    assert "FIL007" in said
    assert names(tmp_path) == set()


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
@pytest.mark.parametrize("option", ["--mill", "--job"])
def test_endless_device_is_no_profile_and_no_job_file(tmp_path: Path, option: str) -> None:
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    status, said = gpre("rewrite", tmp_path / "in.ngc", option, "/dev/zero")
    assert status == 3
    assert "FIL012" in said
    assert names(tmp_path) == {"in.ngc"}


@pytest.mark.skipif(sys.platform == "win32", reason="no such pipes there")
def test_endless_pipe_ends_at_a_bound() -> None:
    done = subprocess.run(
        ["sh", "-c", f"yes 'G1 X1' | {sys.executable} -m gpre.cli.main count -"],
        capture_output=True,
        check=False,
        timeout=240,
    )
    assert done.returncode == 3
    assert b"FIL012" in done.stderr or b"FIL008" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="no such pipes there")
def test_program_in_a_named_pipe(tmp_path: Path, rewritten: bytes) -> None:
    pipe, out = tmp_path / "pipe", tmp_path / "out.ngc"
    os.mkfifo(pipe)
    status, said = gpre("rewrite", pipe)
    assert status == 2, said
    assert "no file can be written beside" in said
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    feeding = subprocess.Popen(["sh", "-c", 'cat "$0" >"$1"', tmp_path / "in.ngc", pipe])
    status, said = gpre("rewrite", pipe, "-o", out)
    assert (status, feeding.wait()) == (0, 0), said
    assert out.read_bytes() == rewritten


def test_larger_than_the_memory(tmp_path: Path) -> None:
    """A file of ten terabytes, with nothing in it: no part of it is read."""
    path = tmp_path / "large.ngc"
    try:
        with path.open("wb") as file:
            file.truncate(10**13)
    except OSError:
        pytest.skip("no such file can be made here")
    status, said = gpre("count", path)
    assert status == 3
    assert "FIL008" in said or "FIL007" in said


# --- profiles -----------------------------------------------------------------------------------


def test_header_of_two_hundred_thousand_bytes_of_points(tmp_path: Path) -> None:
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    for text in ("[" + "a." * 99_990 + "a]\n", "a." * 99_990 + "a = 1\n"):
        (tmp_path / "mill.toml").write_text(text)
        for option in ("--mill", "--job"):
            status, said = gpre("rewrite", tmp_path / "in.ngc", option, tmp_path / "mill.toml")
            assert status == 3
            assert "MIL511" in said
    assert names(tmp_path) == {"in.ngc", "mill.toml"}


# --- where the output goes ----------------------------------------------------------------------


def test_link_as_output_stays_a_link(tmp_path: Path, rewritten: bytes) -> None:
    (tmp_path / "shop").mkdir()
    target, link = tmp_path / "shop" / "real.ngc", tmp_path / "out.ngc"
    target.write_bytes(OLD)
    link.symlink_to(Path("shop") / "real.ngc")
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    status, said = gpre("rewrite", tmp_path / "in.ngc", "--output", link)
    assert status == 2, said
    assert target.read_bytes() == OLD
    status, said = gpre("rewrite", tmp_path / "in.ngc", "--output", link, "--force")
    assert status == 0, said
    assert link.is_symlink()
    assert target.read_bytes() == rewritten
    assert names(tmp_path / "shop") == {"real.ngc"}


def test_link_that_leads_nowhere_yet(tmp_path: Path, rewritten: bytes) -> None:
    link = tmp_path / "out.ngc"
    link.symlink_to("real.ngc")
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    assert gpre("rewrite", tmp_path / "in.ngc", "--output", link)[0] == 0
    assert link.is_symlink()
    assert (tmp_path / "real.ngc").read_bytes() == rewritten


def test_link_that_leads_to_itself(tmp_path: Path) -> None:
    link = tmp_path / "out.ngc"
    link.symlink_to("out.ngc")
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    status, said = gpre("rewrite", tmp_path / "in.ngc", "--output", link)
    assert status == 3, said
    assert names(tmp_path) == {"in.ngc", "out.ngc"}
    assert link.is_symlink()


@pytest.mark.parametrize("parent", ["none", "file", "none/deeper"])
def test_folder_of_the_output_is_none(tmp_path: Path, parent: str) -> None:
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    (tmp_path / "file").write_bytes(OLD)
    status, said = gpre("rewrite", tmp_path / "in.ngc", "--output", tmp_path / parent / "out.ngc")
    assert status == 3
    assert "out.ngc" in said
    assert names(tmp_path) == {"in.ngc", "file"}
    assert (tmp_path / "file").read_bytes() == OLD


def test_hard_link_as_output_leaves_the_other_name_with_the_old_program(
    tmp_path: Path, rewritten: bytes
) -> None:
    out, other = tmp_path / "out.ngc", tmp_path / "other.ngc"
    other.write_bytes(OLD)
    os.link(other, out)
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    assert gpre("rewrite", tmp_path / "in.ngc", "--output", out, "--force")[0] == 0
    assert out.read_bytes() == rewritten
    assert other.read_bytes() == OLD


def test_output_in_another_file_system(tmp_path: Path, rewritten: bytes) -> None:
    memory = Path("/dev/shm")
    if not memory.is_dir() or memory.stat().st_dev == tmp_path.stat().st_dev:
        pytest.skip("no second file system that can be written to")
    (tmp_path / "in.ngc").write_bytes(PROGRAM)
    out, link = memory / f"gpre-{os.getpid()}.ngc", tmp_path / "out.ngc"
    link.symlink_to(out)
    try:
        status, said = gpre("rewrite", tmp_path / "in.ngc", "--output", link)
        assert status == 0, said
        assert out.read_bytes() == rewritten
        assert link.is_symlink()
        assert not [path for path in memory.iterdir() if path.name.startswith(TEMPORARY)]
    finally:
        out.unlink(missing_ok=True)
