"""Nothing is rewritten where a length would be written in units that nobody knows."""

from dataclasses import replace

import pytest
from known_mill import known

from gpre.driver.counting import count
from gpre.driver.not_stated import unstated_findings, with_units_note
from gpre.driver.proving import prove_programs
from gpre.driver.rewrite import Options, rewrite
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill, with_units
from gpre.motion.controller import Controller
from gpre.source.text import SourceText

NOBODY = "neither the program nor a mill profile says mm or inch"
INCHES = (
    b"(focuser plate, 1/4 drill)\nG40\nS2000 M3\nG90 G17\nG0 Z.1\nG0 X1.0000 Y1.0000\n"
    b"G1 Z-.2500 F12.\nG0 Z.1\nG0 X.5000 Y1.5000\nG1 Z-.2500\nG0 Z.1\nM30\n"
)
MILLIMETRES = (
    b"(clamp ring, 6mm drill)\nG40\nS2000 M3\nG90 G17\nG0 Z5.\nG0 X25. Y25.\n"
    b"G1 Z-6.500 F150.\nG0 Z5.\nG0 X12.5 Y38.\nG1 Z-6.500\nG0 Z5.\nM30\n"
)
EITHER = (
    b"G40\nS2000 M3\nG90 G17\nG0 Z1.5\nG0 X10 Y10\n"
    b"G1 Z-2 F80\nG0 Z1.5\nG0 X5 Y20\nG1 Z-2\nG0 Z1.5\nM30\n"
)
PROGRAMS = {"inches": INCHES, "mm": MILLIMETRES, "either": EITHER}
LOOSE = Mill(controller=Controller())  # it knows where the tool stands, and no more


def source(text):
    return SourceText.of(text, "plate.ngc")


def mill_in(units):
    return with_units(LoadedMill(LOOSE), units).mill


@pytest.mark.parametrize("text", PROGRAMS.values(), ids=PROGRAMS)
def test_without_units_nothing_is_rewritten_and_the_first_finding_says_so(text):
    result = rewrite(source(text), LOOSE)
    assert result.data == text
    assert not result.changed
    assert result.proof.holds
    assert result.plan.chosen == ()
    assert {each.reason for each in result.plan.refused} == {NOBODY}
    first = result.findings[0]
    assert first.code == "REW505"
    assert first.message.startswith(f"{NOBODY}, so nothing is rewritten. Speaks for inch: ")
    assert "--units mm or --units inch" in first.help
    assert "key units" in first.help
    assert first.span is not None
    block = text.splitlines()[result.before.program.source.block_of(first.span.start)]
    assert block.startswith(b"G0 Z")


def test_what_speaks_for_which_is_told_with_its_line():
    said = {
        name: rewrite(source(text), LOOSE).findings[0].message for name, text in PROGRAMS.items()
    }
    assert said["inches"].endswith(
        "Speaks for inch: the comment (focuser plate, 1/4 drill) (line 1), a feed of 12 (line 7), "
        "clearance Z0.1 (line 5); speaks for mm: nothing"
    )
    assert said["mm"].endswith(
        "Speaks for inch: nothing; speaks for mm: the comment (clamp ring, 6mm drill) (line 1), "
        "a feed of 150 (line 7), clearance Z5 (line 5)"
    )
    assert said["either"].endswith("Speaks for inch: nothing; speaks for mm: nothing")


@pytest.mark.parametrize(
    ("units", "text", "loop"),
    [
        # 1.25 mm is 0.0492 inches (25.4 mm to the inch), rounded up to 0.05
        ("inch", INCHES, b"G0 X.4500 Y1.5000 (approach X+)\n"),
        ("inch", MILLIMETRES, b"G0 X12.45 Y38. (approach X+)\n"),
        ("inch", EITHER, b"G0 X4.95 Y20 (approach X+)\n"),
        ("mm", INCHES, b"G0 X-.7500 Y1.5000 (approach X+)\n"),
        ("mm", MILLIMETRES, b"G0 X11.25 Y38. (approach X+)\n"),
        ("mm", EITHER, b"G0 X3.75 Y20 (approach X+)\n"),
    ],
)
def test_the_option_settles_it_and_the_loop_has_the_right_size(units, text, loop):
    result = rewrite(source(text), mill_in(units))
    assert result.proof.holds
    new = [line for line in result.data.splitlines(keepends=True) if b"approach" in line]
    assert new == [loop]
    assert not [each for each in result.findings if each.code in {"REW505", "REW506"}]
    # and it is the same loop as in the program that states the unit itself
    head = b"G20\n" if units == "inch" else b"G21\n"
    assert rewrite(source(head + text), LOOSE).data == head + result.data


def test_the_profile_settles_it():
    stated = Mill(controller=Controller(stated=frozenset(("units",))))
    assert rewrite(source(EITHER), stated).data == rewrite(source(EITHER), mill_in("mm")).data


def test_the_programs_own_units_always_count():
    assert rewrite(source(b"G21\n" + EITHER), mill_in("inch")).data == (
        rewrite(source(b"G21\n" + EITHER), LOOSE).data
    )


def test_units_that_are_stated_after_the_first_length_are_stated_too_late():
    late = EITHER.replace(b"G0 X10 Y10\n", b"G21\nG0 X10 Y10\n")
    result = rewrite(source(late), LOOSE)
    assert not result.changed
    assert "speaks for mm: G21 comes later (line 5)" in result.findings[0].message
    assert rewrite(source(late), mill_in("mm")).changed


def test_zero_before_the_units_is_zero_and_only_what_comes_after_is_rewritten():
    text = b"G91 G28 Z0\nG21 G90 G17 G54\n" + EITHER
    result = rewrite(source(text), LOOSE)
    assert result.data.count(b"approach") == 1
    assert result.data.startswith(text[:60])
    assert result.findings == () or result.findings[0].code != "REW505"


def test_moves_before_g90_are_skipped_up_to_the_last_that_depends_on_it():
    text = (
        b"G21 G17\nG0 Z5\nG0 X10 Y10\nG90\nG1 Z-2 F100\nG0 Z5\nX5 Y15\nG1 Z-2\nG0 Z5\n"
        b"X2 Y15\nG1 Z-2\nG0 Z5\nX0 Y20\nG1 Z-2\nG0 Z5\nM30\n"
    )
    settled = rewrite(source(text), known(Mill()))
    result = rewrite(source(text), LOOSE)
    assert settled.data.count(b"approach") == 3
    assert result.data.count(b"approach") == 2
    assert b"G0 Z5\nX5 Y15\n" in result.data
    assert result.proof.holds
    first = result.findings[0]
    assert first.code == "REW506"
    assert first.message == (
        "neither the program nor a mill profile says G90 or G91, so nothing is rewritten up to "
        "line 7"
    )
    refused = [each for each in result.plan.refused if "G90 or G91" in each.reason]
    assert [(each.rewrite, each.first_block) for each in refused] == [("approach", 6)]
    again = rewrite(source(result.data), LOOSE)
    assert again.data == result.data


def test_a_program_that_never_says_g90_is_not_rewritten():
    text = EITHER.replace(b"G90 G17", b"G21 G17")
    result = rewrite(source(text), LOOSE)
    assert not result.changed
    assert result.findings[0].code == "REW506"
    assert result.findings[0].message.endswith("says G90 or G91, so nothing is rewritten")
    assert "key distance" in result.findings[0].help


def test_cycles_before_the_plane_are_not_rewritten_unless_the_profile_has_it():
    text = b"G21 G90\nG0 Z5\nG81 X10 Y1 Z-2 R4 F80\nX5 Y1 Z-2 R4\nX8 Y1 Z-2 R4\nG80\nG0 Z5\nM30\n"
    result = rewrite(source(text), LOOSE)
    assert not result.changed
    assert result.findings[0].code == "REW506"
    assert rewrite(source(text), known(Mill())).changed


def test_an_error_and_units_that_are_not_stated_are_both_told():
    result = rewrite(source(EITHER + b"G2 X1 Y1 R0.001\n"), LOOSE)
    assert [each.code for each in result.findings] == ["REW505"]  # what comes after M30 is no error
    result = rewrite(source(EITHER.replace(b"M30", b"G2 X1 Y1 I9 J9\nM30")), LOOSE)
    assert [each.code for each in result.findings] == ["REW505", "REW501"]


def test_no_rewrite_at_all_is_still_no_rewrite():
    assert rewrite(source(EITHER), LOOSE, options=Options(only=("approach",))).plan.refused[
        0
    ].rewrite == ("approach")


@pytest.mark.parametrize("text", [b"", b"%\n", b"M2\n", b"(nothing)\n", b"G0 X0 Y0 Z0\nM2\n"])
def test_programs_to_which_units_do_not_matter(text):
    counted = count(source(text), Mill())
    assert [each.setting for each in counted.not_stated if each.matters] in ([], ["distance"])
    assert counted.known_units == 21


def test_findings_say_what_is_taken():
    (first,) = unstated_findings(count(source(EITHER), Mill()))
    assert first.code == "INT351"
    assert first.message.startswith(f"{NOBODY}; mm is taken. Speaks for inch: ")
    (first,) = unstated_findings(count(source(EITHER), Mill(controller=Controller(units=20))))
    assert first.message.startswith(f"{NOBODY}; inch is taken. Speaks for inch: ")


def test_a_profile_with_a_key_is_told_of_the_option_that_counts():
    stated = LoadedMill(Mill(controller=Controller(stated=frozenset(("units",)))))
    assert [each.code for each in with_units(stated, "inch").findings] == ["MIL516"]
    assert with_units(stated, "mm").findings == ()
    assert with_units(LoadedMill(LOOSE), "inch").findings == ()
    assert with_units(stated, None) == stated


def test_an_option_that_changes_nothing_is_told():
    loaded = with_units(LoadedMill(LOOSE), "inch")
    states, silent = (count(source(text), loaded.mill) for text in (b"G21\n" + EITHER, EITHER))
    assert [each.code for each in with_units_note(loaded, "inch", states).findings] == ["MIL517"]
    assert with_units_note(loaded, "inch", silent).findings == ()
    assert with_units_note(loaded, "inch", states, silent).findings == ()
    assert with_units_note(loaded, None, states).findings == ()


def test_a_program_edited_by_hand_to_state_its_units_is_proved_for_those_alone():
    """As long as nobody says mm, G21 in the second program is another program in inches."""
    stated = source(b"G21\n" + EITHER)
    assert not prove_programs(source(EITHER), stated, LOOSE).holds
    assert prove_programs(source(EITHER), stated, mill_in("mm")).holds
    assert not prove_programs(source(EITHER), stated, mill_in("inch")).holds


def test_the_proof_of_edits_by_hand_looks_at_both_units_too():
    """A comment more alone takes another way through the proof."""
    near = EITHER.replace(b"X10 ", b"X10.0005 (near) ")
    found = prove_programs(source(EITHER), source(near), LOOSE)
    assert not found.holds
    assert any(each.figure.endswith("(read in inches)") for each in found.failed)
    assert prove_programs(source(EITHER), source(near), mill_in("mm")).holds
    assert found.decisions[0].taken == "mm, and inch too"


def test_a_mill_in_inches_that_is_only_taken_is_not_known_either():
    mill = Mill()
    taken = replace(mill, controller=replace(mill.controller, units=20))
    assert not rewrite(source(INCHES), taken).changed
