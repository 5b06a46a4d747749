"""Cycle time against closed forms, to 0.2 %, and against a step-by-step mill, to 1 %."""

from __future__ import annotations

import math

import numpy as np
import pytest
import step_mill
from known_mill import known_mill
from step_mill import Draft, Slides

from gpre.mill.mill import Axis, Compensation, Limits, Mill
from gpre.mill.timing import CycleTime, cycle_time
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.reversals.find import find_reversals

EVEN = Slides((200.0,) * 3, (3000.0,) * 3, 0.02)
UNEVEN = Slides((150.0, 120.0, 80.0), (2000.0, 1600.0, 900.0), 0.02)


def mill_of(slides: Slides) -> Mill:
    axes = [
        Axis(lost_motion=backlash, top_speed=speed, acceleration=pull)
        for backlash, speed, pull in zip(
            slides.backlash, slides.speed, slides.acceleration, strict=True
        )
    ]
    by = "controller" if slides.pause else "none"
    return known_mill(
        x=axes[0],
        y=axes[1],
        z=axes[2],
        limits=Limits(corner_tolerance=slides.tolerance),
        compensation=Compensation(by, slides.take_up, slides.pause),
    )


def timed(text: bytes, slides: Slides) -> CycleTime:
    mill = mill_of(slides)
    motion = trace(read(text), mill.controller)
    return cycle_time(motion, find_reversals(motion), mill)


def between(length: float, enters: float, leaves: float, top: float, pull: float) -> float:
    """The textbook's trapezoid or triangle with v² = v0² + 2 a s, s."""
    peak = min(top, math.sqrt((enters**2 + leaves**2) / 2.0 + pull * length))
    ramps = (2.0 * peak**2 - enters**2 - leaves**2) / (2.0 * pull)
    return (2.0 * peak - enters - leaves) / pull + (length - ramps) / peak


# --- closed forms -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    # ramp distance v²/2a, T = L/v + v/a, else 2 sqrt(L/a); computed: 2.25 s and 0.447214 s
    ("length", "expected"),
    [(100.0, 2.25), (10.0, 0.447214)],
)
def test_the_trapezoid_and_the_triangle(length, expected):
    draft = Draft()
    draft.line(length, 0.0, feed=3000.0)
    assert timed(draft.text(), EVEN).total == pytest.approx(expected, rel=1e-6)
    assert step_mill.seconds(draft, EVEN) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("jerk", [2000.0, 8000.0])
def test_a_limit_of_the_jerk_would_add_a_over_j_for_each_stop(jerk):
    """The S-curve, T = L/v + v/a + a/J where v and a are reached (trajectory textbooks; memory).

    gpre knows no jerk, so its figure is short by a/J for each move from rest to rest, exactly; for
    L 100, v 50, a 200, J 2000 it says 2.25 s where the S-curve takes 2.35.
    """
    draft = Draft("G61.1")
    for at in range(1, 4):
        draft.line(100.0 * at, 0.0, feed=3000.0)
    curve = 3 * (100.0 / 50.0 + 50.0 / 200.0 + 200.0 / jerk)
    assert timed(draft.text(), EVEN).total == pytest.approx(curve - 3 * 200.0 / jerk, rel=1e-6)


@pytest.mark.parametrize("angle", [20.0, 45.0, 60.0, 90.0, 120.0, 135.0, 160.0])
@pytest.mark.parametrize("leg", [3.0, 20.0, 100.0])
def test_a_corner_rounded_by_a_circle(angle, leg):
    """R = d sin(phi/2) / (1 - sin(phi/2)), v = sqrt(a R) (plane geometry; v: formulafactory.tools).

    The legs are shorter by R / tan(phi/2) each, and R (pi - phi) of the circle is travelled at v.
    """
    half = math.radians(angle) / 2.0
    turn = math.pi - 2.0 * half
    draft, pull, top = Draft(), 200.0, 30.0
    first = np.array([1.0, 0.0])
    second = np.array([math.cos(turn), math.sin(turn)])
    draft.line(*(leg * first), feed=60.0 * top)
    draft.line(*(leg * (first + second)), feed=60.0 * top)
    radius = 0.02 * math.sin(half) / (1.0 - math.sin(half))
    # the pull turns from Y into the second leg's normal; along each leg the axes have their shares
    normals = np.linspace(math.pi / 2.0, math.pi / 2.0 + turn, 2001)
    across = pull / np.maximum(np.abs(np.cos(normals)), np.abs(np.sin(normals))).max()
    slow = min(math.sqrt(across * radius), top)
    cut = radius / math.tan(half)
    legs = [pull, pull / np.abs(second).max()]
    expected = radius * turn / slow + sum(between(leg - cut, 0.0, slow, top, a) for a in legs)
    found = timed(draft.text(), EVEN).total
    stopped = sum(between(leg, 0.0, 0.0, top, a) for a in legs)
    if turn > 2.0 and expected > stopped:  # so sharp that to stop in it is quicker
        assert found == pytest.approx(stopped, rel=0.002)
    else:
        assert found == pytest.approx(expected, rel=0.002)
    assert step_mill.seconds(draft, EVEN, worst=True) == pytest.approx(expected, rel=0.002)


@pytest.mark.parametrize("radius", [0.5, 2.0, 8.0])
def test_an_s_of_two_arcs_between_two_straights(radius):
    """Round the bends v = sqrt(a R); on the arcs the axes can do no more than hold it."""
    pull, top, leg = 200.0, 60.0, 40.0
    draft = Draft()
    draft.line(leg, 0.0, feed=60.0 * top)
    draft.arc(leg, radius, math.pi / 2.0, 60.0 * top)
    draft.arc(leg + 2 * radius, radius, -math.pi / 2.0, 60.0 * top)
    draft.line(2 * leg + 2 * radius, 2 * radius, feed=60.0 * top)
    slow = math.sqrt(pull * radius)
    fast = Slides((pull,) * 3, (60.0 * top,) * 3, 0.02)
    expected = 2.0 * between(leg, 0.0, slow, top, pull) + math.pi * radius / slow
    assert timed(draft.text(), fast).total == pytest.approx(expected, rel=1e-6)
    assert step_mill.seconds(draft, fast, worst=True) == pytest.approx(expected, rel=0.002)


# --- the step-by-step mill --------------------------------------------------------------------


def outline(mode: str) -> Draft:
    """Twice round a plate with corners of many angles, at rapid from one to the next."""
    draft = Draft(mode)
    draft.line(0.0, 0.0, 5.0)
    for level in (-1.0, -2.0):
        draft.line(4.0, 0.0, 5.0)
        draft.line(4.0, 0.0, level, 200.0)
        for x, y in ((60, 0), (64, 4), (64, 30), (40, 34), (30, 50), (0, 40), (0, 4), (4, 0)):
            draft.line(x, y, level, 700.0)
        draft.line(4.0, 0.0, 5.0)
    return draft


def zigzag() -> Draft:
    draft = Draft()
    for row in range(12):
        draft.line(0.0 if row % 2 else 30.0, 1.5 * row, feed=1500.0)
        draft.line(0.0 if row % 2 else 30.0, 1.5 * (row + 1), feed=1500.0)
    return draft


def slot() -> Draft:
    """A slot with round ends, its arcs on tangents."""
    draft = Draft()
    draft.line(40.0, 0.0)
    draft.line(40.0, 5.0, feed=300.0)
    for _ in range(3):
        draft.line(0.0, 5.0, feed=1200.0)
        draft.arc(0.0, 0.0, math.pi, 1200.0)
        draft.line(20.0, -5.0, feed=1200.0)
        draft.arc(20.0, 0.0, math.pi, 1200.0)
    draft.line(0.0, 5.0, feed=1200.0)
    return draft


def bore() -> Draft:
    """Down a helix and round at its bottom, each move from rest to rest."""
    draft = Draft("G61.1")
    draft.line(6.0, 0.0, 1.0)
    for turn in range(5):
        way = 2.0 * math.pi if turn % 2 else -2.0 * math.pi
        draft.arc(0.0, 0.0, way, 500.0, rise=-0.75)
    draft.arc(0.0, 0.0, math.pi, 500.0)
    draft.line(-5.0, 0.0, -2.75, 500.0)
    draft.line(-5.0, 0.0, 5.0)
    return draft


def chords(radius: float, length: float, feed: float) -> Draft:
    """Rounds of a circle as a CAM system writes them."""
    draft = Draft()
    count = round(2.0 * math.pi * radius / length)
    draft.line(radius, 0.0)
    for at in range(1, 2 * count + 1):
        angle = 2.0 * math.pi * at / count
        draft.line(radius * math.cos(angle), radius * math.sin(angle), feed=feed)
    return draft


def wave() -> Draft:
    """A wavy line in chords, tight at its crests."""
    draft = Draft()
    for at in range(1, 400):
        x = 0.12 * at
        draft.line(x, 2.5 * math.sin(x), feed=1400.0)
    return draft


PROGRAMS = {
    "outline": outline("G64"),
    "outline, each move by itself": outline("G61.1"),
    "zigzag": zigzag(),
    "slot": slot(),
    "bore": bore(),
    "chords of 0.5 mm": chords(12.0, 0.5, 900.0),
    "chords of 0.1 mm": chords(3.0, 0.1, 1500.0),
    "wave": wave(),
}
TAKING_UP = Slides(
    (150.0, 120.0, 80.0), (2000.0, 1600.0, 900.0), 0.02, (0.09, 0.06, 0.05), 60, 0.08
)


ALL = pytest.mark.parametrize("name", PROGRAMS)
MILLS = pytest.mark.parametrize(
    "slides", [EVEN, UNEVEN, TAKING_UP], ids=["even", "uneven", "taking up"]
)


@ALL
@MILLS
def test_the_time_is_that_of_a_mill_run_in_small_steps(name, slides):
    draft = PROGRAMS[name]
    found = timed(draft.text(), slides)
    assert not len(found.unknown)
    # gpre holds a whole move, and a whole corner, to what the axes allow at its worst place (see
    # gpre/mill/axis_limits.py): along chords that turn by 8 degrees each that is 1.5 to 2.3 %
    close = 0.025 if name == "wave" else 0.01
    expected = step_mill.seconds(draft, slides)
    assert found.total == pytest.approx(expected, rel=close)
    assert found.total >= expected * (1.0 - 1e-4)  # so it never promises too little


@ALL
@MILLS
def test_the_time_is_that_of_small_steps_with_the_worst_place_of_each_piece(name, slides):
    draft = PROGRAMS[name]
    expected = step_mill.seconds(draft, slides, worst=True)
    assert timed(draft.text(), slides).total == pytest.approx(expected, rel=5e-4)


def test_the_figure_would_notice_what_a_mill_does_otherwise():
    """A tenth less acceleration, corners a tenth as wide: more than the comparison lets pass."""
    draft = PROGRAMS["zigzag"]
    right = step_mill.seconds(draft, EVEN)
    slower = Slides((180.0,) * 3, EVEN.speed, EVEN.tolerance)
    tighter = Slides(EVEN.acceleration, EVEN.speed, EVEN.tolerance / 10.0)
    for other in (slower, tighter):
        assert abs(timed(draft.text(), other).total / right - 1.0) > 0.01


def test_a_turn_straight_back_is_a_stop_for_both():
    draft = Draft()
    draft.line(0.0, 0.0, 8.0)
    draft.line(0.0, 0.0, -2.0, 600.0)
    draft.line(0.0, 0.0, 8.0)
    expected = sum(between(way, 0.0, 0.0, top, 200.0) for way, top in ((8, 50), (10, 10), (10, 50)))
    assert timed(draft.text(), EVEN).total == pytest.approx(expected, rel=1e-6)
    assert step_mill.seconds(draft, EVEN) == pytest.approx(expected, rel=0.002)
