"""Whatever happens in a command, it ends with words and a status."""

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest

from gpre.cli.bridge import INTERRUPTED, OWN_FAULT, PIPE_CLOSED, run
from gpre.diagnostics.faults import FileFault, ProofFault, UsageFault
from gpre.geometry.too_dense import CrowdedError

ROOT = Path(__file__).parents[2]


def failing(error):
    @click.command()
    @click.option("--json", "as_json", is_flag=True)
    @click.option("--output")
    def command(as_json, output):
        raise error

    return command


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (UsageFault("cannot be"), 2),
        (FileFault("cannot be"), 3),
        (ProofFault("cannot be"), 4),
        (click.UsageError("cannot be"), 2),
        (click.BadParameter("cannot be"), 2),
    ],
)
def test_a_fault_is_told_and_has_its_status(capsys, error, status):
    assert run(failing(error), []) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert "cannot be" in err
    assert "Traceback" not in err


@pytest.mark.parametrize("error", [UsageFault("cannot be"), click.UsageError("cannot be")])
def test_with_json_a_fault_is_json(capsys, error):
    assert run(failing(error), ["--json"]) == 2
    out, err = capsys.readouterr()
    assert '"message": "cannot be"' in out
    assert err == ""


@pytest.mark.parametrize("output", [["--output", "-"], ["--output=-"]])
def test_where_the_program_goes_to_standard_output_a_fault_does_not(capsys, output):
    assert run(failing(ProofFault("cannot be")), ["--json", *output]) == 4
    out, err = capsys.readouterr()
    assert out == ""
    assert '"status": 4' in err


@pytest.mark.parametrize(
    "error",
    [ValueError("x\n\x1b[31m" * 500), RecursionError(), ZeroDivisionError(), AssertionError()],
)
def test_a_fault_of_our_own_is_owned(capsys, error):
    assert run(failing(error), []) == OWN_FAULT
    out, err = capsys.readouterr()
    assert out == ""
    assert "a fault of gpre" in err
    assert type(error).__name__ in err
    assert "test_bridge.py:" in err
    assert "Traceback" not in err
    assert "\x1b" not in err
    assert len(err) < 600


def test_too_little_memory_is_told(capsys):
    assert run(failing(MemoryError()), []) == 3
    assert "FIL008" in capsys.readouterr().err


def test_a_crowd_is_a_fault_of_the_program(capsys):
    assert run(failing(CrowdedError()), []) == 3
    assert "FIL009" in capsys.readouterr().err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_an_interruption_ends_quietly(capsys, error):
    assert run(failing(error), []) == INTERRUPTED
    assert capsys.readouterr() == ("", "")


def test_a_full_disk_behind_a_redirection_is_told(capsys):
    assert run(failing(OSError(errno.ENOSPC, "No space left on device")), []) == 3
    assert "the disk is full" in capsys.readouterr().err


def start(*arguments, **options):
    return subprocess.Popen(
        [sys.executable, "-m", "gpre.cli.main", *arguments],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        **options,
    )


def test_a_closed_pipe_ends_quietly(tmp_path):
    program = tmp_path / "long.ngc"
    program.write_bytes(b"G21 G90\n" + b"G1 X1 F100\nG1 X0\n" * 20_000)
    process = start("count", str(program), "--list", stdout=subprocess.PIPE)
    assert process.stdout is not None
    process.stdout.read(10)
    process.stdout.close()
    assert process.stderr is not None
    said = process.stderr.read()
    process.stderr.close()
    assert process.wait() == PIPE_CLOSED
    assert said == b""


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ there")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_and_its_like_end_quietly(number):
    process = start("count", "-", stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    assert process.stdin is not None
    try:
        process.stdin.write(b"G0 X1\n")
        process.stdin.flush()
        wait_until_reading(process.pid)
        process.send_signal(number)
        out, err = process.communicate(timeout=60)
    finally:
        process.kill()
    assert (out, err) == (b"", b"")
    assert process.returncode == INTERRUPTED


def wait_until_reading(pid):
    """Wait until the process sleeps in a read of standard input."""
    import time

    place = Path(f"/proc/{pid}/wchan")
    for _ in range(600):
        time.sleep(0.05)
        if place.exists() and "pipe" in place.read_text(encoding="utf-8"):
            return
    time.sleep(1)


def test_help_loads_nothing_heavy():
    for page in (
        ["--help"],
        ["count", "--help"],
        ["rewrite", "--help"],
        ["diff", "--help"],
        ["--version"],
    ):
        code = (
            "import sys\n"
            "from gpre.cli.main import gpre\n"
            "from gpre.cli.bridge import run\n"
            f"assert run(gpre, {page!r}) == 0\n"
            "heavy = {'numpy', 'lark', 'shapely', 'rich'} & set(sys.modules)\n"
            "assert not heavy, heavy\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=False, env=os.environ
        )
        assert done.returncode == 0, done.stderr.decode()
