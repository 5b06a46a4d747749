"""What renumbers the position without moving an axis, and the ways home (NISTIR 6556, 3.5)."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, SYSTEMS, Group, code_name
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind
from gpre.motion.run import Run

SYSTEM_NAMES = {system: code_name(code) for code, system in SYSTEMS.items()}


def select_system(run: Run, block: Block) -> None:
    """G54 to G59.3: another origin; the tool stands still (3.5.13)."""
    code = block.g.get(Group.SYSTEM)
    if code is None or SYSTEMS[code] == run.machine.state.system:
        return
    _refuse_compensation(run, block, code)
    machine = run.machine
    left, entered = machine.state.system, SYSTEMS[code]
    run.set_state(EventKind.OFFSET, code_name(code), system=entered)
    shift = machine.between(left, entered)
    reason = _missing_origins(machine, (left, entered))
    if reason:
        run.report_once(
            "INT321",
            f"{reason}: where the tool stands is not known until the program says",
            block.span_of([f"G{code}"]),
            "give the origins of the work systems in the mill's profile",
        )
    run.renumber(shift, reason)
    machine.note_origin()


def length_offset(run: Run, block: Block) -> None:
    """G43 and G49: the length of a tool (3.5.11). No axis moves."""
    code = block.g.get(Group.LENGTH)
    if code is None:
        return
    if code == 490:
        _use_length(run, "G49", 0)
        return
    number = block.whole("H", "the H number")
    if number is None:
        run.report(
            "INT341",
            "G43 without an H word: the tool in the spindle is taken",
            block.span_of([f"G{code}"]),
            "add H, the standard asks for it",
        )
        number = run.machine.state.tool
    _use_length(run, f"G43 H{number}", number)


def _use_length(run: Run, name: str, number: int) -> None:
    """Put a tool length in force: Z is numbered anew by the difference, where that is known."""
    machine = run.machine
    old = machine.state.length_offset
    was, now = machine.state.length, machine.lengths.get(number)
    if number == old and was == now:
        return
    run.set_state(EventKind.OFFSET, name, length_offset=number, length=now)
    shift = math.nan if was is None or now is None else was - now
    missing = [f"H{each}" for each, length in ((old, was), (number, now)) if length is None]
    lengths = (
        f"the length of {missing[0]} is"
        if len(missing) == 1
        else (f"the lengths of {' and '.join(missing)} are")
    )
    run.renumber((0.0, 0.0, shift, 0.0, 0.0, 0.0), f"{lengths} not in the profile")


def set_origins(run: Run, block: Block) -> None:
    """G10: L2 sets the origin of a work system, L20 from where the tool stands (3.5.5)."""
    kind = block.whole("L", "the L word of G10")
    if kind not in {2, 20}:
        if kind is None:
            raise BlockError("INT314", "G10 needs an L word", block_letters(block))
        _set_table(run, block, kind)
        return
    number = block.whole("P", "the number of the work system")
    if number is None:
        raise BlockError("INT314", f"G10 L{kind} needs a P word", block_letters(block))
    machine = run.machine
    system = number or machine.state.system  # P0: the system in force
    if system > 9:
        raise BlockError("INT315", f"there is no work system {number}", ("P",))
    run.event(EventKind.OFFSET, f"G10 L{kind} P{number}")
    in_force = system == machine.state.system
    shift = [0.0] * 6
    anew = False
    for axis in block.axes:
        value = (block.take(AXES[axis]) or 0.0) * (machine.scale if axis < 3 else 1.0)
        place = system, axis
        old, was_known = machine.origins[system][axis], place in machine.known
        if kind == 2:
            machine.origins[system][axis] = value
            machine.known.add(place)
            anew |= not was_known
            if in_force:
                shift[axis] = old - value if was_known else math.nan
            continue
        standing = machine.position[axis] + machine.origin(axis)
        machine.origins[system][axis] = standing - machine.offset[axis] - value
        machine.known.discard(place)
        if math.isnan(standing):
            anew = True
        elif machine.knows_origin(axis) or (in_force and was_known):
            machine.known.add(place)
        else:
            anew |= not in_force  # else it moved by what is known, from where it was
        if in_force:
            machine.position[axis] = value
    run.renumber(shift, f"where {SYSTEM_NAMES[system]} was before G10 is not in the profile")
    machine.note_origin(anew=anew)


def _set_table(run: Run, block: Block, kind: int) -> None:
    """G10 L1, L10 and L11 set a tool in the controller's table, other L words something else.

    No axis moves; what the table had is no longer known.
    """
    number = block.whole("P", "the P word of G10")
    for letter in (*AXES, "R"):
        block.take(letter)
    run.event(EventKind.OFFSET, f"G10 L{kind}")
    if kind not in {1, 10, 11}:
        run.forget_offsets(f"what G10 L{kind} sets is not known")
        return
    lengths = run.machine.lengths
    for each in [each for each in lengths if each and number in {None, each}]:
        del lengths[each]
    if run.machine.state.length_offset and number in {None, run.machine.state.length_offset}:
        run.set_state(length=None)
        run.lose((2,), f"the tool length that G10 L{kind} sets is in force")


def set_offset(run: Run, block: Block, code: int) -> None:
    """G92, G92.1, G92.2 and G92.3: the axis offset (3.5.18). No axis moves."""
    machine = run.machine
    if code == 920 and not block.axes:
        raise BlockError("INT314", "G92 needs an axis word", (f"G{code}",))
    _refuse_compensation(run, block, code)
    run.event(EventKind.OFFSET, code_name(code))
    before = list(machine.offset)
    if code == 920:
        for axis in block.axes:
            value = (block.take(AXES[axis]) or 0.0) * (machine.scale if axis < 3 else 1.0)
            machine.offset[axis] += machine.position[axis] - value
            machine.position[axis] = value
        machine.stored_offset = list(machine.offset)
        machine.note_origin(anew=_newly_unknown(before, machine.offset))
        return
    stored = [math.nan] * 6 if machine.stored_offset is None else machine.stored_offset
    machine.offset = list(stored) if code == 923 else [0.0] * 6
    if code == 921:
        machine.stored_offset = [0.0] * 6
    # an offset that is not known and stays so has not changed
    pairs = zip(before, machine.offset, strict=True)
    shift = [0.0 if old is new else old - new for old, new in pairs]
    run.renumber(
        shift,
        f"the offset that {code_name(code)} {'brings back' if code == 923 else 'ends'}"
        " is not known",
    )
    machine.note_origin(anew=_newly_unknown(before, machine.offset))


def go_home(run: Run, block: Block, code: int) -> None:
    """G28 and G30: rapid to the point given, then home (3.5.8).

    Where home is not known, neither is the position of the axes that went there.
    """
    _refuse_compensation(run, block, code)
    machine, controller = run.machine, run.controller
    named = block.axes
    home = controller.home if code == 280 else controller.second_home
    if code == 300 and block.take("P") not in {None, 2.0}:
        home = None  # a third or fourth place (common practice, no source)
    run.event(EventKind.HOME, code_name(code))
    if named:
        run.move(Kind.RAPID, run.target(block), run.rapid_feed())
    going = named if named and controller.g28_moves == "named" else tuple(range(6))
    end = list(machine.position)
    for axis in going:
        if axis < 3:
            end[axis] = machine.in_program(axis, home[axis]) if home else math.nan
        elif machine.rotary_used:
            end[axis] = math.nan
    unknown = [axis for axis in going if axis < 3 and math.isnan(end[axis])]
    missing = missing_for_machine(machine, unknown) if home else "home is not in the profile"
    run.will_be_lost(unknown, f"where {code_name(code)} leads: {missing}")
    run.move(Kind.RAPID, end, run.rapid_feed())
    if unknown:
        run.report_once(
            "INT328",
            f"where {code_name(code)} takes the axes is not known",
            block.span_of([f"G{code}"]),
            f"{missing}: give it there",
        )


def missing_for_machine(machine: Machine, axes: Sequence[int]) -> str:
    """Return what is missing to tell a machine coordinate of some axes in program coordinates."""
    if all(machine.knows_origin(axis) for axis in axes):
        return f"the length of H{machine.state.length_offset} is not in the profile"
    system = machine.state.system
    missing = _missing_origins(machine, (system,))
    return missing or f"the zero that G92 set in {SYSTEM_NAMES[system]} is not known"


def _missing_origins(machine: Machine, systems: Sequence[int]) -> str:
    """Return which of some work systems have no known origin, as a sentence, or ""."""
    names = [SYSTEM_NAMES[each] for each in systems if not machine.knows_system(each)]
    if not names:
        return ""
    listed = " and ".join(names)
    what = f"the origin of {listed} is" if len(names) == 1 else f"the origins of {listed} are"
    return f"{what} not in the profile"


def _newly_unknown(before: Sequence[float], after: Sequence[float]) -> bool:
    """Return whether an offset on X, Y or Z is not known which it was not before."""
    pairs = zip(before[:3], after[:3], strict=True)
    return any(math.isnan(new) and old is not new for old, new in pairs)


def block_letters(block: Block) -> tuple[str, ...]:
    """Give the non-modal code's own span, for what is missing beside it."""
    code = block.g.get(Group.NON_MODAL)
    return () if code is None else (f"G{code}",)


def _refuse_compensation(run: Run, block: Block, code: int) -> None:
    """Say that cutter compensation forbids the code (appendix B.5); its meaning is clear anyway."""
    if run.machine.state.compensation != 40:
        run.report(
            "INT322",
            f"{code_name(code)} while cutter radius compensation is on",
            block.span_of([f"G{code}"]),
            "write G40 before it",
        )
