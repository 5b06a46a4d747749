"""Programs with holes and contours in many manners, and a play model of their own to judge them."""

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from gpre.motion.motion import Kind, Motion

number = st.integers(-400, 400).map(lambda value: value / 10.0)


@dataclass(frozen=True)
class Manner:
    inch: bool
    relative: bool
    packed: bool
    numbered: bool

    def word(self, letter: str, value: float) -> str:
        return f"{letter}{value / 25.4:.5f}" if self.inch else f"{letter}{value:.3f}"


class Program:
    """Collects blocks; places in mm."""

    def __init__(self, manner: Manner) -> None:
        self.manner = manner
        self.lines: list[str] = []
        self.place = [0.0, 0.0, 0.0]
        self.block("G20" if manner.inch else "G21", "G17", "G90", "G94")
        self.go("G0", z=5.0)
        if manner.relative:
            self.block("G91")

    def block(self, *words: str) -> None:
        text = ("" if self.manner.packed else " ").join(words)
        if self.manner.numbered:
            text = f"N{10 * len(self.lines) + 10} {text}"
        self.lines.append(text)

    def go(self, code: str, *extra: str, **place: float) -> None:
        words = [code]
        for letter, value in place.items():
            axis = "xyz".index(letter)
            relative = self.manner.relative and len(self.lines) > 2
            goal = value - self.place[axis] if relative else value
            words.append(self.manner.word(letter.upper(), goal))
            # what was written is where the tool is, rounding included
            written = float(words[-1][1:]) * (25.4 if self.manner.inch else 1.0)
            self.place[axis] = self.place[axis] + written if relative else written
        self.block(*words, *extra)

    def text(self) -> bytes:
        return ("\n".join([*self.lines, "M30"]) + "\n").encode()


@st.composite
def programs(draw) -> bytes:
    manner = Manner(*(draw(st.booleans()) for _ in range(4)))
    program = Program(manner)
    for _ in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["hole", "hole", "contour", "cycle", "change"]))
        x, y = draw(number), draw(number)
        if kind == "change":
            program.block("M6", "T2")
            program.go("G0", z=20.0)
            program.go("G0", z=5.0)
        elif kind == "hole":
            position(draw, program, x, y)
            program.go("G1", "F100", z=-2.0)
            program.go("G0", z=5.0)
        elif kind == "contour":
            position(draw, program, x, y)
            program.go("G1", "F80", z=-1.0)
            for _ in range(draw(st.integers(1, 4))):
                program.go("G1", "F200", x=draw(number), y=draw(number))
            program.go("G0", z=5.0)
        elif not manner.relative:
            cycle(draw, program)
    return program.text()


def position(draw, program: Program, x: float, y: float) -> None:
    way = draw(st.sampled_from(["both", "x", "y", "twice", "slant"]))
    if way == "both":
        program.go("G0", x=x, y=y)
    elif way == "x":
        program.go("G0", x=x)
    elif way == "y":
        program.go("G0", y=y)
    elif way == "twice":
        program.go("G0", x=x)
        program.go("G0", y=y)
    else:
        program.go("G0", z=15.0)
        program.go("G0", x=x, y=y, z=5.0)


def cycle(draw, program: Program) -> None:
    code = draw(st.sampled_from(["G81", "G82", "G83", "G73", "G85"]))
    retract = draw(st.sampled_from(["G98", "G99", ""]))
    extra = {"G82": ["P0.5"], "G83": ["Q1."], "G73": ["Q1."]}.get(code, [])
    first = True
    for _ in range(draw(st.integers(1, 5))):
        axes = draw(st.sampled_from([("X", "Y"), ("X",), ("Y",)]))
        words = [program.manner.word(letter, draw(number)) for letter in axes]
        if first:
            depth = [program.manner.word("Z", -3.0), program.manner.word("R", 2.0), *extra, "F60"]
            words = [*([retract] if retract else []), code, *words, *depth]
        program.block(*words)
        for word in words:
            if word[0] in "XY":
                value = float(word[1:]) * (25.4 if program.manner.inch else 1.0)
                program.place["XY".index(word[0])] = value
        first = False
    program.block("G80")


def reached(motion: Motion, depth: float) -> list[tuple[int, tuple[int, int]]]:
    """For each way down at feed: its row, and on which side the backlash of X and Y rests.

    +1 or -1 where it is surely taken up that way, 0 where not. The play operator is followed from
    both of its extreme states, sampled along arcs; before the first move and after a tool change
    nothing is known.
    """
    changes = {event.move for event in motion.events if event.kind.value == "tool change"}
    low, high = [0.0, 0.0], [depth, depth]
    found = []
    for row in range(len(motion)):
        if row in changes:
            low, high = [0.0, 0.0], [depth, depth]
        start, end = motion.start[row], motion.end[row]
        down = motion.kind[row] == Kind.LINE and end[2] < start[2]
        if down and np.allclose(start[:2], end[:2]):
            sides = tuple(
                1 if low[axis] >= depth - 1e-9 else -1 if high[axis] <= 1e-9 else 0
                for axis in range(2)
            )
            found.append((row, sides))
        for axis in range(2):
            step = end[axis] - start[axis]
            low[axis] = min(max(low[axis] + step, 0.0), depth)
            high[axis] = min(max(high[axis] + step, 0.0), depth)
    return found
