"""Programs drawn to be read twice: arcs in all planes, cycles, zeros, units, G91, expressions.

Between two shifts of the zero the writer knows where the tool stands, so that its arcs are arcs;
after what it does not follow itself it states the place again.
"""

from __future__ import annotations

import math

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

PLANES = {17: ("X", "Y", "Z"), 18: ("Z", "X", "Y"), 19: ("Y", "Z", "X")}
CENTRE = {"X": "I", "Y": "J", "Z": "K"}
ITEMS = (
    ["line"] * 4 + ["arc"] * 4 + ["radius", "turn", "cycle", "cycle", "formula", "switch", "plane"]
)
SHIFTS = (
    "system", "system", "G92", "G92", "back", "L2", "L20", "length", "length", "units", "units",
    "home", "home", "G53", "call", "deleted", "nothing",
)  # fmt: skip
SWITCHES = (
    "M3 S1000", "M4 S250.5", "M5", "M7", "M8", "M9", "T2 M6", "T3", "M6", "G4 P0.5", "G61", "G61.1",
    "G64", "M48", "M49", "M0", "M1", "(MSG, see to it)", "S2000", "F222.5", "G41 D1", "G40", "(a)",
    "/ G4 P9", "; only words", "N99 G4 P1 (dwell) ", "G98", "G99", "G80",
)  # fmt: skip
NUMBERED = (
    "ABS",
    "FIX",
    "FUP",
    "ROUND",
    "SIN",
    "COS",
    "SQRT[ABS",
    "EXP[SIN",
    "LN[1+ABS",
    "TAN[SIN",
)


class _Writer:
    def __init__(self, draw: DrawFn) -> None:
        self.draw = draw
        self.lines: list[str] = []
        self.at: dict[str, float] = {}  # in the units in force
        self.inch = self.steps = False
        self.plane = 17
        self.drilling = False
        self.set: list[int] = []

    # numbers

    def one_of(self, *those: object) -> object:
        return self.draw(st.sampled_from(those))

    def number(self, low: float, high: float) -> float:
        digits = 4 if self.inch else 3
        scale = 10**digits
        size = 25.4 if self.inch else 1.0
        drawn = self.draw(st.integers(int(low / size * scale), int(high / size * scale)))
        return drawn / scale

    def text(self, value: float) -> str:
        return f"{value:.6f}".rstrip("0").rstrip(".") if value else "0"

    def rounded(self, value: float) -> float:
        return round(value, 6 if self.inch else 5)

    # places

    def state(self) -> None:
        """State all three axes anew."""
        self.at = {axis: self.number(-40, 60) for axis in "XYZ"}
        words = " ".join(f"{axis}{self.text(value)}" for axis, value in self.at.items())
        self.lines.append(f"G90 G0 {words}")
        self.steps = self.drilling = False

    def to(self, goal: dict[str, float]) -> str:
        """Words that lead there, absolute or in steps; where that is is noted."""
        words = []
        for axis, value in goal.items():
            told = self.rounded(value - self.at[axis] if self.steps else value)
            self.at[axis] = self.rounded(told + self.at[axis]) if self.steps else told
            words.append(f"{axis}{self.text(told)}")
        return " ".join(words)

    def mode(self) -> str:
        if self.one_of(0, 0, 1):
            self.steps = not self.steps
            return "G91 " if self.steps else "G90 "
        return ""

    def feed(self) -> str:
        return f" F{self.text(self.number(40, 900))}" if self.one_of(0, 0, 1) else ""

    # items

    def line(self) -> None:
        mode, code = self.mode(), self.one_of("G0 ", "G1 ", "G1 ")
        axes = self.draw(st.sampled_from(("X", "Y", "Z", "XY", "XZ", "YZ", "XYZ")))
        words = self.to({axis: self.number(-40, 60) for axis in axes})
        self.lines.append(f"{mode}{code}{words}{self.feed()}")
        self.drilling = False

    def circle(self) -> tuple[str, str, str, float, float]:
        one, two, normal = PLANES[self.plane]
        radius, angle = self.number(1, 30), self.draw(st.integers(0, 628)) / 100
        return (
            *(one, two, normal),
            self.at[one] + radius * math.cos(angle),
            self.at[two] + radius * math.sin(angle),
        )

    def arc(self, *, whole: bool = False) -> None:
        one, two, normal, u, v = self.circle()
        u, v = self.rounded(u), self.rounded(v)
        code, mode = self.one_of("G2", "G3"), self.mode()
        offsets = self.rounded(u - self.at[one]), self.rounded(v - self.at[two])
        radius = math.hypot(*offsets)
        absolute = bool(self.one_of(0, 0, 0, 1))
        centre = (u, v) if absolute else offsets
        told = f" {CENTRE[one]}{self.text(centre[0])} {CENTRE[two]}{self.text(centre[1])}"
        goal: dict[str, float] = {}
        if not whole:
            angle = self.draw(st.integers(0, 628)) / 100
            end = u + radius * math.cos(angle), v + radius * math.sin(angle)
            if math.dist(end, (self.at[one], self.at[two])) > (0.02 if self.inch else 0.5):
                goal = {one: end[0], two: end[1]}
        elif self.one_of(0, 1):
            goal = {one: self.at[one], two: self.at[two]}
        if self.one_of(0, 0, 1):
            goal[normal] = self.number(-40, 60)
        words = self.to(goal)
        if absolute:
            self.lines.append("G90.1")
        self.lines.append(f"{mode}{code} {words}{told}{self.feed()}")
        if absolute:
            self.lines.append("G91.1")
        self.drilling = False

    def turn(self) -> None:
        self.arc(whole=True)

    def radius(self) -> None:
        one, two, normal = PLANES[self.plane]
        goal = {one: self.number(-40, 60), two: self.number(-40, 60)}
        far = math.dist((goal[one], goal[two]), (self.at[one], self.at[two]))
        if far < (0.05 if self.inch else 1.0):
            return
        radius = self.rounded(far * self.draw(st.integers(52, 300)) / 100)
        radius = -radius if self.one_of(0, 0, 1) else radius
        if self.one_of(0, 0, 1):
            goal[normal] = self.number(-40, 60)
        code, mode = self.one_of("G2", "G3"), self.mode()
        words = self.to(goal)
        self.lines.append(f"{mode}{code} {words} R{self.text(radius)}{self.feed()}")
        self.drilling = False

    def cycle(self) -> None:
        """A cycle, and some holes more whose words are sticky."""
        one, two, normal = PLANES[self.plane]
        codes = ["G81", "G82", "G83", "G73", "G84", "G85", "G86", "G88", "G89"]
        code = self.draw(st.sampled_from([*codes, "G87"] if self.plane == 17 else codes))
        mode = self.mode()
        if code == "G84":
            self.lines.append("M3 S400")
        top, deep = self.number(-5, 30), self.number(0.5, 12)
        retract = self.rounded(abs(top) if self.steps else top)
        bottom = self.rounded(-deep if self.steps else top - deep)
        words = f" {normal}{self.text(bottom)} R{self.text(retract)}"
        if code in {"G83", "G73"}:
            words += f" Q{self.text(self.number(0.3, 5))}"
        if code in {"G82", "G86", "G88", "G89"} or self.one_of(0, 0, 1):
            words += " P0.25"
        if code == "G87":
            lift = self.text(self.rounded((0.0 if self.steps else bottom) + deep / 2))
            words += f" I{self.text(self.number(-3, 3))} J{self.text(self.number(-3, 3))} K{lift}"
        lead = self.one_of("", "G98 ", "G99 ")
        again = self.one_of("", "", " L2", " L3")
        place = "".join(f" {axis}{self.text(self.number(-20, 20))}" for axis in (one, two))
        self.lines.append(f"{mode}{lead}{code}{place}{words}{again}{self.feed()}")
        for _ in range(self.draw(st.integers(0, 3))):
            self.lines.append(self.another_hole(one, two, normal, bottom))
        self.lines.append(str(self.one_of("G80", "G80", "G0")))
        self.state()

    def another_hole(self, one: str, two: str, normal: str, bottom: float) -> str:
        x, y = self.text(self.number(-20, 20)), self.text(self.number(-20, 20))
        return str(
            self.one_of(
                f"{one}{x}",
                f"{two}{y}",
                f"{one}{x} {two}{y}",
                f"{one}{x} {normal}{self.text(self.rounded(bottom - 0.5))}",
                f"{two}{y} L2",
                f"G98 {one}{x}",
                f"G99 {two}{y}",
                f"{normal}{self.text(self.rounded(bottom))}",
                f"{one}{x} F99",
            )
        )

    def formula(self) -> None:
        """Parameters and expressions; where they lead both readings must tell."""
        index = self.draw(st.integers(1, 30))
        self.lines.append(f"#{index} = {self.expression(2)}")
        self.set = [*self.set, index]
        axis = self.one_of("X", "Y", "Z")
        code = self.one_of("G0", "G1")
        value = self.expression(2)
        odd = self.one_of(
            f"{axis}[{value} MOD 50]",
            f"#{index}=[#{index}+1.5] {axis}#{index} #{index}=2",
            f"{axis}-#{index}",
            f"{axis}[#{index} (here) * 2] #31={index}",
            f"#31={index}\n{code} {axis}##31",
            f"{axis} - [ {value} MOD 20 ]",
        )
        self.lines.append(f"{code} {odd}")
        self.state()

    def expression(self, depth: int) -> str:
        kind = self.draw(st.integers(0, 7))
        if depth == 0 or kind < 3:
            number = self.text(self.draw(st.integers(-4000, 4000)) / 100)
            return f"#{self.one_of(*self.set)}" if self.set and kind == 0 else number
        if kind == 3:
            one, two = self.expression(depth - 1), self.expression(depth - 1)
            return f"ATAN[{one}]/[{two}]"
        if kind == 4:
            name = self.draw(st.sampled_from(NUMBERED))
            return f"{name}[{self.expression(depth - 1)}]" + ("]" if "[" in name else "")
        parts = [self.expression(depth - 1) for _ in range(self.draw(st.integers(2, 4)))]
        text = parts[0]
        for part in parts[1:]:
            sign = self.one_of("+", "-", "*", "/", " MOD ", " OR ", " XOR ", " AND ", " ** ")
            text += f" ** {self.draw(st.integers(0, 3))}" if sign == " ** " else f"{sign}{part}"
        return f"[{text}]"

    def switch(self) -> None:
        drawn = str(self.one_of(*SWITCHES))
        self.lines.append(drawn)

    def change_plane(self) -> None:
        self.plane = int(self.draw(st.sampled_from((17, 18, 19))))
        self.lines.append(f"G{self.plane}")

    # between the parts

    def shift(self) -> None:
        kind = self.draw(st.sampled_from(SHIFTS))
        axes = self.draw(st.sampled_from(("X", "Y", "Z", "XY", "YZ", "XYZ")))
        words = " ".join(f"{axis}{self.text(self.number(-30, 30))}" for axis in axes)
        system = self.draw(st.integers(1, 9))
        if kind == "system":
            codes = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
            self.lines.append(codes[system - 1])
        elif kind == "G92":
            self.lines.append(f"G92 {words}")
        elif kind == "back":
            self.lines.append(str(self.one_of("G92.1", "G92.2", "G92.3", "G92.2\nG92.3")))
        elif kind in {"L2", "L20"}:
            self.lines.append(f"G10 {kind} P{system} {words}")
        elif kind == "length":
            self.lines.append(str(self.one_of("G49", f"G43 H{system}", f"G43 H{system + 20}")))
        elif kind == "units":
            self.inch = not self.inch
            lead = self.one_of("", "F120 ")
            self.lines.append(f"{lead}G{20 if self.inch else 21}")
        elif kind == "home":
            home = self.one_of("G28", "G30", "G28", "G30 P2")
            self.lines.append(f"{home} {self.one_of(words, '')}")
        elif kind == "G53":
            self.lines.append(f"{self.one_of('G0', 'G1')} G53 {words}")
        elif kind == "call":
            self.lines.append(f"M98 P{self.one_of(101, 102)}{self.one_of('', ' L2', ' L0')}")
        elif kind == "deleted":
            self.lines.append(f"/G55\n/ G92 {words}")
        if self.one_of(0, 1):  # steps from where the zero has moved to
            self.lines.append(f"G91 G{self.one_of(0, 1)} {words}")
            self.steps = True
        self.state()

    def part(self) -> None:
        items = {
            "line": self.line, "arc": self.arc, "radius": self.radius, "turn": self.turn,
            "cycle": self.cycle, "formula": self.formula, "switch": self.switch,
            "plane": self.change_plane,
        }  # fmt: skip
        for name in self.draw(st.lists(st.sampled_from(ITEMS), min_size=1, max_size=6)):
            items[name]()


SUBPROGRAMS = (
    "O101\nG91 G1 X2.5 Y-1 F90\nG0 Z3\nM98 P103\nG90\nM99\n"
    "O102\nG91 G17 G2 X4 I2 F50\n#3=[1 + 2]\nX#3\nM99\n"
    "O103\nG4 P0.25\nG91 Z-1\nM99\n"
)


@st.composite
def reading_programs(draw: DrawFn, most: int = 4) -> str:
    """One program; sound, but for what drawn expressions make of it."""
    writer = _Writer(draw)
    writer.lines.append("G21 G90 G17 G94 G91.1 F150")
    writer.state()
    for _ in range(draw(st.integers(1, most))):
        writer.part()
        writer.shift()
    end = draw(st.sampled_from(("M30\n", "M2\n")))
    return "\n".join(writer.lines) + f"\n{end}{SUBPROGRAMS}"
