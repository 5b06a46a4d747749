"""What renumbers the position without moving an axis, and the ways home (NISTIR 6556, 3.5)."""

from __future__ import annotations

import math

from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, SYSTEMS, Group, code_name
from gpre.motion.motion import Kind
from gpre.motion.run import Run


def select_system(run: Run, block: Block) -> None:
    """G54 to G59.3: another origin; the tool stands still (3.5.13)."""
    code = block.g.get(Group.SYSTEM)
    if code is None or SYSTEMS[code] == run.machine.state.system:
        return
    _refuse_compensation(run, block, code)
    machine = run.machine
    before = machine.origins[machine.state.system]
    run.set_state(EventKind.OFFSET, code_name(code), system=SYSTEMS[code])
    now = machine.origins[machine.state.system]
    pairs = {(machine.state.system, axis) for axis in range(3)}
    if "INT321" not in machine.said and not pairs <= machine.known:
        run.report_once(
            "INT321",
            f"the origin of {code_name(code)} is not known and taken as the machine's zero",
            block.span_of([f"G{code}"]),
            "give the origins of the work systems in the mill's profile",
        )
    machine.renumber([old - new for old, new in zip(before, now, strict=True)])


def length_offset(run: Run, block: Block) -> None:
    """G43 and G49: the length of a tool (3.5.11). No axis moves; how long it is, is not known."""
    code = block.g.get(Group.LENGTH)
    if code is None:
        return
    if code == 490:
        run.set_state(EventKind.OFFSET, "G49", length_offset=0)
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
    run.set_state(EventKind.OFFSET, f"G43 H{number}", length_offset=number)


def set_origins(run: Run, block: Block) -> None:
    """G10: L2 sets the origin of a work system, L20 from where the tool stands (3.5.5)."""
    kind = block.whole("L", "the L word of G10")
    if kind not in {2, 20}:
        if kind is None:
            raise BlockError("INT314", "G10 needs an L word", block_letters(block))
        for letter in (*AXES, "P", "R"):
            block.take(letter)
        run.event(EventKind.OFFSET, f"G10 L{kind}")  # a tool table: no axis moves
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
    for axis in block.axes:
        value = (block.take(AXES[axis]) or 0.0) * (machine.scale if axis < 3 else 1.0)
        old = machine.origins[system][axis]
        if kind == 2:
            machine.origins[system][axis] = value
            shift[axis] = old - value if in_force else 0.0
        else:
            standing = machine.position[axis] + machine.origin(axis)
            machine.origins[system][axis] = standing - machine.offset[axis] - value
            if in_force:
                machine.position[axis] = value
        machine.known.add((system, axis))
    machine.renumber(shift)


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
        machine.note_origin()
        return
    machine.offset = list(machine.stored_offset) if code == 923 else [0.0] * 6
    if code == 921:
        machine.stored_offset = [0.0] * 6
    pairs = zip(before, machine.offset, strict=True)
    # an offset that is not known and stays so has not changed
    machine.renumber([0.0 if old is new else old - new for old, new in pairs])


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
            known = home is not None and (machine.state.system, axis) in machine.known
            end[axis] = home[axis] - machine.origin(axis) if home and known else math.nan
        elif machine.rotary_used:
            end[axis] = math.nan
    run.move(Kind.RAPID, end, run.rapid_feed())
    if any(math.isnan(end[axis]) for axis in going if axis < 3):
        run.report_once(
            "INT328",
            f"where {code_name(code)} takes the axes is not known",
            block.span_of([f"G{code}"]),
            "give home and the origins of the work systems in the mill's profile",
        )


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
