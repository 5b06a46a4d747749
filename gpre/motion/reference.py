"""The slow scalar interpreter: one block at a time, the whole of the standard.

It is the truth that the vectorised run of plain blocks is held against. The order within a block
is that of NISTIR 6556, Table 8. All values of a block are read in the units in force after it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from gpre.diagnostics.diagnostic import Span
from gpre.motion.block import Block, BlockError, Value, make_block
from gpre.motion.evaluate import evaluate
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, MACROS, Group, code_name
from gpre.motion.modes import (
    compensation,
    coolant,
    distance,
    dwell,
    feed,
    feed_mode,
    overrides,
    path_mode,
    plane,
    retract,
    spindle,
    tool,
    units,
)
from gpre.motion.motions import motion
from gpre.motion.offsets import go_home, length_offset, select_system, set_offset, set_origins
from gpre.motion.outcome import NEXT, Action, Outcome
from gpre.motion.parameters import assign, index_of, look_up
from gpre.motion.run import Run
from gpre.motion.subprograms import call_or_return
from gpre.program.comments import find_comments, message
from gpre.program.items import block_words
from gpre.program.program import Program
from gpre.program.words import BlockFlag

_SKIPPED = int(BlockFlag.OUTSIDE | BlockFlag.BLANK)
_STRANGE = int(BlockFlag.UNREADABLE | BlockFlag.LATHE)
_DELETE, _COMMENT, _FLOW = int(BlockFlag.DELETE), int(BlockFlag.COMMENT), int(BlockFlag.FLOW)
_STATEMENT = int(BlockFlag.STATEMENT)
_MOTION_ALONE = {Group.MOTION}
_AXIS_LETTERS = {b"X": 0, b"Y": 1, b"Z": 2, b"A": 3, b"B": 4, b"C": 5, b"U": 0, b"V": 1, b"W": 2}


def step(run: Run, index: int) -> Outcome:
    """Run one block and say where the program goes from there. Never raises for any block."""
    flags = int(run.program.blocks.flags[index])
    if flags & _SKIPPED or (flags & _DELETE and run.controller.block_delete):
        return NEXT
    run.block = index
    if flags & _COMMENT and (text := message(run.program, index)):
        run.event(EventKind.MESSAGE, text)
    if flow := _flow(run, index, flags):
        run.report(
            "INT329",
            f"{flow}: the program is followed up to here",
            block_span(run, index),
            "what comes behind is left alone; unroll it if it should be counted",
        )
        return Outcome(Action.LOST)
    if flags & _STRANGE:
        return _pass_strange(run, index)
    block = _read(run, index)
    _report_faults(run, block)
    return _execute(run, block)


def block_span(run: Run, index: int) -> Span:
    """Give the span of a block's text without blanks at its ends."""
    source = run.program.source
    start, end = int(source.starts[index]), int(source.ends[index])
    text = source.data[start:end]
    return Span(
        start + len(text) - len(text.lstrip()), max(start, end - len(text) + len(text.rstrip()))
    )


def _flow(run: Run, index: int, flags: int) -> str:
    """Name what steers the run of the program in a block; "" for none, and for macro calls."""
    statement = run.program.statements.get(index) if flags & _FLOW else None
    return "" if statement is None or statement.flow == "CALL" else statement.flow


def _pass_strange(run: Run, index: int) -> Outcome:
    """Pass a block that is not understood; the axes that it names are not known afterwards.

    Where its words could be read all the same, the modes that they set are in force.
    """
    source = run.program.source
    line = source.block_bytes(index)
    text = find_comments(line).blanked(line).replace(b"\x01", b" ").upper()
    run.event(EventKind.UNKNOWN, text.decode(source.encoding, "replace").strip())
    named = {axis for letter, axis in _AXIS_LETTERS.items() if letter in text}
    run.lose(named)
    block = _read(run, index)
    if not block_words(run.program, index):
        if b"#" in text:
            run.lose_parameters()
        if named and b"G" in text:
            run.machine.motion_known = False
        return NEXT
    if named and block.strange and Group.MOTION not in block.g:
        run.machine.motion_known = False
    block.broken = True
    return _execute(run, block)


def _read(run: Run, index: int) -> Block:
    """Find the values of a block; its settings take effect after all of them (3.3.3)."""
    if not int(run.program.blocks.flags[index]) & _STATEMENT:
        return make_block(index, block_span(run, index), _plain_values(run.program, index))

    def value_of(number: float, span: Span) -> float:
        return look_up(run, number, span)

    def report(code: str, text: str, span: Span) -> None:
        run.report(code, text, span)

    values = []
    for word in block_words(run.program, index):
        value = evaluate(word.value, value_of, report)
        if math.isinf(value):
            report("INT335", f"the number behind {word.letter} is too large", word.span)
            value = math.nan
        values.append(Value(word.letter, value, word.span))
    statement = run.program.statements.get(index)
    settings = []
    for setting in statement.assignments if statement is not None else ():
        number = evaluate(setting.parameter, value_of, report)
        settings.append((number, evaluate(setting.value, value_of, report), setting.span))
    for number, value, span in settings:
        which = index_of(number)
        if which is None:
            if not math.isnan(number):
                report("INT336", f"there is no parameter #{number:g}", span)
            continue
        assign(run, which, value)
        run.event(EventKind.PARAMETER, f"#{which}={value:.10g}")
    return make_block(index, block_span(run, index), values)


def _plain_values(program: Program, index: int) -> list[Value]:
    """Give the words of a plain block, straight from the columns."""
    first, last = program.blocks.first_word[index : index + 2].tolist()
    words = program.words
    return [
        Value(chr(letter), value, Span(start, end))
        for letter, value, start, end in zip(
            words.letter[first:last].tolist(),
            words.value[first:last].tolist(),
            words.start[first:last].tolist(),
            words.end[first:last].tolist(),
            strict=True,
        )
    ]


def _report_faults(run: Run, block: Block) -> None:
    for code, text, span, advice in block.faults:
        run.report(code, text, span, advice)
    if not block.strange:
        return
    for name, span in block.strange:
        run.event(EventKind.UNKNOWN, name)
        if name not in run.controller.accepts:
            run.report("INT303", f"{name} is not known; it is passed through", span)
    if block.axes and any(name[0] == "G" for name, _ in block.strange):
        block.broken = True
        if Group.MOTION not in block.g:
            run.machine.motion_known = False


def _execute(run: Run, block: Block) -> Outcome:
    if block.special is not None:
        return _special(run, block)
    if block.m or not block.words.keys().isdisjoint("FST") or block.g.keys() - _MOTION_ALONE:
        units(run, block)  # first, so that F too is read in the units that the block names
        for part in _BEFORE_MOTION:
            _attempt(run, block, part)
        _attempt(run, block, _non_modal)
    if block.broken:
        run.lose(block.axes)
        block.used.update(AXES)
    _attempt(run, block, motion)
    outcome = _stop(run, block)
    unused = [letter for letter in block.words if letter not in block.used]
    if unused and not block.broken:
        run.report(
            "INT327",
            f"nothing in the block uses {' '.join(unused)}",
            block.span_of(unused),
            "see whether a code is missing",
        )
    return outcome


def _attempt(run: Run, block: Block, part: Callable[[Run, Block], None]) -> None:
    """Run one part of a block; a fault takes the axes that the block names away."""
    try:
        part(run, block)
    except BlockError as error:
        run.report(error.code, error.message, block.span_of(error.letters), error.advice)
        block.broken = True
        run.lose(block.axes)
        block.used.update(block.words)


def _non_modal(run: Run, block: Block) -> None:
    """G28, G30, G10, G92 and their kin; G4 has been done, G53 goes with the motion."""
    code = block.g.get(Group.NON_MODAL)
    if code is None or code in {40, 530}:
        return
    if block.broken:
        run.machine.known.clear()  # the origins may have changed
        return
    if Group.MOTION in block.g and block.axes and code in {100, 280, 300, 920}:
        raise BlockError(
            "INT313",
            f"{code_name(block.g[Group.MOTION])} and {code_name(code)} both want the axis words",
            (f"G{code}",),
            advice="write two blocks",
        )
    if code in {280, 300}:
        go_home(run, block, code)
    elif code == 100:
        set_origins(run, block)
    else:
        set_offset(run, block, code)


def _special(run: Run, block: Block) -> Outcome:
    """Hand over to a macro, or stop at a code after which every coordinate means another."""
    code = block.special or 0
    span = block.span_of(["special"])
    if code in MACROS:
        run.event(EventKind.HANDOVER, code_name(code))
        run.report(
            "INT330",
            f"{code_name(code)} calls a macro that is not in this file",
            span,
            "what it does is not known, nor where the axes are afterwards",
        )
        run.lose_all()
        run.machine.motion_known = False
        return NEXT
    run.event(EventKind.UNKNOWN, code_name(code))
    run.report(
        "INT338",
        f"{code_name(code)} changes what all later words mean; the program is followed up to here",
        span,
        "what comes behind is left alone",
    )
    return Outcome(Action.LOST)


def _stop(run: Run, block: Block) -> Outcome:
    """M0, M1, M2, M30, M60 (4), then M97, M98 and M99, which the standard does not have."""
    code = block.m.get(4)
    if code in {0, 1, 60}:
        run.event(EventKind.STOP, f"M{code}")
    elif code in {2, 30}:
        run.event(EventKind.END, f"M{code}")
        return Outcome(Action.END)
    try:
        return call_or_return(run, block)
    except BlockError as error:
        run.report(error.code, error.message, block.span_of(error.letters), error.advice)
        run.lose_all()
        return NEXT


_BEFORE_MOTION: tuple[Callable[[Run, Block], None], ...] = (
    feed_mode,
    feed,
    spindle,
    tool,
    coolant,
    overrides,
    dwell,
    plane,
    compensation,
    length_offset,
    select_system,
    path_mode,
    distance,
    retract,
)
