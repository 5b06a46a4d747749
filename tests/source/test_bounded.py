"""What has no end is read to a bound, and what cannot be a text no further than that shows."""

import io
import os
from pathlib import Path

import pytest

from gpre.diagnostics.faults import FileFault
from gpre.source import bounded
from gpre.source.bounded import TooLongError, read_bounded
from gpre.source.files import read_bytes, read_program_text

PIECE = 1 << 20


class Endless(io.RawIOBase):
    """Gives one byte again and again, and counts how many were asked for."""

    def __init__(self, octet):
        self.octet, self.given = octet, 0

    def readable(self):
        return True

    def readinto(self, room):
        room[:] = bytes([self.octet]) * len(room)
        self.given += len(room)
        return len(room)


def test_a_plain_file_is_read_whole(tmp_path):
    path = tmp_path / "plain.ngc"
    data = os.urandom(3 * PIECE + 17)  # zero bytes too: what they mean is for others to say
    path.write_bytes(data)
    with path.open("rb") as file:
        assert read_bounded(file) == data
    with path.open("rb") as file:
        file.seek(5)
        assert read_bounded(file) == data[5:]


@pytest.mark.parametrize("size", [0, 1, PIECE - 1, PIECE, PIECE + 1, 3 * PIECE + 5])
def test_a_stream_is_read_whole(size):
    data = bytes(at % 255 + 1 for at in range(1000)) * (size // 1000) + b"x" * (size % 1000)
    assert read_bounded(io.BytesIO(data)) == data


def test_a_file_that_grows_while_it_is_read_is_read_to_its_end(tmp_path, monkeypatch):
    path = tmp_path / "grows.ngc"
    path.write_bytes(b"G1 X1\n" * 10)
    monkeypatch.setattr(bounded, "_size", lambda _: 12)
    with path.open("rb") as file:
        assert read_bounded(file) == b"G1 X1\n" * 10


def test_an_endless_stream_ends_at_the_bound(monkeypatch):
    monkeypatch.setattr(bounded, "MOST_STREAMED", 5 * PIECE)
    endless = Endless(ord("G"))
    with pytest.raises(TooLongError) as caught:
        read_bounded(io.BufferedReader(endless))
    assert (caught.value.most, caught.value.memory) == (5 * PIECE, False)
    assert endless.given < 8 * PIECE


def test_of_endless_zeros_one_piece_is_read():
    endless = Endless(0)
    data = read_bounded(io.BufferedReader(endless))
    assert set(data) == {0}
    assert endless.given <= 2 * PIECE


def test_what_the_memory_does_not_bear_is_not_begun(tmp_path, monkeypatch):
    path = tmp_path / "large.ngc"
    path.write_bytes(b"G1 X1\n" * 1000)
    monkeypatch.setattr(bounded, "memory_bears", lambda: 5999)
    with pytest.raises(FileFault) as caught:
        read_bytes(str(path))
    (finding,) = caught.value.diagnostics
    assert finding.code == "FIL008"
    assert "5,999 bytes" in finding.message
    monkeypatch.setattr(bounded, "memory_bears", lambda: 6000)
    assert len(read_bytes(str(path))) == 6000
    monkeypatch.setattr(bounded, "memory_bears", lambda: None)  # the system does not say
    assert len(read_bytes(str(path))) == 6000


def test_the_memory_bounds_streams_too(monkeypatch):
    monkeypatch.setattr(bounded, "memory_bears", lambda: 2 * PIECE)
    with pytest.raises(TooLongError) as caught:
        read_bounded(io.BufferedReader(Endless(ord("G"))))
    assert caught.value.memory


@pytest.mark.skipif(not Path("/proc/meminfo").exists(), reason="the system has no such file")
def test_the_memory_is_what_the_system_says(tmp_path, monkeypatch):
    found = bounded.memory_bears()
    assert found is not None
    total = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    assert 0 < found <= total // bounded.PER_BYTE
    limit = tmp_path / "memory.max"  # of a container
    limit.write_bytes(b"3000000\n")
    monkeypatch.setattr(bounded, "_LIMITS", (limit,))
    assert bounded.memory_bears() == 1_000_000
    limit.write_bytes(b"max\n")
    assert bounded.memory_bears() is not None
    monkeypatch.setattr(bounded, "_MEMORY", tmp_path / "none")
    assert bounded.memory_bears() is None


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
def test_a_device_of_zeros_is_no_text():
    with pytest.raises(FileFault) as caught:
        read_program_text("/dev/zero")
    assert caught.value.diagnostics[0].code == "FIL007"


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device")
@pytest.mark.parametrize("name", ["/dev/zero", "/dev/urandom"])
def test_a_device_is_no_profile(name):
    from gpre.settings.toml_file import SettingsFile

    with pytest.raises(FileFault) as caught:
        SettingsFile.read(name)
    assert caught.value.diagnostics[0].code == "FIL012"


def test_an_empty_name_is_no_file():
    with pytest.raises(FileFault) as caught:
        read_bytes("")
    assert caught.value.diagnostics[0].code == "FIL011"
