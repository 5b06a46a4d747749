"""What differs at a cut, in a machinist's words and with both values; what became of an event."""

from __future__ import annotations

import pytest
from known_mill import KNOWN

from gpre.mill.job import Job
from gpre.motion.state import State
from gpre.proof.event_order import same_events
from gpre.proof.in_force import difference
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.source.text import SourceText

TWICE = (
    "2 times; so is the cutting speed, and at the same feed the material per tooth is 0.5 times "
    "what it was"
)
HIGHER = "the tool stands higher or lower by what the two lengths differ"
PLACED = (True, True, False)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, ""),
        ({"feed_mode": 95}, "the feed mode was G94, now G95"),
        ({"units": 20}, "the unit was G21, now G20"),
        ({"compensation": 41}, "cutter compensation was G40, now G41"),
        ({"path": 611}, "the path mode was G64, now G61.1"),
        ({"length_offset": 1}, "the tool length was G49, now H1"),
        ({"length_offset": -1}, "the tool length was G49, now one that is not known"),
        ({"system": 2}, "the work system was G54, now G55"),
        ({"system": 0}, "the work system was G54, now one that is not known"),
        ({"datum": 1}, "the zero was not changed yet, now changed once"),
        ({"datum": 2}, "the zero was not changed yet, now changed 2 times"),
        ({"origin": (0.0, 0.0, 5.0)}, "the origin was X? Y? Z?, now X? Y? Z?+5.0000"),
        (
            {"origin": (1.0, -2.5, 0.0), "placed": PLACED},
            "the origin was X? Y? Z?, now X1.0000 Y-2.5000 Z?",
        ),
        ({"spindle": 1500.0}, "the spindle speed was S0, now S1500"),
        ({"spindle_way": 1}, "the spindle was M5, now M3"),
        ({"spindle_way": -1}, "the spindle was M5, now M4"),
        ({"tool": 3}, "the tool was T0, now T3"),
        ({"selected": 3}, "the tool selected for the next change was T0, now T3"),
        ({"mist": True}, "mist coolant was off, now on"),
        ({"flood": True}, "flood coolant was off, now on"),
        ({"overrides": False}, "the override switches were M48, now M49"),
        ({"motion": 0, "distance": 91, "retract": 99}, ""),  # only how a move is written
    ],
)
def test_what_differs_is_named_with_both_values(changes: dict[str, object], words: str) -> None:
    assert difference(State(), State().changed(**changes)) == words


def events(before: str, after: str) -> Obligation:
    texts = (f"G21 G90\nT1 M6\nG0 X0 Y0 Z5\n{each}M30\n" for each in (before, after))
    sides = (Side.of(SourceText.of(each.encode()), KNOWN) for each in texts)
    return same_events(Pair(*sides, KNOWN, Job()))


@pytest.mark.parametrize(
    ("first", "was", "now", "words"),
    [
        ("", "M3", "M4", "M3 became M4: the spindle turns the other way round"),
        ("", "M4", "M3", "M4 became M3: the spindle turns the other way round"),
        ("M4\n", "M3", "M5", "M3 became M5: the spindle is stopped"),
        ("M4\n", "M5", "M3", "M5 became M3: the spindle runs"),
        ("", "S500", "M3", "S500 became M3"),
        ("", "M3", "S500", "M3 became S500"),
        (
            "",
            "S500",
            "S1000",
            f"S500 became S1000: {TWICE}",
        ),
        ("S500\n", "S0", "S1000", "S0 became S1000: the spindle turns"),
        ("S500\n", "S1000", "S0", "S1000 became S0: the spindle does not turn"),
        ("M3\n", "M4", "M5", "M4 became M5: the spindle is stopped"),
    ],
)
def test_what_became_of_the_spindle(first: str, was: str, now: str, words: str) -> None:
    found = events(f"{first}{was}\nG1 X5 F100\n", f"{first}{now}\nG1 X5 F100\n")
    assert (found.holds, found.figure) == (False, words)


@pytest.mark.parametrize("gone", [0, 1, 2])
def test_which_of_several_like_events_is_gone_the_blocks_beside_it_tell(gone: int) -> None:
    parts = ["M0\n", "G1 X5 F100\n", "M0\n", "G1 X9\n", "M0\n", "G1 X3\n"]
    found = events("".join(parts), "".join(parts[: 2 * gone] + parts[2 * gone + 1 :]))
    assert not found.holds
    assert (found.before, found.after) == (3 + 2 * gone, None)
    assert found.figure == "M0 is gone: the operator is not stopped here"


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ("G55", "G56", "work offset G55 became G56: what comes after it is cut at another place"),
        (
            "G43 H1", "G43 H2",
            f"length offset G43 H1 became G43 H2: {HIGHER}",
        ),
        ("G43 H1", "G55", "length offset G43 H1 became G55"),
        ("G28 Z0", "G30 Z0", "the move home G28 became G30"),
        ("M8", "M7", "M8 became M7: mist coolant from here on"),
        ("M0", "M1", "M0 became M1: it stops only where the switch for optional stops is on"),
        ("G4 P2", "G4 P3", "a dwell of 2 s became 3 s"),
    ],
)  # fmt: skip
def test_what_became_of_an_event_and_why_it_matters(was: str, now: str, words: str) -> None:
    found = events(f"{was}\nG1 X5 F100\n", f"{now}\nG1 X5 F100\n")
    assert (found.holds, found.figure) == (False, words)
