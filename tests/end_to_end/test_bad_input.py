"""Bad input through the real command: words and a status, never a traceback, never a lost file.

Exit status: 0 done, 1 a difference or limit, 2 wrong usage, 3 a fault in an input or output file,
4 the proof failed.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from machine import IS_ROOT, has_permissions, not_as_root

PLAIN = b"G21 G90\nG0 Z5\nG0 X5 Y5\nG1 Z-1 F60\nG1 X9\nG0 Z5\nM2\n"
ROOT = Path(__file__).resolve().parents[2]


def gpre(
    *arguments: str | Path, text: bytes | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a process of its own; standard input is empty unless `text` is given."""
    done = subprocess.run(
        [sys.executable, "-m", "gpre.cli.main", *map(str, arguments)],
        input=text or b"",
        capture_output=True,
        timeout=240,
        check=False,
        cwd=cwd or ROOT,
    )
    for stream in (done.stdout, done.stderr):
        assert b"Traceback" not in stream, stream.decode("utf-8", "replace")
        assert b"fault of gpre" not in stream, stream.decode("utf-8", "replace")
    assert done.returncode in (0, 1, 2, 3, 4), done
    return done


def left_over(folder: Path) -> list[str]:
    """Names in a folder, hidden ones too: a half-written file would show here."""
    return sorted(path.name for path in folder.iterdir())


def refused(done: subprocess.CompletedProcess[bytes], status: int, *words: str) -> None:
    """The command ended with the status and said something that holds one of the words."""
    said = done.stderr.decode("utf-8", "replace")
    assert done.returncode == status, said
    assert said.strip()
    if words:
        assert any(word in said.lower() for word in words), said


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    path = tmp_path / "plain.ngc"
    path.write_bytes(PLAIN)
    return path


# --- files that cannot be read, or hold no program --------------------------------------------


@pytest.mark.parametrize("command", ["count", "rewrite", "diff"])
@pytest.mark.parametrize("kind", ["missing", "folder", "empty", "binary"])
def test_no_program_in_the_file(tmp_path: Path, plain: Path, command: str, kind: str) -> None:
    bad = tmp_path / "bad.ngc"
    if kind == "folder":
        bad.mkdir()
    elif kind == "empty":
        bad.write_bytes(b"")
    elif kind == "binary":
        bad.write_bytes(b"\x7fELF\x02\x01\x01" + bytes(range(256)) * 40)
    out = tmp_path / "out.ngc"
    arguments = {
        "count": ["count", bad],
        "rewrite": ["rewrite", bad, "--output", out],
        "diff": ["diff", plain, bad],
    }[command]
    done = gpre(*arguments)
    refused(done, 3, "bad.ngc")
    assert not out.exists()
    expected = ["plain.ngc"] if kind == "missing" else ["bad.ngc", "plain.ngc"]
    assert left_over(tmp_path) == expected


def test_missing_file_in_json(tmp_path: Path) -> None:
    done = gpre("count", tmp_path / "none.ngc", "--json")
    assert done.returncode == 3
    assert "none.ngc" in json.dumps(json.loads(done.stdout))


def test_empty_standard_input() -> None:
    refused(gpre("count", "-", text=b""), 3)


@pytest.mark.parametrize(
    "line",
    [
        pytest.param(b"(" + b"x" * 50_000_000 + b")", id="comment"),
        pytest.param(b"(" + b"x" * 50_000_000, id="open-comment"),
        pytest.param(b"G1 X" + b"1" * 50_000_000, id="digits"),
        pytest.param(b"G1" + b" X1" * 16_666_666, id="words"),
        pytest.param(b"#1=" + b"[" * 50_000_000, id="brackets"),
        pytest.param(b"x" * 50_000_000, id="letters"),
        pytest.param(b" " * 50_000_000 + b"G1 X1 F80", id="blanks"),
    ],
)
def test_line_of_fifty_megabytes(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "long.ngc"
    path.write_bytes(PLAIN[:-3] + line + b"\nG0 X0\nM2\n")
    done = gpre("count", path)
    assert len(done.stderr) + len(done.stdout) < 20_000  # the line is not thrown at the reader
    if b"x" * 20 in line[:30] or line.startswith((b"G1", b"#1")):
        refused(done, 3) if done.returncode else None


def test_rewrite_of_a_line_of_fifty_megabytes(tmp_path: Path) -> None:
    path, out = tmp_path / "long.ngc", tmp_path / "out.ngc"
    path.write_bytes(PLAIN[:-3] + b"(" + b"x" * 50_000_000 + b")\nM2\n")
    done = gpre("rewrite", path, "--output", out)
    assert done.returncode in (0, 3)
    assert out.exists() == (done.returncode == 0)
    if out.exists():
        assert b"x" * 50_000_000 in out.read_bytes()


# --- faults within a program ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("block", "status"),
    [
        pytest.param(b"G1 X\x005 F80", (3,), id="nul"),
        pytest.param(b"G1 X7 (clamp F80", (0, 3), id="comment-never-closed"),
        pytest.param(b"G1 X#17 F80", (0, 3), id="parameter-never-set"),
        pytest.param(b"G1 X[1/0] F80", (3,), id="division-by-zero"),
        pytest.param(b"G1 X[4/[2-2]] F80", (3,), id="division-by-zero-in-brackets"),
        pytest.param(b"G1 X[1 MOD 0] F80", (3,), id="modulus-by-zero"),
        pytest.param(b"G1 XSQRT[0-1] F80", (3,), id="root-of-negative"),
        pytest.param(b"G1 XLN[0] F80", (3,), id="logarithm-of-zero"),
        pytest.param(b"G1 X[10**400] F80", (3,), id="overflow"),
        pytest.param(b"G1 XACOS[2] F80", (3,), id="acos-of-two"),
        pytest.param(b"G1 X[0-8]**[0.5] F80", (3,), id="text-behind-bracket"),
        pytest.param(b"G1 X[[0-8]**0.5] F80", (3,), id="power-of-negative"),
        pytest.param(b"G1 X[1 F80", (3,), id="bracket-never-closed"),
        pytest.param(b"#[0-1]=3", (3,), id="parameter-below-one"),
        pytest.param(b"#99999999999=3", (0, 3), id="parameter-far-out"),
        pytest.param(b"G2 X9 Y9 F80", (3,), id="no-centre"),
        pytest.param(b"G2 X9 Y9 I40 J3 F80", (3,), id="unequal-radii"),
        pytest.param(b"G2 X900 Y9 R1 F80", (3,), id="no-chord"),
        pytest.param(b"G2 R1 F80", (3,), id="radius-without-end"),
        pytest.param(b"G1 X1e400 F80", (3,), id="exponent"),
        pytest.param(b"G1 X" + b"9" * 400 + b" F80", (0, 3), id="four-hundred-digits"),
        pytest.param(b"G99999999999999999999 X1", (0, 3), id="great-code"),
        pytest.param(b"G4 P-1", (3,), id="negative-dwell"),
        pytest.param(b"G81 X1 Z-3 R-9 F80", (3,), id="cycle-upside-down"),
        pytest.param(b"G83 X1 Z-300000 R2 Q0.0001 F80", (0, 3), id="pecks-without-end"),
        pytest.param(b"G81 X1 Z-3 R1 L999999999 F80", (0, 3), id="repeats-without-end"),
        pytest.param(b"M98 P1 L99999999", (0, 3), id="calls-out-of-file"),
    ],
)
def test_fault_in_a_block(tmp_path: Path, block: bytes, status: tuple[int, ...]) -> None:
    path, out = tmp_path / "fault.ngc", tmp_path / "out.ngc"
    text = PLAIN[:-3] + block + b"\nG0 X0\nM2\n"
    path.write_bytes(text)
    done = gpre("count", path)
    said = done.stderr.decode("utf-8", "replace")
    assert done.returncode in status, said
    assert re.search(r"\bline 7\b", said), said
    done = gpre("rewrite", path, "--output", out)
    assert done.returncode in (0, 3), done.stderr.decode()
    assert path.read_bytes() == text
    if done.returncode:
        assert left_over(tmp_path) == ["fault.ngc"]
    else:
        assert block in out.read_bytes()  # what is not understood is passed through untouched


def test_endless_call_ends(tmp_path: Path) -> None:
    path = tmp_path / "call.ngc"
    path.write_bytes(b"M98 P10\nM30\nO10\nG1 X1 F80\nM98 P10\nM99\n")
    done = gpre("count", path)
    assert done.stderr.strip()


def test_calls_that_multiply_end(tmp_path: Path) -> None:
    lines = [b"G21 G90 F80", b"M98 P1 L9999", b"M30"]
    for number in range(1, 8):
        lines += [b"O%d" % number, b"G91 G1 X1", b"M98 P%d L9999" % (number + 1), b"M99"]
    lines += [b"O8", b"G1 X1", b"M99"]
    path = tmp_path / "calls.ngc"
    path.write_bytes(b"\n".join(lines) + b"\n")
    done = gpre("count", path)
    assert done.stderr.strip()


def test_names_with_control_characters_are_shown_harmlessly(tmp_path: Path) -> None:
    path = tmp_path / "esc\x1b[31m.ngc"
    path.write_bytes(PLAIN[:-3] + b"\x1b[2J\nM2\n")
    done = gpre("count", path)
    assert b"\x1b[2J" not in done.stdout + done.stderr
    assert b"\x1b[31m" not in done.stdout + done.stderr


# --- outputs ------------------------------------------------------------------------------------


def test_output_is_the_input(plain: Path) -> None:
    refused(gpre("rewrite", plain, "--output", plain), 2, "input")
    assert plain.read_bytes() == PLAIN


@pytest.mark.parametrize("way", ["symlink", "hard link", "other spelling", "link to input"])
def test_output_is_the_input_by_another_name(plain: Path, way: str) -> None:
    source, other = plain, plain.with_name("other.ngc")
    if way == "symlink":
        other.symlink_to(plain)
    elif way == "hard link":
        os.link(plain, other)
    elif way == "other spelling":
        (plain.parent / "sub").mkdir()
        other = plain.parent / "sub" / ".." / plain.name
    else:
        other.symlink_to(plain)
        source, other = other, plain
    refused(gpre("rewrite", source, "--output", other), 2, "input")
    assert plain.read_bytes() == PLAIN


def test_output_folder_is_missing(plain: Path) -> None:
    refused(gpre("rewrite", plain, "--output", plain.parent / "none" / "out.ngc"), 3, "none")
    assert left_over(plain.parent) == ["plain.ngc"]


def test_output_is_a_folder(plain: Path) -> None:
    folder = plain.parent / "out.ngc"
    folder.mkdir()
    refused(gpre("rewrite", plain, "--output", folder), 3, "folder", "directory")
    assert left_over(folder) == []
    assert left_over(plain.parent) == ["out.ngc", "plain.ngc"]


def test_output_keeps_an_old_file_when_the_program_is_faulty(tmp_path: Path) -> None:
    out = tmp_path / "out.ngc"
    out.write_bytes(b"old\n")
    refused(gpre("rewrite", tmp_path / "none.ngc", "--output", out), 3)
    assert out.read_bytes() == b"old\n"
    assert left_over(tmp_path) == ["out.ngc"]


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Path]:
    """A small file system in memory; skips where none can be mounted."""
    place = tmp_path / "mount"
    place.mkdir()
    if not IS_ROOT:
        pytest.skip("only root can mount; see the tests of the writer for the same by hand")
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(place)],
        capture_output=True,
        check=False,
    )
    if done.returncode:
        pytest.skip("nothing can be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_disk_is_full(plain: Path, mounted: Path) -> None:
    out = mounted / "out.ngc"
    out.write_bytes(b"old\n")
    (mounted / "filler").write_bytes(b"")
    with (mounted / "filler").open("wb", buffering=0) as filler:
        try:
            while filler.write(b"x" * 512):
                pass
        except OSError:
            pass
    before = left_over(mounted)
    big = plain.with_name("big.ngc")
    big.write_bytes(PLAIN[:-3] + b"(side)\n" * 20_000 + b"M2\n")
    refused(gpre("rewrite", big, "--output", out, "--force"), 3, "full", "space", "disk")
    assert out.read_bytes() == b"old\n"
    assert left_over(mounted) == before


def test_disk_is_full_without_a_mount(
    plain: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same within this process: forcing the bytes to the disk fails."""
    import errno

    from gpre.cli.bridge import run
    from gpre.cli.main import gpre as command

    def no_space(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    out = plain.with_name("out.ngc")
    out.write_bytes(b"old\n")
    monkeypatch.setattr(os, "fsync", no_space)
    status = run(command, ["rewrite", str(plain), "--output", str(out), "--force"])
    assert status == 3
    assert "full" in capsys.readouterr().err
    assert out.read_bytes() == b"old\n"
    assert left_over(plain.parent) == ["out.ngc", "plain.ngc"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no /dev/full")
@pytest.mark.parametrize(
    "arguments", [["count"], ["count", "--json"], ["rewrite", "--output", "-"]]
)
def test_standard_output_is_full(plain: Path, arguments: list[str]) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "gpre.cli.main", arguments[0], str(plain), *arguments[1:]],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
            timeout=120,
        )
    assert done.returncode == 3
    assert b"Traceback" not in done.stderr
    assert b"full" in done.stderr


def test_folder_is_read_only(plain: Path, mounted: Path) -> None:
    (mounted / "out.ngc").write_bytes(b"old\n")
    subprocess.run(["mount", "-o", "remount,ro", str(mounted)], check=True)
    refused(gpre("rewrite", plain, "--output", mounted / "out.ngc"), 2, "--force")
    refused(gpre("rewrite", plain, "--output", mounted / "out.ngc", "--force"), 3)
    refused(gpre("rewrite", plain, "--output", mounted / "new.ngc"), 3)
    assert (mounted / "out.ngc").read_bytes() == b"old\n"
    assert left_over(mounted) == ["out.ngc"]


@has_permissions
@not_as_root
def test_folder_may_not_be_written(plain: Path) -> None:
    folder = plain.parent / "locked"
    folder.mkdir()
    folder.chmod(0o500)
    try:
        refused(gpre("rewrite", plain, "--output", folder / "out.ngc"), 3, "allowed", "permission")
        assert left_over(folder) == []
    finally:
        folder.chmod(0o700)


def test_names_with_blanks_and_letters_of_other_scripts(tmp_path: Path) -> None:
    source = tmp_path / "spiegelzelle groß (zweite seite) Ø76.ngc"
    out = tmp_path / "новая программа 2.ngc"
    source.write_bytes(PLAIN)
    assert gpre("count", source).returncode == 0
    done = gpre("rewrite", source, "--output", out)
    assert done.returncode == 0, done.stderr.decode()
    assert out.exists()
    assert gpre("diff", source, out).returncode in (0, 1)
    assert source.read_bytes() == PLAIN


@pytest.mark.skipif(sys.platform != "linux", reason="names of any bytes are Linux's own")
def test_name_that_is_no_text(tmp_path: Path) -> None:
    raw = os.fsencode(tmp_path) + b"/caf\xe9.ngc"
    with open(raw, "wb") as file:  # noqa: PTH123
        file.write(PLAIN)
    done = gpre("count", os.fsdecode(raw))
    assert done.returncode == 0, done.stderr


# --- wrong usage --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments",
    [
        ["count"],
        ["count", "plain.ngc", "--limit", "-1"],
        ["count", "plain.ngc", "--limit", "many"],
        ["count", "plain.ngc", "--limit", "1_0"],
        ["count", "plain.ngc", "--limit", "\u0665"],
        ["count", "plain.ngc", "--limit", "9" * 5000],
        ["count", ""],
        ["count", "plain.ngc", "--mill", ""],
        ["predict", ""],
        ["predict", "plain.ngc", "--intended", ""],
        ["predict", "plain.ngc", "--tool", "1=\u0665"],
        ["prove", "", "plain.ngc"],
        ["prove", "plain.ngc", ""],
        ["prove", "plain.ngc", "plain.ngc", "--certificate", ""],
        ["diff", "plain.ngc", ""],
        ["rewrite", ""],
        ["rewrite", "plain.ngc", "--output", ""],
        ["rewrite", "plain.ngc", "--job", ""],
        ["rewrite", "plain.ngc", "--tolerance", "1_0"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--only", "sharpen"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--skip", "sharpen"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--tool", "six"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--tool", "3=-6"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--tool", "3=nan"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--stock", "0,0,0"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--stock", "0,0,0,-1,5,5"],
        ["rewrite", "plain.ngc", "--output", "out.ngc", "--cut", "sideways"],
        ["diff", "plain.ngc"],
        ["explain", "XYZ999"],
        ["sharpen", "plain.ngc"],
    ],
    ids=lambda each: ascii(" ".join(each))[1:60],
)
def test_wrong_usage(plain: Path, arguments: list[str]) -> None:
    refused(gpre(*arguments, cwd=plain.parent), 2)
    assert left_over(plain.parent) == ["plain.ngc"]


def test_faulty_mill_profile(plain: Path) -> None:
    mill = plain.with_name("mill.toml")
    for text in (
        b"x = [",
        b"[x]\nlost_motion = -1\n",
        b"\xff\xfe\x00",
        b"[x]\nlost_motoin = 0.1\n",
    ):
        mill.write_bytes(text)
        refused(gpre("count", plain, "--mill", mill), 3, "mill.toml")
    refused(gpre("count", plain, "--mill", plain.with_name("none.toml")), 3, "none.toml")


def test_limit_is_a_status_of_its_own(plain: Path) -> None:
    path = plain.with_name("turns.ngc")
    path.write_bytes(b"G21 G90\nG0 Z5\nG1 X9 F80\nG1 X5\nM2\n")
    assert gpre("count", path, "--limit", "1").returncode == 0
    assert gpre("count", path, "--limit", "0").returncode == 1
