"""What must hold for any program: running on, the same motion in another manner, no crash."""

from __future__ import annotations

import numpy as np
import pytest
from examples import share
from hypothesis import given
from hypothesis import strategies as st
from motion_checks import assert_same, codes, program, run

from gpre.diagnostics.codes import TABLE
from gpre.motion.controller import Controller
from gpre.motion.trace import trace_from

LINES = st.sampled_from(
    [
        *("G0 X1 Y2 Z3", "G1 X5 F100", "Y-3", "G2 X6 Y-3 I0.5", "G3 X1 Y1 R9", "G2 I2 J2"),
        *("G91", "G90", "G91 X1 Y1", "G20", "G21", "G17", "G18", "G19", "F50", "S500 M3", "M5"),
        *("G54", "G55", "G92 X1 Y1", "G92.1", "G92.2", "G92.3", "G10 L2 P2 X3", "G53 G0 Z0"),
        *("G81 X1 Y1 Z-1 R2", "X3", "G98", "G99", "G83 X2 Z-9 R1 Q2", "L3 X1", "G80", "G73 Q1"),
        *("#1=3", "#1=[#1+1] X#1", "#2=#9", "G28 Z1", "G28", "G38.2 Z-9", "T2 M6", "G43 H1 Z5"),
        *("G93", "G94", "G95", "G1 X2 F3", "G41 D1", "G40", "M98 P77", "G65 P1", "G5 X1", "GO X1"),
        *("A90", "G1 B-5 X1", "M0", "G4 P1", "M8", "M9", "(MSG, a)", "", "/ X7", "G90.1", "G91.1"),
        *("G1 X1 X2", "G1 G2", "G61", "G64", "M49", "G59.3", "G30 Y1", "G2 X1 Y1 R0.1", "G1 E1"),
    ]
)


@share(1.5)
@given(st.lists(LINES, max_size=25), st.lists(LINES, max_size=25))
def test_running_on_from_an_end_state_is_running_both(first: list[str], last: list[str]) -> None:
    controller = Controller()
    both, _ = trace_from(program("\n".join([*first, *last])), controller)
    one, machine = trace_from(program("\n".join([*first, ""])), controller)
    two, _ = trace_from(program("\n".join(last)), controller, machine)
    assert len(both) == len(one) + len(two)
    for name in ("kind", "start", "end", "centre", "sweep", "plane", "feed", "role"):
        joined = np.concatenate((getattr(one, name), getattr(two, name)))
        np.testing.assert_array_equal(getattr(both, name), joined, err_msg=name)
    for move in range(len(both)):
        there = one.state_of(move) if move < len(one) else two.state_of(move - len(one))
        assert repr(both.state_of(move)) == repr(there)
    assert codes(both) == codes(one) + codes(two)
    shifted = [(event.kind, event.move + len(one), event.value) for event in two.events]
    before = [(event.kind, event.move, event.value) for event in one.events]
    assert [(each.kind, each.move, each.value) for each in both.events] == before + shifted


@share(1.5)
@given(st.lists(LINES, max_size=40))
def test_findings_have_entries_and_places(lines: list[str]) -> None:
    read = program("\n".join(lines))
    motion, _ = trace_from(read, Controller())
    for finding in motion.findings:
        assert finding.code in TABLE
        assert finding.span is not None
        assert 0 <= finding.span.start < finding.span.end <= len(read.text)
    for event in motion.events:
        assert 0 <= event.move <= len(motion)
    assert 0 <= motion.followed_to <= len(read)


PARTS = st.sampled_from(
    [
        *"GXYZIJKRFNMSTPQLHDABCOEUVW#[]=()%/;:.-+0123456789 ",
        *("G1", "G2", "G81", "M98 P1", "O1", "#1", "[1/0]", "\n", "X1", "Z-5", "R2", "I5", "G28"),
    ]
)


@share(1.5)
@given(st.lists(PARTS, max_size=60).map("".join))
def test_no_text_makes_it_raise(text: str) -> None:
    motion = run(text)
    assert len(motion) >= 0


@given(st.binary(max_size=80))
def test_no_bytes_make_it_raise(data: bytes) -> None:
    motion = run(data)
    assert 0 <= motion.followed_to <= len(program(data))


# ---- the same motion in another manner


@st.composite
def models(draw: st.DrawFn) -> list[tuple[str, tuple[int, int, int], tuple[int, int]]]:
    """Moves as code, end point and centre offset, all in hundredths of a millimetre."""
    at = (0, 0, 0)
    moves = []
    for _ in range(draw(st.integers(1, 60))):
        code = draw(st.sampled_from(["G0", "G1", "G2", "G3"]))
        if code in {"G0", "G1"}:
            places = st.integers(-5000, 5000)
            at = (draw(places), draw(places), draw(places))
            moves.append((code, at, (0, 0)))
            continue
        # quarter, half and full turns end on whole hundredths: turn the offset by right angles
        offset = (draw(st.integers(-2000, 2000)), draw(st.integers(1, 2000)))
        turned = (-offset[0], -offset[1])
        for _ in range(draw(st.integers(1, 4))):
            turned = (-turned[1], turned[0]) if code == "G3" else (turned[1], -turned[0])
        rise = draw(st.sampled_from([0, 0, 50, -125]))
        at = (at[0] + offset[0] + turned[0], at[1] + offset[1] + turned[1], at[2] + rise)
        moves.append((code, at, offset))
    return moves


def written(moves, *, unit: float = 1.0, relative: bool = False, digits: int = 2) -> list[str]:
    lines = [f"{'G20' if unit != 1 else 'G21'} {'G91' if relative else 'G90'} G17 F100"]
    if unit != 1:
        lines[0] = lines[0].replace("F100", f"F{100 / unit:.12f}")
    at = (0, 0, 0)
    for code, end, offset in moves:
        words = [code]
        for letter, value, old in zip("XYZ", end, at, strict=True):
            number = (value - (old if relative else 0)) / 100 / unit
            words.append(f"{letter}{number:.{digits}f}")
        if code in {"G2", "G3"}:
            words += [f"{w}{v / 100 / unit:.{digits}f}" for w, v in zip("IJ", offset, strict=True)]
        lines.append(" ".join(words))
        at = end
    return lines


@share(1.5)
@given(models(), st.randoms(use_true_random=False))
def test_case_blanks_numbers_and_comments_change_nothing(moves, chance) -> None:
    lines = written(moves)
    dressed = []
    for number, line in enumerate(lines):
        words = line.split()
        if chance.random() < 0.3:
            chance.shuffle(words)
        gap = chance.choice(["", " ", "\t", "  "])
        text = gap.join(words)
        text = text.lower() if chance.random() < 0.5 else text
        text = text.replace("0", "0 ") if chance.random() < 0.1 else text
        text = f"N{10 * number} {text}" if chance.random() < 0.5 else text
        text += chance.choice(["", "", " (a comment)", " ; a comment"])
        dressed.append(text + chance.choice(["\n", "\r\n"]))
    assert_same(run("\n".join(lines)), run("".join(dressed)))


@share(1.5)
@given(models())
def test_inches_are_the_same_motion(moves) -> None:
    inches = run("\n".join(written(moves, unit=25.4, digits=12)))
    assert_same(run("\n".join(written(moves))), inches, tolerance=1e-7, states=False)


@share(1.5)
@given(models())
def test_increments_are_the_same_motion(moves) -> None:
    steps = run("\n".join(written(moves, relative=True)))
    assert_same(run("\n".join(written(moves))), steps, tolerance=1e-7, states=False)


@share(1.5)
@given(models())
def test_the_model_itself_is_what_comes_out(moves) -> None:
    motion = run("\n".join(written(moves)))
    assert codes(motion) == []
    expected = np.array([end for _, end, _ in moves]) / 100
    np.testing.assert_allclose(motion.end, expected, rtol=0, atol=1e-9)
    starts = np.vstack(([[0, 0, 0]], expected[:-1]))
    for row, (code, _, offset) in enumerate(moves):
        if code in {"G2", "G3"}:
            centre = starts[row][:2] + np.array(offset) / 100
            assert motion.centre[row][:2] == pytest.approx(centre)
            assert np.sign(motion.sweep[row]) == (1 if code == "G3" else -1)
            quarters = abs(motion.sweep[row]) / (np.pi / 2)
            assert quarters == pytest.approx(round(quarters))
