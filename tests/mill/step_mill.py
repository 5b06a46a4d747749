"""A mill that runs a path in small steps, with a speed planning of its own.

It shares no code with gpre. A `Draft` writes the blocks of a program and keeps the same path as
pieces, so that nothing has to be read. Corners of straight pieces are rounded by real circles,
which shorten the path; what the axes allow is asked place by place. In each cell of the path the
mill gains speed as its axes allow there, holds the feed, or brakes in time for what lies ahead
(v² = v0² + 2 a s; v = sqrt(a R) round a bend). Lengths mm, times s, feeds mm/min, angles rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FINE = 0.005  # mm, the longest cell
TINY = 1e-9


@dataclass(frozen=True)
class Slides:
    """X, Y, Z: acceleration mm/s², greatest speed mm/min. tolerance: mm, how far from a corner.

    backlash: mm; taken up at every turn at `take_up` mm/min, and then a pause, s, where above 0.
    """

    acceleration: tuple[float, float, float]
    speed: tuple[float, float, float]
    tolerance: float = 0.0
    backlash: tuple[float, float, float] = (0.0, 0.0, 0.0)
    take_up: float = 60.0
    pause: float = 0.0


@dataclass(frozen=True)
class Bow:
    """Where an arc begins, seen from its middle: unit vectors outwards and onwards; its radius."""

    out: Floats
    on: Floats
    radius: float
    sweep: float  # above 0


@dataclass(frozen=True)
class Piece:
    """A straight piece, or an arc or helix. feed: mm/min, 0 at rapid."""

    start: Floats
    end: Floats
    feed: float
    bow: Bow | None = None
    rise: float = 0.0  # of a helix, along Z

    @property
    def length(self) -> float:
        if self.bow is None:
            return float(np.linalg.norm(self.end - self.start))
        return math.hypot(self.bow.radius * self.bow.sweep, self.rise)

    def look(self, part: Floats) -> tuple[Floats, Floats]:
        """(n, 3) each: the direction of travel, and the bend (unit normal / radius), 1/mm."""
        if self.bow is None:
            way = (self.end - self.start) / self.length
            return np.tile(way, (len(part), 1)), np.zeros((len(part), 3))
        angle = self.bow.sweep * part
        cosine, sine = np.cos(angle)[:, None], np.sin(angle)[:, None]
        flat = self.bow.radius * self.bow.sweep / self.length
        upward = np.array([0.0, 0.0, self.rise / self.length])
        way = flat * (cosine * self.bow.on - sine * self.bow.out) + upward
        bend = -(flat**2) / self.bow.radius * (cosine * self.bow.out + sine * self.bow.on)
        return way, bend


@dataclass
class Draft:
    """A path, written as blocks and kept as pieces."""

    mode: str = "G64"
    at: Floats = field(default_factory=lambda: np.zeros(3))
    pieces: list[Piece] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    def line(self, x: float, y: float, z: float = 0.0, feed: float = 0.0) -> None:
        """Straight at a feed, or at rapid where there is none."""
        word = f"G1 F{feed:.6f}" if feed else "G0"
        self.lines.append(f"{word} X{x:.9f} Y{y:.9f} Z{z:.9f}")
        end = np.array([x, y, z])
        if np.linalg.norm(end - self.at) > TINY:
            self.pieces.append(Piece(self.at, end, feed))
            self.at = end

    def arc(self, x: float, y: float, sweep: float, feed: float, *, rise: float = 0.0) -> None:
        """An arc about (x, y); sweep above 0 is counter-clockwise."""
        u, v = self.at[0] - x, self.at[1] - y
        cosine, sine = math.cos(sweep), math.sin(sweep)
        end = np.array([x + u * cosine - v * sine, y + u * sine + v * cosine, self.at[2] + rise])
        code = "G3" if sweep > 0.0 else "G2"
        words = f"X{end[0]:.9f} Y{end[1]:.9f} Z{end[2]:.9f} I{-u:.9f} J{-v:.9f}"
        self.lines.append(f"{code} {words} F{feed:.6f}")
        radius, way = math.hypot(u, v), math.copysign(1.0, sweep)
        out, on = np.array([u, v, 0.0]) / radius, np.array([-v, u, 0.0]) / radius * way
        self.pieces.append(Piece(self.at, end, feed, Bow(out, on, radius, abs(sweep)), rise))
        self.at = end

    def text(self) -> bytes:
        return "\n".join(["G21 G17 G90 G94", self.mode, *self.lines, ""]).encode()


@dataclass(frozen=True)
class Cells:
    """The path in n short cells. ds: mm. gain: mm/s², the most along the path. top: mm²/s².

    way: (n, 3) the direction. ends: the cells with which a piece ends.
    """

    ds: Floats
    gain: Floats
    top: Floats
    way: Floats
    ends: NDArray[np.intp]


def seconds(draft: Draft, slides: Slides, *, worst: bool = False) -> float:
    """How long the path takes, from rest to rest.

    worst: what the axes allow at the worst place of a piece holds for all of it.
    """
    stands = _turning(draft.pieces) if slides.pause > 0.0 else set()
    pieces = draft.pieces
    if draft.mode == "G64":
        pieces = _rounded(pieces, slides.tolerance, stands)
    cells = _cells(pieces, slides, worst=worst)
    most = np.full(len(cells.ds) + 1, math.inf)  # mm²/s² between the cells
    most[0] = most[-1] = 0.0
    if draft.mode == "G61.1":
        most[cells.ends + 1] = 0.0
    most[:-1] = np.minimum(most[:-1], cells.top)
    most[1:] = np.minimum(most[1:], cells.top)
    waits = 0.0
    back = np.einsum("ij,ij->i", cells.way[1:], cells.way[:-1]) < TINY - 1.0
    most[1:-1][back] = 0.0  # straight back
    if slides.pause > 0.0:
        for axis in range(3):
            turns = _turns(cells.way[:, axis])
            most[turns] = 0.0
            waits += len(turns) * (slides.backlash[axis] / slides.take_up * 60.0 + slides.pause)
    return _stepped(most, 2.0 * cells.gain * cells.ds, cells) + waits


def _stepped(most: Floats, gains: Floats, cells: Cells) -> float:
    square, gain, top = most.tolist(), gains.tolist(), np.sqrt(cells.top).tolist()
    for at in range(len(gain) - 1, -1, -1):  # in time for what lies ahead
        square[at] = min(square[at], square[at + 1] + gain[at])
    time, speed = 0.0, 0.0
    for at, ds in enumerate(cells.ds.tolist()):
        new = math.sqrt(min(speed * speed + gain[at], square[at + 1]))
        if speed + new > 0.0:
            time += 2.0 * ds / (speed + new)
        else:  # from stop to stop within one cell: the triangle, or the trapezoid
            pull = gain[at] / ds / 2.0
            peak = min(math.sqrt(pull * ds), top[at])
            time += 2.0 * peak / pull + (ds - peak * peak / pull) / peak
        speed = new
    return time


def _turns(way: Floats) -> NDArray[np.intp]:
    """The cells before which an axis starts to travel against its last direction."""
    going = np.flatnonzero(np.abs(way) > TINY)
    signs = np.sign(way[going])
    return going[1:][signs[1:] != signs[:-1]]


def _cells(pieces: list[Piece], slides: Slides, *, worst: bool) -> Cells:
    ds, gain, top, ways = [], [], [], []
    pull, most = np.array(slides.acceleration), np.array(slides.speed) / 60.0
    for piece in pieces:
        count = max(2, math.ceil(piece.length / FINE))
        way, bend = piece.look((np.arange(count) + 0.5) / count)
        way_share, bend_share = np.abs(way).clip(TINY), np.abs(bend).clip(TINY)
        fast = (most / way_share).min(axis=1)
        if piece.feed:
            fast = np.minimum(fast, piece.feed / 60.0)
        ds.append(np.full(count, piece.length / count))
        gains = (pull / way_share).min(axis=1)
        tops = np.minimum(fast**2, (pull / bend_share).min(axis=1))
        gain.append(np.full(count, gains.min()) if worst else gains)
        top.append(np.full(count, tops.min()) if worst else tops)
        ways.append(way)
    sizes = np.cumsum([len(each) for each in ds])
    return Cells(*map(np.concatenate, (ds, gain, top, ways)), sizes[:-1] - 1)


def _turning(pieces: list[Piece]) -> set[int]:
    """The pieces at whose start an axis turns and the path stands for its backlash."""
    last, found = np.zeros(3), set()
    for number, piece in enumerate(pieces):
        way, _ = piece.look(np.array([1e-6, 1.0 - 1e-6]))
        signs = np.where(np.abs(way) > 1e-5, np.sign(way), 0.0)
        if (signs[0] * last < 0.0).any():
            found.add(number)
        last = np.where(signs[1] == 0.0, np.where(signs[0] == 0.0, last, signs[0]), signs[1])
    return found


def _rounded(pieces: list[Piece], tolerance: float, stands: set[int]) -> list[Piece]:
    """Put a circle into each corner of two straight pieces; it may take half of each.

    stands: the pieces at whose start the path stands, and goes into the corner.
    """
    corners = [
        None if number + 1 in stands else _corner(one, two, tolerance)
        for number, (one, two) in enumerate(zip(pieces, pieces[1:], strict=False))
    ]
    result: list[Piece] = []
    for piece, before, after in zip(pieces, [None, *corners], [*corners, None], strict=True):
        start = before.end if before else piece.start
        end = after.start if after else piece.end
        if piece.bow is not None:
            result.append(piece)
        elif np.linalg.norm(end - start) > TINY:
            result.append(Piece(start, end, piece.feed))
        result += [after] if after else []
    return result


def _corner(one: Piece, two: Piece, tolerance: float) -> Piece | None:
    """The circle that touches both pieces and leaves their corner by the tolerance at the most.

    With the angle phi between the legs R = d sin(phi/2) / (1 - sin(phi/2)) (plane geometry). Where
    an arc meets another piece its tangents run on, or there is nothing to round.
    """
    if one.bow is not None or two.bow is not None:
        return None
    before, after = (one.end - one.start) / one.length, (two.end - two.start) / two.length
    turn = math.atan2(float(np.linalg.norm(np.cross(before, after))), float(before @ after))
    if turn < TINY or turn > math.pi - 1e-6:  # straight on, or straight back
        return None
    half = (math.pi - turn) / 2.0
    radius = tolerance * math.sin(half) / (1.0 - math.sin(half))
    taken = min(radius / math.tan(half), one.length / 2.0, two.length / 2.0)
    radius = taken * math.tan(half)
    inwards = after - before * float(before @ after)
    inwards /= np.linalg.norm(inwards)
    feed = min((each.feed for each in (one, two) if each.feed), default=0.0)
    bow = Bow(-inwards, before, radius, turn)
    return Piece(one.end - taken * before, one.end + taken * after, feed, bow)
