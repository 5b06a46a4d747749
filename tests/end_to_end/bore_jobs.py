"""Jobs by chance of holes, bores and contours, in many manners of writing. All invented."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from other_manners import Written, text_of

from gpre.mill.job import Box, Job, Tool

INCH = 25.4
STOCK = Box((-2.0, -2.0, -14.0), (72.0, 52.0, 0.0))
DRILL, MILL, SMALL, THREADS = 1, 2, 3, 4
Words = list[tuple[str, float | str]]


@dataclass
class Manner:
    """How a program is written: units, increments, absolute centres, numbers, blanks."""

    inch: bool
    steps: bool
    centres: bool
    numbered: bool
    packed: bool
    points: bool
    remarks: bool
    ending: str

    @classmethod
    def of(cls, random: Random) -> Manner:
        chance = [random.random() < share for share in (0.25, 0.25, 0.15, 0.4, 0.2, 0.3, 0.1)]
        return cls(*chance, random.choice(["\n", "\r\n"]))


class Scribe:
    """Writes blocks in a manner; knows where the tool stands."""

    def __init__(self, manner: Manner) -> None:
        self.manner = manner
        self.here = {"X": 0.0, "Y": 0.0, "Z": 0.0}
        self.lines: list[str] = []
        self.known = False

    def say(self, text: str) -> None:
        self.lines.append(text)

    def number(self, value: float, *, feed: bool = False) -> str:
        places = (2 if feed else 5) if self.manner.inch else (1 if feed else 4)
        rounded = round(value / (INCH if self.manner.inch else 1.0), places) + 0.0
        text = f"{rounded:g}"
        if "e" in text:  # which is no number in RS-274
            text = f"{rounded:.{places}f}"
        return text + ("." if self.manner.points and "." not in text else "")

    def place(self, letter: str, value: float) -> str:
        """Return a coordinate word and keep where the tool stands, as it is written."""
        unit = INCH if self.manner.inch else 1.0
        if self.manner.steps and self.known:
            text = self.number(value - self.here[letter])
            self.here[letter] += float(text) * unit
        else:
            text = self.number(value)
            self.here[letter] = float(text) * unit
        return letter + text

    def block(self, code: str, feed: float = 0.0, **to: float) -> None:
        words = [code] if code else []
        words += [self.place(letter, value) for letter, value in to.items()]
        words += [f"F{self.number(feed, feed=True)}"] if feed else []
        self.say(" ".join(words))

    def arc(self, code: str, centre: tuple[float, float], to: dict[str, float], *, by: str) -> None:
        """by: `IJ`, or `R` for arcs of less than half a turn."""
        here = dict(self.here)
        words = [code] + [self.place(letter, value) for letter, value in to.items()]
        if by == "R":
            words.append(
                "R" + self.number(math.hypot(here["X"] - centre[0], here["Y"] - centre[1]))
            )
        else:
            for letter, at, axis in zip("IJ", centre, "XY", strict=True):
                words.append(letter + self.number(at if self.manner.centres else at - here[axis]))
        self.say(" ".join(words))

    def text(self) -> bytes:
        lines = self.lines
        if self.manner.packed:
            lines = [each if "(" in each else each.replace(" ", "") for each in lines]
        if self.manner.numbered:
            lines = [f"N{5 * at} {each}" for at, each in enumerate(lines, start=1)]
        return text_of(lines, self.manner.ending)


def bore_job(seed: int, kinds: str = "hbct") -> Written:
    """Return a program of one to three operations: holes, bores, contours, threads."""
    random = Random(f"bores {seed}")
    manner = Manner.of(random)
    scribe = Scribe(manner)
    scribe.say(f"{'G20' if manner.inch else 'G21'} G17 G90 G94 G40 G49 G80")
    if manner.centres:
        scribe.say("G90.1")
    high = random.choice([25.4, 12.7]) if manner.inch else random.choice([30.0, 15.0, 8.0])
    spindle = random.choice(["M3", "M3", "M3", "M4"])
    makers = {"h": _holes, "b": _bore, "c": _contour, "t": _thread}
    for kind in random.choices(kinds, k=random.randint(1, 3)):
        makers[kind](random, scribe, high, spindle)
    scribe.known = False
    scribe.say("G90")
    scribe.block("G0", Z=high)
    scribe.say("M5")
    scribe.say("M30")
    ramp = random.choice([None, 1.0, 3.0, 3.0, 8.0])
    steep = None if ramp is None else math.radians(ramp)
    tools = {
        DRILL: Tool(4.0, "drill"),
        MILL: Tool(8.0, flutes=3, max_ramp_angle=steep),
        SMALL: Tool(5.0, random.choice(["flat", "flat", "ball", "bull"]), 2, steep),
        THREADS: Tool(6.0, "vee", max_ramp_angle=steep),
    }
    cut = random.choice(["as-is", "climb", "conventional"])
    stock = STOCK if random.random() < 0.8 else None
    return Written(f"bores {seed}", scribe.text(), Job(tools, stock, cut))


def _tool(random: Random, scribe: Scribe, number: int, spindle: str, high: float) -> None:
    scribe.known = False
    scribe.say("G90")
    scribe.say(f"T{number} M6")
    scribe.say(f"S{random.choice([1500, 2400])} {spindle}")
    if random.random() < 0.5:
        scribe.block("G0", Z=high)
    else:
        scribe.block(f"G0 G43 H{number}", Z=high)


def _go(scribe: Scribe, x: float, y: float, *heights: float) -> None:
    """Over a place, then down; from then on in increments where the manner has them."""
    scribe.block("G0", X=x, Y=y)
    for height in heights:
        scribe.block("G0", Z=height)
    if scribe.manner.steps:
        scribe.say("G91")
        scribe.known = True


def _leave(scribe: Scribe, high: float) -> None:
    if scribe.manner.steps:
        scribe.say("G90")
        scribe.known = False
    scribe.block("G0", Z=high)


def _spots(random: Random) -> list[tuple[float, float]]:
    wide, deep = random.choice([7.0, 12.0, 20.0]), random.choice([8.0, 15.0])
    columns, rows = random.randint(2, 4), random.randint(1, 3)
    spots = [(5 + wide * at, 6 + deep * row) for row in range(rows) for at in range(columns)]
    way = random.random()
    if way < 0.4:  # there and back
        spots = [
            (5 + wide * (at if row % 2 == 0 else columns - 1 - at), 6 + deep * row)
            for row in range(rows)
            for at in range(columns)
        ]
    elif way < 0.8:
        random.shuffle(spots)
    else:  # a ring
        spots = [
            (
                round(34 + 16 * math.cos(at * math.pi / 4), 3),
                round(25 + 16 * math.sin(at * math.pi / 4), 3),
            )
            for at in range(8)
        ]
    return spots


def _holes(random: Random, scribe: Scribe, high: float, spindle: str) -> None:
    spots = _spots(random)
    tools = random.choice([(DRILL,), (DRILL,), (DRILL, SMALL)])  # spot, then drill
    for at, number in enumerate(tools):
        _tool(random, scribe, number, spindle, high)
        depth = [3.0, 7.0][at]
        if random.random() < 0.6:
            _by_cycle(random, scribe, spots, high, depth)
        else:
            _by_hand(random, scribe, spots, high, depth)


def _by_cycle(
    random: Random, scribe: Scribe, spots: list[tuple[float, float]], high: float, depth: float
) -> None:
    code = random.choice(["G81", "G81", "G82", "G83", "G85", "G89", "G84"])
    low = random.choice([1.0, 2.0, 5.0])
    back = random.choice(["G98", "G99"])
    x, y = spots[0]
    held = scribe.number
    extra = {"G82": " P0.3", "G89": " P0.2", "G83": f" Q{held(1.5)}"}.get(code, "")
    _go(scribe, x, y)
    if scribe.manner.steps:
        first = f"X0 Y0 R{held(low - high)} Z{held(-depth - low)}"
        if back == "G99" and low != high:  # R counts from where the tool stands
            scribe.say(f"G0 Z{held(low - high)}")
            first = f"X0 Y0 R0 Z{held(-depth - low)}"
    else:
        first = f"{scribe.place('X', x)} {scribe.place('Y', y)} Z{held(-depth)} R{held(low)}"
    scribe.say(f"{back} {code} {first}{extra} F{scribe.number(90, feed=True)}")
    for at, (x, y) in enumerate(spots[1:]):
        old = dict(scribe.here)
        words = []
        if scribe.manner.steps or random.random() < 0.3:
            words = [scribe.place("X", x), scribe.place("Y", y)]
        else:
            words += [scribe.place("X", x)] * (abs(x - old["X"]) > 1e-6)
            words += [scribe.place("Y", y)] * (abs(y - old["Y"]) > 1e-6)
        head = ""
        if random.random() < 0.08 and not scribe.manner.steps:
            head = random.choice(["G98 ", "G99 "])
        if random.random() < 0.05 and not scribe.manner.steps:
            words.append(f"Z{held(-depth - 0.5)}")
        remark = " (at the rib)" if scribe.manner.remarks and at == 1 else ""
        scribe.say(head + " ".join(words) + remark)
        if random.random() < 0.03:
            scribe.say(random.choice(["M8", "G4 P0.5"]))
    scribe.say("G80")
    scribe.known = False
    scribe.say("G90")
    scribe.block("G0", Z=high)


def _by_hand(
    random: Random, scribe: Scribe, spots: list[tuple[float, float]], high: float, depth: float
) -> None:
    low = random.choice([1.0, 2.0, high])
    over = random.choice([0.0, 0.2])  # how often the tool lifts over a clamp
    at_low = random.random() < 0.5  # down to R beside the part, or over the first hole
    x, y = spots[0]
    _go(scribe, *((x, y) if at_low else (-6.0, -6.0)), *((low,) if low != high else ()))
    for at, (x, y) in enumerate(spots):
        if at or not at_low:
            scribe.block("G0", X=x, Y=y)
        if scribe.here["Z"] > low + 1e-3:
            scribe.block("G0", Z=low)
        scribe.block("G1", Z=-depth, feed=0.0 if at else 90.0)
        scribe.block("G0", Z=high if random.random() < over else low)
    _leave(scribe, high)


def _bore(random: Random, scribe: Scribe, high: float, spindle: str) -> None:
    number = random.choice([MILL, SMALL])
    radius = random.choice([3.0, 6.0, 9.0])
    centre = random.choice([18.0, 40.0, 55.0]), random.choice([20.0, 30.0])
    _tool(random, scribe, number, spindle, high)
    parts = random.choice([1, 1, 2, 4])
    by = "R" if parts == 4 and random.random() < 0.5 and not scribe.manner.centres else "IJ"
    code, way = random.choice([("G3", 1), ("G2", -1)])
    _go(scribe, *centre, 1.0)
    top = random.choice([0.0, 0.0, 0.5])
    scribe.block("G1", Z=top, feed=100.0)
    scribe.block("G1", X=centre[0] + radius, feed=150.0)
    floor = random.random() < 0.8
    for _ in range(random.choice([1, 1, 2])):
        pitch = random.choice([0.25, 0.5, 1.0])
        turns = random.randint(1, 6)
        begins = scribe.here["Z"]
        for at in _angles(turns, parts):
            z = begins - pitch * at / math.tau
            _to(scribe, code, centre, radius, way * at, z, by=by)
        if floor:
            for at in _angles(1, parts):
                _to(scribe, code, centre, radius, way * at, None, by=by)
    scribe.block("G1", X=centre[0], Y=centre[1])
    _leave(scribe, high)


def _angles(turns: int, parts: int) -> Iterator[float]:
    return (math.tau * at / parts for at in range(1, turns * parts + 1))


def _to(
    scribe: Scribe,
    code: str,
    centre: tuple[float, float],
    radius: float,
    angle: float,
    z: float | None,
    *,
    by: str,
) -> None:
    to = {"X": centre[0] + radius * math.cos(angle), "Y": centre[1] + radius * math.sin(angle)}
    if z is not None:
        to["Z"] = z
    scribe.arc(code, centre, to, by=by)


def _thread(random: Random, scribe: Scribe, high: float, spindle: str) -> None:
    """A thread down or up a bore: no circle at depth, in by an arc or straight."""
    number = random.choice([THREADS, SMALL])
    centre, radius = (random.choice([20.0, 50.0]), 25.0), random.choice([4.0, 7.0])
    pitch, turns = random.choice([0.75, 1.0, 1.5]), random.randint(2, 4)
    up = random.random() < 0.5
    _tool(random, scribe, number, spindle, high)
    _go(scribe, *centre, 1.0)
    deep = -pitch * turns
    scribe.block("G1", Z=deep if up else 0.0, feed=100.0)
    scribe.block("G1", X=centre[0] + radius, feed=150.0)
    begins = scribe.here["Z"]
    for at in _angles(turns, 1):
        turn = pitch * at / math.tau
        _to(scribe, "G3", centre, radius, at, begins + turn if up else begins - turn, by="IJ")
    if random.random() < 0.3:  # half a circle at depth to be sure
        for at in (math.pi / 2, math.pi):
            _to(scribe, "G3", centre, radius, at, None, by="IJ")
    scribe.block("G1", X=centre[0], Y=centre[1])
    _leave(scribe, high)


def _contour(random: Random, scribe: Scribe, high: float, spindle: str) -> None:
    """A closed or open outline, inside or outside, with leads or without, in up to three depths."""
    number = random.choice([MILL, SMALL])
    _tool(random, scribe, number, spindle, high)
    outside = random.random() < 0.6
    x0, y0, x1, y1 = (-5.0, -5.0, 75.0, 55.0) if outside else (14.0, 12.0, 52.0, 38.0)
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if random.random() < 0.3:  # a notch
        corners.insert(2, ((x1 - 8 if outside else x1 - 10), (y0 + y1) / 2))
    if random.random() < 0.5:
        corners.reverse()
    (ax, ay), (bx, by) = corners[0], corners[1]
    start = (ax + bx) / 2, (ay + by) / 2
    path = [*corners[1:], corners[0], start]
    if random.random() < 0.2:
        path = path[:-2]  # open
    lead = random.random() < 0.4
    wide = -6.0 if (ay == y0) == outside else 6.0
    before = (start[0], start[1] + (wide if ay == by else 0.0)) if lead else start
    for level in range(random.choice([1, 2, 3])):
        z = -1.5 * (level + 1)
        if not level:
            _go(scribe, *before, 1.0)
        else:
            scribe.block("G0", Z=1.0)
            scribe.block("G0", X=before[0], Y=before[1])
        scribe.block("G1", Z=z, feed=80.0)
        if lead and before != start:
            scribe.block("G1", X=start[0], Y=start[1], feed=120.0)
        for at, (x, y) in enumerate(path):
            scribe.block("G1", X=x, Y=y, feed=0.0 if at else 200.0)
        if lead and before != start and len(path) > 4:
            scribe.block("G1", X=before[0], Y=before[1])
    _leave(scribe, high)
