"""Programs in fine chords as CAM posts write them, in mm and in inches. All invented.

Arcs, rings and helices come as straight moves of 0.01 to 0.5 mm, with the words of a post: modal
codes once, fixed decimals or none to spare, only the axes that change. The generator knows the even
path; what the post rounds is what the program says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

from other_manners import Written, text_of

from gpre.mill.job import Box, Job, Tool

INCH = 25.4
Place = tuple[float, float, float]


@dataclass
class Post:
    """Writes blocks as a post does. decimals: of coordinates; trailing: zeros are kept."""

    inch: bool
    decimals: int
    trailing: bool
    packed: bool
    numbered: bool
    every_axis: bool
    every_code: bool
    ending: str
    lines: list[str] = field(default_factory=list)
    at: list[str] = field(default_factory=lambda: ["", "", ""])
    code: str = ""

    @classmethod
    def of(cls, random: Random) -> Post:
        inch = random.random() < 0.4
        return cls(
            inch,
            random.choice([4, 5] if inch else [3, 4]),
            *(random.random() < share for share in (0.5, 0.5, 0.3, 0.2, 0.2)),
            random.choice(["\n", "\r\n"]),
        )

    def say(self, text: str) -> None:
        self.lines.append(text)
        self.code = ""

    def number(self, millimetres: float, decimals: int | None = None) -> str:
        value = millimetres / (INCH if self.inch else 1.0)
        text = f"{value + 0.0:.{self.decimals if decimals is None else decimals}f}"
        if self.trailing:
            return text if float(text) else text.removeprefix("-")
        text = text.rstrip("0")
        return "0." if text in {"-0.", "0."} else text

    def go(self, code: str, feed: float = 0.0, **to: float) -> None:
        """A straight move; a place that is written as it was before is left out."""
        words = []
        for letter, value in to.items():
            axis, text = "XYZ".index(letter), self.number(value)
            if text != self.at[axis] or self.every_axis:
                words.append(letter + text)
            self.at[axis] = text
        if not words:
            return
        if code != self.code or self.every_code:
            words.insert(0, code)
        self.code = code
        if feed:
            words.append("F" + self.number(feed, 2))
        self.lines.append(" ".join(words))

    def text(self) -> bytes:
        lines = self.lines
        if self.packed:
            lines = [each if "(" in each else each.replace(" ", "") for each in lines]
        if self.numbered:
            lines = [f"N{10 * at} {each}" for at, each in enumerate(lines, start=1)]
        return text_of(lines, self.ending)


def round_bow(
    centre: tuple[float, float], radius: float, first: float, sweep: float, chord: float
) -> list[tuple[float, float]]:
    """Places along a bow, its start left out; `chord` mm apart or a little less."""
    count = max(2, math.ceil(radius * abs(sweep) / chord))
    angles = (first + sweep * at / count for at in range(1, count + 1))
    return [
        (centre[0] + radius * math.cos(each), centre[1] + radius * math.sin(each))
        for each in angles
    ]


def _head(post: Post, random: Random, number: int) -> None:
    post.say(f"{'G20' if post.inch else 'G21'} G17 G90 G94 G40 G49 G80")
    post.say(f"T{number} M6")
    post.say(f"S{random.choice([1800, 3000])} M3")
    post.go("G0", X=-15.0, Y=-12.0)
    post.go("G0", Z=25.4 if post.inch else 25.0)


def _foot(post: Post) -> None:
    post.go("G0", Z=25.4 if post.inch else 25.0)
    post.say("M5")
    post.say("M30")


def _outline(random: Random, chord: float) -> list[tuple[float, float]]:
    """A closed outline: a ring, a slot, or a plate with round corners; from its first place."""
    kind = random.choice(["ring", "slot", "plate", "plate"])
    way = random.choice([1.0, -1.0])
    if kind == "ring":
        radius, first = random.choice([4.0, 9.5, 18.0]), random.uniform(0.0, math.tau)
        chord = 0.01 if radius < 5.0 and chord < 0.15 else chord
        start = round_bow((30.0, 20.0), radius, first - 1.0, 1.0, 2.0)[-1]
        return [start, *round_bow((30.0, 20.0), radius, first, way * math.tau, chord)]
    wide, deep = random.choice([(40.0, 24.0), (52.0, 30.0)])
    radius = deep / 2.0 if kind == "slot" else random.choice([2.0, 5.0, 8.0])
    x0, y0 = 30.0 - wide / 2.0, 20.0 - deep / 2.0
    corners = [(x0, y0), (x0 + wide, y0), (x0 + wide, y0 + deep), (x0, y0 + deep)]
    path: list[tuple[float, float]] = [(30.0, y0)]
    for at, (x, y) in enumerate([corners[1], corners[2], corners[3], corners[0]]):
        centre = (
            x - math.copysign(radius, x - 30.0),
            y - math.copysign(radius, y - 20.0),
        )
        first = -math.pi / 2.0 + at * math.pi / 2.0
        path.append((centre[0] + radius * math.cos(first), centre[1] + radius * math.sin(first)))
        path += round_bow(centre, radius, first, math.pi / 2.0, chord)
    path.append((30.0, y0))
    return path if way > 0.0 else path[::-1]


def chord_job(seed: int) -> Written:
    """One or two outlines in chords, once or in two depths, with a lead-in or without."""
    random = Random(f"chords {seed}")
    post = Post.of(random)
    _head(post, random, 3)
    for _ in range(random.choice([1, 1, 2])):
        chord = random.choice([0.05, 0.1, 0.2, 0.5, 0.5])
        path = _outline(random, chord)
        start = path[0]
        post.go("G0", X=start[0], Y=start[1])
        post.go("G0", Z=2.0)
        for level in range(random.choice([1, 1, 2]) if chord > 0.1 else 1):
            post.go("G1", feed=90.0, Z=-1.0 * (level + 1))
            for at, (x, y) in enumerate(path[1:]):
                post.go("G1", feed=0.0 if at else random.choice([150.0, 300.0]), X=x, Y=y)
        post.go("G0", Z=2.0)
        post.go("G0", Z=25.4 if post.inch else 25.0)
    _foot(post)
    return Written(f"chords {seed}", post.text(), _job(random))


def helix_job(seed: int) -> Written:
    """Bores by a helix in chords, some with a round at depth; some threads upwards."""
    random = Random(f"helix in chords {seed}")
    post = Post.of(random)
    _head(post, random, 3)
    for at in range(random.choice([1, 2])):
        centre, radius = (18.0 + 26.0 * at, 20.0), random.choice([2.5, 4.0, 8.0])
        pitch, turns = random.choice([0.4, 0.8]), random.randint(2, 4)
        way, chord = random.choice([1.0, -1.0]), random.choice([0.1, 0.25, 0.5])
        up = random.random() < 0.25
        high, low = (-pitch * turns, 0.0) if up else (0.0, -pitch * turns)
        post.go("G0", X=centre[0] + radius, Y=centre[1])
        post.go("G0", Z=2.0)
        post.go("G1", feed=90.0, Z=high)
        places = round_bow(centre, radius, 0.0, way * math.tau * turns, chord)
        for number, (x, y) in enumerate(places, start=1):
            z = high + (low - high) * number / len(places)
            post.go("G1", feed=0.0 if number > 1 else 240.0, X=x, Y=y, Z=z)
        if random.random() < 0.6 and not up:
            for x, y in round_bow(centre, radius, 0.0, way * math.tau, chord):
                post.go("G1", X=x, Y=y)
        post.go("G1", X=centre[0], Y=centre[1])
        post.go("G0", Z=25.4 if post.inch else 25.0)
    _foot(post)
    return Written(f"helix in chords {seed}", post.text(), _job(random))


def _job(random: Random) -> Job:
    stock = Box((-2.0, -5.0, -12.0), (62.0, 45.0, 0.0)) if random.random() < 0.7 else None
    return Job({3: Tool(4.0, flutes=2)}, stock, random.choice(["as-is", "as-is", "climb"]))
