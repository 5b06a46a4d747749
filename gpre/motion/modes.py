"""What a block sets before anything moves: items 2 to 18 of NISTIR 6556, Table 8."""

from __future__ import annotations

import math

from gpre.motion import groups
from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, UNITS, Group, code_name
from gpre.motion.run import Run


def units(run: Run, block: Block) -> None:
    """G20 and G21, G70 and G71 for the same: how long the unit is. No axis moves."""
    code = block.g.get(Group.UNITS)
    if code is None or UNITS[code] == run.machine.state.units:
        return
    if run.machine.state.compensation != 40:
        _say_compensation(run, block, code)
    run.set_state(EventKind.MODE, code_name(code), units=UNITS[code])


def feed_mode(run: Run, block: Block) -> None:
    """G93, G94 and G95: an F number of another mode does not hold in the new one."""
    code = block.g.get(Group.FEED_MODE)
    if code is not None and code // 10 != run.machine.state.feed_mode:
        run.set_state(EventKind.MODE, code_name(code), feed_mode=code // 10)
        run.machine.feed = math.nan


def feed(run: Run, block: Block) -> None:
    """F: kept as mm/min (G94) or mm/rev (G95); in G93 it belongs to its own block alone."""
    value = block.take("F")
    if value is None:
        return
    if value < 0.0:
        raise BlockError("INT315", f"a feed of {value:g}", ("F",), advice="write it without sign")
    if run.machine.state.feed_mode != 93:
        run.machine.feed = value * run.machine.scale
        run.machine.feed_units = run.machine.state.units
        run.machine.zero_noted = False


def spindle(run: Run, block: Block) -> None:
    """S, and M3, M4, M5 behind the tool's change."""
    value = block.take("S")
    if value is not None:
        if value < 0.0:
            raise BlockError("INT315", f"a spindle speed of {value:g}", ("S",))
        run.set_state(EventKind.SPINDLE, f"S{value:g}", spindle=value)


def tool(run: Run, block: Block) -> None:
    """T selects, M6 puts the selected tool in; then M3, M4 and M5, which come after it."""
    number = block.whole("T", "the number of the tool")
    if number is not None:
        run.set_state(selected=number)
    if block.m.get(groups.TOOL) is not None:
        selected = run.machine.state.selected
        if block.axes:
            run.report(
                "INT356",
                "M6 beside axis words: read as the change first, then the move",
                block.span_of(["M6", *(AXES[axis] for axis in block.axes)]),
                "write two blocks",
            )
        # the spindle stands after a change (3.6.3, from memory)
        run.set_state(tool=selected, spindle_way=0)
        run.event(EventKind.TOOL_CHANGE, f"T{selected}")
        moves = {"all": range(6), "z": (2,), "none": ()}[run.controller.tool_change_moves]
        run.lose(moves, "where the tool change leaves the axes is not in the profile")
    code = block.m.get(groups.SPINDLE)
    if code is not None:
        way = {3: 1, 4: -1, 5: 0}[code]
        run.set_state(EventKind.SPINDLE, f"M{code}", spindle_way=way)


def coolant(run: Run, block: Block) -> None:
    """M7 mist, M8 flood, both if both are there, M9 neither."""
    for code in block.coolant:
        changes = {7: {"mist": True}, 8: {"flood": True}}.get(code, {"mist": False, "flood": False})
        run.set_state(EventKind.COOLANT, f"M{code}", **changes)


def overrides(run: Run, block: Block) -> None:
    """M48 and M49: may the operator change feed and speed."""
    code = block.m.get(groups.OVERRIDES)
    if code is not None:
        run.set_state(EventKind.MODE, f"M{code}", overrides=code == 48)


def dwell(run: Run, block: Block) -> None:
    """G4: seconds (3.5.4); before the block's own motion (Table 8)."""
    if block.g.get(Group.NON_MODAL) != 40:
        return
    seconds = block.take("P")
    if seconds is None:
        raise BlockError("INT314", "G4 needs a P word", ("G40",), advice="write the seconds as P")
    if seconds < 0.0:
        raise BlockError("INT315", f"a dwell of {seconds:g} seconds", ("P",))
    run.event(EventKind.DWELL, f"{seconds:g}")
    axes = [letter for letter in "XYZABC" if letter in block.words]
    if axes:
        run.report(
            "INT355",
            f"{' '.join(axes)} beside G4",
            block.span_of(axes),
            "write the dwell and the move in two blocks",
        )


def plane(run: Run, block: Block) -> None:
    """G17, G18 and G19."""
    code = block.g.get(Group.PLANE)
    if code is None or code // 10 == run.machine.plane:
        return
    if run.machine.state.compensation != 40:
        _say_compensation(run, block, code)
    run.machine.plane = code // 10
    run.machine.cycle = None  # its words belong to the old plane


def compensation(run: Run, block: Block) -> None:
    """G40, G41 and G42; G41.1 and G42.1 name the diameter itself. Moves stay as programmed."""
    code = block.g.get(Group.COMPENSATION)
    if code is None:
        return
    block.take("D")
    block.take("L")
    now = code // 10
    if now != 40 and run.machine.state.compensation != 40:
        _say_compensation(run, block, code)
    run.set_state(EventKind.COMPENSATION, code_name(code), compensation=now)


def path_mode(run: Run, block: Block) -> None:
    """G61, G61.1 and G64; P and Q of G64 are tolerances of the controller."""
    code = block.g.get(Group.PATH)
    if code is None:
        return
    if code == 640:
        block.take("P")
        block.take("Q")
    run.set_state(EventKind.MODE, code_name(code), path=code)


def distance(run: Run, block: Block) -> None:
    """G90 and G91, and G90.1 and G91.1 for the centres of arcs."""
    code = block.g.get(Group.DISTANCE)
    if code is not None:
        run.set_state(distance=code // 10)
    code = block.g.get(Group.ARC_DISTANCE)
    if code is not None:
        run.set_state(arc_distance=code)


def retract(run: Run, block: Block) -> None:
    """G98 and G99: how far a canned cycle comes out of the hole."""
    code = block.g.get(Group.RETRACT)
    if code is not None:
        run.set_state(retract=code // 10)


def _say_compensation(run: Run, block: Block, code: int) -> None:
    run.report(
        "INT322",
        f"{code_name(code)} while cutter radius compensation is on",
        block.span_of([f"G{code}"]),
        "write G40 before it",
    )
