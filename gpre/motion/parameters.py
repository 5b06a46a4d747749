"""Parameters 1 to 5399, the reserved ones among them (NISTIR 6556, 3.2.1 and Table 2).

The reserved ones mirror what the interpreter knows: 5161 home (G28), 5181 second home (G30), 5211
the G92 offset, 5220 the work system in force, 5221, 5241, ... 5381 the origins of systems 1 to 9.
Lengths read from or written to them are in the units in force.
"""

from __future__ import annotations

import math

from gpre.diagnostics.diagnostic import Span
from gpre.motion.content import NEAR_WHOLE
from gpre.motion.machine import Machine
from gpre.motion.run import Run

GREATEST = 5399
PROBED = range(5061, 5067)
HOME, SECOND_HOME, OFFSET, SYSTEM = 5161, 5181, 5211, 5220
ORIGINS = 5221
# the system in force; on other controllers the table of tools and a zero common to all systems
# (from memory): what they do is not followed
_OF_MACHINE = frozenset((*range(2001, 3000), *range(5201, 5207), SYSTEM))


def index_of(number: float) -> int | None:
    """Return a parameter's number as a whole one, or None where there is no such parameter."""
    if not math.isfinite(number):
        return None
    nearest = math.floor(number + 0.5)
    close = abs(number - nearest) <= NEAR_WHOLE
    return nearest if close and 1 <= nearest <= GREATEST else None


def look_up(run: Run, number: float, span: Span) -> float:
    """Return a parameter's value; NaN, with a finding, where it cannot be known."""
    index = index_of(number)
    if index is None:
        run.report(
            "INT336", f"there is no parameter #{number:g}", span, f"they run from 1 to {GREATEST}"
        )
        return math.nan
    machine = run.machine
    reserved = _reserved(run, index)
    if reserved is not None:
        if math.isnan(reserved):
            run.report("INT337", f"what the controller holds in #{index} is not known", span)
        return reserved
    if index in machine.parameters:
        return machine.parameters[index]
    if machine.parameters_lost:
        run.report("INT337", f"#{index} may have been set by a call that cannot be followed", span)
    else:
        run.report(
            "INT333",
            f"#{index} is read and was never set",
            span,
            "its value is whatever the controller has kept; set it in the program",
        )
    return math.nan


def assign(run: Run, index: int, value: float) -> None:
    """Set a parameter. Origins and offsets change with their parameters; no axis moves."""
    machine = run.machine
    place = _origin_place(index)
    scale = machine.scale
    if place is not None:
        system, axis = place
        machine.origins[system][axis] = value * (scale if axis < 3 else 1.0)
        machine.parameters[index] = value
        machine.known.add(place)
        if machine.state.system in {0, system} or not machine.system_known:
            # in force from the next G54 to G59.3 on; until then where the tool is cannot be told
            machine.known.discard(place)
            run.lose((axis,), "the parameter of an origin is set while that origin is in force")
            machine.note_origin(anew=True)
    elif HOME <= index < HOME + 6 or SECOND_HOME <= index < SECOND_HOME + 6:
        machine.parameters[index] = value
        machine.home, machine.second_home = None, None
    elif index in _OF_MACHINE:
        run.forget_settings(f"what #{index} sets is not known")
        machine.parameters[index] = value
    elif OFFSET <= index < OFFSET + 6:
        axis = index - OFFSET
        stored = [math.nan] * 6 if machine.stored_offset is None else machine.stored_offset
        stored[axis] = value * (scale if axis < 3 else 1.0)
        machine.stored_offset = stored
    else:
        machine.parameters[index] = value


def _origin_place(index: int) -> tuple[int, int] | None:
    system, axis = divmod(index - ORIGINS, 20)
    return (system + 1, axis) if 0 <= system < 9 and axis < 6 else None


def _reserved(run: Run, index: int) -> float | None:
    """Return a reserved parameter's value, NaN where it is not known, None for all others."""
    machine = run.machine
    if index == SYSTEM:
        return float(machine.state.system) or math.nan if machine.system_known else math.nan
    if index in PROBED:
        return machine.parameters.get(index, math.nan)
    if OFFSET <= index < OFFSET + 6:
        stored = machine.stored_offset
        return (
            math.nan
            if stored is None
            else _in_units(machine, stored[index - OFFSET], index - OFFSET)
        )
    for first, home in ((HOME, machine.home), (SECOND_HOME, machine.second_home)):
        if first <= index < first + 6 and index not in machine.parameters:
            axis = index - first
            return math.nan if home is None or axis > 2 else _in_units(machine, home[axis], axis)
    place = _origin_place(index)
    if place is None:
        return None
    if place not in machine.known:
        return machine.parameters.get(index, math.nan)
    return _in_units(machine, machine.origins[place[0]][place[1]], place[1])


def _in_units(machine: Machine, value: float, axis: int) -> float:
    return value / machine.scale if axis < 3 else value
