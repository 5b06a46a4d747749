"""What is told of units, distance mode and plane that nothing states, and what it forbids."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from gpre.diagnostics.diagnostic import Diagnostic, Span
from gpre.driver.counting import Counted
from gpre.editing.proposal import Plan, Proposal, Refusal
from gpre.mill.profile import LoadedMill
from gpre.motion.controller import UNITS
from gpre.motion.not_stated import CHOICE_NAMES, READINGS, NotStated
from gpre.motion.unit_hints import INCH, MM, Hint
from gpre.program.program import Program

_CODES = {"units": "INT351", "distance": "INT352", "plane": "INT353"}
_WHERE = {
    "units": "the first length or feed that depends on it",
    "distance": "the first move that depends on it",
    "plane": "the first arc or cycle that depends on it",
}
_CURES = {
    "units": "give --units mm or --units inch, or the key units under [controller] of the mill "
    "profile",
    "distance": "write G90 or G91 at the head of the program, or the key distance under "
    "[controller] of the mill profile",
    "plane": "write G17, G18 or G19 at the head of the program, or the key plane under "
    "[controller] of the mill profile",
}


def unstated_findings(counted: Counted, more: str = "") -> tuple[Diagnostic, ...]:
    """Say what nothing states; more: what is done about it, behind the words on what is taken."""
    return tuple(
        _finding(
            counted,
            each,
            _CODES[each.setting],
            f"{_nobody_says(each)}; {READINGS[each.taken]} is taken{more}",
        )
        for each in _that_matter(counted)
    )


def unstated_in_proof(counted: Counted) -> tuple[Diagnostic, ...]:
    """Say what nothing states in one of two programs that are proved against each other."""
    return unstated_findings(counted, ", and the proof is made for the other as well")


def with_units_note(loaded: LoadedMill, units: str | None, *programs: Counted) -> LoadedMill:
    """Note with the profile where the option --units changes nothing in the programs."""
    if units is None or not all(_states_other_units(each, UNITS[units]) for each in programs):
        return loaded
    code = programs[0].units
    message = f"--units {units} changes nothing: the program states G{code} before it needs it"
    return replace(loaded, findings=(*loaded.findings, Diagnostic("MIL517", message)))


def _states_other_units(counted: Counted, units: int) -> bool:
    return bool(len(counted.motion)) and counted.units != units


def unstated_in_rewrite(counted: Counted) -> tuple[Diagnostic, ...]:
    """Say what nothing states and what is therefore not rewritten."""
    return tuple(
        _finding(
            counted,
            each,
            "REW505" if each.setting == "units" else "REW506",
            f"{_nobody_says(each)}, so nothing is rewritten"
            + ("" if _is_whole(each) else f" up to line {each.last + 1}"),
        )
        for each in _that_matter(counted)
    )


def why_unstated(counted: Counted) -> str:
    """Say why the whole program is left alone for the sake of what nothing states, or ""."""
    return next((_nobody_says(each) for each in _that_matter(counted) if _is_whole(each)), "")


def without_unstated(plan: Plan, counted: Counted) -> Plan:
    """Refuse what a plan would change where something is not stated yet.

    What comes after the last move that depends on it is the same either way.
    """
    for each in counted.not_stated:
        touching = [one for one in plan.chosen if _touches(one, each, counted.program)]
        if touching:
            reason = f"{_nobody_says(each)}, and line {each.last + 1} still depends on it"
            refused = (
                Refusal(one.rewrite, reason, one.first_block, one.last_block) for one in touching
            )
            chosen = tuple(one for one in plan.chosen if one not in touching)
            plan = Plan(chosen, (*plan.refused, *refused), plan.declined)
    return plan


def _that_matter(counted: Counted) -> Iterable[NotStated]:
    return (each for each in counted.not_stated if each.matters)


def _is_whole(each: NotStated) -> bool:
    """Return whether it forbids all changes: lengths would be written in units not known."""
    return each.setting == "units" or each.to_the_end


def _nobody_says(each: NotStated) -> str:
    return f"neither the program nor a mill profile says {CHOICE_NAMES[each.setting]}"


def _finding(counted: Counted, each: NotStated, code: str, message: str) -> Diagnostic:
    source = counted.program.source
    start, end = int(source.starts[each.first]), int(source.ends[each.first])
    if each.setting == "units":
        message += f". {_hinted(counted.hints)}"
    return Diagnostic(code, message, Span(start, end), _WHERE[each.setting], _CURES[each.setting])


def _hinted(hints: Iterable[Hint]) -> str:
    """Say what speaks for inch and for mm."""
    found = {INCH: "", MM: ""}
    for each in hints:
        said = f"{each.what} (line {each.block + 1})"
        found[each.units] += f", {said}" if found[each.units] else said
    return "; ".join(
        f"{head} for {name}: {found[units] or 'nothing'}"
        for head, name, units in (("Speaks", "inch", INCH), ("speaks", "mm", MM))
    )


def _touches(proposal: Proposal, each: NotStated, program: Program) -> bool:
    """Return whether an edit lies in, or right before, a block that runs before the statement."""
    source = program.source
    for edit in proposal.edits:
        first = source.block_of(edit.start)
        last = max(first, source.block_of(max(edit.end - 1, edit.start)))
        if np.any(each.before_end[first : last + 1]):
            return True
    return False
