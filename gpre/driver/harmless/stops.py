"""M0 or M1 at a place clear of metal, with spindle and coolant as before at the next cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import NamedTuple

import numpy as np

from gpre.driver.harmless.edits import STOP_CODES, SWITCH_CODES, HarmlessEdit
from gpre.driver.harmless.kinds import Group, HarmlessKind, has_stray_seconds, one_by_one
from gpre.driver.harmless.resting import clear_place, not_clear
from gpre.driver.harmless.runs import ProgramRun, ProgramRuns
from gpre.motion.events import Event, EventKind
from gpre.motion.motion import Motion
from gpre.program.operator_text import shown, text_blocks, texts_of
from gpre.proof.event_order import named
from gpre.proof.side import Pair
from gpre.proof.stop_texts import stop_texts

_WORDS = STOP_CODES | SWITCH_CODES
_NEW = frozenset(
    (
        EventKind.STOP, EventKind.SPINDLE, EventKind.COOLANT, EventKind.DWELL, EventKind.MESSAGE,
    )
)  # fmt: skip
_SWITCHES = frozenset((EventKind.SPINDLE, EventKind.COOLANT))
_SWITCHED = {
    "spindle": "spindle speed",
    "spindle_way": "spindle",
    "mist": "mist coolant",
    "flood": "flood coolant",
}


def _fits(edit: HarmlessEdit) -> bool:
    if edit.lost or not set(edit.added) & STOP_CODES or has_stray_seconds(edit):
        return False
    return all(word in _WORDS or word[0] in "SP" for word in edit.added)


def refused(runs: ProgramRuns) -> str:
    """Return why new stops are not harmless, or ""."""
    if not runs.same_moves:
        return "the moves are not the same with it"
    lost, new = runs.lost_events(), runs.new_events()
    if any(event.kind not in _SWITCHES for event in lost):
        return "more than a stop is new"
    for event in new:
        if event.kind not in _NEW:
            return "more than a stop is new"
        if not clear_place(runs.now, event):
            return not_clear(runs.now, event)
        if runs.now.compensated(event):
            return "cutter compensation is in force there"
    if not stop_texts(Pair(runs.was.side, runs.now.side, runs.mill, runs.was.job)).holds:
        return "it takes over the text of another stop"
    return _switched(runs) or _too_soon(runs, new)


def _too_soon(runs: ProgramRuns, new: list[Event]) -> str:
    """Return that a spindle started anew gets less time than the program gives it, or ""."""
    wanted = max(_waits(runs.was), default=0.0)
    if wanted and min(_waits(runs.now, new), default=wanted) < wanted:
        return f"the spindle gets no {wanted:g} s to come up to speed, as it does elsewhere"
    return ""


def _waits(run: ProgramRun, some: Sequence[Event] | None = None) -> Iterator[float]:
    """Yield for each start of the spindle, or some of them, the dwells before the next cut, s."""
    events = run.motion.events
    for at, event in enumerate(events):
        if event.value not in {"M3", "M4"} or (some is not None and event not in some):
            continue
        cuts = np.flatnonzero(run.cuts[event.move :])
        cut = event.move + int(cuts[0]) if len(cuts) else len(run.motion)
        yield sum(
            float(each.value)
            for each in events[at:]
            if each.kind is EventKind.DWELL and each.move <= cut
        )


def _switched(runs: ProgramRuns) -> str:
    """Return what is not as before where it matters: spindle, speed or coolant."""
    old, new = runs.was.motion, runs.now.motion
    rows = np.arange(len(new))
    for row in rows[runs.states_differ(rows)].tolist():
        name = _differing(old, new, row, clear=bool(runs.now.clear[row]))
        if name == "spindle":
            speeds = [f"S{run.state_of(row).spindle:g}" for run in (old, new)]
            return f"the spindle speed is not as it was at the next cut: {', now '.join(speeds)}"
        if name:
            return f"{_SWITCHED.get(name, 'more')} is not as it was at the next cut"
    for (event, was), (_, now) in zip(_in_force(old), _in_force(new), strict=True):
        less = now.way in {"M5", was.way} and now.coolant <= was.coolant
        if was == now or event.kind is EventKind.MODE or (event.kind is EventKind.END and less):
            continue
        return f"spindle or coolant are not as they were at {named(event)}"
    return ""


def _differing(old: Motion, new: Motion, row: int, *, clear: bool) -> str:
    """Name a part of the state that differs at a move and may not, or ""."""
    one, other = old.state_of(row), new.state_of(row)
    for each in fields(one):
        same = getattr(one, each.name) == getattr(other, each.name)
        if not same and not (clear and each.name in _SWITCHED):
            return each.name
    return ""


class _Switched(NamedTuple):
    """What is on: M3, M4 or M5, the last S, and M7 and M8."""

    way: str = "M5"
    speed: str = ""
    coolant: frozenset[str] = frozenset()


def _in_force(motion: Motion) -> Iterator[tuple[Event, _Switched]]:
    """Yield the events that no new stop brings, each with what is switched on at it."""
    now = _Switched()
    for event in motion.events:
        if event.kind is EventKind.SPINDLE:
            value = event.value
            now = now._replace(speed=value) if value[0] == "S" else now._replace(way=value)
        elif event.kind is EventKind.COOLANT:
            coolant = frozenset() if event.value == "M9" else now.coolant | {event.value}
            now = now._replace(coolant=coolant)
        elif event.kind is EventKind.TOOL_CHANGE:
            now = now._replace(way="M5")
        if event.kind not in _NEW:
            yield event, now


def _figure(runs: ProgramRuns, group: Group, at: int) -> str:
    (edit,) = group
    first, end = runs.places[at][1]
    stops = [
        event
        for event in runs.now.motion.events
        if event.kind is EventKind.STOP and first <= event.block < end
    ]
    code = next(f"M{value:g}" for letter, value in edit.added if (letter, value) in STOP_CODES)
    where = clear_place(runs.now, stops[0]) if stops else "at a clear place"
    program = runs.now.side.program
    spoken = text_blocks(program, [event.block for event in stops])
    texts = [
        text for blocks in spoken.values() for block in blocks for text in texts_of(program, block)
    ]
    more = f'; the operator reads "{shown(texts)}"' if texts else ""
    return (
        f"{code} is new: the tool is clear there, {where}, and spindle and coolant are as they "
        f"were at the next cut{more}"
    )


STOPS = HarmlessKind("added stop", one_by_one(_fits), refused, _figure)
