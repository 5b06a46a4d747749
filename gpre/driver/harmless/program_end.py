"""M30 for M2 and the other way: both end the program, and nothing else has changed."""

from __future__ import annotations

from gpre.driver.harmless.edits import ENDS, HarmlessEdit
from gpre.driver.harmless.kinds import Group, HarmlessKind, one_by_one
from gpre.driver.harmless.runs import ProgramRuns
from gpre.motion.events import EventKind
from gpre.motion.order import run_order

_CODES = frozenset(("M", code) for code in ENDS)


def _fits(edit: HarmlessEdit) -> bool:
    changed = set(edit.lost) | set(edit.added)
    return changed == _CODES and edit.lost.total() == edit.added.total() == 1


def refused(runs: ProgramRuns) -> str:
    """Return why another code at the end is not harmless, or ""."""
    if not runs.all_the_same:
        return "the moves are not the same with it"
    if any(event.kind is not EventKind.END for event in (*runs.new_events(), *runs.lost_events())):
        return "more than the end has changed"
    idle = [
        int((run_order(len(run.side.program), run.motion).runs == 0).sum())
        for run in (runs.was, runs.now)
    ]
    return "" if idle[0] == idle[1] else "other blocks are never run"


def _figure(runs: ProgramRuns, group: Group, at: int) -> str:
    del runs, at
    (edit,) = group
    was, now = (f"M{code:g}" for (_, code) in (*edit.lost, *edit.added))
    return f"{was} became {now}: both end the program"


PROGRAM_END = HarmlessKind("program end", one_by_one(_fits), refused, _figure)
