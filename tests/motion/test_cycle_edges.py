"""Cycles at their edges: R at the bottom, pecks that come out even, inches; NISTIR 6556, 3.5.16."""

from __future__ import annotations

import pytest
from motion_checks import codes, ends, run

from gpre.motion.motion import Role

AT = "G90 G98 F100 S500 M3 G0 X1 Y2 Z3\n"


def bottoms(text: str) -> list[float]:
    """Where the feeds of the cycle end, mm."""
    motion = run(text)
    return motion.end[motion.role == Role.FEED, 2].tolist()


def test_r_may_be_at_the_bottom_and_not_below_it() -> None:
    for cycle in ("G81", "G82 P1", "G83 Q1", "G73 Q1", "G85"):
        assert bottoms(f"{AT}{cycle} X4 Y5 Z2 R2") == [2.0], cycle
        assert codes(run(f"{AT}{cycle} X4 Y5 Z2 R2")) == [], cycle
        assert codes(run(f"{AT}{cycle} X4 Y5 Z2 R1.999")) == ["INT323"], cycle
    assert bottoms(f"{AT}G91 G81 X4 Y5 Z0 R-1") == [2.0]
    assert codes(run(f"{AT}G91 G81 X4 Y5 Z0.001 R-1")) == ["INT323"]


def test_the_initial_level_may_be_r() -> None:
    assert ends(run(f"{AT}G81 X4 Y5 Z-1 R3"))[1:] == [(4, 5, 3), (4, 5, -1), (4, 5, 3)]


@pytest.mark.parametrize(
    ("step", "depths"),
    [
        ("3", [-1.0]),
        ("1.5", [0.5, -1.0]),
        ("1", [1.0, 0.0, -1.0]),
        ("2", [0.0, -1.0]),
        ("2.999", [-0.999, -1.0]),
        ("0.6", [1.4, 0.8, 0.2, -0.4, -1.0]),
    ],
)
def test_pecks_come_down_by_q_and_the_last_one_to_the_bottom(
    step: str, depths: list[float]
) -> None:
    for cycle in ("G83", "G73"):
        found = bottoms(f"{AT}{cycle} X4 Y5 Z-1 R2 Q{step}")
        assert found == pytest.approx(depths), cycle


def test_lengths_of_a_cycle_are_inches_in_g20_and_its_dwell_is_not() -> None:
    inch = run("G20 G90 G98 F4 S500 M3 G0 X.1 Y.1 Z.2\nG83 X.5 Y.5 Z-.3 R.1 Q.2 P.5")
    feeds = inch.end[inch.role == Role.FEED]
    assert feeds[:, 2].tolist() == pytest.approx([-0.1 * 25.4, -0.3 * 25.4])
    assert feeds[0, :2].tolist() == pytest.approx([12.7, 12.7])
    downs = inch.start[inch.role == Role.FEED, 2]
    assert downs[0] == pytest.approx(2.54)
    dwell = run("G20 G90 G98 F4 S500 M3 G0 X.1 Y.1 Z.2\nG82 X.5 Y.5 Z-.3 R.1 P.5")
    assert [one.value for one in dwell.events if one.kind.value == "dwell"] == ["0.5"]
    # words that stay in force keep their lengths where the units change
    both = run("G20 G90 G98 F4 G0 X.1 Y.1 Z.2\nG81 X.5 Y.5 Z-.3 R.1\nG21 X20")
    assert both.end[both.role == Role.FEED, 2].tolist() == pytest.approx([-7.62, -7.62])
