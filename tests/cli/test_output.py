"""A program is written whole or not at all."""

import errno
import os
import stat
import subprocess
import time
from pathlib import Path

import pytest
from machine import IS_ROOT, has_permissions, not_as_root

from gpre.cli.certifying import refuse_certificate
from gpre.diagnostics.faults import FileFault, UsageFault
from gpre.driver.output import FORSAKEN, refuse_same_file, write_program

DATA = b"G1 X1\r\nM2\r\n" * 1000


def only(folder):
    return sorted(each.name for each in folder.iterdir())


def code_of(caught):
    (finding,) = caught.value.diagnostics
    return finding.code


def test_the_bytes_are_written_exactly_and_nothing_else_is_left(tmp_path):
    write_program(DATA, str(tmp_path / "new.ngc"))
    assert (tmp_path / "new.ngc").read_bytes() == DATA
    assert only(tmp_path) == ["new.ngc"]


@has_permissions
def test_a_new_file_gets_the_permissions_that_any_new_file_gets(tmp_path):
    write_program(DATA, str(tmp_path / "new.ngc"))
    (tmp_path / "other").write_bytes(b"")
    expected = stat.S_IMODE((tmp_path / "other").stat().st_mode)
    assert stat.S_IMODE((tmp_path / "new.ngc").stat().st_mode) == expected


@has_permissions
@pytest.mark.parametrize("mode", [0o640, 0o777, 0o600])
def test_an_old_file_keeps_its_permissions(tmp_path, mode):
    target = tmp_path / "old.ngc"
    target.write_bytes(b"old")
    target.chmod(mode)
    write_program(DATA, str(target))
    assert target.read_bytes() == DATA
    assert stat.S_IMODE(target.stat().st_mode) == mode


def test_a_link_is_followed_and_stays_a_link(tmp_path):
    target, link = tmp_path / "real.ngc", tmp_path / "link.ngc"
    target.write_bytes(b"old")
    link.symlink_to(target)
    write_program(DATA, str(link))
    assert link.is_symlink()
    assert target.read_bytes() == DATA


def test_a_folder_cannot_be_written_to(tmp_path):
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(tmp_path))
    assert code_of(caught) == "FIL002"


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(tmp_path / "none" / "new.ngc"))
    assert code_of(caught) == "FIL001"


def test_a_name_that_is_too_long_is_named(tmp_path):
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(tmp_path / ("n" * 5000)))
    assert code_of(caught) == "FIL005"
    assert only(tmp_path) == []


@pytest.mark.parametrize("failing", ["fsync", "write", "replace"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO, errno.EDQUOT])
def test_whatever_fails_the_old_file_stays_and_no_part_is_left(
    tmp_path, monkeypatch, failing, number
):
    target = tmp_path / "old.ngc"
    target.write_bytes(b"old")

    def fail(*_args, **_kwargs):
        raise OSError(number, os.strerror(number))

    if failing == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    elif failing == "replace":
        monkeypatch.setattr(Path, "replace", fail)
    else:
        real = os.fdopen

        monkeypatch.setattr(os, "fdopen", lambda *args: _Failing(real(*args), fail))
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(target))
    assert code_of(caught) == ("FIL005" if number == errno.EIO else "FIL004")
    assert target.read_bytes() == b"old"
    assert only(tmp_path) == ["old.ngc"]


class _Failing:
    """A file whose write fails as if the disk were full."""

    def __init__(self, file, fail):
        self.file, self.write = file, fail

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()


def test_a_part_that_a_killed_run_left_is_removed_a_day_later(tmp_path):
    old, new = tmp_path / ".gpre-0123456789abcdef.part", tmp_path / ".gpre-fedcba9876543210.part"
    other = tmp_path / "old.part"
    for each in (old, new, other):
        each.write_bytes(b"half")
    long_ago = time.time() - FORSAKEN - 60.0
    os.utime(old, (long_ago, long_ago))
    os.utime(other, (long_ago, long_ago))
    write_program(DATA, str(tmp_path / "new.ngc"))
    assert only(tmp_path) == sorted([new.name, "new.ngc", "old.part"])


def test_an_interruption_leaves_no_part(tmp_path, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_program(DATA, str(tmp_path / "new.ngc"))
    assert only(tmp_path) == []


@pytest.fixture
def small_disk(tmp_path):
    """A real file system of 64 KiB; skipped where the system does not let us have one."""
    place = tmp_path / "small"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(place)]
    if not IS_ROOT or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("no small file system to be had here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_is_really_full_changes_nothing(small_disk):
    target = small_disk / "old.ngc"
    target.write_bytes(b"old")
    with pytest.raises(FileFault) as caught:
        write_program(b"X" * 200_000, str(target))
    assert code_of(caught) == "FIL004"
    assert target.read_bytes() == b"old"
    assert only(small_disk) == ["old.ngc"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no such device")
def test_a_device_is_written_through_and_its_fault_is_told():
    with pytest.raises(FileFault) as caught:
        write_program(DATA, "/dev/full")
    assert code_of(caught) == "FIL004"
    assert stat.S_ISCHR(Path("/dev/full").stat().st_mode)


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="no such device")
def test_a_device_stays_a_device():
    write_program(DATA, "/dev/null")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


@has_permissions
@not_as_root
def test_a_protected_file_or_folder_is_not_written(tmp_path):
    target = tmp_path / "old.ngc"
    target.write_bytes(b"old")
    target.chmod(0o444)
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(target))
    assert code_of(caught) == "FIL003"
    tmp_path.chmod(0o555)
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(tmp_path / "new.ngc"))
    tmp_path.chmod(0o755)
    assert code_of(caught) == "FIL003"
    assert target.read_bytes() == b"old"


def test_the_system_refusing_access_is_told_as_such(tmp_path, monkeypatch):
    target = tmp_path / "old.ngc"
    target.write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(FileFault) as caught:
        write_program(DATA, str(target))
    assert code_of(caught) == "FIL003"
    assert target.read_bytes() == b"old"


@pytest.mark.parametrize("kind", ["same", "dotted", "symlink", "hard link", "not there"])
def test_the_output_must_not_be_the_input(tmp_path, kind, monkeypatch):
    source = tmp_path / "plate.ngc"
    if kind != "not there":
        source.write_bytes(b"G1")
    output = tmp_path / "other.ngc"
    if kind in ("same", "not there"):
        output = source
    elif kind == "dotted":
        monkeypatch.chdir(tmp_path)
        output = Path("sub") / ".." / "plate.ngc"
        (tmp_path / "sub").mkdir()
    elif kind == "symlink":
        output.symlink_to(source)
    else:
        output.hardlink_to(source)
    with pytest.raises(UsageFault, match="is the input"):
        refuse_same_file(str(source), str(output))


def test_another_file_and_the_standard_streams_are_fine(tmp_path):
    (tmp_path / "a").write_bytes(b"")
    (tmp_path / "b").write_bytes(b"")
    refuse_same_file(str(tmp_path / "a"), str(tmp_path / "b"))
    refuse_same_file(str(tmp_path / "a"), str(tmp_path / "new"))
    refuse_same_file("-", "-")


def test_a_folder_that_is_not_there_is_called_so(tmp_path):
    with pytest.raises(FileFault, match="there is no such folder") as caught:
        write_program(DATA, str(tmp_path / "nowhere" / "new.ngc"))
    assert code_of(caught) == "FIL001"
    assert only(tmp_path) == []


def test_a_certificate_that_is_the_output_is_called_so(tmp_path):
    same = str(tmp_path / "new.ngc")
    with pytest.raises(UsageFault, match=r"the certificate .* is the output too"):
        refuse_certificate(same, [(same, "the output too")])
