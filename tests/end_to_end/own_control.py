"""A controller at work: what is in force, and what one block does; it shares no code with gpre.

After NISTIR 6556, sections 2 and 3, clause by clause. Machine coordinates, mm. A place that nobody
can know is NaN: only what a machine does not tell (its home, where a tool change leaves it) is so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import own_places
from own_arcs import CENTRES, PLANES, Arc, arc_about, centre_of_radius
from own_blocks import COORDINATES, Block
from own_codes import CYCLES, SYSTEMS, TAKE_AXES, UNITS, Codes, whole
from own_cycles import cycle, keep_words
from own_mills import Machine, Point
from own_steps import Event, Force, Move, Setting, Step
from own_values import FaultError, NotFollowedError


class Control:
    """The controller: what is in force, and what it has done."""

    def __init__(self, machine: Machine) -> None:
        self.m = machine
        self.at = list(machine.start)
        self.turned = [0.0, 0.0, 0.0]  # A, B and C as the program counts them, degrees
        self.origins = {system: list(place) for system, place in machine.origins.items()}
        self.homes = {28: list(machine.home), 30: list(machine.second_home)}
        self.shift = [0.0, 0.0, 0.0]  # G92, in force
        self.kept = list(machine.kept)  # of G92, in its parameters
        self.length, self.lengthened = machine.length, machine.length != 0.0
        self.length_number = 0.0
        self.modes: dict[str, float] = {
            "motion": machine.motion, "plane": machine.plane, "distance": machine.distance,
            "feed mode": 94, "units": machine.units, "compensation": 40, "retract": machine.retract,
            "system": machine.system, "path": 64, "centres": 91.1, "overrides": 48,
        }  # fmt: skip
        self.parameters: dict[int, float] = {}
        self.feed, self.speed, self.way = machine.feed, 0.0, 5
        self.mist = self.flood = False
        self.tool = self.chosen = 0.0
        self.offset_number = 0.0
        self.sticky: dict[str, float] = {}
        self.level: float | None = None  # of G98, while a row of cycles runs
        self.called = False
        self.steps: list[Step] = []

    # what is in force

    @property
    def scale(self) -> float:
        """2.1.2.10: an inch is 25.4 mm."""
        return 25.4 if self.modes["units"] == 20 else 1.0

    def force(self) -> Force:
        number = self.offset_number if self.modes["compensation"] != 40 else 0.0
        modes = (
            *(self.modes["compensation"], number, self.modes["feed mode"], self.modes["path"]),
            self.modes["overrides"],
        )
        return Force(self.tool, self.way, self.speed, self.mist, self.flood, modes)

    def setting(self) -> Setting:
        modes = self.modes
        return Setting(
            *(modes["motion"], modes["plane"], modes["distance"], modes["units"], modes["system"]),
            *(self.length_number, modes["retract"]),
        )

    def zero(self) -> Point:
        """The machine's place of the program's zero: origin, G92, tool length (2.1.2.9)."""
        origin = self.origins[int(self.modes["system"])]
        x, y, z = (one + other for one, other in zip(origin, self.shift, strict=True))
        return x, y, z + self.length

    def sure(self, axis: int) -> bool:
        """Whether somebody has told where the program's zero stands on an axis."""
        systems, lengths = self.m.told_systems, self.m.told_lengths
        length = axis != 2 or lengths is None or self.length_number in lengths
        return length and (systems is None or self.modes["system"] in systems)

    # a block, in the order of table 8 (3.8)

    def block(self, block: Block) -> Codes:
        """Run a block; give its codes, for what steers the program."""
        if block.flow:
            raise NotFollowedError(block.flow)
        if block.fault:
            raise FaultError(block.fault)
        if block.formula:  # 3.3.3: all values are read, then parameters are set
            block, settings = block.settled(lambda number: own_places.read(self, number))
            for number, value in settings:
                own_places.assign(self, number, value)
        codes = Codes(block)
        if block.message:
            self.happens(block, "message", block.message)
        before = self.zero()
        self._feeds_and_tool(codes, block)
        if codes.g.get("once") == 4:  # item 10: before the block's own motion
            seconds = block.last("P")
            if seconds is None or seconds < 0.0:
                raise FaultError("G4 without seconds")
            self.happens(block, "dwell", f"{seconds:g}")
        self._set(codes, block)
        if self.zero() != before:
            self._counted_anew(before)
        self._moves(codes, block)
        for stop in sorted(codes.m & {0, 1, 60}):
            self.happens(block, f"stop M{stop:g}", block.text)
        return codes

    def _feeds_and_tool(self, codes: Codes, block: Block) -> None:
        """Items 2 to 9. F counts in the units that its block names (common practice)."""
        mode = codes.g.get("feed mode", self.modes["feed mode"])
        if mode != self.modes["feed mode"]:
            self.modes["feed mode"] = mode
            self.feed = self.m.feed  # nobody knows what the old number means now
        feed, speed, tool = (block.last(letter) for letter in "FST")
        if min(feed or 0.0, speed or 0.0) < 0.0:
            raise FaultError("a feed or a speed below zero")
        if feed is not None and mode != 93:
            inch = UNITS[int(codes.g.get("units", self.modes["units"]))] == 20
            self.feed = feed * (25.4 if inch else 1.0)
        self.speed = self.speed if speed is None else speed
        self.chosen = self.chosen if tool is None else whole(tool, "tool") or 0
        if 6 in codes.m:
            self.tool = self.chosen
            self.way = 5 if self.m.change_stops else self.way
            self.happens(block, "tool change", f"T{self.tool:g}")
            self.at = [
                old if new is None else new for old, new in zip(self.at, self.m.change, strict=True)
            ]
        for code in (3, 4, 5):
            self.way = code if code in codes.m else self.way
        self.mist = (self.mist or 7 in codes.m) and 9 not in codes.m
        self.flood = (self.flood or 8 in codes.m) and 9 not in codes.m
        for code in (48, 49):
            self.modes["overrides"] = code if code in codes.m else self.modes["overrides"]

    def _set(self, codes: Codes, block: Block) -> None:
        """Items 11 to 18."""
        if codes.g.get("plane", self.modes["plane"]) != self.modes["plane"]:
            self.sticky, self.level = {}, None  # its words belong to the other plane
        for group in ("plane", "units", "compensation"):
            self.modes[group] = codes.g.get(group, self.modes[group])
        self.modes["units"] = UNITS[int(self.modes["units"])]
        were = [self.sure(axis) for axis in range(3)], self.modes["system"], self.length_number
        self._set_length(codes, block)
        offset = block.last("D")
        asked = codes.g.get("compensation", 40) != 40
        if offset is not None and (asked or self.m.number_alone):
            self.offset_number = offset
        if "system" in codes.g:
            free = {"once", "motion"}.isdisjoint(codes.g) and self.modes["motion"] not in CYCLES
            if block.last("P") is not None and free and not codes.m & {98}:
                raise NotFollowedError("one more work system, named by P")
            if SYSTEMS[codes.g["system"]] != self.modes["system"]:
                self.turned = [math.nan] * 3  # nobody gives the zeros of rotary axes
            self.modes["system"] = SYSTEMS[codes.g["system"]]
        other = self.modes["system"] != were[1]
        for axis, was in enumerate(were[0]):
            anew = other or (axis == 2 and self.length_number != were[2])
            if anew and not (was and self.sure(axis)):
                self.at[axis] = math.nan
        for group in ("path", "distance", "centres", "retract"):
            self.modes[group] = codes.g.get(group, self.modes[group])

    def _set_length(self, codes: Codes, block: Block) -> None:
        """3.5.11. G43 without H takes the tool's own number (common practice)."""
        number = block.last("H")
        alone = self.m.number_alone and self.lengthened and "length" not in codes.g
        if codes.g.get("length") == 43 or (number is not None and alone):
            self.lengthened = True
            own = self.tool if -1 not in self.m.lengths else -1
            self.length_number = own if number is None else whole(number, "H") or 0
            self.length = self.m.lengths.get(int(self.length_number), 0.0)
        elif codes.g.get("length") == 49:
            self.length, self.lengthened, self.length_number = 0.0, False, 0

    def _counted_anew(self, before: Point) -> None:
        """A row of cycles goes on though its zero has moved: nobody says to which level."""
        normal = PLANES[int(self.modes["plane"])][2]
        if self.level is not None and self.zero()[normal] != before[normal]:
            self.level = math.nan

    def happens(self, block: Block, what: str, text: str) -> None:
        before = next((each for each in reversed(self.steps) if isinstance(each, Move)), None)
        clear = before is None or before.rapid
        place = self._place()
        self.steps.append(Event(block.line, what, text, place, self.force(), self.zero(), clear))

    def _place(self) -> Point:
        return self.at[0], self.at[1], self.at[2]

    # motion

    def value(self, block: Block, letter: str) -> float | None:
        """A length in mm, as this controller reads it."""
        for one, value, point in block.words:
            if one != letter:
                continue
            if self.m.reading.thousandths and not point and letter in COORDINATES:
                return value * (0.001 if self.modes["units"] == 21 else 0.00254)
            return value * self.scale
        return None

    def axes(self, block: Block) -> dict[int, float]:
        found = {axis: self.value(block, letter) for axis, letter in enumerate("XYZ")}
        return {axis: value for axis, value in found.items() if value is not None}

    def turned_to(self, block: Block) -> list[float]:
        """Where rotary words lead (2.1.2.5), degrees."""
        result = list(self.turned)
        for axis, letter in enumerate("ABC"):
            value = block.last(letter)
            if value is not None:
                result[axis] = value + (result[axis] if self.modes["distance"] == 91 else 0.0)
        return result

    def target(self, axes: Mapping[int, float]) -> list[float]:
        """The machine's place that axis words name; increments in G91 (3.5.17)."""
        zero, result = self.zero(), list(self.at)
        for axis, value in axes.items():
            step = self.modes["distance"] == 91
            result[axis] = self.at[axis] + value if step else zero[axis] + value
        return result

    def _moves(self, codes: Codes, block: Block) -> None:
        """Items 19 and 20. A modal motion gives way to a code that uses the axis words (3.4)."""
        axes, once = self.axes(block), codes.g.get("once")
        turns = any(block.all(letter) for letter in "ABC")
        if turns and once in {28, 30, 53, 10, 92, 92.1, 92.2, 92.3}:
            raise NotFollowedError(f"a rotary axis beside G{once:g}")
        if "motion" in codes.g:
            code = codes.g["motion"]
            if code not in CYCLES:
                self.sticky, self.level = {}, None
            elif code != self.modes["motion"] and not self.m.cycles_share:
                self.sticky = {}
            self.modes["motion"] = code
        mode = self.modes["motion"]
        if once in {28, 30}:
            own_places.go_home(self, block, axes, once)
        elif once in {*TAKE_AXES, 92.1, 92.2, 92.3}:
            before = self.zero()
            own_places.renumber(self, once, block, axes)
            self._counted_anew(before)
        elif once == 4 and self.m.dwell_alone:
            pass
        elif once == 53:  # 3.5.12
            if mode not in {0, 1}:
                raise FaultError("G53 without G0 or G1")
            goal = [axes.get(axis, self.at[axis]) for axis in range(3)]
            goal = [
                math.nan if axis in axes and not self.sure(axis) else place
                for axis, place in enumerate(goal)
            ]
            if axes:
                self.go(block, goal, rapid=mode == 0)
        elif mode in CYCLES:
            if turns:
                raise FaultError("a cycle that turns an axis")  # 3.5.16
            if axes:
                cycle(self, block, axes)
            elif self.level is not None or "motion" in codes.g:
                keep_words(self, block, mode)
        elif mode in {2, 3} and (axes or any(block.all(each) for each in "IJKRABC")):
            self._arc(block, axes, mode, dwells=once == 4 or bool(codes.m & {98}))
        elif (axes or turns) and mode in {0, 1}:
            self.go(block, self.target(axes), rapid=mode == 0)
        elif axes or turns:
            raise FaultError("axis words under G80")  # 3.5.15

    def to(
        self, block: Block, places: Mapping[int, float], *, rapid: bool, cycle: bool = False
    ) -> None:
        """Move some axes, if that leads anywhere."""
        goal = [places.get(axis, self.at[axis]) for axis in range(3)]
        if goal != self.at:
            self.go(block, goal, rapid=rapid, cycle=cycle)

    def go(
        self,
        block: Block,
        goal: list[float],
        *,
        rapid: bool,
        cycle: bool = False,
        home: bool = False,
    ) -> None:
        path = [self._place(), (goal[0], goal[1], goal[2])]
        self.follow(block, path, rapid=rapid, cycle=cycle, home=home)

    def follow(
        self,
        block: Block,
        path: list[Point],
        *,
        rapid: bool,
        cycle: bool = False,
        home: bool = False,
        arc: Arc | None = None,
    ) -> None:
        length = arc.length if arc else math.dist(path[0], path[-1])
        feed = 0.0 if rapid else self.path_feed(block, length)
        force, zero, turned = self.force(), self.zero(), self.turned
        if not (cycle or home):
            self.turned = self.turned_to(block)
        self.steps.append(
            Move(
                *(block.line, rapid, tuple(path), feed, force, zero, cycle),
                arc=arc, setting=self.setting(), called=self.called, home=home,
                turned=(*turned, *self.turned),
            )
        )  # fmt: skip
        self.at = list(path[-1])

    def path_feed(self, block: Block, length: float) -> float:
        """2.1.2.5 and 3.5.19: mm/min along the path; G93 moves take 1/F minutes."""
        mode, number = self.modes["feed mode"], block.last("F")
        if mode == 93:
            if number is None:
                raise FaultError("G93 without F")
            feed = number * length if length else math.nan
        else:
            feed = self.feed * (self.speed if mode == 95 else 1.0)
        if feed <= 0.0 or number == 0.0:
            raise FaultError(f"F{feed:g}")
        return feed

    def _arc(self, block: Block, axes: Mapping[int, float], mode: float, *, dwells: bool) -> None:
        plane = int(self.modes["plane"])
        one, two, _ = PLANES[plane]
        end = self.target(axes)
        here, there = ((place[one], place[two]) for place in (self.at, end))
        radius = self.value(block, "R")
        away = [self.value(block, letter) for letter in CENTRES[plane]]
        given = [letter for letter in "IJK" if self.value(block, letter) is not None]
        if any(self.value(block, each) for each in set(given) - set(CENTRES[plane])):
            raise FaultError("a centre outside the plane")
        absolute = self.modes["centres"] == 90.1
        if radius is not None:
            if given:
                raise FaultError("an arc by R and by its centre")
            centre = centre_of_radius(here, there, radius, left=mode == 3, radii=self.m.radii)
        elif away == [None, None] or (absolute and None in away):
            raise FaultError("an arc without a centre")
        else:
            zero = self.zero()  # I, J and K are increments, also in G90 (3.5.17), but in G90.1
            base = (zero[one], zero[two]) if absolute else here
            centre = (base[0] + (away[0] or 0.0), base[1] + (away[1] or 0.0))
        turns = None if dwells else whole(block.last("P"), "turns")
        if turns is not None and not 1 <= turns <= 200:
            raise FaultError(f"{turns} turns")
        arc = arc_about(
            *(self.at, end, plane, centre),
            left=mode == 3, turns=turns or 1, radii=self.m.radii,
        )  # fmt: skip
        self.follow(block, arc.chords(), rapid=False, arc=arc)
