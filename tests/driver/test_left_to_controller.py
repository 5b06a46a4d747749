"""What the standard leaves to the controller is named where it matters, and only there."""

import pytest
from known_mill import STATED as STATED_KEYS

from gpre.driver.counting import count
from gpre.driver.left_to_controller import decisions
from gpre.mill.mill import Limits, Mill
from gpre.motion.controller import Controller
from gpre.source.text import SourceText

# all modes stated, no cycles, exact stop: nothing is left open
STATED = b"G21 G17 G90 G94 G91.1 G98 G61\nG0 X1 Y2 Z5\nG1 Z-1 F100\nG2 X11 Y2 I5 J0\nG0 Z5\nM2\n"
UNITS = "units before the first G20 or G21"
PLANE = "plane before the first G17, G18 or G19"
DISTANCE = "distances before the first G90 or G91"
FEEDS = "feeds before the first G93, G94 or G95"
CENTRES = "centres of arcs before the first G90.1 or G91.1"
WAY_OUT = "retract level before the first G98 or G99"
PLACE = "place of the tool before the first block"
RADII = "greatest difference of an arc's two radii"
CORNERS = "rounding of corners"
PECKS = "back-off of peck drilling"
SWITCH = "block delete switch"
HOME_AXES = "axes that G28 and G30 move"


def found(text, other=None, mill=None):
    mill = mill or Mill()
    sides = [count(SourceText.of(each), mill) for each in (text, other or text)]
    return {each.name: each for each in decisions(sides, mill)}


def with_controller(**settings):
    """The profile states what is in force at the start, whatever else it has."""
    return Mill(controller=Controller(**settings, stated=STATED_KEYS))


def test_a_program_that_states_everything_leaves_nothing_open():
    assert found(STATED) == {}


@pytest.mark.parametrize(
    ("stated", "name", "line"),
    [
        (b"G21 ", UNITS, 2),
        (b"G17 ", PLANE, 4),
        (b"G90 ", DISTANCE, 3),  # the first move starts at zero, so either way
        (b"G94 ", FEEDS, 3),
        (b"G91.1 ", CENTRES, 4),
        (b" G61", CORNERS, 3),
    ],
)
def test_what_is_not_stated_is_named_with_its_first_block(stated, name, line):
    result = found(STATED.replace(stated, b""))
    assert list(result) == [name]
    assert (result[name].before, result[name].after) == (line - 1, line - 1)


def test_what_one_program_alone_leaves_open_has_a_place_in_that_one():
    result = found(STATED, STATED.replace(b"G21 ", b""))
    assert (result[UNITS].before, result[UNITS].after) == (None, 1)


def test_what_is_stated_too_late_is_left_open_all_the_same():
    text = STATED.replace(b"G21 ", b"").replace(b"G2 X11", b"G21 G2 X11")
    assert found(text)[UNITS].before == 1


@pytest.mark.parametrize(
    ("settings", "name", "stated", "taken"),
    [
        ({}, UNITS, b"G21 ", "mm"),
        ({"units": 20}, UNITS, b"G21 ", "inch"),
        ({}, PLANE, b"G17 ", "XY (G17)"),
        ({"plane": 18}, PLANE, b"G17 ", "ZX (G18)"),
        ({}, DISTANCE, b"G90 ", "absolute (G90)"),
        ({"distance": 91}, DISTANCE, b"G90 ", "incremental (G91)"),
    ],
)
def test_the_profile_says_what_is_in_force_at_the_start(settings, name, stated, taken):
    result = found(STATED.replace(stated, b""), mill=with_controller(**settings))
    assert result[name].taken == taken


@pytest.mark.parametrize(
    ("stated", "name", "taken"),
    [
        (b"G21 ", UNITS, "mm, and inch too"),
        (b"G17 ", PLANE, "XY (G17), and ZX (G18) too"),  # in YZ, I is no centre
        (b"G90 ", DISTANCE, "absolute (G90)"),  # in G91 the arc has two radii, so it is not that
    ],
)
def test_what_no_profile_states_either_is_proved_for_all_that_it_may_be(stated, name, taken):
    assert found(STATED.replace(stated, b""))[name].taken == taken


def test_the_plane_and_the_distances_of_the_profile_are_those_that_the_moves_are_made_in():
    text = b"G21\nG0 X1 Y1 Z1\nG2 X2 Z0 I1 K0 F100\n"
    motion = count(SourceText.of(text), with_controller(plane=18, distance=91)).motion
    assert motion.plane.tolist() == [18, 18]
    assert motion.end[1].tolist() == [3.0, 1.0, 1.0]
    assert motion.findings == ()


def test_a_cut_that_starts_where_the_tool_happens_to_stand():
    assert PLACE not in found(STATED)
    text = STATED.replace(b"G0 X1 Y2 Z5", b"G0 Z5")
    result = found(text, mill=with_controller(start=(1.0, 2.0, 3.0)))
    assert result[PLACE].before == 2
    assert result[PLACE].taken == "X1 Y2 Z3 mm"


def test_arcs_that_only_the_tolerance_of_the_profile_lets_pass():
    """The standard accepts 0.002 mm (NISTIR 6556, 3.5.3)."""
    assert RADII not in found(STATED.replace(b"I5 J0", b"I5.0009 J0"))
    result = found(STATED.replace(b"I5 J0", b"I5.003 J0"))
    assert result[RADII].before == 3
    assert result[RADII].taken == "0.01 mm accepted"
    assert "0.0060 mm" in result[RADII].why  # 5.003 - 4.997


def test_corners_in_g64():
    text = STATED.replace(b"G61", b"G64")
    result = found(text, mill=Mill(limits=Limits(corner_tolerance=0.03)))
    assert list(result) == [CORNERS]
    assert result[CORNERS].taken.startswith("0.03 mm")
    assert "as long as" not in result[CORNERS].why
    assert "own P" in found(text.replace(b"G64", b"G64 P0.02"))[CORNERS].why
    assert "as long as" in found(STATED.replace(b" G61", b""))[CORNERS].why


@pytest.mark.parametrize(("code", "named"), [(b"G81", False), (b"G83", True), (b"G73", True)])
def test_peck_drilling(code, named):
    text = STATED.replace(b"M2", code + b" X10 Y10 Z-9 R2 Q3 F80\nG80\nM2")
    result = found(text, mill=with_controller(peck_back_off=0.4))
    assert (PECKS in result) is named
    if named:
        assert result[PECKS].taken == "0.4 mm"
        assert result[PECKS].before == 5


def test_one_peck_needs_no_back_off():
    text = STATED.replace(b"M2", b"G83 X10 Y10 Z-1 R2 Q9 F80\nG80\nM2")
    assert PECKS not in found(text)


def test_the_way_out_of_holes():
    text = STATED.replace(b"M2", b"G81 X10 Y10 Z-9 R2 F80\nG80\nM2")
    assert found(text) == {}
    assert found(text.replace(b"G98 ", b""))[WAY_OUT].taken == "G98"


def test_blocks_that_a_switch_skips():
    result = found(STATED.replace(b"G0 Z5\n", b"/G0 Z5\n"))
    assert result[SWITCH].before == 4
    assert result[SWITCH].taken.startswith("off")
    on = with_controller(block_delete=True)
    assert found(STATED.replace(b"G0 Z5\n", b"/G0 Z5\n"), mill=on)[SWITCH].taken.startswith("on")


def test_the_way_home():
    text = STATED.replace(b"M2", b"G28 Z5\nM2")
    result = found(text)
    assert result[HOME_AXES].taken == "those named in the block"
    assert result["place of G28"].taken == "not known"
    assert result["place of G28"].before == 5
    known = {"home": (0.0, 0.0, 0.0), "origins": {1: (1.0, 2.0, -3.0)}, "g28_moves": "all"}
    result = found(text, mill=with_controller(**known))
    assert result[HOME_AXES].taken == "all"
    assert result["place of G28"].taken == "X0 Y0 Z0 mm"
    assert "place of G30" not in result
    assert "place of G30" in found(text.replace(b"G28", b"G30"))


@pytest.mark.parametrize("place", [10, 3000])
def test_long_programs_are_looked_at_to_their_end(place):
    filling = [b"G1 X%d Y2" % (each % 90) for each in range(4000)]
    filling[place] += b" Z-2\nG2 X11 Y2 I5.003 J0\nG0 Z5\n/G0 Z6"
    filling[place] += b"\nG83 X10 Y10 Z-9 R2 Q3 F80\nG80\nG1 Z-1"
    result = found(STATED.replace(b"G2 X11", b"\n".join(filling) + b"\nG1 X1 Y2\nG2 X11"))
    assert result[PECKS].before == place + 7
    assert result[SWITCH].before == place + 6


@pytest.mark.parametrize(
    ("stated", "name", "late"),
    [
        (b"G17 ", PLANE, b"G2 X11 Y2 I5 J0"),
        (b"G91.1 ", CENTRES, b"G2 X11 Y2 I5 J0"),
        (b"G98 ", WAY_OUT, b"G81 X10 Y10 Z-9 R2 F80"),
    ],
)
def test_what_is_left_open_may_matter_late(stated, name, late):
    filling = b"\n".join(b"G1 X%d Y2" % (each % 90) for each in range(3000))
    head = b"G21 G17 G90 G94 G91.1 G98 G61\nG0 X1 Y2 Z5\nG1 Z4 F100\n"
    text = head.replace(stated, b"") + filling + b"\nG1 X1 Y2\n" + late + b"\nM2\n"
    assert found(text)[name].before == 3004
    assert found(text.replace(b"G1 Z4", stated + b"G1 Z4")) == {}
