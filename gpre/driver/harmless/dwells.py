"""G4 where the tool is clear of metal: added, longer, shorter or gone.

A dwell after M3, M4 or S lets the spindle come up to speed, one after M5 lets it come to rest, one
after M7 or M8 lets the coolant come, and a changer or the drives may need one after a tool change
(common practice, no source): one that is shorter or gone there is not harmless, wherever the tool
stands.
"""

from __future__ import annotations

import numpy as np

from gpre.driver.harmless.edits import DWELL_CODE, HarmlessEdit
from gpre.driver.harmless.kinds import Group, HarmlessKind, has_stray_seconds, one_by_one
from gpre.driver.harmless.resting import clear_place, not_clear
from gpre.driver.harmless.runs import Others, ProgramRun, ProgramRuns
from gpre.motion.events import Event, EventKind
from gpre.proof.event_order import named

_BLIND = frozenset((EventKind.UNKNOWN, EventKind.HANDOVER, EventKind.PROBE))


def _fits(edit: HarmlessEdit) -> bool:
    changed = [*edit.lost, *edit.added]
    there = any(DWELL_CODE in words for words in (*edit.old, *edit.new))
    return (
        there
        and not has_stray_seconds(edit)
        and all(word == DWELL_CODE or word[0] == "P" for word in changed)
    )


def refused(runs: ProgramRuns) -> str:
    """Return why other dwells are not harmless, or ""."""
    if not runs.all_the_same:
        return "the moves are not the same with it"
    (old_others, old), (new_others, new) = (_parted(run) for run in (runs.was, runs.now))
    if old_others != new_others:
        return "more than a dwell has changed"
    for at in sorted(old.keys() | new.keys()):
        was, now = old.get(at, []), new.get(at, [])
        if [event.value for event in was] == [event.value for event in now]:
            continue
        event, run = (now[0], runs.now) if now else (was[0], runs.was)
        if not clear_place(run, event):
            return not_clear(run, event)
        if run.compensated(event):
            return "cutter compensation is in force there"
        if _seconds(now) < _seconds(was) and (why := _needed(runs.was, was[0])):
            return why
    return ""


def _parted(run: ProgramRun) -> tuple[Others, dict[tuple[int, int], list[Event]]]:
    """Return the other events, and the dwells between two of them and before a move."""
    others, found = run.parted(lambda event: event.kind is EventKind.DWELL)
    dwells: dict[tuple[int, int], list[Event]] = {}
    for past, event in found:
        dwells.setdefault((past, event.move), []).append(event)
    return others, dwells


def _seconds(events: list[Event]) -> float:
    return sum(float(event.value) for event in events)


def _needed(run: ProgramRun, dwell: Event) -> str:
    """Return what a dwell waits for, or "": the spindle, or what is not understood."""
    before = np.flatnonzero(run.cuts[: dwell.move])
    since = int(before[-1]) + 1 if len(before) else 0
    why = ""
    for event in run.motion.events:
        if event is dwell:
            break
        if event.kind in _BLIND and event.move == dwell.move:
            return f"it may wait for what {event.value} does"
        if event.move >= since and (what := _awaited(event)):
            why = f"the dwell after {named(event)} lets {what}"
    return why


def _awaited(event: Event) -> str:
    """Return what a dwell after an event is there for, or ""."""
    if event.kind is EventKind.SPINDLE:
        return f"the spindle come {'to rest' if event.value == 'M5' else 'up to speed'}"
    if event.kind is EventKind.COOLANT and event.value != "M9":
        return "the coolant come"
    return "the new tool settle" if event.kind is EventKind.TOOL_CHANGE else ""


def _figure(runs: ProgramRuns, group: Group, at: int) -> str:
    del group
    values = []
    for run, (first, end) in zip((runs.was, runs.now), runs.places[at], strict=True):
        here = [
            event.value
            for event in run.motion.events
            if event.kind is EventKind.DWELL and first <= event.block < end
        ]
        values.append(f"{sum(map(float, here)):g} s" if here else "")
    was, now = values
    if was and now:
        what = f"the dwell of {was} lasts {now}"
    else:
        what = f"a dwell of {now} is new" if now else f"the dwell of {was} is gone"
    return f"{what}: the tool is clear of the metal there"


DWELLS = HarmlessKind("dwell", one_by_one(_fits), refused, _figure)
