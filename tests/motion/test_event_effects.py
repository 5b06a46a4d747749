"""The one table of what events bring about, against the sets written out."""

import pytest

from gpre.motion.events import EFFECTS, Effect, EventKind, kinds

SETS = {
    Effect.MOVES_AXES: "tool change, stop, home, probe, handover",
    Effect.LOSES_XY: "home, probe, handover",
    Effect.LOSES_Z: "home, probe, handover, tool change, offset",
    Effect.MOVES_ZERO: "offset, home, handover",
    Effect.SHIFTS_CLAMPS: "tool change, stop, offset, home, probe, handover, unknown",
    Effect.HIDES_MOVES: "handover, unknown",
    Effect.NEEDS_PLACE: (
        "tool change, stop, end, probe, home, offset, compensation, call, unknown, handover"
    ),
    Effect.STANDS_STILL: (
        "tool change, stop, end, dwell, probe, home, spindle, coolant, unknown, handover"
    ),
    Effect.CLEAR_ANYWHERE: "end, spindle, coolant, mode, message, offset, parameter",
    Effect.OTHER_PLACE: "spindle, coolant, mode, message, parameter",
    Effect.CROSSED: "mode, message, parameter",
    Effect.CUTS_ON: "message, parameter",
}


@pytest.mark.parametrize("effect", SETS, ids=lambda each: each.name)
def test_each_effect_is_that_of_these_kinds(effect):
    assert kinds(effect) == {EventKind(name) for name in SETS[effect].split(", ")}


def test_all_but_a_message_part_cuts():
    assert kinds(Effect.PARTS_CUTS) == set(EventKind) - {EventKind.MESSAGE}


def test_every_kind_and_every_effect_is_looked_at():
    assert set(EFFECTS) == set(EventKind)
    assert {*SETS, Effect.PARTS_CUTS} == set(Effect)


def test_what_an_edit_may_cross_needs_no_place():
    assert not kinds(Effect.CROSSED) & kinds(Effect.NEEDS_PLACE)
    assert kinds(Effect.CUTS_ON) <= kinds(Effect.CROSSED) <= kinds(Effect.OTHER_PLACE)
    assert kinds(Effect.LOSES_XY) <= kinds(Effect.LOSES_Z)
    assert kinds(Effect.MOVES_AXES) <= kinds(Effect.SHIFTS_CLAMPS) <= kinds(Effect.NEEDS_PLACE)
