"""Programs that face a plate to and fro, drawn by hypothesis, as many posts would write them."""

from dataclasses import dataclass

from hypothesis import assume
from hypothesis import strategies as st

from gpre.mill.job import Box, Job, Tool

INCH = 25.4


@dataclass(frozen=True)
class RasterProgram:
    text: bytes
    job: Job
    clear: bool  # every pass ends clear of the stock
    axis: int  # the passes run along X (0) or Y (1)
    passes: int  # of each level
    levels: int
    least: tuple[float, float, float]
    greatest: tuple[float, float, float]
    radius: float


class Words:
    """Writes blocks in G90 or G91, mm or inch, with all words or only those that change."""

    def __init__(self, incremental, inch, full, numbered):
        self.incremental, self.inch, self.full, self.numbered = incremental, inch, full, numbered
        self.at = [0, 0, 0]  # in the last decimal
        self.lines: list[str] = []
        self.mode = None

    def scale(self, millimetres):
        """mm to units of the last decimal."""
        return round(millimetres / INCH * 10000) if self.inch else round(millimetres * 1000)

    def number(self, value):
        places = 4 if self.inch else 3
        return f"{value / 10**places:.{places}f}"

    def add(self, line):
        self.lines.append(f"N{10 * len(self.lines) + 10} {line}" if self.numbered else line)

    def move(self, code, x=None, y=None, z=None, feed=None):
        words = []
        if code != self.mode or self.full:
            words.append(code)
        self.mode = code
        for axis, goal in enumerate((x, y, z)):
            if goal is None and not (self.full and not self.incremental):
                continue
            value = self.at[axis] if goal is None else self.scale(goal)
            written = value - self.at[axis] if self.incremental else value
            if self.full or value != self.at[axis] or goal is not None:
                words.append("XYZ"[axis] + self.number(written))
            self.at[axis] = value
        if feed is not None:
            words.append(f"F{feed / INCH:.1f}" if self.inch else f"F{feed}")
        self.add(" ".join(words))

    def text(self):
        return ("\n".join(self.lines) + "\n").encode()


@st.composite
def raster_programs(draw):
    axis = draw(st.sampled_from((0, 1)))
    count = draw(st.integers(2, 6))
    radius = draw(st.sampled_from((2.0, 3.0, 5.0)))
    step = draw(st.sampled_from((1.5, 2.0, 3.0)))
    length = draw(st.sampled_from((16.0, 20.0, 30.0)))
    clear = draw(st.booleans())
    beyond = radius + 0.5 if clear else draw(st.sampled_from((-radius - 1.0, 0.0, radius - 0.5)))
    way, up = draw(st.sampled_from((1, -1))), draw(st.sampled_from((1, -1)))
    levels = draw(st.integers(1, 2))
    joined = draw(st.booleans())
    plunges = draw(st.booleans())
    lift_at_feed = draw(st.booleans())
    words = Words(
        draw(st.booleans()), draw(st.booleans()), draw(st.booleans()), draw(st.booleans())
    )
    feeds = draw(st.lists(st.sampled_from((300, 400, 500)), min_size=count, max_size=count))
    width = step * (count - 1)
    assume(count > 2 or step < (length + 2 * beyond) / 4)  # else it may be three sides of a wall
    words.add(f"{'G20' if words.inch else 'G21'} {'G91' if words.incremental else 'G90'} G17 G94")
    words.add("T3 M6")
    words.add("S3000 M3")
    low, high = -beyond, length + beyond
    ends = (low, high) if way > 0 else (high, low)
    rows = [step * k for k in range(count)]
    rows = rows if up > 0 else rows[::-1]

    def place(along, across):
        return {"x": along, "y": across} if axis == 0 else {"x": across, "y": along}

    words.move("G0", z=20.0)
    here = ends[0]
    for level in range(levels):
        depth = -1.0 * (level + 1)
        if level == 0 or not joined:
            words.move("G0", **place(here, rows[0]))
            words.move("G0", z=3.0)
            words.move("G1" if plunges else "G0", z=depth, feed=100 if plunges else None)
        else:
            words.move("G1", z=depth, feed=100)
        for k, across in enumerate(rows):
            there = ends[1] if here == ends[0] else ends[0]
            words.move("G1", **place(there, across), feed=feeds[k])
            here = there
            if k + 1 < count:
                words.move("G1", **place(here, rows[k + 1]), feed=200)
        rows = rows[::-1]
        if level + 1 == levels or not joined:
            if lift_at_feed:
                words.move("G1", z=3.0, feed=600)
            words.move("G0", z=20.0)
    words.move("G0", x=-30.0, y=-40.0)
    words.add("M30")
    across = (0.5 - radius, width + radius - 0.5)
    least = (0.0, across[0], -8.0) if axis == 0 else (across[0], 0.0, -8.0)
    greatest = (length, across[1], 0.0) if axis == 0 else (across[1], length, 0.0)
    cut = draw(st.sampled_from(("as-is", "climb", "conventional")))
    job = Job({3: Tool(2 * radius)}, Box(least, greatest), cut)
    return RasterProgram(words.text(), job, clear, axis, count, levels, least, greatest, radius)
