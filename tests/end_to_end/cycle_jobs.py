"""Canned cycles as posts and hands write them, in inches and mm. All invented.

G98 and G99, G90 and G91 with L, words that change one at a time, pecks and dwells; the places are
written with a point, without, with or without a leading zero.
"""

from __future__ import annotations

from random import Random

from other_manners import Written, text_of

from gpre.mill.job import Box, Job, Tool

INCH = 25.4


class Hand:
    """Writes blocks in inches or mm, as a hand at the control or a post does."""

    def __init__(self, random: Random) -> None:
        self.inch = random.random() < 0.6
        self.short = random.random() < 0.4  # .25 and 1. for 0.25 and 1
        self.packed = random.random() < 0.3
        self.numbered = random.random() < 0.4
        self.ending = random.choice(["\n", "\r\n"])
        self.lines: list[str] = []

    def number(self, millimetres: float, places: int | None = None) -> str:
        places = (4 if self.inch else 3) if places is None else places
        value = round(millimetres / (INCH if self.inch else 1.0), places) + 0.0
        text = f"{value:.{places}f}".rstrip("0").rstrip(".")
        if not self.short:
            return text
        text = text if "." in text else text + "."
        return (
            text.replace("0.", ".", 1)
            if text.lstrip("-").startswith("0.") and text != "0."
            else text
        )

    def word(self, letter: str, millimetres: float) -> str:
        return letter + self.number(millimetres)

    def say(self, *words: str) -> None:
        self.lines.append(("" if self.packed else " ").join(each for each in words if each))

    def text(self) -> bytes:
        lines = self.lines
        if self.numbered:
            lines = [f"N{10 * at} {each}" for at, each in enumerate(lines, start=1)]
        return text_of(lines, self.ending)


def cycle_job(seed: int) -> Written:
    random = Random(f"cycles {seed}")
    hand = Hand(random)
    hand.say("G20" if hand.inch else "G21", "G17", "G90", "G94", "G40", "G49", "G80")
    high = 25.4 if hand.inch else 25.0
    for tool in random.sample([1, 2], random.choice([1, 2])):
        hand.say(f"T{tool}", "M6")
        hand.say(f"S{random.choice([1200, 2400])}", "M3")
        hand.say("G0", hand.word("X", 0.0), hand.word("Y", 0.0))
        if random.random() < 0.5:
            hand.say("G43", f"H{tool}", hand.word("Z", high))
        else:
            hand.say("G0", hand.word("Z", high))
        (_by_steps if random.random() < 0.35 else _by_places)(random, hand, high)
        hand.say("G80")
        hand.say("G90")
        hand.say("G0", hand.word("Z", high))
    hand.say("M30")
    stock = Box((-2.0, -2.0, -15.0), (110.0, 70.0, 0.0)) if random.random() < 0.6 else None
    tools = {1: Tool(4.0, "drill"), 2: Tool(6.0, "drill")}
    return Written(f"cycles {seed}", hand.text(), Job(tools, stock))


def _first(random: Random, hand: Hand, depth: float, low: float) -> list[str]:
    code = random.choice(["G81", "G81", "G82", "G83", "G73", "G85", "G89"])
    extra = {
        "G82": f"P{random.choice(['0.2', '.5'])}",
        "G89": "P0.2",
        "G83": hand.word("Q", 1.2),
        "G73": hand.word("Q", 0.8),
    }.get(code, "")
    back = random.choice(["G98", "G99", "G99", ""])
    words = [hand.word("Z", depth), hand.word("R", low), extra]
    return [back, code, *words, f"F{hand.number(90.0, 2)}"]


def _by_places(random: Random, hand: Hand, high: float) -> None:
    """A grid, there and back, shuffled, or row by row; some words change on the way."""
    columns, rows = random.randint(2, 5), random.randint(1, 3)
    grid = [
        (8.0 + 19.05 * (at if row % 2 == 0 else columns - 1 - at), 6.35 + 12.7 * row)
        for row in range(rows)
        for at in range(columns)
    ]
    if random.random() < 0.5:
        random.shuffle(grid)
    depth, low = random.choice([-3.0, -6.35]), random.choice([1.0, 2.54, 5.0])
    x, y = grid[0]
    back, code, *rest = _first(random, hand, depth, low)
    if random.random() < 0.5:
        hand.say("G0", hand.word("X", x), hand.word("Y", y))
    hand.say(back, code, hand.word("X", x), hand.word("Y", y), *rest)
    for (x0, y0), (x, y) in zip(grid, grid[1:], strict=False):
        words = [hand.word("X", x)] * (x != x0) + [hand.word("Y", y)] * (y != y0)
        change = random.random()
        if change < 0.06:
            words.append(hand.word("Z", depth - 1.0))
        elif change < 0.1:
            words.append(hand.word("R", low + 2.0))
        elif change < 0.16:
            words.insert(0, random.choice(["G98", "G99"]))
        hand.say(*words)


def _by_steps(random: Random, hand: Hand, high: float) -> None:
    """Rows of holes by G91 and L, from beside the first one."""
    low = random.choice([1.0, 2.54])
    step = random.choice([6.35, 10.0])
    hand.say("G0", hand.word("Z", low))
    for row in range(random.choice([1, 2])):
        hand.say("G90", "G0", hand.word("X", 2.0), hand.word("Y", 8.0 + 15.0 * row))
        hand.say("G91")
        back = random.choice(["G98", "G99"])
        code, extra = random.choice([("G81", ""), ("G83", hand.word("Q", 1.2)), ("G82", "P0.3")])
        along = [hand.word("X", step), hand.word("Y", 0.0)]
        count = random.randint(2, 5)
        deep = [hand.word("Z", -4.0 - low), hand.word("R", 0.0), extra, f"F{hand.number(80.0, 2)}"]
        if random.random() < 0.6:
            hand.say(back, code, *along, *deep, f"L{count}")
        else:
            hand.say(back, code, *along, *deep)
            for _ in range(count - 1):
                hand.say(hand.word("X", random.choice([step, -step / 2.0, step])))
        hand.say("G80")
        hand.say("G90")
    hand.say("G0", hand.word("Z", high))
