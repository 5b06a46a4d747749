"""Coolant on earlier: M7 or M8 in an earlier block of the same tool and setup."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gpre.driver.harmless.edits import HarmlessEdit
from gpre.driver.harmless.kinds import OTHER, Group, HarmlessKind
from gpre.driver.harmless.runs import ProgramRun, ProgramRuns
from gpre.motion.events import Event, EventKind

_ON = frozenset((("M", 7.0), ("M", 8.0)))
# what may happen while it is on already
_MEANWHILE = frozenset((EventKind.SPINDLE, EventKind.MODE, EventKind.MESSAGE, EventKind.DWELL))


def _groups(edits: Sequence[HarmlessEdit]) -> list[Group]:
    """Pair each edit that only adds the coolant with the next one that only loses it."""
    waiting: list[HarmlessEdit] = []
    result: list[Group] = []
    for edit in edits:
        words = {word for block in edit.new for word in block}
        if not edit.plain or not (set(edit.lost) | set(edit.added)) <= _ON:
            continue
        if edit.added and not edit.lost:
            waiting.append(edit)
        elif edit.lost and not edit.added:
            fit = [each for each in waiting if each.added == edit.lost]
            if fit:
                waiting.remove(fit[-1])
                result.append((fit[-1], edit))
        elif words & _ON and not edit.lost:  # moved within a few blocks
            result.append((edit,))
    return result + [(each,) for each in waiting]


def refused(runs: ProgramRuns) -> str:
    """Return why coolant that is on earlier is not harmless, or ""."""
    if not runs.same_moves:
        return "the moves are not the same with it"
    rows = np.arange(len(runs.now.motion))
    for row in rows[runs.states_differ(rows)].tolist():
        old, new = (run.motion.state_of(row) for run in (runs.was, runs.now))
        if new != old.changed(mist=new.mist, flood=new.flood) or (new.mist, new.flood) < (
            old.mist,
            old.flood,
        ):
            return "more than the coolant has changed"
        if runs.now.cuts[row]:
            return "a cut that was made without coolant lies between"
    return _order(runs)


def _order(runs: ProgramRuns) -> str:
    """Return what stands in the way between where the coolant came on and where it does, or ""."""
    (old_others, old_on), (new_others, new_on) = (run.parted(_on) for run in (runs.was, runs.now))
    if old_others != new_others:
        return "more than the coolant has changed"
    if [event.value for _, event in old_on] != [event.value for _, event in new_on]:
        return "the coolant is not turned on and off as it was"
    places = [[(past, event.move) for past, event in on] for on in (old_on, new_on)]
    if places[0] == places[1]:
        return OTHER  # it was on already
    for (was, _), (now, event) in zip(old_on, new_on, strict=True):
        if now > was:
            return f"{event.value} comes later"
        for kind, value in _between(runs.now, now, was):
            if kind not in _MEANWHILE and not (kind is EventKind.OFFSET and value[:3] == "G43"):
                return f"it would be on already at the {kind.value} {value}".strip()
    return ""


def _on(event: Event) -> bool:
    """Return whether an event is M7 or M8."""
    return event.kind is EventKind.COOLANT and event.value != "M9"


def _between(run: ProgramRun, first: int, end: int) -> list[tuple[EventKind, str]]:
    """Return the events `first` to `end` of those that are not M7 and M8."""
    others = [(event.kind, event.value) for event in run.motion.events if not _on(event)]
    return others[first:end]


def _figure(runs: ProgramRuns, group: Group, at: int) -> str:
    del runs, at
    there = {word for words in group[0].new for word in words}
    code = next(f"M{value:g}" for _, value in (*group[0].added, *(there & _ON)))
    what = "mist" if code == "M7" else "flood coolant"
    return f"{code} comes earlier: {what} is on sooner, for the same tool, with no cut between"


COOLANT = HarmlessKind("coolant earlier", _groups, refused, _figure)
