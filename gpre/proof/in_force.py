"""What differs between what is in force at two moves, as a machinist names it."""

from __future__ import annotations

from collections.abc import Callable

from gpre.motion.offsets import SYSTEM_NAMES
from gpre.motion.state import State

_NOT_KNOWN = "one that is not known"
_TURNS = {1: "M3", -1: "M4", 0: "M5"}


def _on(on: bool) -> str:
    return "on" if on else "off"


def _code(value: int, by: int = 1) -> str:
    return f"G{value / by:g}"


def _changed(times: int) -> str:
    return {0: "not changed yet", 1: "changed once"}.get(times, f"changed {times} times")


def _length(state: State) -> str:
    if state.length_offset < 0:
        return _NOT_KNOWN
    return f"H{state.length_offset}" if state.length_offset else "G49"


def _origin(state: State) -> str:
    """Return where the zero stands; of an axis where that is not known, by how much it shifted."""
    parts = zip("XYZ", state.origin, state.placed, strict=True)
    return " ".join(
        f"{axis}{place:.4f}" if placed else f"{axis}?{place:+.4f}" if place else f"{axis}?"
        for axis, place, placed in parts
    )


# in the order of `force_of`
_PARTS: tuple[tuple[str, Callable[[State], str]], ...] = (
    ("the feed mode", lambda state: _code(state.feed_mode)),
    ("the unit", lambda state: _code(state.units)),
    ("cutter compensation", lambda state: _code(state.compensation)),
    ("the path mode", lambda state: _code(state.path, 10)),
    ("the tool length", _length),
    ("the work system", lambda state: SYSTEM_NAMES.get(state.system, _NOT_KNOWN)),
    ("the zero", lambda state: _changed(state.datum)),
    ("the origin", _origin),
    ("the spindle speed", lambda state: f"S{state.spindle:g}"),
    ("the spindle", lambda state: _TURNS[state.spindle_way]),
    ("the tool", lambda state: f"T{state.tool}"),
    ("the tool selected for the next change", lambda state: f"T{state.selected}"),
    ("mist coolant", lambda state: _on(state.mist)),
    ("flood coolant", lambda state: _on(state.flood)),
    ("the override switches", lambda state: "M48" if state.overrides else "M49"),
)


def difference(was: State, now: State) -> str:
    """Return what differs first, with both values, or "" where nothing does."""
    for name, value in _PARTS:
        one, other = value(was), value(now)
        if one != other:
            verb = "were" if name.endswith("switches") else "was"
            return f"{name} {verb} {one}, now {other}"
    return ""
