"""Holds gpre's reading of a program against the second one (`own_machine`), move by move.

Places are compared to 1e-6 mm in machine coordinates, arcs at many points along them, with feeds,
what is in force, what happens besides motion, and reversals. Where the second reading stops at a
fault or at what nobody can follow, gpre must have a finding in that block.
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np
import own_count
from own_blocks import Reading
from own_machine import follow
from own_mills import Machine, Point, plain_machine
from own_paths import ROUNDING, leads_somewhere, moves
from own_steps import Event, Move, Step

NEAR = 1e-6  # mm
HALF_CIRCLE = 5e-6  # mm; where one is given by R its centre is a root of what rounding leaves
PARTS = np.linspace(0.0, 1.0, 33)  # of an arc


@dataclass(frozen=True)
class Setup:
    """What both are told of a mill: all of it, or nothing (then gpre's places may be unknown)."""

    name: str
    machine: Machine
    told: bool = True

    def controller(self) -> dict[str, Any]:
        """Return it as gpre's Controller takes it."""
        mill = self.machine
        keys: dict[str, Any] = {
            "arc_radius_tolerance": mill.radii,
            "units": mill.units, "plane": mill.plane, "distance": mill.distance,
            "block_delete": mill.reading.deletes,
            "peck_back_off": mill.back_off,
            "stated": frozenset({"units", "plane", "distance"}),
            "g28_moves": "all" if mill.all_home else "named",
            "tool_change_moves": "none" if mill.change == (None,) * 3 else "all",
            "start_known": self.told,
        }  # fmt: skip
        if self.told:
            zero = mill.origins[mill.system]
            keys |= {
                "home": mill.home, "second_home": mill.second_home,
                "origins": dict(mill.origins), "lengths": dict(mill.lengths),
                "start": tuple(a - b for a, b in zip(mill.start, zero, strict=True)),
            }  # fmt: skip
        return keys


ORIGINS: dict[int, Point] = {
    1: (120.0, 60.5, -190.0), 2: (230.5, 58.25, -187.5), 3: (80.0, 90.0, -210.0),
    4: (310.0, 40.0, -195.0), 5: (60.0, 20.0, -200.0), 6: (200.0, 120.0, -205.0),
    7: (11.0, 12.0, -213.0), 8: (21.0, 22.0, -223.0), 9: (31.0, 32.0, -233.0),
}  # fmt: skip
LENGTHS = {number: 40.0 + 3.25 * number for number in range(1, 100)} | {0: 0.0}
KEPT = (1.5, -2.5, 3.5)  # what G92.3 brings back of an earlier program
_MILL = plain_machine(
    radii=0.01, back_off=0.254, feed=math.nan, kept=KEPT, home=(0.0, 0.0, 150.0),
    second_home=(400.0, 180.0, 140.0), lengths=LENGTHS,
)  # fmt: skip
PLAIN = Setup("zeros at machine zero", _MILL)
_PLACED = plain_machine(
    radii=0.01, back_off=0.5, feed=math.nan, kept=KEPT, home=(7.0, 8.0, 150.0), lengths=LENGTHS,
    second_home=(400.0, 180.0, 140.0), origins=ORIGINS, start=(140.0, 70.0, -60.0),
)  # fmt: skip
PLACED = Setup("zeros at many places", _PLACED)
ODD = Setup(
    "inch, G18, G91 at first, all axes go home, / blocks left out",
    plain_machine(
        radii=0.01, back_off=0.1, feed=math.nan, kept=KEPT, home=(7.0, 8.0, 150.0), lengths=LENGTHS,
        second_home=(400.0, 180.0, 140.0), origins=ORIGINS, start=(140.0, 70.0, -60.0),
        units=20, plane=18, distance=91, all_home=True, reading=Reading(deletes=True),
    ),
)  # fmt: skip
UNTOLD = Setup(
    "gpre is told nothing",
    plain_machine(
        radii=0.01, feed=math.nan, kept=KEPT, home=(7.0, 8.0, 150.0), lengths=LENGTHS,
        back_off=0.254,
        second_home=(400.0, 180.0, 140.0), origins=ORIGINS, start=(141.0, 73.0, -57.0),
        change=(3.0, 5.0, 111.0), length=13.0, system=3,
    ),
    told=False,
)  # fmt: skip
TOLD = (PLAIN, PLACED, ODD)


@dataclass
class Compared:
    """said: the differences. moves: compared. unknown: moves whose place gpre does not know.

    ended: how the second reading ended, and at which line.
    """

    said: list[str] = field(default_factory=list)
    moves: int = 0
    unknown: int = 0
    ended: str = ""
    line: int = 0


def house() -> SimpleNamespace:
    """Return the parts of gpre that are compared with the second reading, as loaded now."""
    names = {
        "read": "gpre.program.read", "trace": "gpre.motion.trace", "Kind": "gpre.motion.motion",
        "Controller": "gpre.motion.controller", "SourceText": "gpre.source.text",
        "points": "gpre.geometry.path", "take": "gpre.geometry.path",
        "find_reversals": "gpre.reversals.find",
    }  # fmt: skip
    return SimpleNamespace(
        **{name: getattr(importlib.import_module(path), name) for name, path in names.items()}
    )


def compare(
    text: bytes,
    setup: Setup,
    gpre: SimpleNamespace | None = None,
    most: int = 3,
    controller: dict[str, Any] | None = None,
) -> Compared:
    """Read a program twice; most: so many differences are told. controller: of gpre, if another."""
    controller = setup.controller() if controller is None else controller
    return _Pair(text, setup, gpre or house(), most, controller).compare()


class _Pair:
    """Both readings of one text."""

    def __init__(
        self,
        text: bytes,
        setup: Setup,
        gpre: SimpleNamespace,
        most: int,
        controller: dict[str, Any],
    ) -> None:
        self.gpre, self.setup, self.most = gpre, setup, most
        self.source = gpre.SourceText.of(text, "pair")
        program = gpre.read(self.source)
        self.motion = gpre.trace(program, gpre.Controller(**controller))
        self.findings = [*program.findings, *self.motion.findings]
        self.steps = follow(text, setup.machine)
        self.result = Compared()
        motion = self.motion
        still = np.abs(motion.end - motion.start).max(axis=1, initial=0.0) <= ROUNDING
        if len(motion.rotary):
            still &= (motion.rotary[:, :3] == motion.rotary[:, 3:]).all(axis=1)
        self.rows = np.flatnonzero(~still | (motion.sweep != 0.0))
        self.placed = motion.placed[motion.state] & setup.told
        self.origins = np.where(self.placed, motion.origins[motion.state], 0.0)
        # where the tool stood at first is not known: such places count from there
        self.from_start = motion.states[0].datum < 0 if motion.states else False

    def say(self, line: int, what: str) -> None:
        self.result.said.append(f"line {line}: {what}")

    def compare(self) -> Compared:
        end = next(
            each
            for each in reversed(self.steps)
            if isinstance(each, Event) and each.what in _ENDINGS
        )
        self.result.ended, self.result.line = end.what, end.line
        mine = list(moves(self.steps))
        for number, move in enumerate(mine):
            if len(self.result.said) >= self.most:
                return self.result
            self.pass_still(move, number)
            if number >= len(self.rows):
                self.say(move.line, f"gpre makes no move {_told(move)}")
                return self.result
            self.move(move, int(self.rows[number]))
        self.pass_last(len(mine))
        self.events()
        if end.what in {"fault", "not followed"}:
            if not end.text.endswith(QUIET) and not self.named(end.line):
                self.say(end.line, f"gpre says nothing of: {end.what}, {end.text}")
        elif len(self.rows) > len(mine):
            line = int(self.motion.block[self.rows[len(mine)]]) + 1
            self.say(line, "gpre makes a move more")
        elif not self.result.said:
            self.reversals()
        return self.result

    # one move

    def pass_still(self, move: Move, number: int) -> None:
        """Leave out moves of gpre's that may be none: it does not know where they start."""
        while not self.setup.told and number < len(self.rows):
            row = int(self.rows[number])
            start, end = self.motion.start[row], self.motion.end[row]
            open_ = np.isnan(start) | np.isnan(end)
            if not open_.any() or (start != end)[~open_].any():
                return
            mine_goes = np.abs(np.subtract(move.path[-1], move.path[0])) > NEAR
            rapid = self.motion.kind[row] == self.gpre.Kind.RAPID
            alike = int(self.motion.block[row]) + 1 == move.line and rapid == move.rapid
            if alike and not (mine_goes & (start == end)).any():
                return
            self.rows = np.delete(self.rows, number)

    def pass_last(self, number: int) -> None:
        """Leave out moves behind the last one that may be none."""
        motion = self.motion
        while not self.setup.told and number < len(self.rows):
            ends = np.array([motion.start[self.rows[number]], motion.end[self.rows[number]]])
            open_ = np.isnan(ends).any(axis=0)
            if not open_.any() or (ends[0] != ends[1])[~open_].any():
                return
            self.rows = np.delete(self.rows, number)

    def move(self, move: Move, row: int) -> None:
        motion = self.motion
        self.result.moves += 1
        before = len(self.result.said)
        if int(motion.block[row]) + 1 != move.line:
            self.say(move.line, f"gpre makes it in line {int(motion.block[row]) + 1}")
        if (motion.kind[row] == self.gpre.Kind.RAPID) != move.rapid:
            self.say(move.line, f"a rapid for one of them alone: {_told(move)}")
        if (motion.sweep[row] != 0.0) != (move.arc is not None):
            self.say(move.line, f"an arc for one of them alone: {_told(move)}")
        if len(self.result.said) > before:
            return
        parts = PARTS if move.arc is not None else np.array([0.0, 1.0])
        known = np.isfinite(motion.start[row]) & np.isfinite(motion.end[row])
        theirs = self.places(row, parts)
        places = [move.arc.at(part) for part in parts] if move.arc else [*move.path]
        mine = np.array(places) - np.where(self.placed[row], 0.0, move.zero)
        if not self.setup.told:
            known &= not self.from_start
        elif not known.all():
            self.result.unknown += 1
        off = np.abs(mine - theirs)[:, known]
        half = move.arc is not None and abs(abs(move.arc.sweep) - math.pi) < 1e-5
        if off.size and not off.max() <= (HALF_CIRCLE if half else NEAR):
            worst = int(off.max(axis=1).argmax())
            self.say(
                move.line,
                f"{theirs[worst].round(6)} where {mine[worst].round(6)} is right: {_told(move)}",
            )
        self.feed(move, row)
        self.force(move, row)
        if len(motion.rotary):
            turned = np.abs(motion.rotary[row] - np.array(move.turned))
            if np.nanmax(turned, initial=0.0) > NEAR or (
                self.setup.told
                and np.isnan(motion.rotary[row]).any() != any(map(math.isnan, move.turned))
            ):
                self.say(move.line, f"{motion.rotary[row]} degrees where {move.turned} is right")

    def places(self, row: int, parts: Any) -> Any:
        """(k, 3) along gpre's move: machine places, or program ones where it knows no zero."""
        motion = self.motion
        if motion.sweep[row] == 0.0:
            found = np.array([motion.start[row], motion.end[row]])
        else:
            many = self.gpre.take(motion, np.full(len(parts), row, np.intp))
            found = self.gpre.points(many, parts)
        return found + self.origins[row]

    def feed(self, move: Move, row: int) -> None:
        if move.rapid or (not self.setup.told and move.force.modes[2] == 93):
            return
        theirs = float(self.motion.feed[row])
        if math.isnan(theirs) and math.isnan(move.feed):
            return
        if not math.isclose(theirs, move.feed, rel_tol=1e-9):
            self.say(move.line, f"F{theirs:g} where F{move.feed:g} is right: {_told(move)}")

    def force(self, move: Move, row: int) -> None:
        state = self.motion.state_of(row)
        force, setting = move.force, move.setting
        mine = (
            *(force.tool, force.way, force.speed, force.mist, force.flood),
            *(round(force.modes[0]) // 1, force.modes[2], force.modes[3], force.modes[4]),
            *(setting.motion, setting.plane, setting.distance, setting.units, setting.retract),
        )
        theirs: tuple[Any, ...] = (
            *(state.tool, {1: 3, -1: 4, 0: 5}[state.spindle_way], state.spindle),
            *(state.mist, state.flood, state.compensation, state.feed_mode, state.path / 10),
            *(48 if state.overrides else 49, state.motion / 10, self.motion.plane[row]),
            *(state.distance, state.units, state.retract),
        )
        names = (
            "tool", "spindle", "speed", "mist", "flood", "compensation", "feed mode", "path mode",
            "overrides", "motion", "plane", "distance", "units", "retract",
        )  # fmt: skip
        if self.setup.told:
            mine += (setting.system, setting.length_number)
            theirs += (state.system, state.length_offset)
            names += ("system", "length number")
        for name, one, other in zip(names, theirs, mine, strict=True):
            if one != other:
                self.say(move.line, f"{name} {one:g} where {other:g} is right: {_told(move)}")

    # the rest

    def events(self) -> None:
        """What happens, in order, with the number of moves before it; as far as both go."""
        mine: list[tuple[int, str]] = []
        made = 0
        ended = False
        for step in self.steps:
            if isinstance(step, Move):
                made += leads_somewhere(step)
            elif step.what in {"fault", "not followed"}:
                ended = True
            elif step.what != "not ended":
                mine.append((made, _event(step)))
        theirs = [
            (int(np.searchsorted(self.rows, each.move)), name)
            for each in self.motion.events
            if (name := _their_event(each)) is not None
        ]
        if ended:
            theirs = theirs[: len(mine)]
        told = self.setup.told  # else moves that may be none stand between
        for one, other in zip(theirs, mine, strict=False):
            if one != other if told else one[1] != other[1]:
                self.say(0, f"after move {one[0]} {one[1]}, where {other} is right")
                return
        if len(theirs) != len(mine):
            more = (theirs if len(theirs) > len(mine) else mine)[min(len(theirs), len(mine))]
            self.say(0, f"for one of them alone, after move {more[0]}: {more[1]}")

    def named(self, line: int) -> bool:
        """Whether gpre has a finding in a block, or an event that says it is not known."""
        starts, ends = self.source.starts, self.source.ends
        for each in self.findings:
            if each.span is not None:
                low, high = int(starts[line - 1]), int(ends[line - 1])
                if low <= each.span.start <= high:
                    return True
        here = self.motion.block == line - 1
        ends = np.concatenate((self.motion.start[here], self.motion.end[here]))
        if not self.setup.told and np.isnan(ends).any():
            return True  # gpre does not know where it is
        return any(
            each.block + 1 == line and each.kind.value in {"unknown", "handover", "probe"}
            for each in self.motion.events
        )

    def reversals(self) -> None:
        if not self.setup.told or self.result.unknown:
            return
        found = self.gpre.find_reversals(self.motion)
        block = self.motion.block
        theirs = sorted(
            (int(block[move]) + 1, int(axis), int(way))
            for move, axis, way in zip(found.move, found.axis, found.direction, strict=True)
        )
        mine = sorted((each.line, each.axis, each.way) for each in own_count.turns(self.steps))
        if theirs != mine:
            odd = sorted(set(theirs) ^ set(mine)) or [(0, 0, 0)]
            self.say(odd[0][0], f"reversals: {len(theirs)} where {len(mine)} is right, {odd[0]}")


# gpre says nothing of these, and takes what depends on them for unknown from there on
QUIET = ("of the zero that is in force", "which is the controller's", "with what it sets")
_ENDINGS = {"end", "not ended", "fault", "not followed"}


def _event(event: Event) -> str:
    if event.what == "end":
        return "end"
    if event.what.startswith("stop"):
        return event.what
    return f"{event.what} {event.text}"


def _their_event(event: Any) -> str | None:
    kind, value = event.kind.value, event.value
    if kind == "end":
        return "end"
    return f"{kind} {value}" if kind in {"stop", "dwell", "tool change", "message"} else None


def _told(move: Move) -> str:
    ends = " to ".join(str(tuple(round(each, 4) for each in move.path[at])) for at in (0, -1))
    return f"{'rapid' if move.rapid else 'feed'} {ends}"


def differences(text: bytes, setups: Sequence[Setup] = TOLD) -> list[str]:
    """Return the differences on some setups, each with its name."""
    return [f"{setup.name}: {said}" for setup in setups for said in compare(text, setup).said]


__all__ = ["Compared", "Setup", "Step", "compare", "differences", "house"]
