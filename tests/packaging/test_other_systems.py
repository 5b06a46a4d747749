"""gpre and its tests where what POSIX systems have is missing: Windows' set, simulated."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import windows_names

ROOT = Path(__file__).resolve().parents[2]
# what opens, reads, writes and replaces files, starts processes and asks the system
QUICK = (
    *("tests/source", "tests/driver/test_own_files.py", "tests/mill/test_profile.py"),
    *("tests/cli/test_bridge.py", "tests/cli/test_busy.py", "tests/cli/test_output.py"),
    *("tests/cli/test_count_command.py", "tests/cli/test_streams.py"),
    "tests/scripting/test_scripting_faults.py",
)


@pytest.fixture(scope="module")
def windows(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Return the environment of a process that sees what Windows has, and no POSIX command."""
    return {
        **{name: value for name, value in os.environ.items() if not name.startswith("PYTEST")},
        "PATH": str(tmp_path_factory.mktemp("no-commands")),
        "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests" / "as_on_windows"))),
        "GPRE_LACKING_NAMES": " ".join(windows_names.lacking_names()),
        "GPRE_LACKING_MODULES": " ".join(windows_names.lacking_modules()),
        "HYPOTHESIS_PROFILE": "dev",
    }


def run(windows: dict[str, str], *arguments: str) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=windows,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    return done.returncode, done.stdout.decode()


def test_what_windows_lacks_is_known() -> None:
    names, modules = windows_names.lacking_names(), windows_names.lacking_modules()
    # the documentation of Python says "Availability: Unix" of these, and does not of the others
    assert {"os.geteuid", "os.chown", "os.mkfifo", "os.fork", "signal.SIGHUP"} <= set(names)
    assert {"fcntl", "resource", "termios", "pwd", "pty"} <= set(modules)
    here = {"os.umask", "os.open", "os.O_EXCL", "os.link", "signal.SIGTERM", "signal.SIGINT"}
    assert not here & set(names)
    assert not {"os", "signal", "subprocess", "msvcrt"} & set(modules)


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("import os; os.geteuid()", "no attribute 'geteuid'"),
        ("from signal import SIGHUP", "cannot import name 'SIGHUP'"),
        ("import fcntl", "No module named 'fcntl'"),
        ("from pathlib import Path; Path('/proc/meminfo').read_text()", "No such file"),
        ("open('/dev/full', 'wb')", "No such file"),
        ("import sys; assert sys.platform != 'win32'", "AssertionError"),
        ("import subprocess; subprocess.run(['sh', '-c', ':'])", "No such file"),
    ],
)
def test_the_simulation_takes_it_away(windows: dict[str, str], code: str, said: str) -> None:
    status, text = run(windows, "-c", code)
    assert status == 1
    assert said in text
    whole = {**os.environ, "PYTHONPATH": str(ROOT)}
    if "/dev/full" not in code and "platform" not in code and sys.platform == "linux":
        assert run(whole, "-c", code)[0] == 0


def test_the_simulation_writes_text_as_windows_does(
    windows: dict[str, str], tmp_path: Path
) -> None:
    place = tmp_path / "text"
    code = f"open({str(place)!r}, 'w').write('\\xf8\\n'); print('a')"
    assert run(windows, "-c", code) == (0, "a\r\n")
    assert place.read_bytes() == b"\xf8\r\n"


def test_all_tests_collect_there(windows: dict[str, str]) -> None:
    status, said = run(windows, "-m", "pytest", "-q", "--collect-only", "-p", "no:cacheprovider")
    assert status == 0, said[-3000:]


def test_a_share_of_the_tests_passes_there(windows: dict[str, str]) -> None:
    options = ("-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-m", "not slow")
    status, said = run(windows, "-m", "pytest", *options, *QUICK)
    assert status == 0, said[-5000:]
    (passed,) = re.findall(r"(\d+) passed", said)
    assert int(passed) > 200


def test_gpre_runs_there(windows: dict[str, str], tmp_path: Path) -> None:
    """The commands themselves, each in a process of its own."""
    out = tmp_path / "new.ngc"
    known = ("--mill", "samples/mill.toml")
    sample = "samples/dovetail_shoe.ngc"
    gpre = ("-m", "gpre.cli.main")
    for arguments in (
        ("count", sample, *known, "--json"),
        ("predict", sample, *known),
        ("rewrite", sample, *known, "--output", str(out), "--certificate", str(tmp_path / "c.txt")),
        ("prove", sample, str(out), *known),
        ("diff", sample, str(out), *known),
        ("explain", "MIL504"),
    ):
        status, said = run(windows, *gpre, *arguments)
        assert status == (1 if arguments[0] == "diff" else 0), said
        assert "Traceback" not in said
    assert b"\r" not in out.read_bytes()  # the sample ends its lines with LF
