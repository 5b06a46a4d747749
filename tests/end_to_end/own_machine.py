"""One concrete mill that runs a program, block by block; it shares no code with gpre.

After NISTIR 6556; slow and plain. All places are machine coordinates, mm, of the spindle's nose: a
place of the program plus the origin, G92 and the tool's length.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from own_arcs import FaultError, centre_of_radius, round_arc
from own_blocks import COORDINATES, Block, NotFollowedError, read_blocks
from own_mills import Machine, Point
from own_steps import Event, Force, Move, Step

PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
CYCLES = (73, 81, 82, 83, 84, 85, 86, 89)
GROUPS = {
    **dict.fromkeys((0, 1, 2, 3, 80, *CYCLES), "motion"),
    **dict.fromkeys((17, 18, 19), "plane"),
    **dict.fromkeys((90, 91), "distance"),
    **dict.fromkeys((93, 94, 95), "feed mode"),
    **dict.fromkeys((20, 21), "units"),
    **dict.fromkeys((40, 41, 42), "compensation"),
    **dict.fromkeys((43, 49), "length"),
    **dict.fromkeys((98, 99), "retract"),
    **dict.fromkeys((54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3), "system"),
    **dict.fromkeys((61, 61.1, 64), "path"),
    **dict.fromkeys((90.1, 91.1), "centres"),
    **dict.fromkeys((4, 10, 28, 30, 53, 92, 92.1, 92.2), "once"),
}
SYSTEMS = {54: 1, 55: 2, 56: 3, 57: 4, 58: 5, 59: 6, 59.1: 7, 59.2: 8, 59.3: 9}
M_CODES = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60}


def run(text: bytes, machine: Machine) -> list[Step]:
    """Run a program; the steps in their order, the last one the end or a fault."""
    blocks = read_blocks(text, machine.reading)
    control = _Control(machine)
    for block in blocks:
        try:
            control.block(block)
        except FaultError as fault:
            control.happens(block, "fault", str(fault))
            break
        if control.ended:
            break
    else:
        control.happens(Block(len(text.splitlines()), ()), "not ended", "")
    return control.steps


class _Control:
    """The controller: what is in force, and what it has done."""

    def __init__(self, machine: Machine) -> None:
        self.m = machine
        self.at = list(machine.start)
        self.origins = {system: list(place) for system, place in machine.origins.items()}
        self.shift = [0.0, 0.0, 0.0]  # G92
        self.length, self.lengthened = machine.length, machine.length != 0.0
        self.modes: dict[str, float] = {
            "motion": machine.motion, "plane": machine.plane, "distance": machine.distance,
            "feed mode": 94, "units": machine.units, "compensation": 40, "retract": machine.retract,
            "system": machine.system, "path": 64, "centres": 91.1, "overrides": 48,
        }  # fmt: skip
        self.feed, self.speed, self.way = machine.feed, 0.0, 5
        self.mist = self.flood = False
        self.tool = self.chosen = 0.0
        self.offset_number = 0.0
        self.sticky: dict[str, float] = {}
        self.ended = False
        self.steps: list[Step] = []

    # what is in force

    @property
    def scale(self) -> float:
        return 25.4 if self.modes["units"] == 20 else 1.0

    def force(self) -> Force:
        number = self.offset_number if self.modes["compensation"] != 40 else 0.0
        modes = (
            *(self.modes["compensation"], number, self.modes["feed mode"], self.modes["path"]),
            self.modes["overrides"],
        )
        return Force(self.tool, self.way, self.speed, self.mist, self.flood, modes)

    def zero(self) -> Point:
        """The machine's place of the program's zero."""
        origin = self.origins[int(self.modes["system"])]
        x, y, z = (one + other for one, other in zip(origin, self.shift, strict=True))
        return x, y, z + self.length

    # a block, in the order of NISTIR 6556, table 8

    def block(self, block: Block) -> None:
        if block.fault:
            raise FaultError(block.fault)
        codes = self._codes(block)
        if "MSG" in block.text.upper().replace(" ", "")[:4]:
            self.happens(block, "message", block.text)
        if "feed mode" in codes:
            self.modes["feed mode"] = codes["feed mode"]
        if (feed := block.last("F")) is not None:
            self.feed = feed * self.scale_of(codes)
        if (speed := block.last("S")) is not None:
            self.speed = speed
        if (tool := block.last("T")) is not None:
            self.chosen = tool
        m_codes = set(block.all("M"))
        if 6 in m_codes:
            self.tool = self.chosen
            self.happens(block, "tool change", f"T{self.tool:g}")
            self.at = [
                old if new is None else new for old, new in zip(self.at, self.m.change, strict=True)
            ]
        self._switches(m_codes)
        if codes.get("once") == 4:
            self.happens(block, "dwell", f"{block.last('P')}")
        self._set(codes, block)
        self._moves(codes, block)
        for stop in sorted(m_codes & {0, 1, 60}):
            self.happens(block, f"stop M{stop:g}", block.text)
        if m_codes & {2, 30}:
            self.happens(block, "end", "")
            self.ended = True

    def _codes(self, block: Block) -> dict[str, float]:
        """Sort the G codes of a block by their groups."""
        result: dict[str, float] = {}
        for code in block.all("G"):
            group = GROUPS.get(code)
            if group is None:
                raise NotFollowedError(f"line {block.line}: G{code:g}")
            if group in result:
                raise FaultError(f"two G codes of one group: {group}")
            result[group] = code
        for letter in {each for each, _, _ in block.words} - {"G", "M"}:
            if len(block.all(letter)) > 1:
                raise FaultError(f"{letter} twice")
        strange = [each for each in block.all("M") if each not in M_CODES]
        if strange or {each for each, _, _ in block.words} & set("ABCUVWE"):
            raise NotFollowedError(f"line {block.line}: {strange or 'a letter not known'}")
        for group in ({0, 1, 2, 30, 60}, {3, 4, 5}, {48, 49}):
            if len(group.intersection(block.all("M"))) > 1:
                raise FaultError("two M codes of one group")
        return result

    def scale_of(self, codes: Mapping[str, float]) -> float:
        return 25.4 if codes.get("units", self.modes["units"]) == 20 else 1.0

    def _switches(self, m_codes: set[float]) -> None:
        for code in (3, 4, 5):
            self.way = code if code in m_codes else self.way
        self.mist = (self.mist or 7 in m_codes) and 9 not in m_codes
        self.flood = (self.flood or 8 in m_codes) and 9 not in m_codes
        for code in (48, 49):
            self.modes["overrides"] = code if code in m_codes else self.modes["overrides"]

    def _set(self, codes: Mapping[str, float], block: Block) -> None:
        for group in ("plane", "units", "compensation"):
            self.modes[group] = codes.get(group, self.modes[group])
        number = block.last("H")
        if codes.get("length") == 43 or (number is not None and self._counts_alone(codes)):
            self.lengthened = True
            self.length = self.m.lengths.get(int(-1 if number is None else number), 0.0)
        elif codes.get("length") == 49:
            self.length, self.lengthened = 0.0, False
        offset = block.last("D")
        if offset is not None and (codes.get("compensation", 40) != 40 or self.m.number_alone):
            self.offset_number = offset
        if "system" in codes:
            self.modes["system"] = SYSTEMS[codes["system"]]
        for group in ("path", "distance", "centres", "retract"):
            self.modes[group] = codes.get(group, self.modes[group])

    def _counts_alone(self, codes: Mapping[str, float]) -> bool:
        return self.m.number_alone and self.lengthened and "length" not in codes

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

    def target(self, axes: Mapping[int, float]) -> list[float]:
        """The machine's place that axis words name."""
        zero, result = self.zero(), list(self.at)
        for axis, value in axes.items():
            step = self.modes["distance"] == 91
            result[axis] = self.at[axis] + value if step else zero[axis] + value
        return result

    def _moves(self, codes: Mapping[str, float], block: Block) -> None:
        axes, once = self.axes(block), codes.get("once")
        if "motion" in codes:
            if codes["motion"] != self.modes["motion"]:
                self.sticky = {}
            self.modes["motion"] = codes["motion"]
        mode = self.modes["motion"]
        if once in {28, 30}:
            self._home(block, axes, self.m.home if once == 28 else self.m.second_home)
        elif once in {10, 92, 92.1, 92.2}:
            self._renumber(once, block, axes)
        elif once == 4 and self.m.dwell_alone:
            pass
        elif once == 53:
            if mode not in {0, 1}:
                raise FaultError("G53 without G0 or G1")
            goal = [axes.get(axis, self.at[axis]) for axis in range(3)]
            self.go(block, goal, rapid=mode == 0)
        elif mode in CYCLES:
            if axes or any(block.all(letter) for letter in "RQ"):
                self._cycle(block, axes)
        elif mode in {2, 3} and (axes or any(block.all(letter) for letter in "IJKR")):
            self._arc(block, axes, mode)
        elif axes and mode in {0, 1}:
            self.go(block, self.target(axes), rapid=mode == 0)
        elif axes:
            raise FaultError("axis words under G80")

    def go(self, block: Block, goal: list[float], *, rapid: bool, cycle: bool = False) -> None:
        path = [self._place(), (goal[0], goal[1], goal[2])]
        self.follow(block, path, rapid=rapid, cycle=cycle)

    def follow(self, block: Block, path: list[Point], *, rapid: bool, cycle: bool = False) -> None:
        if not rapid and self.feed <= 0.0:
            raise FaultError(f"F{self.feed:g}")
        feed = 0.0 if rapid else self.feed
        force, zero = self.force(), self.zero()
        self.steps.append(Move(block.line, rapid, tuple(path), feed, force, zero, cycle))
        self.at = list(path[-1])

    def _home(self, block: Block, axes: Mapping[int, float], home: Point) -> None:
        if axes:
            self.go(block, self.target(axes), rapid=True)
        moved = range(3) if self.m.all_home or not axes else axes
        self.go(
            block, [home[axis] if axis in moved else self.at[axis] for axis in range(3)], rapid=True
        )

    def _renumber(self, code: float, block: Block, axes: Mapping[int, float]) -> None:
        if code in {92.1, 92.2}:
            self.shift = [0.0, 0.0, 0.0]
        elif code == 92:
            if not axes:
                raise FaultError("G92 without an axis")
            for axis, value in axes.items():
                self.shift[axis] += self.at[axis] - self.zero()[axis] - value
        else:
            kind, system = block.last("L"), block.last("P")
            if kind not in {2, 20} or system is None or not axes:
                raise FaultError("G10 that says nothing")
            origin = self.origins[int(system) or int(self.modes["system"])]
            for axis, value in axes.items():
                tool = self.length if axis == 2 else 0.0
                here = self.at[axis] - self.shift[axis] - tool - value
                origin[axis] = value if kind == 2 else here

    def _cycle(self, block: Block, axes: Mapping[int, float]) -> None:
        """NISTIR 6556, 3.5.16; of G73 and G83 the rapid stops short by a tenth of a millimetre."""
        if self.modes["plane"] != 17:
            raise NotFollowedError("a cycle in another plane")
        for letter in "ZRQP":
            value = self.value(block, letter) if letter != "P" else block.last("P")
            if value is not None:
                self.sticky[letter] = value
        if not axes:
            return
        if not {"Z", "R"} <= self.sticky.keys():
            raise FaultError("a cycle without Z or R")
        step, zero, old = self.modes["distance"] == 91, self.zero()[2], self.at[2]
        top = self.sticky["R"] + (old if step else zero)
        bottom = self.sticky["Z"] + (top if step else zero)
        if top < bottom:
            raise FaultError("R below Z")
        count = block.last("L")
        if count is not None and count < 1:
            raise FaultError("L0")
        clear = max(old, top) if self.modes["retract"] == 98 else top
        if old < top:
            self.go(block, [*self.at[:2], top], rapid=True)
        for _ in range(int(count or 1)):
            sideways = {axis: value for axis, value in axes.items() if axis < 2}
            self.go(block, self.target(sideways), rapid=True)
            self._hole(block, top, bottom, clear)

    def _hole(self, block: Block, top: float, bottom: float, clear: float) -> None:
        def to(height: float, *, rapid: bool) -> None:
            if height != self.at[2]:
                self.go(block, [*self.at[:2], height], rapid=rapid, cycle=True)

        to(top, rapid=True)
        code = self.modes["motion"]
        if code in {73, 83}:
            bite = self.sticky.get("Q", 0.0)
            if bite <= 0.0:
                raise FaultError("a peck without Q")
            depth = top
            while depth > bottom + 1e-9:
                depth = max(depth - bite, bottom)
                to(depth, rapid=False)
                if depth > bottom:
                    to(top if code == 83 else depth + 0.1, rapid=True)
                    to(depth + 0.1, rapid=True)
        else:
            to(bottom, rapid=False)
        if code in {82, 86, 89}:
            self.happens(block, "dwell", f"{self.sticky.get('P')}")
        if code == 84:
            self.happens(block, "spindle reverses", "")
        to(top if code in {84, 85, 89} else clear, rapid=code not in {84, 85, 89})
        to(clear, rapid=True)

    def _arc(self, block: Block, axes: Mapping[int, float], mode: float) -> None:
        one, two, normal = PLANES[int(self.modes["plane"])]
        start, end = list(self.at), self.target(axes)
        here, there = ((place[one], place[two]) for place in (start, end))
        radius = self.value(block, "R")
        away = [self.value(block, "IJK"[axis]) for axis in (one, two)]
        if radius is not None:
            centre = centre_of_radius(here, there, radius, left=mode == 3)
        elif away == [None, None]:
            raise FaultError("an arc without a centre")
        else:
            zero = self.zero()
            base = here if self.modes["centres"] == 91.1 else (zero[one], zero[two])
            centre = (base[0] + (away[0] or 0.0), base[1] + (away[1] or 0.0))
        path = []
        for part, x, y in round_arc(centre, here, there, left=mode == 3):
            place = list(start)
            place[one], place[two] = x, y
            place[normal] = start[normal] + (end[normal] - start[normal]) * part
            path.append((place[0], place[1], place[2]))
        self.follow(block, path, rapid=False)


def moves(steps: list[Step]) -> Iterator[Move]:
    return (each for each in steps if isinstance(each, Move))
