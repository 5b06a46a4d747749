"""Programs that cut closed contours, drawn by hypothesis: polygons and circles, level for level."""

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from raster_maker import INCH, Words

# right-angled triangles of whole sides: points on a circle that three decimals hold exactly
_QUARTER = ((6.0, 8.0), (8.0, 6.0), (10.0, 0.0))
PYTHAGOREAN = tuple(point for x, y in _QUARTER for point in ((x, y), (-y, x), (-x, -y), (y, -x)))
LEAST, GREATEST, RADIUS = (-20.0, -20.0, -10.0), (20.0, 20.0, 0.0), 2.0


@dataclass(frozen=True)
class ContourProgram:
    text: bytes
    rounds: int  # levels
    lifted: bool  # between levels
    feeds: tuple[int, ...]


class ContourWords(Words):
    """Writes arcs in the XY plane too."""

    def arc(self, way, x, y, centre, feed=None):
        start = list(self.at)
        code = "G3" if way > 0 else "G2"
        words = [code]
        self.mode = code
        for axis, goal in enumerate((x, y)):
            value = self.scale(goal)
            written = value - self.at[axis] if self.incremental else value
            words.append("XY"[axis] + self.number(written))
            self.at[axis] = value
        for letter, goal, base in zip("IJ", centre, start, strict=False):
            words += [letter + self.number(self.scale(goal) - base)]
        if feed is not None:
            words.append(f"F{feed / INCH:.1f}" if self.inch else f"F{feed}")
        self.add(" ".join(words))


@st.composite
def contour_programs(draw):
    words = ContourWords(
        draw(st.booleans()), draw(st.booleans()), draw(st.booleans()), draw(st.booleans())
    )
    circle = draw(st.booleans())
    sides = draw(st.integers(3, 7))
    way = draw(st.sampled_from((1, -1)))
    if circle:
        words.inch = False  # the points are exact in mm only
        start = draw(st.sampled_from(PYTHAGOREAN))
        others = draw(st.lists(st.sampled_from(PYTHAGOREAN), max_size=3, unique=True))
        points = _round(start, [each for each in others if each != start], way)
    else:
        points = _polygon(draw, sides, way)
    feeds = tuple(
        draw(st.lists(st.sampled_from((200, 300)), min_size=len(points), max_size=len(points)))
    )
    rounds, lifted = draw(st.integers(1, 3)), draw(st.booleans())
    states_both = draw(st.booleans())
    words.add(f"{'G20' if words.inch else 'G21'} {'G91' if words.incremental else 'G90'} G17 G94")
    words.add("T1 M6")
    words.add("S3000 M3")
    words.move("G0", z=5.0)
    words.move("G0", x=-30.0, y=-25.0)
    words.move("G0", x=points[0][0], y=points[0][1])
    for level in range(rounds):
        words.move("G1", z=-1.5 * (level + 1), feed=100)
        for at in range(len(points)):
            goal = points[(at + 1) % len(points)]
            if circle:
                words.arc(way, *goal, (0.0, 0.0), feed=feeds[at])
            else:
                words.move("G1", x=goal[0], y=goal[1], feed=feeds[at])
        if lifted or level + 1 == rounds:
            words.move("G0", z=5.0)
    if states_both:
        words.move("G0", x=30.0, y=25.0)
    else:
        words.move("G0", x=30.0)
        words.move("G0", y=25.0)
    words.add("M30")
    return ContourProgram(words.text(), rounds, lifted, feeds)


def _round(start, others, way):
    angle = [np.arctan2(y, x) for x, y in (start, *others)]
    order = np.argsort([((a - angle[0]) * way) % (2 * np.pi) for a in angle], kind="stable")
    points = [(start, *others)[k] for k in order]
    return [points[0], *points[1:]]


def _polygon(draw, sides, way):
    """A star-shaped polygon whose start lies somewhere along a side, or at a corner."""
    angles = np.linspace(0, 2 * np.pi, sides, endpoint=False) + draw(st.sampled_from((0.0, 0.3)))
    radii = [draw(st.integers(6, 14)) for _ in range(sides)]
    corners = [
        (round(r * np.cos(a) * 2) / 2, round(r * np.sin(a) * 2) / 2)
        for r, a in zip(radii, angles[::way], strict=True)
    ]
    corners = [c for k, c in enumerate(corners) if c != corners[k - 1]]
    share = draw(st.sampled_from((0.0, 0.5)))
    if not share:
        return corners
    (x0, y0), (x1, y1) = corners[-1], corners[0]
    return [(round((x0 + x1) / 2, 3), round((y0 + y1) / 2, 3)), *corners]
