"""Programs drawn by hypothesis: cuts of lines, arcs and helices between rapids, in many manners."""

from hypothesis import strategies as st

# right-angled triangles of whole sides: points on a circle that three decimals hold exactly
_QUARTER = ((6.0, 8.0), (8.0, 6.0), (10.0, 0.0))
ROUND = tuple(point for x, y in _QUARTER for point in ((x, y), (-y, x), (-x, -y), (y, -x)))
FEEDS = (80, 300, 600)


class Page:
    """Writes blocks, absolute or incremental, in mm or in inches."""

    def __init__(self, *, incremental, inch):
        self.incremental, self.scale, self.decimals = incremental, 25.4 if inch else 1.0, 5
        self.at = [0.0, 0.0, 0.0]
        self.lines = [
            f"G{20 if inch else 21} G{91 if incremental else 90} G17",
            "T1 M6",
            "S2000 M3",
        ]

    def number(self, value):
        text = f"{value / self.scale:.{self.decimals}f}".rstrip("0").rstrip(".")
        return "0" if text in {"", "-0"} else text

    def move(self, code, goal, more="", feed=None):
        words = [code]
        for axis, place in enumerate(goal):
            if place is None:
                continue
            base = self.at[axis] if self.incremental else 0.0
            words.append("XYZ"[axis] + self.number(place - base))
            self.at[axis] = base + float(self.number(place - base)) * self.scale
        words += [more] if more else []
        words += [f"F{self.number(feed)}"] if feed else []
        self.lines.append(" ".join(words))

    def arc(self, goal, centre, way, feed):
        offset = [c - a for c, a in zip(centre, self.at, strict=False)]
        more = f"I{self.number(offset[0])} J{self.number(offset[1])}"
        self.move("G3" if way > 0 else "G2", goal, more, feed)


@st.composite
def cut_programs(draw):
    page = Page(incremental=draw(st.booleans()), inch=draw(st.booleans()))
    page.move("G0", (0.0, 0.0, 20.0))
    for _ in range(draw(st.integers(1, 3))):
        centre = draw(st.tuples(st.integers(-20, 20), st.integers(-20, 20)))
        factor = draw(st.sampled_from((0.2, 1.0, 3.0)))
        start = draw(st.sampled_from(ROUND))
        page.move("G0", (centre[0] + start[0] * factor, centre[1] + start[1] * factor, None))
        page.move("G0", (None, None, 2.0))
        page.move("G1", (None, None, -1.0), feed=80)
        for _ in range(draw(st.integers(1, 5))):
            _piece(draw, page, centre, factor)
        page.move("G0", (None, None, draw(st.sampled_from((2.0, 20.0)))))
        if draw(st.booleans()):
            page.move("G0", (None, None, 20.0))
    page.lines.append("M30")
    newline = draw(st.sampled_from(("\n", "\r\n")))
    return newline.join([*page.lines, ""])


def _piece(draw, page, centre, factor):
    """One line to anywhere near, or an arc about the centre if the tool stands on its circle."""
    feed = draw(st.sampled_from(FEEDS))
    away = (page.at[0] - centre[0]) ** 2 + (page.at[1] - centre[1]) ** 2
    on_circle = abs(away**0.5 - 10.0 * factor) < 1e-3
    depth = draw(st.sampled_from((None, None, page.at[2] - 0.25)))
    point = draw(st.sampled_from(ROUND))
    goal = (centre[0] + point[0] * factor, centre[1] + point[1] * factor, depth)
    if on_circle and draw(st.booleans()):
        page.arc(goal, centre, draw(st.sampled_from((1, -1))), feed)
        return
    shift = draw(st.sampled_from((0.0, 0.0, 3.0)))
    page.move("G1", (goal[0] + shift, goal[1], depth), feed=feed)
