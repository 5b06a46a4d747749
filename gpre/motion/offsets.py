"""What renumbers the position without moving an axis, and the ways home (NISTIR 6556, 3.5)."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, CALLS, CYCLES, SYSTEMS, Group, code_name
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind
from gpre.motion.run import NO_H, Run

SYSTEM_NAMES = {system: code_name(code) for code, system in SYSTEMS.items()}


def system_name(system: int) -> str:
    """Return the code of a work system, or words for it where nobody knows it."""
    return SYSTEM_NAMES.get(system, "the work system in force")


def select_system(run: Run, block: Block) -> None:
    """G54 to G59.3: another origin; the tool stands still (3.5.13)."""
    code = block.g.get(Group.SYSTEM)
    if code is None:
        return
    if "P" in block.words and _names_another(run, block):
        _select_another(run, block, code)
        return
    machine = run.machine
    left, entered = machine.state.system, SYSTEMS[code]
    if left == entered and machine.system_known:
        return
    _refuse_compensation(run, block, code)
    if not machine.system_known:
        machine.system_known = True
        if run.nothing_stands:
            run.set_state(EventKind.OFFSET, code_name(code), system=entered)
            machine.note_origin()
            return
        left = 0  # what was taken to be in force need not have been
    run.set_state(system=entered)
    run.event(EventKind.OFFSET, code_name(code))
    shift = machine.between(left, entered)
    if left == 0:
        reason = f"which work system was in force before {code_name(code)} is not known"
    else:
        reason = _missing_origins(machine, (left, entered))
    if reason:
        run.report_once(
            "INT321",
            f"{reason}: where the tool stands is not known until the program says",
            block.span_of([f"G{code}"]),
            "give the origins of the work systems in the mill's profile",
        )
    run.renumber(shift, reason)
    machine.note_origin(anew=left == 0)


def _names_another(run: Run, block: Block) -> bool:
    """Return whether P stands beside the code and nothing else takes it: it names a system."""
    taken = (
        Group.NON_MODAL in block.g
        or CALLS in block.m
        or block.g.get(Group.MOTION, run.machine.state.motion) in CYCLES
    )
    return not taken


def _select_another(run: Run, block: Block, code: int) -> None:
    """G54 P3, G59 P8: one more work system on some controllers, from memory; which is not known."""
    name = f"{code_name(code)} P{block.words['P']:g}"
    run.event(EventKind.OFFSET, name)
    run.set_state(system=0)
    machine = run.machine
    machine.known -= {(0, axis) for axis in range(6)}
    machine.system_known = True
    run.lose(range(6), f"where the zero of {name} lies is not known")
    machine.note_origin(anew=True)


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
    was, now = machine.length_in_force, machine.lengths.get(number)
    if number == old and was == now:
        return
    machine.length_known = True
    if number == old == 0 and run.nothing_stands:
        return
    run.set_state(length_offset=number, length=now)
    run.event(EventKind.OFFSET, name)
    shift = math.nan if was is None or now is None else was - now
    missing = [f"H{each}" for each, length in ((old, was), (number, now)) if length is None]
    run.renumber((0.0, 0.0, shift, 0.0, 0.0, 0.0), _missing_lengths(missing, name))


def _missing_lengths(numbers: Sequence[str], name: str) -> str:
    """Return which tool lengths are not known; name: of the code that puts one in force."""
    given = [each for each in numbers if each not in {"H0", f"H{NO_H}"}]
    if not given:
        return f"which tool length was in force before {name} is not known"
    lengths = "the length of {} is" if len(given) == 1 else "the lengths of {} are"
    return f"{lengths.format(' and '.join(given))} not in the profile"


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
    say_incremental(run, block, 100)
    run.event(EventKind.OFFSET, f"G10 L{kind} P{number}")
    if machine.state.system == 0 or not machine.system_known:
        _set_perhaps_in_force(run, block, number)
    place = _Origin(run, system, kind, sure=number == 0 or machine.system_known)
    for axis in block.axes:
        place.set(axis, (block.take(AXES[axis]) or 0.0) * (machine.scale if axis < 3 else 1.0))
    if kind == 2 and block.take("R"):
        place.turn()
    run.renumber(place.shift, f"where {system_name(system)} was before G10 is not in the profile")
    machine.note_origin(anew=place.anew)


def _set_perhaps_in_force(run: Run, block: Block, number: int) -> None:
    """Lose what is not known once G10 sets an origin, while it is not known which is in force.

    number: of P, 0 for the system in force: it may be each of them.
    """
    machine = run.machine
    axes = [axis for axis in block.axes if axis < 3]
    if number == 0:
        machine.known -= {(each, axis) for each in range(10) for axis in axes}
    standing = [axis for axis in axes if math.isfinite(machine.position[axis])]
    if standing:
        run.lose(standing, "G10 sets a zero, and which work system is in force is not known")
        machine.note_origin(anew=True)


class _Origin:
    """The origin of a work system that G10 L2 or L20 sets, axis by axis.

    shift: what to add to the position; anew: the zero moves by what is not known. sure: whether it
    is in force or not is known.
    """

    def __init__(self, run: Run, system: int, kind: int, *, sure: bool) -> None:
        self.run, self.machine = run, run.machine
        self.system, self.kind, self.sure = system, kind, sure
        self.in_force = system == run.machine.state.system
        self.shift = [0.0] * 6
        self.anew = False

    def set(self, axis: int, value: float) -> None:
        """Set it on one axis; value: mm or degrees."""
        machine, place = self.machine, (self.system, axis)
        origin = machine.origins[self.system]
        old, was_known = origin[axis], place in machine.known
        if self.kind == 2:
            origin[axis] = value
            machine.known.add(place)
            self.anew |= not was_known
            if self.in_force:
                self.shift[axis] = old - value if was_known else math.nan
            return
        standing = machine.position[axis] + machine.origin(axis)
        origin[axis] = standing - machine.offset[axis] - value
        machine.known.discard(place)
        if math.isnan(standing):
            self.anew = True
        elif machine.knows_origin(axis) or (self.in_force and was_known):
            machine.known.add(place)
        else:
            self.anew |= not self.in_force  # else it moved by what is known, from where it was
        if self.in_force and self.sure:
            self.run.renumber_to(axis, value)
            machine.zero_set = True

    def turn(self) -> None:
        """Turn the system by R, as some controllers do: where X and Y lie is not known then."""
        self.machine.known -= {(self.system, 0), (self.system, 1)}
        self.anew = True
        if self.in_force:
            self.shift[:2] = math.nan, math.nan


def _set_table(run: Run, block: Block, kind: int) -> None:
    """G10 L1, L10 and L11 set a tool in the controller's table, other L words something else.

    No axis moves; what the table had is no longer known.
    """
    number = block.whole("P", "the P word of G10")
    for letter in (*AXES, "R"):
        block.take(letter)
    run.event(EventKind.OFFSET, f"G10 L{kind}")
    if kind not in {1, 10, 11}:
        run.forget_settings(f"what G10 L{kind} sets is not known")
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
    before = list(machine.offset)
    if code == 920:
        say_incremental(run, block, code)
        numbers = {letter: block.take(letter) or 0.0 for letter in AXES if letter in block.words}
        for axis in block.axes:
            value = numbers[AXES[axis]] * (machine.scale if axis < 3 else 1.0)
            machine.offset[axis] += machine.position[axis] - value
            run.renumber_to(axis, value)
        # where the zero lies then, its numbers alone tell
        odd = [each for each in block.axes if math.isnan(machine.offset[each])]
        told = [f" {AXES[axis]}{numbers[AXES[axis]]:g}" for axis in odd]
        run.event(EventKind.OFFSET, "".join(("G92", *told)))
        machine.zero_set = True
        machine.stored_offset = list(machine.offset)
        machine.note_origin(anew=_newly_unknown(before, machine.offset))
        return
    run.event(EventKind.OFFSET, code_name(code))
    if not machine.offset_known and not run.nothing_stands:
        before = [math.nan] * 6
    machine.offset_known = True
    # what an earlier program stored need not be what it left in force: a NaN of its own
    stored = [float("nan")] * 6 if machine.stored_offset is None else machine.stored_offset
    machine.offset = list(stored) if code == 923 else [0.0] * 6
    if code in {921, 923}:
        machine.stored_offset = list(machine.offset)
    # one that is not known and is brought back as it was stored has not changed
    pairs = zip(before, machine.offset, strict=True)
    shift = [0.0 if old is new else old - new for old, new in pairs]
    pairs = zip(before[:3], machine.offset, strict=False)
    was_lost = any(math.isnan(old) and old is not new for old, new in pairs)
    run.renumber(
        shift,
        f"the offset that {code_name(code)} {'brings back' if code == 923 else 'ends'}"
        " is not known",
    )
    machine.note_origin(anew=was_lost or _newly_unknown(before, machine.offset))


def go_home(run: Run, block: Block, code: int) -> None:
    """G28 and G30: rapid to the point given, then home (3.5.8).

    Where home is not known, neither is the position of the axes that went there.
    """
    _refuse_compensation(run, block, code)
    machine, controller = run.machine, run.controller
    named = block.axes
    home = machine.home if code == 280 else machine.second_home
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
    missing = missing_for_machine(machine, unknown) if home else _missing_home(run, code)
    run.will_be_lost(unknown, f"where {code_name(code)} leads: {missing}")
    run.move(Kind.RAPID, end, run.rapid_feed())
    if unknown:
        run.report_once(
            "INT328",
            f"where {code_name(code)} takes the axes is not known",
            block.span_of([f"G{code}"]),
            advice_for(missing),
        )


def _missing_home(run: Run, code: int) -> str:
    """Return why home is not known."""
    given = run.controller.home if code == 280 else run.controller.second_home
    return "home is not in the profile" if given is None else "home may have been set anew"


def advice_for(missing: str) -> str:
    """Return what to do about what is missing."""
    return f"{missing}: give it there" if missing.endswith("profile") else missing


def missing_for_machine(machine: Machine, axes: Sequence[int]) -> str:
    """Return what is missing to tell a machine coordinate of some axes in program coordinates."""
    if all(machine.knows_origin(axis) for axis in axes):
        if machine.state.length_offset in {0, NO_H}:
            return "the program has not said which tool length is in force"
        return f"the length of H{machine.state.length_offset} is not in the profile"
    system = machine.state.system
    if system == 0 or not machine.system_known:
        return "the program has not said which work system is in force"
    missing = _missing_origins(machine, (system,))
    return missing or f"the zero that G92 set in {system_name(system)} is not known"


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
    """Return the non-modal code's own span, for what is missing beside it."""
    code = block.g.get(Group.NON_MODAL)
    return () if code is None else (f"G{code}",)


def say_incremental(run: Run, block: Block, code: int) -> None:
    """Say that controllers differ in what a code that names a place means in G91."""
    if run.machine.state.distance == 91:
        run.report(
            "INT354",
            f"{code_name(code)} in G91: read as in G90",
            block.span_of([f"G{code}"]),
            "write G90 before it",
        )


def _refuse_compensation(run: Run, block: Block, code: int) -> None:
    """Say that cutter compensation forbids the code (appendix B.5); its meaning is clear anyway."""
    if run.machine.state.compensation != 40:
        run.report(
            "INT322",
            f"{code_name(code)} while cutter radius compensation is on",
            block.span_of([f"G{code}"]),
            "write G40 before it",
        )
