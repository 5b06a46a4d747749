"""What `gpre count` takes in memory for a large program, and what it says where that is not there.

Peak resident memory beyond that of a tiny program: for plain moves of about 30 bytes a line at most
10 bytes for each byte of the text; in general 12 MB, two bytes for each byte of the text, 40 for
each block, 110 for each move and 70 for each reversal (tests/bench/memory.py prints what is taken).
Lines for the grammar and lines with findings become objects, of about 2,000 and 500 bytes.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("resource")  # not on all systems

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "bench"))

import memory  # noqa: E402

SURFACE = 20_000_000  # bytes
OTHERS = 6_000_000
WINDOWS = 12_000_000  # bytes that large programs take whatever their size, for what is in between
PER_BYTE = 10.0  # bytes of memory for each of the text: 200 MB of plain moves fit into 2 GB

# Counts with no more address space than the process has, all modules read in, and so much more.
SHORT_OF_MEMORY = """
import importlib
import resource
import sys
from gpre.cli.bridge import run
from gpre.cli.main import gpre

for name in ("cli.count", "driver.counting", "report.count", "report.settings"):
    importlib.import_module("gpre." + name)
with open("/proc/self/statm") as sizes:
    now = int(sizes.read().split()[0]) * resource.getpagesize()
limit = now + int(sys.argv[1])
resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
sys.exit(run(gpre, ["count", *sys.argv[2:]]))
"""


@pytest.fixture(scope="module")
def least(tmp_path_factory: pytest.TempPathFactory) -> int:
    """Bytes: the peak of a process that counts a tiny program."""
    file = tmp_path_factory.mktemp("memory") / "tiny.nc"
    file.write_bytes(memory.TINY)
    peak, status = memory.peak(file)
    assert status == 0
    return int(peak)


@pytest.fixture(scope="module")
def surface(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a large program of plain moves."""
    file = tmp_path_factory.mktemp("memory") / "surface.nc"
    memory.write("surface", SURFACE, file)
    return file


def test_a_large_surface_program_takes_at_most_ten_times_its_size(
    surface: Path, least: int
) -> None:
    peak, status = memory.peak(surface)
    assert status == 0
    assert (peak - least) / surface.stat().st_size < PER_BYTE


@pytest.mark.parametrize(
    ("shape", "per_byte"), [("finishing", 8.0), ("tools", 10.0), ("arcs", 11.5), ("comments", 4.0)]
)
def test_other_large_programs_take_little_more(
    shape: str, per_byte: float, least: int, tmp_path: Path
) -> None:
    file = tmp_path / "program.nc"
    memory.write(shape, OTHERS, file)
    peak, status = memory.peak(file)
    assert status == 0
    assert (peak - least - WINDOWS) / file.stat().st_size < per_byte


@pytest.mark.parametrize(("shape", "per_block"), [("short", 170.0), ("blank", 40.0)])
def test_the_shortest_lines_take_no_more_than_so_many_bytes_each(
    shape: str, per_block: float, least: int, tmp_path: Path
) -> None:
    file = tmp_path / "program.nc"
    blocks = memory.write(shape, OTHERS // 2, file)
    peak, status = memory.peak(file)
    assert status == 0
    assert (peak - least - WINDOWS) / blocks < per_block


# From so little that not even the file can be read, over all stages, to not quite enough.
@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="tells what a process has")
@pytest.mark.parametrize(
    ("per_byte", "options"),
    [(0.0, []), (0.0, ["--json"]), (0.5, []), (1.2, ["--json"]), (3.0, []), (5.5, [])],
)
def test_too_large_a_program_is_told_in_words(
    per_byte: float, options: list[str], surface: Path
) -> None:
    more = int(per_byte * surface.stat().st_size)
    done = subprocess.run(
        [sys.executable, "-c", SHORT_OF_MEMORY, str(more), *options, str(surface)],
        capture_output=True,
        timeout=60,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 3, done.stderr
    said = done.stdout + done.stderr
    assert b"Traceback" not in said
    assert b"FIL008" in said
    assert b"cut the program up at its tool changes" in said
    if done.stdout:  # with hardly any memory left the words are plain ones
        assert options
        assert json.loads(done.stdout)["fault"]["status"] == 3
