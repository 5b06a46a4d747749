"""Random outlines with rounded corners, milled in many manners: for the rewrites that lift off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

from gpre.mill.job import Box, Job, Tool

Point = tuple[float, float]
RADIUS = 3.0  # mm, of the tool
KINDS = ("beside", "solid", "roughed", "island", "pocket", "slot", "pair", "helix", "unknown")


@dataclass(frozen=True)
class Piece:
    """A straight move to `end`, or an arc about `centre`."""

    end: Point
    centre: Point | None = None
    ccw: bool = False


@dataclass(frozen=True)
class Outline:
    """Corners, counter-clockwise, with the radius of the rounding of each; 0 leaves it sharp."""

    corners: tuple[Point, ...]
    radii: tuple[float, ...]

    def offset(self, far: float, *, rolled: bool = True) -> Outline:
        """Return the outline `far` mm outside of this one; sharp corners rolled round or met."""
        count = len(self.corners)
        lines = []
        for at in range(count):
            (x0, y0), (x1, y1) = self.corners[at], self.corners[(at + 1) % count]
            long = math.hypot(x1 - x0, y1 - y0)
            nx, ny = (y1 - y0) / long, -(x1 - x0) / long
            lines.append((nx, ny, nx * x0 + ny * y0 + far))
        corners, radii = [], []
        for at in range(count):
            a, b = lines[at - 1], lines[at]
            det = a[0] * b[1] - b[0] * a[1]
            corners.append(((a[2] * b[1] - b[2] * a[1]) / det, (a[0] * b[2] - b[0] * a[2]) / det))
            radius = self.radii[at]
            grown = radius + far if det > 0 else radius - far
            radii.append(max(grown, 0.0) if radius or rolled else 0.0)
        return Outline(tuple(corners), tuple(radii))

    def pieces(self, *, backwards: bool = False) -> tuple[Point, list[Piece]]:
        """Return a start in the middle of the longest free side, and the way round."""
        count = len(self.corners)
        tangents, centres, convex, free = [], [], [], []
        for at in range(count):
            p, c, n = self.corners[at - 1], self.corners[at], self.corners[(at + 1) % count]
            first = math.atan2(c[1] - p[1], c[0] - p[0])
            second = math.atan2(n[1] - c[1], n[0] - c[0])
            turn = (second - first + math.pi) % (2.0 * math.pi) - math.pi
            reach = self.radii[at] * math.tan(abs(turn) / 2.0)
            came = (c[0] - reach * math.cos(first), c[1] - reach * math.sin(first))
            goes = (c[0] + reach * math.cos(second), c[1] + reach * math.sin(second))
            side = 1.0 if turn > 0 else -1.0
            centres.append(
                (
                    came[0] - side * self.radii[at] * math.sin(first),
                    came[1] + side * self.radii[at] * math.cos(first),
                )
            )
            tangents.append((came, goes, reach))
            convex.append(turn > 0)
        for at in range(count):
            nxt = (at + 1) % count
            long = math.dist(self.corners[at], self.corners[nxt])
            free.append(long - tangents[at][2] - tangents[nxt][2])
        if min(free) < 0.3:
            raise ValueError("the corners do not fit")
        side = free.index(max(free))
        a, b = tangents[side][1], tangents[(side + 1) % count][0]
        start = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        order = [(side + 1 + k) % count for k in range(count)]
        pieces = []
        for at in order[::-1] if backwards else order:
            came, goes, _ = tangents[at]
            if backwards:
                came, goes = goes, came
            pieces.append(Piece(came))
            if self.radii[at] > 1e-6:
                pieces.append(Piece(goes, centres[at], convex[at] != backwards))
        return start, [*pieces, Piece(start)]


@dataclass(frozen=True)
class Manner:
    """How a program is written."""

    inch: bool = False
    increments: bool = False
    numbered: bool = False
    radius: bool = False
    absolute_centres: bool = False
    repeats: bool = True


class Writer:
    """Writes blocks in a manner; knows where the tool stands, in units, as written."""

    def __init__(self, manner: Manner) -> None:
        self.manner = manner
        self.unit, self.places = (25.4, 4) if manner.inch else (1.0, 3)
        self.at = [0.0, 0.0, 0.0]
        self.lines: list[str] = []
        self.code = ""
        self.counting = False  # in increments

    def raw(self, text: str) -> None:
        self.lines.append(text)

    def feed(self, feed: float | None) -> str:
        return "" if feed is None else f" F{feed / self.unit:.4g}"

    def words(self, end: tuple[float | None, ...], code: str, more: str = "") -> None:
        said = []
        for axis, goal in enumerate(end):
            if goal is None:
                continue
            value = round(goal / self.unit, self.places)
            step = round(value - self.at[axis], self.places)
            said.append(f"{'XYZ'[axis]}{(step if self.counting else value) + 0.0:g}")
            self.at[axis] = value
        if self.manner.repeats or code != self.code:
            said.insert(0, code)
        self.code = code
        self.raw(" ".join(said) + more)

    def go(self, code: str, end: tuple[float | None, ...], feed: float | None = None) -> None:
        self.words(end, code, self.feed(feed))

    def arc(self, piece: Piece, z: float | None = None, feed: float | None = None) -> None:
        assert piece.centre is not None
        x, y = self.at[0], self.at[1]
        cx, cy = (round(each / self.unit, self.places + 1) for each in piece.centre)
        ex, ey = (each / self.unit for each in piece.end)
        first, last = math.atan2(y - cy, x - cx), math.atan2(ey - cy, ex - cx)
        turn = (last - first) % (2.0 * math.pi) or 2.0 * math.pi
        turn = turn if piece.ccw else (2.0 * math.pi - turn) or 2.0 * math.pi
        if self.manner.radius and turn < math.radians(160):
            more = f" R{round(math.hypot(x - cx, y - cy), self.places):g}"
        elif self.manner.absolute_centres:
            more = f" I{cx + 0.0:g} J{cy + 0.0:g}"
        else:
            more = f" I{round(cx - x, 4) + 0.0:g} J{round(cy - y, 4) + 0.0:g}"
        code = "G3" if piece.ccw else "G2"
        self.words((piece.end[0], piece.end[1], z), code, more + self.feed(feed))

    def text(self) -> str:
        lines = self.lines
        if self.manner.numbered:
            lines = [f"N{10 * at} {line}" for at, line in enumerate(lines, start=1)]
        return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Loop:
    """A program with what is known beside it."""

    kind: str
    text: str
    job: Job


def random_outline(random: Random, size: float, centre: Point) -> Outline:
    """Return a polygon of 3 to 8 corners, some of them drawn in, some rounded."""
    count = random.randint(3, 8)
    turn, drawn = random.uniform(0.0, 2.0 * math.pi), random.random() < 0.4
    if random.random() < 0.4:
        count, turn, drawn = 4, math.pi / 4.0, False
    corners = []
    for at in range(count):
        far = size * (random.uniform(0.55, 1.0) if drawn else random.uniform(0.92, 1.0))
        if count == 4 and not drawn:
            far = size
        angle = turn + 2.0 * math.pi * at / count
        corners.append(
            (
                round(centre[0] + far * math.cos(angle), 2),
                round(centre[1] + far * math.sin(angle), 2),
            )
        )
    radii = tuple(random.choice([0.0, 2.0, 4.0, 6.0, 9.0]) for _ in range(count))
    return Outline(tuple(corners), radii)


def _round(
    random: Random, w: Writer, outline: Outline, depth: float, feed: float, way: bool
) -> None:
    _, pieces = outline.pieces(backwards=way)
    for at, piece in enumerate(pieces):
        given = feed if not at else None
        if piece.centre is None:
            w.go("G1", (*piece.end, None), given)
        else:
            w.arc(piece, None, given)


def random_loop(seed: int) -> Loop:
    """Return one program; the same for the same seed."""
    random = Random(seed)
    while True:
        try:
            return _made(random)
        except ValueError:
            continue


def _made(random: Random) -> Loop:
    kind = random.choice(KINDS)
    manner = Manner(
        inch=random.random() < 0.2,
        increments=random.random() < 0.2,
        numbered=random.random() < 0.3,
        radius=random.random() < 0.25,
        absolute_centres=random.random() < 0.15,
        repeats=random.random() < 0.7,
    )
    w = Writer(manner)
    centres = " G90.1" if manner.absolute_centres else ""
    head = f"{'G20' if manner.inch else 'G21'} G17 G90 G94{centres}"
    for line in (head, "T1 M6", "S2000 M3"):
        w.raw(line)
    high = random.choice([5.0, 10.0, 20.0])
    w.go("G0", (None, None, high))
    way = random.random() < 0.5
    part = random_outline(random, random.uniform(9.0, 26.0), (0.0, 0.0))
    xs, ys = zip(*part.corners, strict=True)
    more = random.choice([0.0, 0.3, 2.5])
    near = Box((min(xs) - more, min(ys) - more, -12.0), (max(xs) + more, max(ys) + more, 0.0))
    wide = Box((-60.0, -60.0, -12.0), (90.0, 60.0, 0.0))
    stock: Box | None = near if kind in {"beside", "pair", "helix"} else wide
    if (kind in {"roughed", "island"} and random.random() < 0.5) or kind == "unknown":
        stock = None
    finish = part.offset(RADIUS, rolled=random.random() < 0.6)
    depths = [-1.5 * (k + 1) for k in range(random.choice([1, 1, 2, 3]))]
    lifted = random.random() < 0.5
    shift = 2.0 * max(xs) + random.uniform(2.2, 4.0) * RADIUS
    feed = random.choice([180.0, 240.0, 300.0])
    rings = {
        "beside": [finish],
        "unknown": [finish],
        "solid": [finish],
        "slot": [part],
        "helix": [finish],
        "roughed": [part.offset(RADIUS + random.choice([0.06, 0.3, 1.0, 2.5])), finish],
        "island": [part.offset(RADIUS + far) for far in (8.0, 4.0)] + [finish],
        "pocket": [part.offset(-RADIUS - far) for far in (4.0, 0.5, 0.0)],
        "pair": [finish],
    }[kind]
    copies = [(0.0, 0.0), (shift, 0.0)] if kind == "pair" else [(0.0, 0.0)]
    if kind == "pair":
        stock = Box(near.min, (near.max[0] + shift, *near.max[1:]))
    if kind == "helix":
        _helix(random, w, high, feed, way)
        rings = []
        stock = random.choice([None, Box((-9.0, -9.0, -12.0), (9.0, 9.0, 0.0)), wide])
    for dx, dy in copies:
        mine = [
            Outline(tuple((x + dx, y + dy) for x, y in ring.corners), ring.radii) for ring in rings
        ]
        for each in mine:
            each.pieces()
        levels = [(depth, ring) for depth in depths for ring in mine]
        if random.random() < 0.3:
            levels = [(depth, ring) for ring in mine for depth in depths]
        down = False
        for depth, ring in levels if mine else []:
            start, _ = ring.pieces()
            if lifted or not down or (levels[0][0] != depth and len(mine) > 1):
                if down:
                    w.go("G0", (None, None, high))
                lead = random.random() < 0.3
                w.go("G0", (*start, None))
                w.go("G0", (None, None, 1.0))
                w.go("G1", (None, None, depth), 90.0)
                down = True
                if lead:
                    w.raw("(lead)")
            else:
                if abs(w.at[2] * w.unit - depth) > 0.01:
                    w.go("G1", (None, None, depth), 90.0)
                w.go("G1", (*start, None), feed)
            if manner.increments:
                w.raw("G91")
                w.counting = True
            _round(random, w, ring, depth, feed, way)
            if manner.increments:
                w.raw("G90")
                w.counting = False
        if mine:
            w.go("G0", (None, None, high))
    for line in ("M5", "M30"):
        w.raw(line)
    return Loop(kind, w.text(), Job({1: Tool(2.0 * RADIUS)}, stock))


def _helix(random: Random, w: Writer, high: float, feed: float, way: bool) -> None:
    """Round a boss on a helix, a level circle last; at times cleared before."""
    radius = random.choice([11.0, 14.5])
    turns = random.randint(1, 3)
    w.go("G0", (0.0, -radius - 1.0, None))
    w.go("G0", (None, None, 1.0))
    if random.random() < 0.6:
        w.go("G1", (None, None, -1.0 * turns), 90.0)
        w.arc(Piece((0.0, -radius - 1.0), (0.0, 0.0), way), None, feed)
        if random.random() < 0.5:
            w.go("G1", (0.0, -radius, None))
            w.arc(Piece((0.0, -radius), (0.0, 0.0), way), None, feed)
        w.go("G0", (None, None, high))
    w.go("G0", (0.0, -radius, None))
    w.go("G0", (None, None, 1.0))
    w.go("G1", (None, None, 0.0), 90.0)
    for turn in range(turns):
        w.arc(Piece((0.0, -radius), (0.0, 0.0), way), -1.0 * (turn + 1), feed)
    w.arc(Piece((0.0, -radius), (0.0, 0.0), way), None, feed)
    w.go("G0", (None, None, high))
