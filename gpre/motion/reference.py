"""The slow scalar interpreter: one block at a time, the whole of the standard.

It is the truth that the vectorised run of plain blocks is compared with. The order within a block
is that of NISTIR 6556, Table 8. All values of a block are read in the units in force after it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TypeVar

from gpre.diagnostics.diagnostic import Span
from gpre.motion import groups
from gpre.motion.block import Block, BlockError
from gpre.motion.content import Content, Value, make_content
from gpre.motion.evaluate import evaluate
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, MACROS, Group, code_name
from gpre.motion.lines import OddText
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
from gpre.motion.motion_codes import motion
from gpre.motion.offsets import go_home, length_offset, select_system, set_offset, set_origins
from gpre.motion.outcome import NEXT, Action, Outcome
from gpre.motion.parameters import assign, index_of, look_up
from gpre.motion.run import Run
from gpre.motion.subprograms import call_or_return
from gpre.program.comments import message
from gpre.program.items import block_words
from gpre.program.words import BlockFlag

Part = Callable[[Run, Block], None]

_SKIPPED = int(BlockFlag.OUTSIDE | BlockFlag.BLANK)
_STRANGE = int(BlockFlag.UNREADABLE | BlockFlag.LATHE)
_DELETE, _COMMENT, _FLOW = int(BlockFlag.DELETE), int(BlockFlag.COMMENT), int(BlockFlag.FLOW)
_STATEMENT = int(BlockFlag.STATEMENT)
LONGEST_KEPT, MOST_KEPT = 256, 2048  # bytes of a block, and blocks whose content is kept
_MOTION_ALONE = {Group.MOTION}
T = TypeVar("T")


def step(run: Run, index: int) -> Outcome:
    """Run one block and say where the program goes from there. Never raises for any block."""
    flags = run.lines.flags[index]
    if flags & _SKIPPED or (flags & _DELETE and run.controller.block_delete):
        return NEXT
    run.block = index
    if flags & _COMMENT and (text := message(run.program, index)):
        run.event(EventKind.MESSAGE, text)
    if flags & _FLOW and (flow := _flow(run, index)):
        run.report(
            "INT329",
            f"{flow}: the program is followed up to here",
            block_span(run, index),
            "what comes after it is left alone; unroll it if it should be counted",
        )
        return Outcome(Action.LOST)
    if flags & _STRANGE:
        return _pass_strange(run, index)
    block = _read(run, index)
    if block.content.faults or block.content.strange:
        _report_faults(run, block)
    return _execute(run, block)


def block_span(run: Run, index: int) -> Span:
    """Return the span of a block's text without blanks at its ends."""
    return run.lines.span(index)


def _flow(run: Run, index: int) -> str:
    """Name what steers the run of the program in a block; "" for none, and for macro calls."""
    statement = run.program.statements.get(index)
    return "" if statement is None or statement.flow == "CALL" else statement.flow


def _pass_strange(run: Run, index: int) -> Outcome:
    """Pass a block that is not understood; the axes that it names are not known afterwards.

    Where its words could be read all the same, the modes that they set are in force.
    """
    line = run.lines.text(index)
    odd = run.odd.get(line)
    if odd is None:
        odd = OddText.of(line, run.program.source.encoding)
        _keep(run.odd, line, odd)
    run.event(EventKind.UNKNOWN, odd.text)
    run.lose(odd.axes, f"{odd.text[:40]} is not understood")
    statement = run.lines.flags[index] & _STATEMENT
    block = _read(run, index) if statement or not run.lines.wordless(index) else None
    if block is None or (statement and not block_words(run.program, index)):
        if odd.parameter:
            run.lose_parameters()
        if odd.axes and odd.code:
            run.machine.motion_known = False
        return NEXT
    if odd.axes and block.content.strange and Group.MOTION not in block.g:
        run.machine.motion_known = False
    block.broken = True
    return _execute(run, block)


def _keep(kept: dict[bytes, T], text: bytes, value: T) -> None:
    """Keep what was found of a text, if it is not long; now and then the table starts anew."""
    if len(text) <= LONGEST_KEPT:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        kept[text] = value


def _read(run: Run, index: int) -> Block:
    """Find the values of a block; its settings take effect after all of them (3.3.3)."""
    if not run.lines.flags[index] & _STATEMENT:
        return Block(_plain_content(run, index), run.lines, index, run.lines.starts[index])

    report = run.report
    value_of = partial(look_up, run)
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
    return Block(make_content(values), run.lines, index, 0)


def _plain_content(run: Run, index: int) -> Content:
    """Return what a plain block asks for; blocks of one text ask for the same."""
    text = run.lines.text(index)
    content = run.contents.get(text)
    if content is None:
        content = make_content(run.lines.values(index))
        _keep(run.contents, text, content)
    return content


def _report_faults(run: Run, block: Block) -> None:
    content = block.content
    for code, text, span, advice in content.faults:
        run.report(code, text, block.placed(span), advice)
    if not content.strange:
        return
    for name, span in content.strange:
        run.event(EventKind.UNKNOWN, name)
        if name not in run.controller.accepts:
            run.report("INT303", f"{name} is not known; it is passed through", block.placed(span))
            if name[0] in "GM":  # it may move axes, or change an offset
                run.forget_settings(f"what {name} does is not known")
    if block.axes and any(name[0] == "G" for name, _ in content.strange):
        block.broken = True
        if Group.MOTION not in block.g:
            run.machine.motion_known = False


def _execute(run: Run, block: Block) -> Outcome:
    if block.special is not None:
        return _special(run, block)
    content = block.content
    if content.parts is None:
        content.parts = _parts_of(content)
    for part in content.parts:
        _attempt(run, block, part)
    if block.broken:
        run.lose(block.axes, "the block is faulty")
        block.used.update(AXES)
    _attempt(run, block, motion)
    outcome = _stop(run, block) if block.m else NEXT
    if not block.broken and not block.used.issuperset(block.words):
        unused = [letter for letter in block.words if letter not in block.used]
        run.report(
            "INT327",
            f"nothing in the block uses {' '.join(unused)}",
            block.span_of(unused),
            "see whether a code is missing",
        )
    return outcome


def _parts_of(content: Content) -> tuple[Part, ...]:
    """Return what a block sets, in the order of Table 8; what it names nothing for is left out."""
    if (
        not content.m
        and content.g.keys() <= _MOTION_ALONE
        and content.words.keys().isdisjoint("FST")
    ):
        return ()
    named: list[int | str] = [*content.g, *content.words, *[-group for group in content.m]]
    places = {place for name in named for place in _ASKED.get(name, ())}
    return tuple([_BEFORE_MOTION[place][0] for place in sorted(places)])


def _attempt(run: Run, block: Block, part: Part) -> None:
    """Run one part of a block; a fault takes the axes that the block names away."""
    try:
        part(run, block)
    except BlockError as error:
        run.report(error.code, error.message, block.span_of(error.letters), error.advice)
        block.broken = True
        run.lose(block.axes, error.message)
        block.used.update(block.words)


def _non_modal(run: Run, block: Block) -> None:
    """G28, G30, G10, G92 and their kin; G4 has been done, G53 goes with the motion."""
    code = block.g.get(Group.NON_MODAL)
    if code is None or code in {40, 530}:
        return
    if block.broken:
        run.forget_settings("a block that sets offsets is faulty")
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
        run.lose_all(f"what {code_name(code)} does is not in this file")
        return NEXT
    run.event(EventKind.UNKNOWN, code_name(code))
    run.report(
        "INT338",
        f"{code_name(code)} changes what all later words mean; the program is followed up to here",
        span,
        "what comes after it is left alone",
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
        run.lose_all(error.message)
        return NEXT


# parts in order, and what may ask for each: groups of G codes, words, groups of M codes below zero
_BEFORE_MOTION: tuple[tuple[Part, tuple[int | str, ...]], ...] = (
    (units, (Group.UNITS,)),  # first, so that F too is read in the units that the block names
    (feed_mode, (Group.FEED_MODE,)),
    (feed, ("F",)),
    (spindle, ("S",)),
    (tool, ("T", -groups.TOOL, -groups.SPINDLE)),
    (coolant, (-groups.COOLANT,)),
    (overrides, (-groups.OVERRIDES,)),
    (dwell, (Group.NON_MODAL,)),
    (plane, (Group.PLANE,)),
    (compensation, (Group.COMPENSATION,)),
    (length_offset, (Group.LENGTH,)),
    (select_system, (Group.SYSTEM,)),
    (path_mode, (Group.PATH,)),
    (distance, (Group.DISTANCE, Group.ARC_DISTANCE)),
    (retract, (Group.RETRACT,)),
    (_non_modal, (Group.NON_MODAL,)),
)
_ASKED: dict[int | str, list[int]] = {}
for _place, (_, _names) in enumerate(_BEFORE_MOTION):
    for _name in _names:
        _ASKED.setdefault(_name, []).append(_place)
