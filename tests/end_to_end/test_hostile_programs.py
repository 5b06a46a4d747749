"""Programs that nobody would write: no traceback, a status, a proof; work and memory bounded."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import hostile_programs
import pytest
from steps import steps

from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals
from gpre.source.text import SourceText

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "bench"))

import memory  # noqa: E402

MEGABYTES = 20
# bytes of memory per byte of text, beyond what the command takes for a small program
MEMORY = 26.0


@pytest.fixture(scope="module")
def gone_through(tmp_path_factory: pytest.TempPathFactory) -> tuple[Counter[str], list[str]]:
    """How the commands ended for sixty programs, and what was wrong."""
    folder = tmp_path_factory.mktemp("hostile")
    ends: Counter[str] = Counter()
    wrong: list[str] = []
    for seed in range(60):
        these, said = hostile_programs.through(seed, folder)
        ends += these
        wrong += [f"program {seed}: {each}" for each in said]
    return ends, wrong


def test_programs_by_chance_go_through_everything(
    gone_through: tuple[Counter[str], list[str]],
) -> None:
    assert gone_through[1] == []


def test_many_of_the_programs_reach_the_proof(
    gone_through: tuple[Counter[str], list[str]],
) -> None:
    """The programs are not all so faulty that nothing is tried on them."""
    ends = gone_through[0]
    assert ends["prove 0"] >= 5
    assert ends["changed"] >= 2
    assert ends["count 3"] >= 10


def test_a_turn_in_a_last_move_of_unknown_time_is_not_put_into_another(tmp_path: Path) -> None:
    path = tmp_path / "turn.ngc"
    path.write_bytes(b"G21 G90\nG0 Z5\nG1 X0 Y0 Z1 F60\nG95\nG2 I5 Z2 F0.1\n")
    status, said, _ = hostile_programs._run(["predict", str(path), *hostile_programs.MILL])
    assert status in (0, 3), said


def plain_program(size: int) -> bytes:
    """Return a program of about `size` bytes: a surface in short lines, to and fro."""
    rows = [
        b"X%d.%03d Y%d.%d Z-%d.%02d\n" % (x % 90, x % 997, x // 90 % 60, x % 9, x % 3, x % 83)
        for x in range(10_000)
    ]
    block = b"".join(rows)
    return b"G21 G90\nG0 Z5\nG1 X0 Y0 Z-1 F400\n" + block * (size // len(block)) + b"G0 Z5\nM2\n"


def peak(path: Path) -> int:
    """Return the greatest resident memory of `gpre count` on a program, bytes."""
    size, status = memory.peak(path)
    assert status == 0
    return size


@pytest.mark.skipif(sys.platform == "win32", reason="the peak is not told there")
def test_memory_grows_with_the_text_by_a_bounded_factor(tmp_path: Path) -> None:
    small, big = tmp_path / "small.ngc", tmp_path / "big.ngc"
    small.write_bytes(plain_program(400_000))
    big.write_bytes(plain_program(MEGABYTES * 1_000_000))
    more = big.stat().st_size - small.stat().st_size
    assert peak(big) - peak(small) < MEMORY * more


# What might cost more than its length: (head, what is repeated, tail), one line or many.
FAMILIES = {
    "brackets": (b"#1=", b"[", b"1\n"),
    "brackets-closed": None,
    "signs": (b"#1=", b"-", b"1\n"),
    "parameters-of-parameters": (b"#1=", b"#", b"1\n"),
    "sum": (b"#1=[1", b"+1", b"]\n"),
    "powers": (b"#1=[1", b"**1", b"]\n"),
    "comments": (b"G0 X1 ", b"(x)", b"\n"),
    "open-comments": (b"G0 X1 ", b"(", b"\n"),
    "long-comment": (b"G0 X1 (", b"x ", b")\n"),
    "semicolons": (b"G0 X1 ", b"; ", b"\n"),
    "percents": (b"", b"%\n", b""),
    "counting": (b"#1=0\n", b"#1=#1+1\n", b""),
    "counting-in-brackets": (b"#1=0\n", b"#1=[#1+1]\nG0 X#1\n", b""),
    "assignments-in-one-line": (b"", b"#1=1 ", b"\n"),
    "names": (b"", b"#<rim>=1\n", b""),
    "o-words": (b"", b"O1 SUB\n", b""),
    "o-words-closed": (b"", b"O1 SUB\nO1 ENDSUB\n", b""),
    "program-numbers": (b"", b"O12\n", b""),
    "flow": (b"", b"IF [#1 GT 2] GOTO 5\n", b""),
    "calls": (b"G21 G90 G0 X0\n", b"M98 P1\n", b"M30\nO1\nG91 G1 X1 F60\nM99\n"),
    "calls-out-of-file": (b"G21 G90 G0 X0\n", b"M98 P7\n", b"M30\n"),
    "tools": (b"G21 G90\n", b"T1 M6\nG0 X1\n", b""),
    "modes": (b"", b"G20\nG1 X1 F5\nG21\nX0\n", b""),
    "offsets": (b"G21 G90 G0 X0\n", b"G92 X1\nG1 X2 F60\n", b""),
    "cycles": (b"G21 G90 G0 Z5 F60\n", b"G81 X1 Y1 Z-2 R1\nX2\n", b"G80\n"),
    "rounds": (b"G21 G90 G0 X0 Y0 F60\n", b"G2 I5\n", b""),
    "line-ends": (b"", b"\r", b"G0 X1"),
    "block-delete": (b"", b"/", b"G0 X1\n"),
    "numbers": (b"", b"N5", b" X1\n"),
    "odd-bytes": (b"", b"\xff\xfe", b"\n"),
}


def family(name: str, size: int) -> bytes:
    parts = FAMILIES[name]
    if parts is None:
        return b"#1=" + b"[" * (size // 2) + b"1" + b"]" * (size // 2) + b"\n"
    head, unit, tail = parts
    return head + unit * (size // len(unit)) + tail


@pytest.mark.parametrize("name", FAMILIES)
def test_no_family_of_programs_takes_more_than_its_length(name: str) -> None:
    def follow(size: int) -> int:
        source = SourceText.of(family(name, size), name)
        return steps(lambda: find_reversals(trace(read(source))))

    follow(2_000)  # what is made once is made
    few, many = follow(6_000), follow(24_000)
    assert many <= 4.4 * few + 2_000
