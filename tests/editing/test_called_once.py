"""A program, and the same with a part of it in a subprogram that is called once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gpre.driver.rewrite import Options, rewrite
from gpre.editing.called_once import only_stops
from gpre.editing.editable import editable_of
from gpre.mill.job import Box, Job, Tool
from gpre.motion.order import run_order
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.prove import prove
from gpre.source.text import SourceText

HEAD = ["G21 G17 G90 G94", "T1 M6", "S3000 M3", "G0 Z20", "X-30 Y-30", "Z5"]
PARK = ["G0 Z20", "X-30 Y-30"]  # every part begins and ends there, so each stands for itself
JOB = Job({1: Tool(6.0)}, Box((0.0, 0.0, -20.0), (200.0, 200.0, 0.0)))
tenths = st.integers(0, 900).map(lambda n: f"{n / 10:g}")
NOISE = ["", "0.001", "0.0008", "-0.001"]


@st.composite
def holes(draw: st.DrawFn) -> list[str]:
    lines = []
    for _ in range(draw(st.integers(1, 3))):
        depth = draw(st.integers(1, 9))
        lines += [f"G0 X{draw(tenths)} Y{draw(tenths)}", "Z5", f"G1 Z-{depth} F100", "G0 Z5"]
    return lines


@st.composite
def drilled(draw: st.DrawFn) -> list[str]:
    places = [f"X{draw(tenths)} Y{draw(tenths)}" for _ in range(draw(st.integers(2, 4)))]
    code = draw(st.sampled_from(["G98 G81", "G99 G81", "G99 G83"]))
    peck = " Q2" if code.endswith("83") else ""
    return [f"{code} {places[0]} Z-6 R2{peck} F80", *places[1:], "G80"]


@st.composite
def wavering(draw: st.DrawFn) -> list[str]:
    x, low = draw(st.integers(10, 150)), draw(st.integers(10, 150))
    lines = [f"G0 X{x} Y{low}", "Z2", "G1 Z-1 F100"]
    for at in range(draw(st.integers(3, 7))):
        y = low + 0.1 * at * draw(st.sampled_from([0, 1]))
        y += float(draw(st.sampled_from(NOISE)) or 0.0)
        lines.append(f"X{x + 1 + at}.000 Y{y:.4f} F300")
    return lines


@st.composite
def outline(draw: st.DrawFn) -> list[str]:
    wide, high, at = draw(st.integers(20, 60)), draw(st.integers(20, 60)), draw(st.integers(1, 19))
    x, y = draw(st.integers(10, 60)), draw(st.integers(10, 60))
    start = f"X{x + at} Y{y}"
    corners = [f"X{x + wide}", f"Y{y + high}", f"X{x}", f"Y{y}", f"X{x + at}"]
    return [f"G0 {start}", "Z2", "G1 Z-2 F100", f"{corners[0]} F300", *corners[1:]]


@st.composite
def facing(draw: st.DrawFn) -> list[str]:
    lines = ["G0 X-10 Y5", "Z2", f"G1 Z-{draw(st.sampled_from(['0.5', '1']))} F200"]
    for at in range(draw(st.integers(2, 5))):
        lines += [f"X{210 if at % 2 == 0 else -10} F600", f"Y{5 + 5 * (at + 1)}"]
    return lines[:-1]


parts = st.one_of(holes(), drilled(), wavering(), outline(), facing())


def _motion(data: bytes) -> tuple[np.ndarray, ...]:
    found = trace(read(data))
    assert len(found)
    return found.kind, found.start, found.end, found.feed, found.role


def _text(lines: list[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode()


def _with_subprogram(pieces: list[list[str]], which: int, *, nested: bool) -> bytes:
    lines = list(HEAD)
    for at, piece in enumerate(pieces):
        lines += ["M98 P100"] if at == which else [*piece, *PARK]
    lines += ["M30", "O100"]
    if nested:
        lines += ["M98 P200", "M99", "O200"]
    return _text([*lines, *pieces[which], *PARK, "M99"])


@pytest.mark.parametrize("name", ["approach", "straighten", "start-point", "one-way"])
@given(
    pieces=st.lists(parts, min_size=1, max_size=3), which=st.integers(0, 2), nested=st.booleans()
)
def test_rewriting_gives_the_same_motion(
    name: str, pieces: list[list[str]], which: int, nested: bool
):
    whole = [*HEAD]
    for piece in pieces:
        whole += [*piece, *PARK]
    flat = _text([*whole, "M30"])
    called = _with_subprogram(pieces, which % len(pieces), nested=nested)
    for one, other in zip(_motion(flat), _motion(called), strict=True):
        assert np.array_equal(one, other, equal_nan=True)
    options = Options(only=(name,))
    results = [rewrite(SourceText.of(each, "part"), None, JOB, options) for each in (flat, called)]
    assert all(each.proof.holds for each in results)
    # where one part lies over another, a call between them lets the proof tell them apart
    assume(not any(why.reason.startswith("taken back") for why in results[0].plan.refused))
    assert results[0].after.in_cut == results[1].after.in_cut
    for one, other in zip(*(_motion(each.data) for each in results), strict=True):
        assert np.allclose(one, other, rtol=0.0, atol=1e-9, equal_nan=True)


@given(
    pieces=st.lists(parts, min_size=1, max_size=3),
    cut=st.tuples(st.integers(0, 40), st.integers(1, 20)),
    ways=st.sampled_from(["once", "twice", "L2"]),
)
def test_a_subprogram_cut_out_anywhere_leaves_a_proved_program(
    pieces: list[list[str]], cut: tuple[int, int], ways: str
):
    lines = [line for piece in pieces for line in [*piece, *PARK]]
    first = cut[0] % len(lines)
    inner = lines[first : first + cut[1]]
    call = {"once": ["M98 P7"], "twice": ["M98 P7", "M98 P7"], "L2": ["M98 P7 L2"]}[ways]
    main = [*HEAD, *lines[:first], *call, *lines[first + cut[1] :], "M30"]
    text = _text([*main, "O7", *inner, "M99"])
    result = rewrite(SourceText.of(text, "part"), None, JOB)
    assert result.proof.holds
    assert prove(SourceText.of(text, "a"), SourceText.of(result.data, "b"), None, JOB).holds
    assert result.after.in_cut <= result.before.in_cut
    again = rewrite(SourceText.of(result.data, "part"), None, JOB)
    assert again.data == result.data
    if ways != "once":
        block = _text(["O7", *inner, "M99"])
        assert block in result.data, "a subprogram that runs twice has changed"


def test_the_run_order_of_nested_and_repeated_calls():
    text = b"G21\nM98 P1\nM98 P2 L2\nM30\nO1\nG0 X1\nM98 P2\nM99\nO2\nG0 X2\nM99\n"
    program = read(text)
    order = run_order(len(program), trace(program))
    assert order.steps[: order.ran].tolist() == [
        *(0, 1, 4, 5, 6, 8, 9, 10, 7),
        *(2, 8, 9, 10, 8, 9, 10, 3),
    ]
    assert order.runs.tolist() == [1, 1, 1, 1, 1, 1, 1, 1, 3, 3, 3][: len(program)]
    assert order.steps[order.of_row].tolist() == [5, 9, 9, 9]


def test_blocks_behind_the_end_come_last_and_never_run():
    program = read(b"G21\nG0 X1\nM30\nG0 X2\n")
    order = run_order(len(program), trace(program))
    assert (order.ran, order.runs.tolist()[:4]) == (3, [1, 1, 1, 0])
    assert order.steps.tolist() == list(range(len(program)))


def test_nothing_goes_before_the_number_of_a_subprogram():
    text = b"G21 G90\nG0 Z5\nM98 P1\nM30\nO1 G0 X5\nG1 Z-1 F100\nM99\n"
    program = read(text)
    editable = editable_of(program, trace(program))
    assert editable.why_not_insert(4) == "a subprogram begins there"
    assert editable.why_not_insert(5) == ""
    assert editable.why_not_insert(6) == ""  # before it comes back
    assert editable.why_not_replace(1, 5) != ""


def test_a_place_behind_a_return_has_the_modes_of_the_subprogram():
    text = b"G21 G90 F100\nG0 Z5\nM98 P1\nG1 X2\nM30\nO1\nG91 F50\nX1\nM99\n"
    program = read(text)
    editable = editable_of(program, trace(program))
    assert editable.why_not_insert(3) == ""
    modes = editable.modes_before(3)
    assert (modes.distance, modes.feed, modes.motion) == (91, 50.0, 0)
    assert editable.position_before(3).tolist() == [1.0, 0.0, 5.0]


CALLED = b"G21 G90\nN10 G0 Z5\nM98 P1\nM30\nO1\nN10 G0 X5\nM99\nO2\nG0 X9\nM99\n"


def _obligation(before: bytes, after: bytes, name: str):
    proof = prove(SourceText.of(before, "a"), SourceText.of(after, "b"))
    return next(each for each in proof.obligations if each.name == name)


def test_the_proof_lets_a_subprogram_change_that_runs():
    after = CALLED.replace(b"N10 G0 X5", b"G0 X4\nN10 G0 X5")
    assert _obligation(CALLED, after, "readable").holds
    assert _obligation(CALLED, after, "untouched blocks").holds


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"G0 X9", b"G0 X8"),  # nobody calls it
        (b"O1\n", b"G0 Z6\nO1\n"),  # behind the end, before the subprogram: never reached
        (b"M99\nO2", b"M99\nG0 Z6\nO2"),
    ],
)
def test_the_proof_finds_what_changed_where_nothing_runs(old: bytes, new: bytes):
    assert not _obligation(CALLED, CALLED.replace(old, new, 1), "readable").holds


def test_a_block_number_twice_matters_only_where_calls_go_by_them():
    """M98 goes by the O number, M97 and M99 with P by block numbers: common practice, no source."""
    old, new = b"N10 G0 X5", b"N5 G0 X4\nN10 G0 X5\nN5 G0 X5"
    assert _obligation(CALLED, CALLED.replace(old, new), "untouched blocks").holds
    jumps = CALLED.replace(b"G0 X9\nM99", b"G0 X9\nM99 P5")
    assert not _obligation(jumps, jumps.replace(old, new), "untouched blocks").holds


def test_much_repeated_calls_are_looked_at_quickly():
    inner = b"O2\nM98 P3 L40\nM99\nO3\nG91 G0 X1\nX-1\nM99\n"
    text = b"G21 G90\nG0 Z5\nM98 P2 L200\nG90\nG0 X5 Y5\nG1 Z-1 F100\nG0 Z5\nM30\n" + inner
    program = read(text)
    editable = editable_of(program, trace(program))
    assert editable.order.runs.max() == 200 * 40
    assert editable.why_not_insert(4) == "a subprogram comes back there, with modes of its own"


@pytest.mark.parametrize(
    ("block", "wanted"),
    [(f"/M{code}", True) for code in (0, 1, 7, 8, 9, 60)]
    + [(f"/{words}", False) for words in ("M3", "M5", "M10", "M6", "M30", "G0 X1", "M8 X1")],
)
def test_stops_and_coolant_alone_may_be_switched_off(block: str, wanted: bool) -> None:
    assert only_stops(read(f"G21\n{block}\nM30\n".encode()), 1) == wanted


@pytest.mark.parametrize(
    ("rest", "why"),
    [
        ("/G0 X9\n", "line 4 can be switched off"),
        ("/M99\n", "line 4 can be switched off"),
        ("/M8\n", ""),
        ("G0 X9\n", ""),
    ],
)
def test_what_can_be_switched_off_may_call_it_again(rest: str, why: str) -> None:
    program = read(f"G21 G90\nG0 Z5\nM98 P1\n{rest}M30\nO1\nG0 X1\nM99\n".encode())
    assert editable_of(program, trace(program)).why_called(6).endswith(why)
    assert bool(editable_of(program, trace(program)).why_called(6)) == bool(why)
