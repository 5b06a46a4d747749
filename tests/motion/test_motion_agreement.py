"""The vectorised run of plain blocks gives what the scalar interpreter gives, to 1e-9."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from motion_checks import assert_same, codes, program

from gpre.motion.controller import Controller
from gpre.motion.motion import Motion
from gpre.motion.stretches import LEAST, Stretches
from gpre.motion.trace import trace_from

PLACES = st.integers(-9000, 9000).map(lambda value: f"{value / 100:.2f}")
SMALL = st.sampled_from(["0", "1", "-1", "2.5", "-2.5", "5", "0.001"])
HEAD = "G21 G90 G17 F100\nG0 X0 Y0 Z5\n"


@st.composite
def straight(draw: st.DrawFn) -> str:
    words = draw(st.lists(st.sampled_from("XYZ"), min_size=1, max_size=3, unique=True))
    code = draw(st.sampled_from(["", "", "G0 ", "G1 ", "G01", "G90 G1", "g91", "G21", "G94 G1"]))
    feed = draw(st.sampled_from(["", "", "", "F200", "F12.5"]))
    return code + " ".join(letter + draw(PLACES) for letter in words) + feed


@st.composite
def bow(draw: st.DrawFn) -> str:
    """An arc that is mostly one: quarter turns, full turns, radius form, helices; some faulty."""
    code = draw(st.sampled_from(["G2", "G3", "", "G17 G2", "G18 G3", "G19 G2"]))
    form = draw(st.integers(0, 5))
    if form == 0:
        return f"{code} I{draw(SMALL)} J{draw(SMALL)}"
    if form == 1:
        return f"{code} G91 X5 Y5 I5 J0" if code.endswith("2") else f"{code} G91 X5 Y5 I0 J5"
    if form == 2:
        return f"{code} G91 X{draw(SMALL)} Y{draw(SMALL)} Z{draw(SMALL)} R{draw(SMALL)}0"
    if form == 3:
        return f"{code} G90 X{draw(PLACES)} Y{draw(PLACES)} R{draw(PLACES)}"
    if form == 4:
        return f"{code} G91 X0 Z{draw(SMALL)} I2.5 K0"
    return f"{code} G91 Y0 Z0 K{draw(SMALL)} J{draw(SMALL)}"


ODD = st.sampled_from(
    [
        "",
        "(plain)",
        "G1",
        "F50",
        "N10",
        "G1 X1 X2",
        "G1 G2 X5",
        "G1 X5 I3",
        "M8",
        "G20",
        "G21",
        "G91 G28 Z0",
        "#1=5 G1 X#1",
        "G53 G0 Z0",
        "/ G1 X3",
        "(MSG, look)",
        "G90.1",
        "G91.1",
        "G55",
        "G54",
        "G2",
        "G1 F-3 X2",
        "F0",
        "G1 X4 F0",
        "G0 X4 F0",
        "G93 G1 X4 F0",
        "G92 X0",
        "G187 X5",
        "G81 X1 Y1 Z-1 R1",
        "S500 M3",
        "G93",
        "G94",
        "G1 A90 X2",
    ]
)


def both(text: str, **options: object) -> tuple[Motion, Motion]:
    read = program(text)
    controller = Controller(**options)  # type: ignore[arg-type]
    fast, machine = trace_from(read, controller)
    slow, other = trace_from(read, controller, fast=False)
    assert repr(machine.entry()) == repr(other.entry()) or _close(machine, other)
    return fast, slow


def _close(one: object, other: object) -> bool:
    return one.position == pytest.approx(other.position, abs=1e-9, nan_ok=True)  # type: ignore[attr-defined]


def check(text: str, **options: object) -> None:
    fast, slow = both(text, **options)
    assert_same(fast, slow)
    assert fast.events == slow.events
    assert fast.findings == slow.findings
    assert fast.followed_to == slow.followed_to


@given(st.lists(straight(), min_size=LEAST, max_size=120))
def test_straight_moves_agree(lines: list[str]) -> None:
    check(HEAD + "\n".join(lines))


@given(st.lists(bow() | straight(), min_size=LEAST, max_size=120))
def test_arcs_agree(lines: list[str]) -> None:
    check(HEAD + "\n".join(lines))


@given(
    st.lists(straight(), min_size=LEAST, max_size=LEAST + 9),
    st.lists(bow() | straight() | ODD, min_size=1, max_size=20),
    st.lists(straight() | bow(), min_size=LEAST, max_size=LEAST + 9),
    st.sampled_from([20, 21]),
)
def test_what_stands_between_stretches_agrees(
    first: list[str], middle: list[str], last: list[str], units: int
) -> None:
    lines = [f"G{units}", *first, *middle, *last, *middle, *first]
    check(HEAD.replace("G21 ", "") + "\n".join(lines), block_delete=True)


def test_a_long_plain_program_goes_through_the_columns() -> None:
    text = HEAD + "\n".join(f"G1 X{step % 7} Y{step % 11}" for step in range(400))
    read = program(text)
    stretches = Stretches(read, Controller())
    _, machine = trace_from(program(HEAD), Controller())
    found = stretches.run(2, machine)
    assert found is not None
    assert found.last == len(read)
    assert len(found.kind) == 400


@pytest.mark.parametrize("between", ["M8", "#1=2", "G1 X1 X2", "(MSG, a)"])
def test_short_stretches_and_many_stops_agree(between: str) -> None:
    lines = [f"G1 X{step % 13} Y{step % 5}" for step in range(300)]
    for gap in (3, 31, 40, 100):
        mixed = list(lines)
        mixed[gap::gap] = [between] * len(mixed[gap::gap])
        check(HEAD + "\n".join(mixed))


def test_full_circles_without_end_are_noted_alike() -> None:
    text = HEAD + "\n".join(["G2 I5 J0", "X5 I-2"] * 40)
    fast, slow = both(text)
    assert codes(fast) == codes(slow)
    assert codes(fast).count("INT309") == 40


def test_a_feed_in_a_stretch_is_in_the_units_there() -> None:
    lines = [f"G1 X{step} F{step % 3 + 5}" for step in range(50)]
    check("\n".join(["G20 G90 F9", "G1 X0", *lines, "G21", *lines, "G20", "X1"]))


@pytest.mark.parametrize("end", ["F0", "F30", "X1 F0", "G0 X1 F0", ""])
@pytest.mark.parametrize("gap", [0, 5, 40])
def test_zero_feeds_are_told_of_alike(end: str, gap: int) -> None:
    lines = [f"G1 X{step}" for step in range(50)]
    rapids = [f"G0 X{step}" for step in range(gap)]
    fast, slow = both(HEAD + "\n".join([*lines, "F0", *rapids, *lines, end, *lines, "F7", *lines]))
    assert fast.findings == slow.findings
    assert codes(fast) == ["INT349"] * (1 + ("F0" in end))


@given(
    st.lists(
        st.sampled_from(["X1", "X2", "G1 X3", "G0 X4", "F0", "F5", "X5 F0", "G3 X0 I2 F-0"]),
        min_size=LEAST,
        max_size=99,
    )
)
def test_feeds_of_zero_and_others_agree(lines: list[str]) -> None:
    check(HEAD + "\n".join(lines))


def test_many_rows_of_the_scalar_interpreter(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gpre.motion.recorder._FLUSH", 10)
    check(HEAD + "\n".join(["M8", "G1 X1", "G0 X2"] * 30 + ["G1 Y1", "Y2"] * 30))


def test_messages_among_many_comments_are_events() -> None:
    lines = [f"G1 X{step % 7} (note)" for step in range(1200)]
    lines[700] = "G1 X9 (MSG, here)"
    fast, slow = both(HEAD + "\n".join(lines))
    assert fast.events == slow.events
    assert [event.value for event in fast.events] == ["here"]


@pytest.mark.parametrize("room", [1, 4, 10, 1000])
@pytest.mark.parametrize("before", [0, 1, 3, 9])
@pytest.mark.parametrize("after", [0, 1, 3, 9])
def test_columns_join_without_copying_as_with(
    monkeypatch: pytest.MonkeyPatch, room: int, before: int, after: int
) -> None:
    monkeypatch.setattr("gpre.motion.columns.ROOM", room)
    first = ["M8", "G1 X1 A2"] * before
    last = ["M9", "G0 Y2"] * after
    long = [f"G1 X{step % 9} Y{step % 7}" for step in range(300)]
    longer = [f"G2 X{step % 9}5 Y{step % 7} I50" for step in range(5)] + long + long
    check(HEAD + "\n".join([*first, *long, *last, *longer, *first, *long[:40], *last]))
