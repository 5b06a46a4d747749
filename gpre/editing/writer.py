r"""Writes new blocks in a program's own manner, and knows the modes and place that they leave.

>>> writer = BlockWriter(CodeStyle(), Modes(motion=0), (0.0, 0.0, 5.0))
>>> writer.rapid((10.0, 20.0, None))
>>> writer.line((None, None, -1.0), feed=100.0)
>>> writer.text()
b'X10 Y20\nG1 Z-1 F100\n'
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor, hypot, isclose, isnan, nan, pi, radians, sqrt

import numpy as np

from gpre.editing.code_style import CodeStyle, Numbering
from gpre.editing.modes import Modes
from gpre.editing.number_style import MOST_DECIMALS
from gpre.geometry.tolerance import ARC_RADII, DUST, HALF_DECIMAL, LAST_DIGIT, POINT, SHARE
from gpre.program.checks import LINE_LIMIT
from gpre.program.program import Program
from gpre.source.decimals import UnwritableError

WITHIN = HALF_DECIMAL + POINT  # what rounding to three decimals may do to a coordinate
RADII = ARC_RADII / 10.0  # a tenth of what the standard allows between an arc's radii
SAME = POINT  # an axis this near needs no word
AXES = "XYZ"
IN_PLANE = {17: (0, 1), 18: (2, 0), 19: (1, 2)}  # first and second axis (NISTIR 6556, 4.3.6.1)
NEAR_HALF, NEAR_FULL = (
    (radians(165), radians(195)),
    radians(345),
)  # 3.5.3: radius form is poor there
NUMBER_ROOM = 16  # characters that a block number and a blank may take
LARGEST_NUMBER = 99999  # 3.3.1: at most five digits
Point = Sequence[float | None]


@dataclass(frozen=True, slots=True)
class Gap:
    """Block numbers around a place; None where there is none on that side."""

    before: int | None
    after: int | None

    def numbers(self, count: int, numbering: Numbering) -> tuple[int, ...]:
        """Return `count` free numbers in order; none where they do not fit."""
        if self.before is None:
            return ()
        if self.after is None:
            free = tuple(self.before + numbering.step * (i + 1) for i in range(count))
        elif self.after - self.before > count:
            room = self.after - self.before
            free = tuple(self.before + room * (i + 1) // (count + 1) for i in range(count))
        else:
            return ()
        return free if not free or free[-1] <= LARGEST_NUMBER else ()


def gap_at(program: Program, block: int) -> Gap:
    """Find the numbers of the nearest numbered blocks before `block` and from it on."""
    number = program.blocks.number
    earlier = np.flatnonzero(number[max(block - 64, 0) : block] >= 0)
    later = np.flatnonzero(number[block : block + 64] >= 0)
    before = int(number[max(block - 64, 0) + int(earlier[-1])]) if len(earlier) else None
    after = int(number[block + int(later[0])]) if len(later) else None
    return Gap(before, after)


def numbered(lines: Sequence[str], manner: CodeStyle, gap: Gap | None) -> bytes:
    """Return lines as bytes with line ends; numbered from `gap` if the program numbers."""
    numbering = manner.numbering
    free: tuple[int, ...] = ()
    if numbering is not None and gap is not None:
        free = gap.numbers(len(lines), numbering)
    if numbering is not None and free:
        letter, blank = manner.letter("N"), manner.blank
        numbers = (f"{letter}{each:0{numbering.width}d}{blank}" for each in free)
        lines = [number + line for number, line in zip(numbers, lines, strict=True)]
    return b"".join(line.encode("ascii", "replace") + manner.newline for line in lines)


class BlockWriter:
    """Collects new blocks, starting from known modes and a known place.

    position: (3,) mm, program coordinates, as the controller will count it: rounding is carried
    along, so increments do not drift. Raises UnwritableError for what cannot be written surely.
    """

    def __init__(
        self, manner: CodeStyle, modes: Modes, position: Sequence[float], *, comments: bool = True
    ) -> None:
        """Start at a place with the modes in force there."""
        self.manner = manner
        self.modes = modes
        self.position = [float(each) for each in position]
        self.comments = comments
        self._blocks: list[str] = []

    def __len__(self) -> int:
        """Return the number of blocks written."""
        return len(self._blocks)

    def rapid(self, end: Point, comment: str = "") -> None:
        """Go to `end` (mm; None leaves an axis) at rapid; writes nothing where nothing moves."""
        words = self._axis_words(end)
        if words:
            self._emit([*self._motion_word(0), *words], comment)

    def rounded(self, axis: int, goal: float) -> float:
        """Return where an axis would stand if it were sent to `goal` now, mm."""
        return self._written(axis, goal, self.manner.length.decimals)[0]

    def line(self, end: Point, feed: float | None = None, comment: str = "") -> None:
        """Go straight to `end` (mm) at `feed` (mm/min; None: as in force)."""
        words = self._axis_words(end)
        if words:
            self._need_feed(feed)
            self._emit([*self._motion_word(10), *words, *self._feed_word(feed)], comment)

    def arc(
        self,
        end: Sequence[float],
        centre: Sequence[float],
        sweep: float,
        *,
        plane: int = 17,
        feed: float | None = None,
        comment: str = "",
    ) -> None:
        """Go along an arc or helix of at most one turn.

        end, centre: (3,) mm. sweep: radians, counter-clockwise positive, as in `Motion`.
        """
        if not 0.0 < abs(sweep) <= 2.0 * pi + DUST:
            raise UnwritableError("an arc turns once at the most")
        self._need_feed(feed)
        code = 30 if sweep > 0 else 20
        geometry = self._arc_words(end, centre, sweep, plane)
        words = [] if plane == self.modes.plane else [self.manner.code("G", plane * 10)]
        self.modes = replace(self.modes, plane=plane)
        self._emit([*words, *self._motion_word(code), *geometry, *self._feed_word(feed)], comment)

    def words(self, words: Sequence[str], modes: Modes | None = None, comment: str = "") -> None:
        """Write a block of words as given; `modes` are those in force afterwards."""
        self.modes = self.modes if modes is None else modes
        self._emit(list(words), comment)

    def remark(self, comment: str) -> None:
        """Write a block that holds a comment alone, so that those behind it can be written anew."""
        if self.comments:
            text = self.manner.comment(comment)
            room = LINE_LIMIT - NUMBER_ROOM
            self._blocks.append(
                text if len(text) <= room else self.manner.comment(comment[: room - 2])
            )

    def restores(self, wanted: Modes, position: Sequence[float] | None = None) -> bool:
        """Return whether what follows finds the wanted modes, and the tool where it should be."""
        same_feed = self.modes.feed == wanted.feed or isnan(wanted.feed)
        there = position is None or all(
            isnan(goal) or abs(goal - here) <= WITHIN
            for goal, here in zip(position, self.position, strict=True)
        )
        return there and same_feed and replace(self.modes, feed=wanted.feed) == wanted

    def restore(self, wanted: Modes) -> None:
        """Write a block that brings the wanted modes back, if one is needed.

        Raises UnwritableError where a block cannot: the code of an arc or of a cycle does not stand
        alone.
        """
        words: list[str] = []
        for group in ("plane", "units", "distance", "feed_mode", "arc_distance", "retract"):
            value = getattr(wanted, group)
            if value != getattr(self.modes, group):
                tenths = value if group == "arc_distance" else value * 10
                words.append(self.manner.code("G", tenths))
        if wanted.motion != self.modes.motion:
            if wanted.motion not in {0, 10, 800}:
                raise UnwritableError(f"G{wanted.motion / 10:g} cannot be restored without a move")
            words.append(self.manner.code("G", wanted.motion))
        feed = [] if isnan(wanted.feed) else self._feed_word(wanted.feed)
        if words or feed:
            self.words([*words, *feed], wanted)

    def text(self, gap: Gap | None = None) -> bytes:
        """Return the blocks as bytes with line ends; numbered from `gap` if the program numbers."""
        return numbered(self._blocks, self.manner, gap)

    def _emit(self, words: list[str], comment: str) -> None:
        block = self.manner.blank.join(words)
        commented = f"{block} {self.manner.comment(comment)}"
        # a controller may cut a longer line off, and then the comment is never closed
        fits = len(commented) + NUMBER_ROOM <= LINE_LIMIT
        self._blocks.append(commented if comment and self.comments and fits else block)

    def _motion_word(self, code: int) -> list[str]:
        if code == self.modes.motion and not self.manner.repeats:
            return []
        self.modes = replace(self.modes, motion=code)
        return [self.manner.code("G", code)]

    def _need_feed(self, feed: float | None) -> None:
        if feed is None and isnan(self.modes.feed):
            raise UnwritableError("no feed is in force")
        changes = feed is not None and feed != self.modes.feed
        if self.modes.feed_mode == 93 or (changes and self.modes.feed_mode != 94):
            raise UnwritableError("the feed is not a length per minute")

    def _feed_word(self, feed: float | None) -> list[str]:
        now = self.modes.feed
        if feed is None or (not isnan(now) and isclose(feed, now, rel_tol=DUST)):
            return []
        value, style = feed / self.modes.scale, self.manner.feed
        places = style.decimals_for(value, DUST * value)
        written = style.rounded(value, places)
        if written > value * (1.0 + DUST):  # never faster than asked
            written = floor(value * 10.0**places) / 10.0**places
        if written <= 0.0:
            raise UnwritableError("a feed must be above zero")
        self.modes = replace(self.modes, feed=feed)
        return [self.manner.letter("F") + style.write(written, places)]

    def _axis_words(self, end: Point) -> list[str]:
        words = []
        for axis, goal in enumerate(end):
            if goal is None:
                continue
            here = self.position[axis]
            if isnan(here) or abs(goal - here) > SAME:
                word = self._axis_word(axis, goal, self.manner.length.decimals)
                if not abs(self.position[axis] - here) <= SAME:  # else it rounds to nothing
                    words.append(word)
        return words

    def _axis_word(self, axis: int, goal: float, decimals: int) -> str:
        self.position[axis], number = self._written(axis, goal, decimals)
        return self.manner.letter(AXES[axis]) + number

    def _written(self, axis: int, goal: float, decimals: int) -> tuple[float, str]:
        """Return where an axis stands once it is at `goal`, both mm, and the number for it."""
        value, base = self._value(axis, goal)
        style = replace(self.manner.length, decimals=decimals)
        places = style.decimals_for(value, WITHIN / self.modes.scale)
        there = base + style.rounded(value, places) * self.modes.scale
        return there, style.write(value, places)

    def _value(self, axis: int, goal: float) -> tuple[float, float]:
        """Return the number to write, in units, and where it counts from, mm."""
        base = self.position[axis] if self.modes.distance == 91 else 0.0
        if isnan(base) or isnan(goal):
            raise UnwritableError(f"the position of {AXES[axis]} is not known")
        return (goal - base) / self.modes.scale, base

    def _arc_words(
        self, end: Sequence[float], centre: Sequence[float], sweep: float, plane: int
    ) -> list[str]:
        first, second = IN_PLANE[plane]
        start = list(self.position)
        for extra in range(MOST_DECIMALS):
            self.position = list(start)
            words = self._arc_end(end, plane, abs(sweep) > 2.0 * pi - SHARE, extra)
            middle = self._centre_written(start, centre, plane, extra)
            if self._arc_agrees(start, middle, (first, second), centre, sweep):
                radius = self._radius_word(start, middle, (first, second), sweep, extra)
                return words + (radius or self._centre_words(start, centre, plane, extra))
        self.position = list(start)
        raise UnwritableError("the arc cannot be written so that its radii agree")

    def _arc_end(self, end: Sequence[float], plane: int, full: bool, extra: int) -> list[str]:
        first, second = IN_PLANE[plane]
        moved = [a for a in (first, second) if abs(end[a] - self.position[a]) > SAME]
        forced = frozenset() if moved and not full else frozenset({min(first, second)})
        words = []
        for axis, goal in enumerate(end):
            if axis in forced or abs(goal - self.position[axis]) > SAME:
                words.append(self._axis_word(axis, goal, self.manner.length.decimals + extra))
        return words

    def _centre_values(
        self, start: Sequence[float], centre: Sequence[float], plane: int
    ) -> list[tuple[int, float, float]]:
        absolute = self.modes.arc_distance == 901
        bases = [0.0 if absolute else start[axis] for axis in range(3)]
        return [
            (axis, (centre[axis] - bases[axis]) / self.modes.scale, bases[axis])
            for axis in sorted(IN_PLANE[plane])
        ]

    def _centre_written(
        self, start: Sequence[float], centre: Sequence[float], plane: int, extra: int
    ) -> list[float]:
        places = self.manner.centre.decimals + extra
        written = [nan, nan, nan]
        for axis, value, base in self._centre_values(start, centre, plane):
            written[axis] = base + self.manner.centre.rounded(value, places) * self.modes.scale
        return written

    def _centre_words(
        self, start: Sequence[float], centre: Sequence[float], plane: int, extra: int
    ) -> list[str]:
        style, places = self.manner.centre, self.manner.centre.decimals + extra
        values = self._centre_values(start, centre, plane)
        if self.modes.arc_distance == 911 and not self.manner.writes_zero_centre:
            nonzero = [each for each in values if style.rounded(each[1], places) != 0.0]
            values = nonzero or values[:1]
        letters = "IJK"
        return [
            self.manner.letter(letters[axis]) + style.write(value, places)
            for axis, value, _ in values
        ]

    def _arc_agrees(
        self,
        start: Sequence[float],
        middle: Sequence[float],
        axes: tuple[int, int],
        centre: Sequence[float],
        sweep: float,
    ) -> bool:
        """Check the arc as it will be read: its radii, its centre and the way it turns."""
        u, v = axes
        end = self.position
        near = hypot(start[u] - middle[u], start[v] - middle[v])
        far = hypot(end[u] - middle[u], end[v] - middle[v])
        off = hypot(middle[u] - centre[u], middle[v] - centre[v])
        if abs(near - far) > RADII or off > WITHIN:
            return False
        read = sweep_between(
            (start[u] - middle[u], start[v] - middle[v]),
            (end[u] - middle[u], end[v] - middle[v]),
            sweep > 0,
        )
        return abs(read - sweep) * max(near, POINT) <= 4.0 * WITHIN

    def _radius_word(
        self,
        start: Sequence[float],
        middle: Sequence[float],
        axes: tuple[int, int],
        sweep: float,
        extra: int,
    ) -> list[str]:
        """Return the R word where the program writes arcs so and the standard calls it sound."""
        turn = abs(sweep)
        if not self.manner.radius or NEAR_HALF[0] < turn < NEAR_HALF[1] or turn > NEAR_FULL:
            return []
        u, v = axes
        radius = hypot(start[u] - middle[u], start[v] - middle[v])
        style, places = self.manner.centre, self.manner.centre.decimals + extra
        value = style.rounded(radius / self.modes.scale, places)
        chord = (self.position[u] - start[u], self.position[v] - start[v])
        found = _centre_of_radius(chord, value * self.modes.scale, sweep)
        if found is None:
            return []
        off = hypot(start[u] + found[0] - middle[u], start[v] + found[1] - middle[v])
        if off > WITHIN:
            return []
        return [self.manner.letter("R") + style.write(value if turn <= pi else -value, places)]


def sweep_between(first: tuple[float, float], last: tuple[float, float], left: bool) -> float:
    """Return the turn from one radius to another, rad; equal radii make a full turn (3.5.3)."""
    cross = first[0] * last[1] - first[1] * last[0]
    dot = first[0] * last[0] + first[1] * last[1]
    angle = float(np.arctan2(cross, dot))
    if abs(cross) <= LAST_DIGIT * max(abs(dot), LAST_DIGIT) and dot > 0:
        angle = 0.0
    if left:
        return angle if angle > 0.0 else angle + 2.0 * pi
    return angle if angle < 0.0 else angle - 2.0 * pi


def _centre_of_radius(
    chord: tuple[float, float], radius: float, sweep: float
) -> tuple[float, float] | None:
    """Find the centre, from the start, of an arc in radius form; None where no circle fits."""
    length = hypot(*chord)
    height = radius * radius - length * length / 4.0
    if length <= SAME or height < 0.0:
        return None
    side = 1.0 if (sweep > 0) == (abs(sweep) <= pi) else -1.0
    across = side * sqrt(height) / length
    return chord[0] / 2.0 - chord[1] * across, chord[1] / 2.0 + chord[0] * across
