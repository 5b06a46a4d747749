"""What the standard leaves to the controller, where it matters to the programs at hand.

A program is run through once more with another setting: where another motion comes of it, the
setting matters, and the first move that differs says where.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gpre.driver.counting import Counted
from gpre.geometry.arc import PLANE_AXES
from gpre.geometry.tolerance import ARC_RADII
from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.differing import differing
from gpre.motion.machine import Machine
from gpre.motion.motion import Kind, Motion
from gpre.motion.not_stated import READINGS
from gpre.motion.trace import trace, trace_from
from gpre.program.program import Program
from gpre.program.read import read
from gpre.program.words import BlockFlag

HEAD = 1000  # blocks
_ASIDE = (37.0, 41.0, 43.0)  # mm; elsewhere

Start = Callable[[Controller], tuple[Controller, Machine]]


@dataclass(frozen=True)
class Decision:
    """One thing that the controller decides.

    name: what. taken: what was taken for it. key: the profile's key for it, "" where there is
    none. why: where the programs leave it open. before, after: the first blocks that it matters
    to in the two programs, None where it does not matter to one.
    """

    name: str
    taken: str
    key: str
    why: str
    before: int | None
    after: int | None


def decisions(programs: Sequence[Counted], mill: Mill) -> tuple[Decision, ...]:
    """Return what depends on the controller in the motion of two programs, before and after."""
    controller = mill.controller
    if not controller.start_known:  # what is left open shows from any place
        controller = replace(controller, start_known=True)
        mill = replace(mill, controller=controller)
        programs = [replace(each, motion=trace(each.program, controller)) for each in programs]
    return _DecisionFinder(tuple(programs), mill).all()


@dataclass(frozen=True)
class _DecisionFinder:
    programs: tuple[Counted, ...]
    mill: Mill

    @property
    def _controller(self) -> Controller:
        return self.mill.controller

    def all(self) -> tuple[Decision, ...]:
        found = (
            *self._at_the_start(),
            self._start(),
            self._arcs(),
            self._corners(),
            self._pecks(),
            self._block_delete(),
            *self._home(),
        )
        return tuple(each for each in found if each is not None)

    def _at_the_start(self) -> tuple[Decision | None, ...]:
        """Look at what is in force before the program says anything."""
        now = self._controller
        inch, across = now.units == 20, now.distance == 91
        return (
            self._vary(
                "units before the first G20 or G21",
                READINGS[now.units] + self._also("units"),
                "units",
                "moves or feeds come before G20 and G21",
                _controller(units=21 if inch else 20),
            ),
            self._vary(
                "plane before the first G17, G18 or G19",
                READINGS[now.plane] + self._also("plane"),
                "plane",
                "arcs or cycles come before G17, G18 and G19",
                _controller(plane=18 if now.plane == 17 else 17),
            ),
            self._vary(
                "distances before the first G90 or G91",
                READINGS[now.distance] + self._also("distance"), "distance",
                "moves come before G90 and G91",
                _controller(distance=90 if across else 91),
            ),
            self._vary(
                "feeds before the first G93, G94 or G95", "per minute (G94)", "",
                "moves at feed come before G93, G94 and G95",
                _state(feed_mode=95),
            ),
            self._vary(
                "centres of arcs before the first G90.1 or G91.1", "from the start (G91.1)", "",
                "arcs with I, J or K come before G90.1 and G91.1",
                _state(arc_distance=901), needed=self._bent,
            ),
            self._vary(
                "retract level before the first G98 or G99", "G98", "",
                "cycles come before G98 and G99",
                _state(retract=99), needed=_has_code(73, *range(81, 90)),
            ),
        )  # fmt: skip

    def _also(self, setting: str) -> str:
        """Say for what else the proof is made where nothing states a setting, or ""."""
        found = [one for each in self.programs for one in each.not_stated if one.matters]
        others = dict.fromkeys(
            READINGS[code] for one in found if one.setting == setting for code in one.others
        )
        return f", and {' or '.join(others)} too" if others else ""

    def _start(self) -> Decision | None:
        """Look at where the tool stands; the first rapid always starts there: only feed counts."""
        start = self._controller.start
        moved = tuple(one + other for one, other in zip(start, _ASIDE, strict=True))
        return self._vary(
            "place of the tool before the first block",
            "X{:g} Y{:g} Z{:g} mm".format(*start),
            "start",
            "a move at feed comes before X, Y and Z are all stated",
            _controller(start=moved),
            feed_only=True,
        )

    def _arcs(self) -> Decision | None:
        worst = [_worst_radii(each.motion) for each in self.programs]
        greatest = max(much for much, _ in worst)
        if greatest <= ARC_RADII:
            return None
        blocks = [block if much > ARC_RADII else None for much, block in worst]
        return Decision(
            "greatest difference of an arc's two radii",
            f"{self._controller.arc_radius_tolerance:g} mm accepted",
            "arc_radius_tolerance",
            f"the radii of an arc differ by {greatest:.4f} mm; the standard accepts {ARC_RADII:g}",
            *blocks,
        )

    def _corners(self) -> Decision | None:
        first = [_first_feed(each.motion, 640) for each in self.programs]
        if first == [None, None]:
            return None
        open_ = any(
            self._first(at, _state(path=610), states=True) for at in range(len(self.programs))
        )
        own = any(_own_corners(each) for each in self.programs)
        why = "G64 is in force"
        why += ", as long as the program says neither G61 nor G64" if open_ else ""
        why += "; the program's own P says how far" if own else ""
        why += "; the programs are compared as they are written"
        taken = f"{self.mill.limits.corner_tolerance:g} mm, for times only"
        return Decision("rounding of corners", taken, "corner_tolerance", why, *first)

    def _pecks(self) -> Decision | None:
        back = self._controller.peck_back_off
        return self._vary(
            "back-off of peck drilling",
            f"{back:g} mm",
            "peck_back_off",
            "G73 or G83 drills in steps",
            _controller(peck_back_off=0.5 * back + 0.05),
            needed=_has_code(73, 83),
        )

    def _block_delete(self) -> Decision | None:
        first = [_first_deletable(each) for each in self.programs]
        if first == [None, None]:
            return None
        on = self._controller.block_delete
        return Decision(
            "block delete switch",
            f"{'on' if on else 'off'}, and the other way too",
            "block_delete",
            "blocks begin with /; the proof was made for both positions of the switch",
            *first,
        )

    def _home(self) -> tuple[Decision | None, ...]:
        now = self._controller
        named = now.g28_moves == "named"
        other = "all" if named else "named"
        moves = self._vary(
            "axes that G28 and G30 move",
            "those named in the block" if named else "all",
            "g28_moves",
            "G28 or G30 names some of the axes",
            _controller(g28_moves=other),
            needed=_has_code(28, 30),
        )
        places = [
            self._vary(
                f"place of G{code}",
                "not known" if place is None else "X{:g} Y{:g} Z{:g} mm".format(*place),
                key,
                f"G{code} goes there" + (
                    "; where the tool stands after it is not known until the program says"
                    if place is None else ""
                ),
                _controller(**{key: tuple(_ASIDE)}, origins=_all_origins(now)),
                needed=_has_code(code),
            )
            for code, place, key in (
                (28, now.home, "home"), (30, now.second_home, "second_home"),
            )
        ]  # fmt: skip
        return (moves, *places)

    def _vary(
        self,
        name: str,
        taken: str,
        key: str,
        why: str,
        start: Start,
        *,
        needed: Callable[[Counted], bool] | None = None,
        feed_only: bool = False,
    ) -> Decision | None:
        first = [
            self._first(at, start, feed_only=feed_only) if needed is None or needed(each) else None
            for at, each in enumerate(self.programs)
        ]
        return None if first == [None, None] else Decision(name, taken, key, why, *first)

    def _first(
        self, at: int, start: Start, *, feed_only: bool = False, states: bool = False
    ) -> int | None:
        """Return the block of the first move that another setting changes, or None.

        at: which of the programs.
        """
        for program, motion, left in self._heads[at]:
            controller, machine = start(self._controller)
            other, left_otherwise = trace_from(program, controller, machine)
            block = _first_difference(motion, other, feed_only=feed_only, states=states)
            if block is not None:
                return block
            if left == left_otherwise and _differ_at_the_start(controller, self._controller):
                return None  # the program has stated all that was left open
        return None

    @cached_property
    def _heads(self) -> list[list[tuple[Program, Motion, Machine | None]]]:
        """Return of each program, if it is long, the first blocks, and then all of it.

        What matters does so early, mostly; and where another setting makes nonsense of a program,
        running through all of that takes long. With the head goes how it leaves the machine.
        """
        result: list[list[tuple[Program, Motion, Machine | None]]] = []
        for each in self.programs:
            program, motion = each.program, each.motion
            result.append([(program, motion, None)])
            if len(program) > 2 * HEAD and not motion.called.any():
                end = int(program.source.starts[HEAD])
                head = read(program.text[:end], program.source.name)
                result[-1].insert(0, (head, *trace_from(head, self._controller)))
        return result

    @staticmethod
    def _bent(counted: Counted) -> bool:
        return bool(np.any(counted.motion.kind == Kind.ARC))


def _controller(**changes: object) -> Start:
    def start(controller: Controller) -> tuple[Controller, Machine]:
        changed = replace(controller, **changes)  # type: ignore[arg-type]
        return changed, Machine.begin(changed)

    return start


def _state(**changes: object) -> Start:
    def start(controller: Controller) -> tuple[Controller, Machine]:
        machine = Machine.begin(controller)
        machine.state = replace(machine.state, **changes)  # type: ignore[arg-type]
        return controller, machine

    return start


def _differ_at_the_start(one: Controller, other: Controller) -> bool:
    """Return whether controllers differ in nothing but what `Machine.begin` takes from them."""
    begun = replace(
        one, units=other.units, plane=other.plane, distance=other.distance, start=other.start
    )
    return begun == other


def _all_origins(controller: Controller) -> dict[int, tuple[float, float, float]]:
    """Return every work system an origin, so that the way home is known."""
    return {at: controller.origins.get(at, (0.0, 0.0, 0.0)) for at in range(1, 10)}


def _has_code(*codes: int) -> Callable[[Counted], bool]:
    """Tell of a program whether it has one of some G codes, or may compute one."""

    def has(counted: Counted) -> bool:
        words = counted.program.words
        named = (words.letter == ord("G")) & np.isin(words.value, codes)
        return bool(named.any()) or bool(counted.program.statements)

    return has


def _first_difference(one: Motion, other: Motion, *, feed_only: bool, states: bool) -> int | None:
    count = min(len(one), len(other))
    differs = differing(one, other)
    if states:
        differs |= _paths(one)[:count] != _paths(other)[:count]
    if feed_only or states:
        differs &= one.at_feed[:count]
    rows = np.flatnonzero(differs)
    if len(rows):
        return int(one.block[rows[0]])
    if len(one) != len(other) and not (feed_only or states):
        longer = max(one, other, key=len)
        return int(longer.block[count])
    return None


def _paths(motion: Motion) -> NDArray[np.int64]:
    """(n,): the path mode in force at each move, times ten."""
    table = np.array([state.path for state in motion.states] or [0], np.int64)
    return table[motion.state]


def _first_feed(motion: Motion, path: int) -> int | None:
    rows = np.flatnonzero(motion.at_feed & (_paths(motion) == path))
    return int(motion.block[rows[0]]) if len(rows) else None


def _first_deletable(counted: Counted) -> int | None:
    rows = np.flatnonzero(counted.program.blocks.flags & int(BlockFlag.DELETE))
    return int(rows[0]) if len(rows) else None


def _own_corners(counted: Counted) -> bool:
    """Return whether a program says itself how far corners may be rounded (G64 P)."""
    words = counted.program.words
    blocks = words.block[(words.letter == ord("G")) & (words.value == 64.0)]
    return bool(np.isin(words.block[words.letter == ord("P")], blocks).any())


def _worst_radii(motion: Motion) -> tuple[float, int]:
    """Return by how much the two radii of an arc differ at the most, mm, and its block."""
    rows = np.flatnonzero(motion.kind == Kind.ARC)
    if not len(rows):
        return 0.0, 0
    axes = PLANE_AXES[motion.plane[rows].astype(np.intp) - 17][:, :2]
    radii = [
        np.hypot(*np.take_along_axis(point[rows] - motion.centre[rows], axes, axis=1).T)
        for point in (motion.start, motion.end)
    ]
    much = np.nan_to_num(np.abs(radii[0] - radii[1]))
    worst = int(much.argmax())
    return float(much[worst]), int(motion.block[rows[worst]])
