"""Item 20 of NISTIR 6556, Table 8: the motion that a block asks for, stated or modal."""

from __future__ import annotations

import math

from gpre.motion.arcs import arc
from gpre.motion.block import Block, BlockError
from gpre.motion.cycles import cycle, keep_words
from gpre.motion.events import EventKind
from gpre.motion.groups import (
    ARCS,
    AXES,
    AXIS_USERS,
    CYCLES,
    PROBES,
    STRAIGHT,
    Group,
    code_name,
)
from gpre.motion.motion import Kind
from gpre.motion.offsets import advice_for, missing_for_machine, say_incremental
from gpre.motion.run import Run, straight_length

LEAST_PROBING = 0.254  # mm, 3.5.9.1


def motion(run: Run, block: Block) -> None:
    """Make the moves of a block, if it asks for any."""
    stated = block.g.get(Group.MOTION)
    if stated is not None:
        _set_mode(run, stated)
    code = run.machine.state.motion
    if block.broken or block.g.get(Group.NON_MODAL) in AXIS_USERS:
        return  # a modal motion is suspended where another code takes the axis words (3.4)
    if not _asks(block, code, stated):
        if code in CYCLES:
            keep_words(run, block)
        return
    if stated is None and not _modal_is_clear(run, block):
        return
    machine_code = block.g.get(Group.NON_MODAL) == 530
    if machine_code and code not in STRAIGHT:
        raise BlockError(
            "INT319", "G53 goes with G0 or G1 only", ("G530",), advice="write G0 beside it"
        )
    if code in STRAIGHT:
        _straight(run, block, code, in_machine=machine_code)
    elif code in ARCS:
        arc(run, block, code)
    elif code in PROBES:
        _probe(run, block, code)
    elif code in CYCLES:
        cycle(run, block, code)
    else:
        raise BlockError(
            "INT312",
            "axis words, and no motion is in force after G80",
            [AXES[axis] for axis in block.axes],
            advice="write G0 or G1 beside them",
        )


def _set_mode(run: Run, code: int) -> None:
    machine = run.machine
    if code in CYCLES:
        if machine.state.motion not in CYCLES:
            machine.cycle = None
    else:
        machine.cycle = None
    if machine.state.motion != code:
        run.set_state(motion=code)
    machine.motion_stated = True
    machine.motion_known = True


def _asks(block: Block, code: int, stated: int | None) -> bool:
    if block.axes:
        return True
    if code in ARCS:
        return any(letter in block.words for letter in "IJKR")
    # a bare G1 only sets the mode, a bare G81 drills nothing, and both are left without a word
    return stated in PROBES or (stated in CYCLES and any(w in block.words for w in "RPQ"))


def _modal_is_clear(run: Run, block: Block) -> bool:
    """See to it that the mode in force is the one that the program means."""
    machine = run.machine
    if machine.motion_known and (machine.motion_stated or machine.state.motion != 10):
        return True
    span = block.span_of([AXES[axis] for axis in block.axes])
    if not machine.motion_known:
        run.report(
            "INT344",
            "which motion is in force is not known after a code that was not understood",
            span,
            "state G0 or G1 again",
        )
        run.lose(block.axes, "which motion is in force is not known")
        block.used.update(block.words)
        return False
    run.report_once(
        "INT311", "an axis word before any motion code; read as G1", span, "write G0 or G1"
    )
    return True


def _straight(run: Run, block: Block, code: int, *, in_machine: bool) -> None:
    machine = run.machine
    end = _in_machine(run, block) if in_machine else run.target(block)
    kind = Kind.RAPID if code == 0 else Kind.LINE
    if kind is Kind.RAPID:
        feed = run.rapid_feed()
    else:
        feed = run.path_feed(block, straight_length(machine.position, end))
    run.move(kind, end, feed)


def _in_machine(run: Run, block: Block) -> list[float]:
    """Return the end of a G53 move, always absolute (3.5.12); NaN where the origin is not known."""
    machine = run.machine
    if machine.state.compensation != 40:
        run.report(
            "INT322",
            "G53 while cutter radius compensation is on",
            block.span_of(["G530"]),
            "write G40 before it",
        )
    say_incremental(run, block, 530)
    end = list(machine.position)
    for axis in block.axes:
        value = (block.take(AXES[axis]) or 0.0) * (machine.scale if axis < 3 else 1.0)
        machine.rotary_used = machine.rotary_used or axis >= 3
        end[axis] = machine.in_program(axis, value)
    unknown = [axis for axis in block.axes if math.isnan(end[axis])]
    if unknown:
        missing = missing_for_machine(machine, unknown)
        run.will_be_lost(unknown, f"where G53 leads: {missing}")
        run.report_once(
            "INT320",
            "where G53 takes the axes is not known in program coordinates",
            block.span_of(["G530"]),
            advice_for(missing),
        )
    return end


def _probe(run: Run, block: Block, code: int) -> None:
    """G38.2: the axes stop where the probe touches, which nobody can tell before (3.5.9)."""
    machine = run.machine
    moving = [axis for axis in block.axes if axis < 3]
    if not moving:
        raise BlockError("INT314", f"{code_name(code)} needs X, Y or Z", (f"G{code}",))
    end = run.target(block)
    length = straight_length(machine.position, end)
    if length < LEAST_PROBING:
        raise BlockError(
            "INT315",
            f"{code_name(code)} over {length / machine.scale:.4g}, which is too short",
            [AXES[axis] for axis in moving],
        )
    if machine.state.feed_mode == 93:
        raise BlockError("INT315", f"{code_name(code)} in G93", (f"G{code}",), advice="write G94")
    run.event(EventKind.PROBE, code_name(code))
    feed = run.path_feed(block, length)
    for axis in moving:
        end[axis] = math.nan
    run.will_be_lost(moving, "where the probe touches is not known")
    run.move(Kind.LINE, end, feed)
    for index in range(5061, 5067):
        machine.parameters[index] = math.nan
