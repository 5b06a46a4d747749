"""Both programs on the same stock: the original with its tools a little greater and a little less.

The new program must leave no place lower than the original would with tools greater by the
tolerance, and none higher than with tools less by it. That comparison is exact at the centre of
every cell, whatever the size of the cells: what it cannot see is what lies between the centres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import path as paths
from gpre.geometry.tolerance import HELIX_CHORD, RESOLUTION
from gpre.proof.boxed import unnamed_tools
from gpre.proof.metal.raw import Raw, rows_of
from gpre.proof.side import Bools, Pair, Side
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field, Grid
from gpre.stock.machine import Bench, Taken, machine
from gpre.stock.sides import ChipLog, MetalAtSides, Watch

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MARGIN = 1.0  # mm, round all that the tools reach


@dataclass(frozen=True)
class Difference:
    """A place where the metal differs, at the end of a setup.

    much: mm of height. place: (3,) mm, where the new program leaves the metal. before, after: the
    move of each program that cut there last, -1 where none did.
    """

    much: float
    place: tuple[float, float, float]
    before: int
    after: int


@dataclass(frozen=True)
class Sides:
    """What was cut climbing, by frame; and what stood beside some moves of the new program.

    most, least: the chips of the original that climb, with its tools a little greater and a little
    less; what lies within the tolerance of the middle of the way counts as climbing there. after:
    all of the new program, where it does not. cells: the fields of both.
    """

    most: dict[int, ChipLog]
    least: dict[int, ChipLog]
    after: dict[int, ChipLog]
    beside: MetalAtSides
    cells: dict[int, tuple[Field, Field]]


@dataclass(frozen=True)
class Twins:
    """What both programs did to the same stock.

    before, after: what each move took off. deeper, higher: the worst places where the new program
    took more, and where it left more. cells, cell: how many were looked at, and their size, mm.
    tolerance: mm. grown: mm, by how much the tools were greater with which `before` was recorded.
    boxed: True where the stock is the job's, else it is metal everywhere. sides: what else was
    noted, where it was asked for.
    """

    before: Taken
    after: Taken
    deeper: Difference | None
    higher: Difference | None
    cells: int
    cell: float
    tolerance: float
    grown: float
    boxed: bool
    sides: Sides | None = None

    def met(self, row: int) -> str:
        """Return the place where a move of the new program cuts deepest, for people."""
        x, y = self.after.place[row].tolist()
        return f"X{x:.3f} Y{y:.3f}"


def unseen_cuts(side: Side) -> int:
    """Return how many moves at feed no stock shows: their place is not known, or they must stay."""
    return int((side.motion.at_feed & ~side.ordinary).sum())


def why_not(pair: Pair) -> str:
    """Say why no stock can be followed, or ""."""
    sides = pair.before, pair.after
    if not any(len(side.feeding) for side in sides) and unseen_cuts(pair.before):
        return "where the program cuts is not known"
    unknown = unnamed_tools(pair)
    if unknown:
        names = ", ".join(str(tool) for tool in unknown)
        return f"tool {names} is not named" if len(unknown) == 1 else f"tools {names} are not named"
    return ""


def allowance(pair: Pair) -> float:
    """Return by how much tools are taken greater or less, mm: the tolerance and the chords."""
    return pair.tolerance + RESOLUTION + 2.0 * HELIX_CHORD


def run_both(pair: Pair, against: Bools | None = None) -> Twins:
    """Cut with both programs. All tools in use must be known: see `why_not`.

    against: (m,), moves of `after` beside which is looked; None: sides are not noted at all.
    """
    off = allowance(pair)
    sizes: tuple[dict[int, Cutter], ...] = tuple(
        {number: Cutter.of(tool).grown(by) for number, tool in pair.job.tools.items()}
        for by in (off, -off, 0.0)
    )
    raw = Raw.of(pair)
    layouts = _layouts(pair, raw)
    old_frame, new_frame = pair.frames
    before, after = Taken.nothing(len(old_frame)), Taken.nothing(len(new_frame))
    beside = None if against is None else MetalAtSides(against)
    watches = _watches(pair, layouts, off, beside)
    unused = None if watches[1] is None else Taken.nothing(len(old_frame))
    greater, less, new = (
        Bench({n: each.copy() for n, each in layouts.items()}, frame, cutters, taken, watch)
        for cutters, frame, taken, watch in zip(
            sizes, (old_frame, old_frame, new_frame), (before, unused, after), watches, strict=True
        )
    )
    deeper = higher = None
    old_rows, new_rows = (rows_of(side, pair) for side in (pair.before, pair.after))
    last = max((int(side.setup.max(initial=0)) for side in (pair.before, pair.after)), default=0)
    for setup in range(last + 1):
        old = old_rows[pair.before.setup[old_rows] == setup]
        now = new_rows[pair.after.setup[new_rows] == setup]
        if not len(old) and not len(now):
            continue
        machine(pair.before.motion, old, greater)
        machine(pair.before.motion, old, less)
        machine(pair.after.motion, now, new)
        for number, field in new.fields.items():
            most, least = greater.fields[number], less.fields[number]
            more = _worst(field, most, most.top - field.top)
            rest = _worst(field, most, field.top - least.top)
            deeper = _greater(deeper, more)
            higher = _greater(higher, rest)
    cells = sum(field.top.size for field in new.fields.values())
    cell = max((field.grid.cell for field in new.fields.values()), default=0.0)
    sides = None
    if beside is not None:
        logs = [each.logs for each in watches if each is not None]
        fields = {n: (greater.fields[n], new.fields[n]) for n in new.fields}
        sides = Sides(logs[0], logs[1], logs[2], beside, fields)
    return Twins(
        before, after, deeper, higher, cells, cell, pair.tolerance, off, raw.box is not None, sides
    )


def _watches(
    pair: Pair, layouts: dict[int, Field], off: float, beside: MetalAtSides | None
) -> tuple[Watch | None, Watch | None, Watch | None]:
    """Return what is noted with the original's greater and lesser tools, and of the new program."""
    if beside is None:
        return None, None, None
    ways = [side.spindle_way for side in (pair.before, pair.after)]
    wide = [pair.widths(side, unknown=1.0) for side in (pair.before, pair.after)]
    logs = [{n: ChipLog(every) for n in layouts} for every in (False, False, True)]
    return (
        Watch(logs[0], ways[0], wide[0], off),
        Watch(logs[1], ways[0], wide[0], off),
        Watch(logs[2], ways[1], wide[1], -off, beside),
    )


def _layouts(pair: Pair, raw: Raw) -> dict[int, Field]:
    """Lay out the metal of each frame before anything is cut."""
    result = {}
    for number in sorted(raw.tops):
        area = _area(pair, number)
        if area is None:
            area = np.zeros(2), np.zeros(2), MARGIN
        result[number] = raw.field(Grid.over(*area), number)
    return result


def _area(pair: Pair, number: int) -> tuple[Floats, Floats, float] | None:
    """Return the box in XY that the tools reach at feed in a frame, and the smallest tool, mm."""
    least: list[Floats] = []
    greatest: list[Floats] = []
    sizes: list[float] = []
    for side, frame in zip((pair.before, pair.after), pair.frames, strict=True):
        rows = side.feeding[frame[side.feeding] == number]
        if not len(rows):
            continue
        low, high = paths.bounds(paths.take(side.motion, rows))
        tools = {
            tool: pair.job.tools[tool].diameter for tool in np.unique(side.tool[rows]).tolist()
        }
        reach = np.array([tools[tool] for tool in side.tool[rows].tolist()])[:, None] / 2.0 + MARGIN
        least.append((low[:, :2] - reach).min(axis=0))
        greatest.append((high[:, :2] + reach).max(axis=0))
        sizes += tools.values()
    if not least:
        return None
    return np.min(least, axis=0), np.max(greatest, axis=0), min(sizes)


def _worst(new: Field, old: Field, much: Floats) -> Difference:
    at = np.unravel_index(int(much.argmax()), much.shape)
    place = float(new.x[at[1]]), float(new.y[at[0]]), float(new.top[at])
    return Difference(float(much[at]), place, int(old.by[at]), int(new.by[at]))


def _greater(one: Difference | None, other: Difference) -> Difference:
    return other if one is None or other.much > one.much else one
