"""Runs of plain blocks for the tests, drawn from a model of moves, with faults sprinkled in."""

from __future__ import annotations

import math

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

FRAMES = {17: "XY", 18: "ZX", 19: "YZ"}  # NISTIR 6556, 4.3.6.1
CENTRE = {"X": "I", "Y": "J", "Z": "K"}
FAULTS = [
    "X1 X2",
    "G1 G2 X4",
    "G17 G18",
    "G90 G91",
    "G1 G1 X2",
    "G1 X3 I2",
    "G2 X30 Y0 I1 J0",
    "G2 X3 Y3 R0.2",
    "G2 X7",
    "G2 R5",
    "G2 X5 Y5 R6 I0",
    "G17 G2 X9 I1 J1 K2",
    "G3 I0 J0",
    "F-5",
    "G1 X3 F0",
    "G1 F0 X3",
    "F100 F100",
    "R5",
    "G2 X5 R0",
    "G21 G21",
    "G54 G40 G40",
    "G1 X1e",
    "M3",
    "G4 P1",
    "X" + "9" * 400,
]


# opening blocks, and whether they leave G91 in force
STARTS = {
    "G21 G90 G17 G94 G1 F300": False,
    "G20 G90 G17 G94 G0 F12": False,
    "G21 G91 G18 G3 F200": True,
    "G21 G90 G19 G2 F200": False,
    "G21 G1 X1": False,  # no feed, and that was said
    "G28 X0 Y0 Z0\nG1 F100": False,  # nobody knows where that is
}
PLANES = {"G21 G91 G18 G3 F200": 18, "G21 G90 G19 G2 F200": 19}


@st.composite
def plain_cases(draw: DrawFn, faults: bool = True, most: int = 25) -> tuple[str, str]:
    """Opening blocks, and blocks for a stretch behind them."""
    start = draw(st.sampled_from(sorted(STARTS)))
    absolute = draw(st.booleans())
    text = draw(plain_runs(start, absolute, faults, most))
    return start + (" G90.1" if absolute else ""), text


@st.composite
def plain_runs(draw: DrawFn, start: str, absolute: bool, faults: bool, most: int) -> str:
    """Lines, rapids, arcs in both forms, modes, comments, blank lines, faults if asked."""
    model = _Model(draw, absolute_centres=absolute, relative=STARTS[start])
    model.plane = PLANES.get(start, 17)
    kinds = ["line"] * 6 + ["arc", "arc", "radius", "circle", "mode", "plane", "feed", "noise"]
    if faults:
        kinds.append("fault")
    drawn = draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=most))
    lines = [
        draw(st.sampled_from(FAULTS)) if kind == "fault" else model.block(kind) for kind in drawn
    ]
    return "\n".join(lines) + "\n"


class _Model:
    """Knows where the tool stands, so that its arcs are arcs."""

    def __init__(self, draw: DrawFn, *, absolute_centres: bool, relative: bool) -> None:
        self.draw = draw
        self.absolute_centres = absolute_centres
        self.at = dict.fromkeys("XYZ", 0.0)
        self.known = False  # where the tool stands at the start is not the model's business
        self.relative = relative
        self.plane = 17
        self.mode = 1

    def block(self, kind: str) -> str:
        words: list[str] = getattr(self, f"_{kind}")()
        if kind != "noise":
            if self.draw(st.integers(0, 3)) == 0 and "F" not in "".join(words):
                words = [*words, *self._feed()]
            words = self.draw(st.permutations(words))
        text = self.draw(st.sampled_from([" ", "", "  "])).join(words)
        if self.draw(st.integers(0, 5)) == 0:
            text = text.lower() + " (a note)"
        if self.draw(st.integers(0, 3)) == 0:
            text = f"N{self.draw(st.integers(0, 9999))} " + text
        return text

    def _number(self, value: float) -> str:
        return f"{value:.{self.draw(st.integers(4, 6))}f}"

    def _place(self, letter: str, value: float) -> str:
        """An axis word that leads to `value`, absolute or incremental."""
        word = f"{letter}{self._number(value - (self.at[letter] if self.relative else 0.0))}"
        told = float(word[1:])
        self.at[letter] = told + (self.at[letter] if self.relative else 0.0)
        return word

    def _coordinate(self) -> float:
        return self.draw(st.integers(-3000, 3000)) / 100.0

    def _motion(self, mode: int) -> list[str]:
        """The code, or nothing where it is in force already and so the dice will."""
        same, self.mode = self.mode == mode, mode
        return [] if same and self.draw(st.booleans()) else [f"G{mode}"]

    def _line(self) -> list[str]:
        if not self.known:
            words = ["G90"] if self.relative else []
            self.relative, self.known = False, True
            return [*self._motion(0), *words, *(self._place(each, 0.0) for each in "XYZ")]
        words = self._motion(self.draw(st.integers(0, 1)))
        letters = self.draw(st.lists(st.sampled_from("XYZ"), unique=True, max_size=3))
        return [*words, *(self._place(letter, self._coordinate()) for letter in letters)] or ["G1"]

    def _centre_words(self, start: dict[str, float], centre: tuple[float, float]) -> list[str]:
        told = zip(FRAMES[self.plane], centre, strict=True)
        if self.absolute_centres:
            return [f"{CENTRE[letter]}{value:.6f}" for letter, value in told]
        return [f"{CENTRE[letter]}{value - start[letter]:.6f}" for letter, value in told]

    def _arc(self) -> list[str]:
        if not self.known:
            return self._line()
        first, second = FRAMES[self.plane]
        start = dict(self.at)
        radius = self.draw(st.integers(5, 3000)) / 100.0
        angle = self.draw(st.floats(-math.pi, math.pi))
        sweep = self.draw(st.floats(0.01, 6.2))
        centre = start[first] - radius * math.cos(angle), start[second] - radius * math.sin(angle)
        words = self._motion(self.draw(st.integers(2, 3)))
        words += self._centre_words(start, centre)
        words.append(self._place(first, centre[0] + radius * math.cos(angle + sweep)))
        words.append(self._place(second, centre[1] + radius * math.sin(angle + sweep)))
        return words + self._rise()

    def _rise(self) -> list[str]:
        normal = (set("XYZ") - set(FRAMES[self.plane])).pop()
        return [self._place(normal, self._coordinate())] if self.draw(st.booleans()) else []

    def _radius(self) -> list[str]:
        if not self.known:
            return self._line()
        first, second = FRAMES[self.plane]
        start = dict(self.at)
        words = self._motion(self.draw(st.integers(2, 3)))
        words.append(self._place(first, self._coordinate()))
        if self.draw(st.booleans()):
            words.append(self._place(second, self._coordinate()))
        chord = math.hypot(self.at[first] - start[first], self.at[second] - start[second])
        if chord < 0.01:
            words.append(self._place(first, self.at[first] + 7.0))
            words = [word for word in words if not word.startswith(first)] + [words[-1]]
            chord = math.hypot(self.at[first] - start[first], self.at[second] - start[second])
        share = self.draw(st.sampled_from([1.0, 1.0, 1.00001, 1.2, 3.0]))
        radius = chord / 2.0 * share * self.draw(st.sampled_from([-1, 1]))
        return [*words, f"R{radius:.6f}", *self._rise()]

    def _circle(self) -> list[str]:
        if not self.known:
            return self._line()
        first, second = FRAMES[self.plane]
        words = self._motion(self.draw(st.integers(2, 3)))
        centre = self.at[first] + 3.0, self.at[second] - self.draw(st.integers(0, 500)) / 100.0
        words += self._centre_words(dict(self.at), centre)
        if self.draw(st.booleans()):
            words += [self._place(first, self.at[first])]
        return words + self._rise()

    def _mode(self) -> list[str]:
        self.relative = self.draw(st.booleans())
        return ["G91" if self.relative else "G90"]

    def _plane(self) -> list[str]:
        self.plane = self.draw(st.sampled_from([17, 17, 18, 19]))
        return [f"G{self.plane}"]

    def _feed(self) -> list[str]:
        return [f"F{self.draw(st.integers(1, 2000))}"]

    def _noise(self) -> list[str]:
        some = ["", "(only a note)", "G94", "G40", "G54 G64", "G21", "/G1", "N7", "G1", "; note"]
        text = self.draw(st.sampled_from(some))
        if "G1" in text:
            self.mode = 1
        return [text]
