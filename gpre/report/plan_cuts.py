"""The plan cut by cut: reversals while cutting, the fewest possible, what is left, the cost."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rich.text import Text

from gpre.cuts.cuts import Shape
from gpre.cuts.least import Axes, Least
from gpre.driver.cut_plan import CutPlan, CutRow, Elsewhere
from gpre.report.wording import WIDTH, counted

SHOWN_ROWS = 20  # --json has all
_LEAST_WHAT = 20  # columns for what a cut is and what is done with it
_LEAST_TOLD = 0.05  # mm, s
_GREAT = 10.0  # m, min; from there on not in mm, s
_PLURALS = {Shape.HELIX: "helices", Shape.PASS: "raster passes"}
_LEGEND = (
    "down: with the tool down all the way. lifted: where it may leave the wall on its "
    "tangent and turn in the air. ?: not known. mm, s: way in the air and cycle time, more (+) or "
    "less (-)."
)


@dataclass(frozen=True, slots=True)
class _CutGroup:
    """Rows about which the same is told; the figures of `row` are those of all of them."""

    row: CutRow
    rows: int
    alike: CutRow


@dataclass(frozen=True, slots=True)
class _Line:
    """One row of the table as it is told; `after` is None where nothing changes."""

    lines: str
    what: str
    now: Axes
    after: Axes | None
    bounds: tuple[str, str]
    done: str = ""
    cost: str = ""


def render_cuts(plan: CutPlan) -> Text:
    """Show a table of all cuts; empty where there are none."""
    result = Text()
    if not plan.rows:
        return result
    groups = _grouped(plan.rows)
    shown = [_line(group.row) for group in groups[:SHOWN_ROWS]]
    rest = [_elsewhere(plan.elsewhere)] if _counts(plan.elsewhere) else []
    total = [_total(plan)] if len(groups) + len(rest) > 1 else []
    layout = _Layout.of([*shown, *rest, *total])
    result.append(layout.head(), "bold")
    for line in shown:
        result.append(layout.text(line))
    more = sum(group.rows for group in groups[SHOWN_ROWS:])
    if more:
        result.append(f"and {counted(more, 'more cut')}; --json has all\n", "dim")
    for line in [*rest, *total]:
        result.append(layout.text(line))
    result.append(textwrap.fill(_LEGEND, WIDTH) + "\n", "dim")
    return result


@dataclass(frozen=True, slots=True)
class _Layout:
    """Widths of the columns: lines, what; X, Y and Z each, all; the two bounds.

    separator: between thousands of reversals, "" where the page is too narrow for it.
    """

    lines: int
    what: int
    axis: int
    all: int
    down: int
    lifted: int
    separator: str = ","

    @classmethod
    def of(cls, rows: Sequence[_Line]) -> _Layout:
        """Fit the table to what it holds; what is left goes to the words."""
        wide = cls._spaced(rows, ",", 2)
        return wide if wide.what >= _LEAST_WHAT else cls._spaced(rows, "", 1)

    @classmethod
    def _spaced(cls, rows: Sequence[_Line], separator: str, gap: int) -> _Layout:
        counts = [axes for row in rows for axes in (row.now, row.after or row.now)]
        cells = [_cells(axes, separator) for axes in counts]
        lines = max(5, *(len(row.lines) for row in rows)) + gap
        axis = max(2, *(len(each) for row in cells for each in row[:3])) + gap
        whole = max(3, *(len(row[3]) for row in cells)) + gap
        lifted = max(8, *(len(row.bounds[1]) + 2 for row in rows))
        down = max(9, *(len(row.bounds[0]) + 2 for row in rows))
        down = max(down, *(len(row.cost) + 2 - lifted for row in rows))
        what = WIDTH - (lines + 5 + 3 * axis + whole + down + lifted)
        return cls(lines, max(what, 0), axis, whole, down, lifted, separator)

    def head(self) -> str:
        """Return the two lines above the table."""
        before = " " * (self.lines + self.what)
        figures = 5 + 3 * self.axis + self.all
        possible = "least possible"
        over = f"{before}{'reversals cutting':>{figures}}{possible:>{self.down + self.lifted}}"
        names = f"{'lines':<{self.lines}}{'cut':<{self.what}}"
        figures_head = self._figures("", ("X", "Y", "Z", "all"))
        return f"{over}\n{names}{figures_head}{'down':>{self.down}}{'lifted':>{self.lifted}}\n"

    def text(self, row: _Line) -> str:
        """Return a row: one line with the figures now, and one with those after it."""
        down, lifted = row.bounds
        head = f"{row.lines:<{self.lines}}{row.what:<{self.what}}"
        bounds = f"{down:>{self.down}}{lifted:>{self.lifted}}"
        when = "stays" if row.after is None else "now"
        text = head + self._figures(when, _cells(row.now, self.separator)) + bounds
        result = [text.rstrip()]
        if row.after is not None:
            names = textwrap.wrap(row.done, max(self.what - 1, 12), break_on_hyphens=False) or [""]
            head = f"{'':<{self.lines}}{names[0]:<{self.what}}"
            cost = f"{row.cost:>{self.down + self.lifted}}"
            figures = self._figures("after", _cells(row.after, self.separator))
            result.append((head + figures + cost).rstrip())
            result += [f"{'':<{self.lines}}{name}" for name in names[1:]]
        return "\n".join(result) + "\n"

    def _figures(self, when: str, cells: Sequence[str]) -> str:
        x, y, z, together = cells
        axis = self.axis
        return f"{when:<5}{x:>{axis}}{y:>{axis}}{z:>{axis}}{together:>{self.all}}"


def _grouped(rows: Sequence[CutRow]) -> list[_CutGroup]:
    groups: list[_CutGroup] = []
    for row in rows:
        last = groups[-1] if groups else None
        if last is not None and _alike(last.alike, row):
            groups[-1] = _CutGroup(_together(last.row, row), last.rows + 1, row)
        else:
            groups.append(_CutGroup(row, 1, row))
    return groups


def _alike(one: CutRow, other: CutRow) -> bool:
    """Return whether two neighbours are told in one row: alike in all but place and cost."""
    same = (one.shape, one.tool, one.rewrites) == (other.shape, other.tool, other.rewrites)
    if one.shape is Shape.HOLE:
        return same
    return same and (one.now, one.after, one.least, one.lifted) == (
        other.now,
        other.after,
        other.least,
        other.lifted,
    )


def _together(one: CutRow, other: CutRow) -> CutRow:
    lifted = None
    if one.lifted is not None and other.lifted is not None:
        lifted = _both(one.lifted, other.lifted)
    return replace(
        one,
        last_block=other.last_block,
        cuts=one.cuts + other.cuts,
        now=_sum(one.now, other.now),
        after=_sum(one.after, other.after),
        least=_both(one.least, other.least),
        lifted=lifted,
        longer=one.longer + other.longer,
        seconds=one.seconds + other.seconds,
    )


def _both(one: Least, other: Least) -> Least:
    return Least(_sum(one.by_axis, other.by_axis), one.together + other.together)


def _sum(one: Axes, other: Axes) -> Axes:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def _line(row: CutRow) -> _Line:
    first, last = row.first_block + 1, row.last_block + 1
    lines = str(first) if first == last else f"{first}-{last}"
    shape = row.shape.value
    if row.cuts > 1:
        shape = f"{row.cuts:,} {_PLURALS.get(row.shape, shape + 's')}"
    what = f"{shape}, T{row.tool}" if row.tool else shape
    changed = bool(row.rewrites) or row.now != row.after or bool(_cost(row))
    return _Line(
        lines,
        what,
        row.now,
        row.after if changed else None,
        _bounds(row),
        ", ".join(row.rewrites),
        _cost(row),
    )


def _elsewhere(rest: Elsewhere) -> _Line:
    return _Line("", "elsewhere", rest.now, rest.after, ("", ""), cost=_cost(rest))


def _counts(rest: Elsewhere) -> bool:
    return any(rest.now) or any(rest.after) or bool(_cost(rest))


def _total(plan: CutPlan) -> _Line:
    total: CutRow = plan.rows[0]
    for row in plan.rows[1:]:
        total = _together(total, row)
    rest = plan.elsewhere
    total = replace(
        total,
        now=_sum(total.now, rest.now),
        after=_sum(total.after, rest.after),
        longer=total.longer + rest.longer,
        seconds=total.seconds + rest.seconds,
    )
    return _Line("all", "", total.now, total.after, _bounds(total), cost=_cost(total))


def _cells(axes: Axes, separator: str) -> tuple[str, ...]:
    return tuple(f"{each:,}".replace(",", separator) for each in (*axes, sum(axes)))


def _bounds(row: CutRow) -> tuple[str, str]:
    return f"{row.least.together:,}", "?" if row.lifted is None else f"{row.lifted.together:,}"


def _cost(row: CutRow | Elsewhere) -> str:
    """Return `+12.5 mm +2.7 s`, "" where it costs nothing; great ones in m and in minutes."""
    parts = []
    for value, unit, great, factor in (
        (row.longer, "mm", "m", 1000.0),
        (row.seconds, "s", "min", 60.0),
    ):
        if abs(value) >= _GREAT * factor:
            parts.append(f"{value / factor:+,.{_decimals(value / factor)}f} {great}")
        elif abs(value) >= _LEAST_TOLD:
            parts.append(f"{value:+,.{_decimals(value)}f} {unit}")
    return " ".join(parts)


def _decimals(value: float) -> int:
    return 1 if abs(value) < 99.95 else 0
