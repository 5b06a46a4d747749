"""Arcs and helices of single blocks: NISTIR 6556, 3.5.3 and 4.3.6.1."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from motion_checks import codes, ends, lengths, place, run

from gpre.motion.motion import Kind


def test_check_a_of_the_standard() -> None:
    # NISTIR 6556, 3.5.3.2: at X7 Y7 `G17 G2 x10 y16 i3 j4 z9`, centre (10, 11), r 5;
    # turn and length computed from those
    motion = run("G0 X7 Y7 Z9\nF100 G17 G2 x10 y16 i3 j4 z9")
    assert codes(motion) == []
    assert motion.centre[1].tolist() == [10, 11, 9]
    assert math.degrees(motion.sweep[1]) == pytest.approx(-143.13010, abs=5e-6)
    assert lengths(motion)[1] == pytest.approx(12.490458, abs=5e-7)


def test_check_b_of_the_standard() -> None:
    # NISTIR 6556, Table 10: at (3,1,0) `g2 x[6-[4*3/2]] r7.01 z0.5`
    # -> ARC_FEED(0.0000, 1.0000, 1.5000, 7.8476, -1, 0.5000)
    motion = run("G0 X3 Y1 Z0\nF20 g2 x[6-[4*3/2]] r7.01 z0.5")
    assert motion.end[1].tolist() == [0, 1, 0.5]
    assert motion.centre[1][:2] == pytest.approx((1.5, 7.8476), abs=5e-5)
    assert math.degrees(motion.sweep[1]) == pytest.approx(-24.711390, abs=1e-6)
    assert lengths(motion)[1] == pytest.approx(3.064444, abs=5e-7)


@pytest.mark.parametrize(
    ("plane", "start", "end", "offset"),
    [
        ("G17", "X1 Y0", "X0 Y1", "I-1 J0"),
        ("G18", "Z1 X0", "Z0 X1", "K-1 I0"),  # first axis Z, second X (4.3.6.1)
        ("G19", "Y1 Z0", "Y0 Z1", "J-1 K0"),
    ],
)
def test_from_the_first_axis_to_the_second_is_counter_clockwise(
    plane: str, start: str, end: str, offset: str
) -> None:
    quarter = run(f"F9 {plane} G0 {start}\nG3 {end} {offset}")
    assert quarter.sweep[1] == pytest.approx(math.pi / 2)
    rest = run(f"F9 {plane} G0 {start}\nG2 {end} {offset}")
    assert rest.sweep[1] == pytest.approx(-1.5 * math.pi)
    assert quarter.plane[1] == int(plane[1:])


def test_in_the_xz_plane_g2_looks_counter_clockwise() -> None:
    # NISTIR 6556, 4.3.6.1, with X to the right and Z up: from +X over +Z to -X
    motion = run("F9 G18 G0 X10 Z0\nG2 X-10 Z0 I-10 K0")
    middle = angle_point(motion, 1, 0.5)
    assert middle == pytest.approx((0, 0, 10), abs=1e-9)


def angle_point(motion, row: int, t: float) -> tuple[float, ...]:
    first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[int(motion.plane[row])]
    start, centre = motion.start[row], motion.centre[row]
    radius = math.dist(start[[first, second]], centre[[first, second]])
    angle = math.atan2(start[second] - centre[second], start[first] - centre[first])
    angle += t * motion.sweep[row]
    point = [0.0, 0.0, 0.0]
    point[first] = centre[first] + radius * math.cos(angle)
    point[second] = centre[second] + radius * math.sin(angle)
    point[normal] = start[normal] + t * (motion.end[row][normal] - start[normal])
    return tuple(point)


@pytest.mark.parametrize("way", [2, 3])
@pytest.mark.parametrize("turn", [5, 90, 165, 195, 270, 345])
@pytest.mark.parametrize("plane", [17, 18, 19])
def test_radius_and_centre_form_agree(way: int, turn: int, plane: int) -> None:
    # NISTIR 6556, 3.5.3.1: R above zero turns up to 180 degrees, below zero more
    first, second, words = {17: ("X", "Y", "IJ"), 18: ("Z", "X", "KI"), 19: ("Y", "Z", "JK")}[plane]
    signed = math.radians(turn if way == 3 else -turn)
    u, v = 7 * math.cos(signed) - 7, 7 * math.sin(signed)
    head = f"F9 G{plane}\nG{way} {first}{u:.9f} {second}{v:.9f} "
    by_centre = run(head + f"{words[0]}-7 {words[1]}0")
    by_radius = run(head + f"R{7 if turn < 180 else -7}")
    assert codes(by_centre) == codes(by_radius) == []
    assert by_centre.sweep[0] == pytest.approx(signed, abs=1e-8)
    assert by_radius.sweep[0] == pytest.approx(signed, abs=1e-6)
    np.testing.assert_allclose(by_radius.centre, by_centre.centre, atol=1e-6)


def test_a_full_circle_with_its_end_point() -> None:
    motion = run("F9 G0 X5 Y0\nG2 X5 Y0 I-5\nG3 X5 I-5\nG91 G3 X0 J5")
    assert codes(motion) == []
    assert motion.sweep[1:].tolist() == pytest.approx([-2 * math.pi, 2 * math.pi, 2 * math.pi])
    assert ends(motion)[1:] == [(5, 0, 0)] * 3


def test_a_full_circle_without_its_end_point_is_noted() -> None:
    # NISTIR 6556, 3.5.3.2 calls it an error; common in practice
    text = "F9 G0 X5 Y0\nG2 I-5 J0 Z-1"
    motion = run(text)
    assert codes(motion) == ["INT309"]
    assert place(motion, text, "INT309") == "I-5 J0"
    assert motion.sweep[1] == pytest.approx(-2 * math.pi)
    assert ends(motion)[1] == (5, 0, -1)


def test_one_end_word_missing_stays() -> None:
    motion = run("F9 G0 X5 Y3\nG2 X15 I5 J0.")
    assert codes(motion) == []
    assert ends(motion)[1] == (15, 3, 0)


def test_modal_arcs_need_no_code() -> None:
    motion = run("F9 G0 X0 Y0\nG2 X2 Y0 I1 J0\nX4 I1\nI1 J0\nX6 Y0 R1")
    assert "".join(str(kind) for kind in motion.kind.tolist()) == "02222"
    assert codes(motion) == ["INT309"]
    assert ends(motion)[-1] == (6, 0, 0)


def test_half_circles_that_ramp() -> None:
    motion = run("F9 G0 X5 Y0 Z0\nG3 X-5 I-5 J0 Z-1\nX5 I5 Z-2\nX-5 I-5 Z-3")
    assert codes(motion) == []
    assert motion.sweep[1:].tolist() == pytest.approx([math.pi] * 3)
    # helix length (math.uni.lu/helix/length.html)
    assert lengths(motion)[1:] == pytest.approx([math.hypot(5 * math.pi, 1)] * 3)


def test_plane_changes_within_a_chain() -> None:
    motion = run("F9 G0 X0 Y0 Z0\nG18 G2 X2 Z0 I1 K0\nG17 G3 X4 Y0 I1 J0\nG19 G2 Y2 Z0 J1")
    assert codes(motion) == []
    assert motion.plane.tolist() == [17, 18, 17, 19]
    assert ends(motion)[-1] == (4, 2, 0)


def test_absolute_centres_and_back() -> None:
    motion = run("F9 G90.1 G0 X10 Y0\nG3 X0 Y10 I0 J0\nG91.1 X-10 Y0 I0 J-10")
    assert codes(motion) == []
    assert motion.sweep[1:].tolist() == pytest.approx([math.pi / 2, math.pi / 2])
    assert motion.centre[1][:2].tolist() == [0, 0]


def test_an_absolute_centre_with_a_word_missing_is_not_guessed() -> None:
    assert codes(run("F9 G90.1 G0 X10 Y0\nG3 X0 Y10 I0")) == ["INT305"]


def test_offsets_stay_increments_in_both_distance_modes() -> None:
    # NISTIR 6556, 3.5.17: I, J always increments
    absolute = run("F9 G0 X3 Y4\nG90 G3 X5 Y6 I0 J2")
    incremental = run("F9 G0 X3 Y4\nG91 G3 X2 Y2 I0 J2")
    assert absolute.sweep[1] == pytest.approx(incremental.sweep[1])
    assert ends(absolute)[1] == ends(incremental)[1] == (5, 6, 0)


def test_several_turns_by_a_p_word() -> None:
    text = "F9 G0 X5 Y0 Z0\nG2 X5 Y0 Z-3 I-5 P3\nG3 X-5 Y0 I-5 P2"
    motion = run(text)
    assert codes(motion) == ["INT310", "INT310"]
    assert motion.sweep[1] == pytest.approx(-6 * math.pi)
    assert motion.sweep[2] == pytest.approx(3 * math.pi)
    assert codes(run("F9 G0 X5\nG2 X5 I-5 P0")) == ["INT315"]
    assert codes(run("F9 G0 X5\nG2 X5 I-5 P1.5")) == ["INT315"]


def test_helix_keeps_its_centre_at_the_level_of_its_start() -> None:
    assert run("F9 G0 X5 Z7\nG2 X5 I-5 Z1").centre[1].tolist() == [0, 0, 7]


@pytest.mark.parametrize(
    ("text", "code", "span"),
    [
        ("G2 X2 Y2 I0.4 J0.1", "INT304", "I0.4 J0.1"),
        ("G2 X2 Y2", "INT305", "G2 X2 Y2"),
        ("G2 X2 Y2 K1", "INT305", "K1"),
        ("G2 X2 Y2 I1 J1 K1", "INT305", "K1"),
        ("G18 G2 X2 Z2 J1", "INT305", "J1"),
        ("G2 X2 Y2 R2 I1", "INT305", "R2 I1"),
        ("G2 R5", "INT306", "R5"),
        ("G2 X0 Y0 R5", "INT306", "R5"),
        ("G2 Z5 R5", "INT306", "R5"),
        ("G2 X20 Y0 R5", "INT307", "R5"),
        ("G2 X2 Y0 I0 J0", "INT308", "I0 J0"),
        ("G2 X2 Y0 R0", "INT308", "R0"),
    ],
)
def test_arcs_that_are_none(text: str, code: str, span: str) -> None:
    # NISTIR 6556, 3.5.3: the errors of both forms
    whole = "F9 G0 X0 Y0 Z0\n" + text + "\nG1 X1\nY1 Z1"
    motion = run(whole)
    assert codes(motion) == [code]
    assert place(motion, whole, code) == span
    assert not (motion.kind == Kind.ARC).any()
    named = ["XYZ".index(letter) for letter in "XYZ" if letter in text]
    assert np.flatnonzero(np.isnan(motion.start[1])).tolist() == named
    assert not np.isnan(motion.end[-1]).any()


def test_radii_within_the_tolerance_of_the_controller_pass() -> None:
    text = "F9 G0 X0 Y0\nG2 X10.009 Y0 I5"
    assert codes(run(text)) == []
    assert codes(run(text, arc_radius_tolerance=0.002)) == ["INT304"]  # NISTIR 6556, 3.5.3.2


def test_a_half_circle_by_radius_may_lack_what_rounding_took() -> None:
    motion = run("F9 G0 X0 Y0\nG2 X10 Y0 R4.999")
    assert codes(motion) == []
    assert motion.centre[1][:2].tolist() == [5, 0]
    assert motion.sweep[1] == pytest.approx(-math.pi)


def test_an_arc_from_an_unknown_place_keeps_its_end() -> None:
    motion = run("F9 G91 G28 X0\nG90 G2 X10 Y0 I5 J0\nG1 X12")
    arc = motion.kind.tolist().index(Kind.ARC)
    assert np.isnan(motion.sweep[arc])
    assert np.isnan(motion.centre[arc][0])
    assert motion.end[arc].tolist() == [10, 0, 0]
    assert ends(motion)[-1] == (12, 0, 0)


@given(
    st.integers(-999, 999),
    st.integers(-999, 999),
    st.integers(1, 360),
    st.sampled_from([17, 18, 19]),
)
def test_the_end_of_an_arc_lies_where_its_turn_leads(u: int, v: int, turn: int, plane: int) -> None:
    # plane geometry: turning the start about the centre by the sweep gives the end
    if u == v == 0:
        return
    first, second, normal = {17: "XYZ", 18: "ZXY", 19: "YZX"}[plane]
    words = {17: "IJ", 18: "KI", 19: "JK"}[plane]
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    end = (u - u * cosine + v * sine, v - u * sine - v * cosine)
    text = (
        f"F9 G{plane} G0 {first}0 {second}0 {normal}0\n"
        f"G3 {first}{end[0]:.9f} {second}{end[1]:.9f} {normal}1 {words[0]}{u} {words[1]}{v}"
    )
    motion = run(text)
    assert motion.sweep[1] == pytest.approx(math.radians(turn), abs=1e-6)
    assert angle_point(motion, 1, 1.0) == pytest.approx(tuple(motion.end[1]), abs=1e-6)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("F9 G0 X5\nG3 X5 I-99999999", "INT348"),
        ("F9 G0 X5\nG3 I-99999999", "INT348"),
        ("F9 G0 X5\nG3 X-5 R-99999999", "INT348"),
        ("F9 G0 X5\nG3 X5 I-500 P200", "INT348"),
        ("F9 G0 X5\nG3 X5 I-5 P201", "INT315"),
        ("F9 G0 X5\n" + "G3 X5 I-5 P200\n" * 6, "INT315"),
    ],
)
def test_an_arc_without_end_is_none(text: str, code: str) -> None:
    motion = run(text)
    assert codes(motion)[-1] == code
    assert np.abs(motion.sweep).max() < 200 * 2 * math.pi + 1e-6


def test_a_plate_of_many_threads_is_followed() -> None:
    hole = "G0 X{0}\nZ0\nG3 X{0} Z-12 I-1.5 P12\nG0 Z5\n"
    motion = run("F9 G0 Z5\n" + "".join(hole.format(5 * at) for at in range(200)))
    assert not [code for code in codes(motion) if code != "INT310"]
    assert np.abs(motion.sweep).sum() == pytest.approx(200 * 12 * 2 * math.pi)


def test_a_nearly_straight_arc_may_have_any_radius() -> None:
    motion = run("F9 G0 X5\nG3 X25 R99999999")
    assert not codes(motion)
    assert motion.sweep[1] == pytest.approx(2e-7)
