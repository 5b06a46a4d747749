"""Canned cycles move by move: G81 to G89 of NISTIR 6556, 3.5.16, and G73 as in common practice.

Positions are those of the plane in force: the cycle drills along the plane's normal. G98 comes
back to where that axis stood before the first of a row of cycles, if that is above R.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from gpre.geometry.tolerance import DUST
from gpre.motion.block import Block, BlockError
from gpre.motion.events import EventKind
from gpre.motion.groups import AXES, PLANE_AXES, code_name
from gpre.motion.machine import Cycle
from gpre.motion.motion import Kind, Role
from gpre.motion.run import Run, straight_length

GREATEST_REPEATS = 100_000
GREATEST_PECKS = 10_000
_LENGTHS = frozenset("RQIJKXYZ")


@dataclass
class Hole:
    """One hole to make. place: on the first and second axis. Lengths mm.

    level: where the normal axis stands; retract: R; clear: where it ends; bottom: how deep.
    """

    run: Run
    block: Block
    words: dict[str, float]
    place: tuple[float, float]
    level: float
    retract: float
    clear: float
    bottom: float

    def at(self, depth: float, place: tuple[float, float] | None = None) -> list[float]:
        """Return the point over `place` (the hole's own) at a coordinate on the normal."""
        first, second, normal = PLANE_AXES[self.run.machine.plane]
        end = list(self.run.machine.position)
        end[first], end[second] = place or self.place
        if math.isnan(depth) and depth is self.clear and not math.isnan(end[normal]):
            self.run.will_be_lost((normal,), "the level to which G98 comes back is not known")
        end[normal] = depth
        return end

    def rapid(self, depth: float, role: Role, place: tuple[float, float] | None = None) -> None:
        """Move at rapid."""
        self.run.move(Kind.RAPID, self.at(depth, place), self.run.rapid_feed(), role=role)

    def feed(self, depth: float, role: Role = Role.FEED) -> None:
        """Move along the normal at feed."""
        end = self.at(depth)
        length = straight_length(self.run.machine.position, end)
        self.run.move(Kind.LINE, end, self.run.path_feed(self.block, length), role=role)

    def dwell(self) -> None:
        """Stand at the bottom for the seconds of the P word."""
        seconds = self.words.get("P", 0.0)
        if seconds > 0.0:
            self.run.event(EventKind.DWELL, f"{seconds:g}")

    def spindle(self, way: int) -> None:
        """Turn the spindle the other way, or stop or start it."""
        code = {1: "M3", -1: "M4", 0: "M5"}[way]
        self.run.set_state(EventKind.SPINDLE, code, spindle_way=way)


def keep_words(run: Run, block: Block) -> None:
    """Keep sticky words of a block that makes no hole (`R2` on a line of its own)."""
    cycle = run.machine.cycle
    if cycle is None:
        return
    for letter in "RPQ":
        _keep(run, block, cycle, letter)


def cycle(run: Run, block: Block, code: int) -> None:
    """Make all moves of one block of a canned cycle; raise BlockError where it cannot be run."""
    normal = PLANE_AXES[run.machine.plane][2]
    if run.machine.cycle is None:
        run.machine.cycle = Cycle(run.machine.position[normal])
    try:
        _make_holes(run, block, code, run.machine.cycle)
    except BlockError:
        run.lose((normal, *block.axes), f"{code_name(code)} cannot be followed")
        raise


def _make_holes(run: Run, block: Block, code: int, cycle: Cycle) -> None:
    machine, words = run.machine, cycle.words
    first, second, normal = PLANE_AXES[machine.plane]
    holes = _holes(run, block, code, cycle)
    u = _where(run, block, first)
    v = _where(run, block, second)
    retract, bottom = _levels(run, words, normal)
    if retract < bottom - DUST:
        raise BlockError(
            "INT323",
            f"{code_name(code)}: R lies below the bottom of the hole",
            ("R", AXES[normal]),
            advice="R is where the feed starts, the last axis word where it ends",
        )
    level = machine.position[normal]
    if level < retract:
        end = list(machine.position)
        end[normal] = level = retract
        run.move(Kind.RAPID, end, run.rapid_feed(), role=Role.DOWN)
    high = cycle.initial
    clear = retract if machine.state.retract == 99 or high < retract else high
    place = (machine.position[first], machine.position[second])
    relative = machine.state.distance == 91
    for _ in range(holes):
        if run.too_long:
            break
        place = (place[0] + u, place[1] + v) if relative else (u, v)
        hole = Hole(run, block, words, place, level, retract, clear, bottom)
        hole.rapid(level, Role.POSITION)
        if level != retract:
            hole.rapid(retract, Role.DOWN)
        _SHAPES[code](hole)
        level = clear
    if relative and code != 870 and block.words.get("K", 1.0) != 1.0:
        run.lose((first, second), f"K beside {code_name(code)} may make several holes")


def _holes(run: Run, block: Block, code: int, cycle: Cycle) -> int:
    """Check and keep the words of the block; give how many holes it makes."""
    machine = run.machine
    normal = AXES[PLANE_AXES[machine.plane][2]]
    name = code_name(code)
    if not any(axis < 3 for axis in block.axes):
        raise BlockError("INT324", f"{name} needs an axis word", (f"G{code}",))
    if any(axis > 2 for axis in block.axes):
        raise BlockError(
            "INT323", f"{name} cannot turn a rotary axis", [w for w in "ABC" if w in block.words]
        )
    if machine.state.feed_mode == 93:
        raise BlockError("INT323", f"{name} in G93", (f"G{code}",), advice="write G94")
    if machine.state.compensation != 40:
        run.report(
            "INT322",
            f"{name} while cutter radius compensation is on",
            block.span_of([f"G{code}"]),
            "write G40 before it",
        )
    for letter in ("R", "P", "Q", *("IJK" if code == 870 else ""), normal):
        _keep(run, block, cycle, letter)
    needed = ["R", normal]
    needed += {730: ["Q"], 830: ["Q"], 870: ["I", "J", "K"]}.get(code, [])
    missing = [letter for letter in needed if letter not in cycle.words]
    if missing:
        raise BlockError(
            "INT324",
            f"{name} needs {' and '.join(missing)}",
            (f"G{code}",),
            advice="the words of a cycle hold for the blocks that follow it, not before",
        )
    if cycle.words.get("P", 0.0) < 0.0:
        raise BlockError("INT315", f"a dwell of {cycle.words['P']:g} seconds", ("P",))
    if "Q" in needed and not cycle.words["Q"] > 0.0:
        raise BlockError("INT315", f"{name} needs a Q above zero", ("Q",))
    return _repeats(run, block)


def _repeats(run: Run, block: Block) -> int:
    repeats = block.whole("L", "the number of repeats")
    if repeats is None:
        return 1
    if repeats > GREATEST_REPEATS:
        raise BlockError("INT315", f"{repeats} repeats are too many to follow", ("L",))
    if repeats == 0:
        run.report(
            "INT345",
            "L0: read as no hole, the words kept",
            block.span_of("L"),
            "the standard does not allow L0",
        )
    return repeats


def _keep(run: Run, block: Block, cycle: Cycle, letter: str) -> None:
    value = block.take(letter)
    if value is not None:
        cycle.words[letter] = value * run.machine.scale if letter in _LENGTHS else value


def _where(run: Run, block: Block, axis: int) -> float:
    """Return the place on an axis of the plane, or the step to it in G91."""
    value = run.length_word(block, AXES[axis])
    if run.machine.state.distance == 91:
        return value or 0.0
    return run.machine.position[axis] if value is None else value


def _levels(run: Run, words: dict[str, float], normal: int) -> tuple[float, float]:
    """Return R and the bottom; in G91 R counts from where the axis stands, the bottom from R."""
    if run.machine.state.distance == 91:
        retract = run.machine.position[normal] + words["R"]
        return retract, retract + words[AXES[normal]]
    return words["R"], words[AXES[normal]]


def _drill(hole: Hole) -> None:
    """G81, and G82 with its dwell."""
    hole.feed(hole.bottom)
    hole.rapid(hole.clear, Role.OUT)


def _drill_and_dwell(hole: Hole) -> None:
    hole.feed(hole.bottom)
    hole.dwell()
    hole.rapid(hole.clear, Role.OUT)


def _depths(hole: Hole) -> list[float]:
    """Return the depth of every peck; the last one is the bottom."""
    step = hole.words["Q"]
    if not math.isfinite(hole.retract - hole.bottom):
        return [hole.bottom]
    pecks = (hole.retract - hole.bottom) / step
    if pecks > GREATEST_PECKS:
        raise BlockError("INT315", f"{pecks:.0f} pecks are too many to follow", ("Q",))
    count = math.ceil(pecks - DUST)
    return [hole.retract - step * peck for peck in range(1, count)] + [hole.bottom]


def _peck(hole: Hole) -> None:
    """G83: out to the clearance after every peck, and back to just above the last depth."""
    above = hole.run.controller.peck_back_off
    *pecks, bottom = _depths(hole)
    for depth in pecks:
        hole.feed(depth)
        hole.rapid(hole.clear, Role.OUT)
        hole.rapid(min(depth + above, hole.clear), Role.DOWN)
    hole.feed(bottom)
    hole.rapid(hole.clear, Role.OUT)


def _break_chips(hole: Hole) -> None:
    """G73: a short lift after every peck (common practice, no source)."""
    above = hole.run.controller.peck_back_off
    *pecks, bottom = _depths(hole)
    for depth in pecks:
        hole.feed(depth)
        hole.rapid(min(depth + above, hole.retract), Role.DOWN)
    hole.feed(bottom)
    hole.dwell()
    hole.rapid(hole.clear, Role.OUT)


def _tap(hole: Hole) -> None:
    """G84: in at feed, the spindle turned round, out at feed."""
    if hole.run.machine.state.spindle_way != 1:
        hole.run.report(
            "INT346",
            "G84 needs the spindle to turn clockwise before it",
            hole.block.span,
            "write M3 before it",
        )
    hole.feed(hole.bottom)
    hole.spindle(-1)
    hole.feed(hole.retract, Role.OUT)
    hole.spindle(1)
    if hole.clear != hole.retract:
        hole.rapid(hole.clear, Role.OUT)


def _bore(hole: Hole) -> None:
    """G85, and G89 with its dwell: in and out at feed."""
    hole.feed(hole.bottom)
    _feed_out(hole)


def _bore_and_dwell(hole: Hole) -> None:
    hole.feed(hole.bottom)
    hole.dwell()
    _feed_out(hole)


def _feed_out(hole: Hole) -> None:
    hole.feed(hole.clear, Role.OUT)


def _bore_and_stop(hole: Hole) -> None:
    """G86: out at rapid with the spindle standing."""
    way = hole.run.machine.state.spindle_way
    hole.feed(hole.bottom)
    hole.dwell()
    hole.spindle(0)
    hole.rapid(hole.clear, Role.OUT)
    hole.spindle(way)


def _bore_by_hand(hole: Hole) -> None:
    """G88: the operator takes the tool out while the program stands."""
    way = hole.run.machine.state.spindle_way
    hole.feed(hole.bottom)
    hole.dwell()
    hole.spindle(0)
    hole.run.event(EventKind.STOP, "G88")
    hole.rapid(hole.clear, Role.OUT)
    hole.spindle(way)


def _bore_back(hole: Hole) -> None:
    """G87: through the hole beside its axis, up at feed from below, and back the same way."""
    way = hole.run.machine.state.spindle_way
    aside = (hole.place[0] + hole.words["I"], hole.place[1] + hole.words["J"])
    middle = hole.words["K"]
    if hole.run.machine.state.distance == 91:
        middle += hole.bottom
    hole.rapid(hole.retract, Role.POSITION, aside)
    hole.spindle(0)
    hole.rapid(hole.bottom, Role.DOWN, aside)
    hole.rapid(hole.bottom, Role.DOWN)
    hole.spindle(way)
    hole.feed(middle)
    hole.feed(hole.bottom)
    hole.spindle(0)
    hole.rapid(hole.bottom, Role.OUT, aside)
    hole.rapid(hole.clear, Role.OUT, aside)
    hole.rapid(hole.clear, Role.OUT)
    hole.spindle(way)


_SHAPES: dict[int, Callable[[Hole], None]] = {
    730: _break_chips,
    810: _drill,
    820: _drill_and_dwell,
    830: _peck,
    840: _tap,
    850: _bore,
    860: _bore_and_stop,
    870: _bore_back,
    880: _bore_by_hand,
    890: _bore_and_dwell,
}
