"""How much metal a tooth takes: nowhere more than in the original, or than its ramp angle allows.

With the feed v_f, a chip a_p deep and a_e wide, n turns of the spindle and z teeth it is
v_f a_p a_e / (n z) (cutting-tool catalogues; memory).
"""

from __future__ import annotations

from functools import cached_property
from math import degrees

import numpy as np

from gpre.cuts.helices import find_helices, pitches
from gpre.proof.helices import Helices
from gpre.proof.metal.stock_pair import Twins
from gpre.proof.proof import Obligation
from gpre.proof.ramps import Ramps, allowed_depth
from gpre.proof.side import Bools, Floats, Ints, Pair, Side

TOOTH, RAMP = "material per tooth", "ramp load"
CHIP_MARGIN = 0.05  # share; what cells and the joints of moves make of the same cut


def by_tool(pair: Pair) -> list[tuple[int, Ints, Ints]]:
    """Return each tool that cuts, its moves at feed in the new program and in the original."""
    tools = sorted({*pair.after.tool[pair.after.feeding].tolist()})
    return [
        (
            tool,
            *(side.feeding[side.tool[side.feeding] == tool] for side in (pair.after, pair.before)),
        )
        for tool in tools
    ]


def fullest(rows: Ints, values: Floats) -> int:
    """Return the row with the greatest of (k,) values, -1 where there is none above nothing."""
    if not values.max(initial=0.0) > 0.0:
        return -1
    return int(rows[int(values.argmax())])


def shortened(pair: Pair) -> Bools:
    """(m,): moves of helices in fewer turns, and their floors: the job says how steep they may be.

    How much metal they may find is an obligation of its own, see `Loads.ramps`.
    """
    result = np.zeros(len(pair.after.motion), bool)
    result[Helices(pair, ~pair.steady[1]).stands_for()] = True
    return result


class Loads:
    """What each tooth takes in both programs; per turn where the flutes are not named."""

    def __init__(self, pair: Pair, twins: Twins, excused: Bools) -> None:
        """Keep both; excused: (m,), see `shortened`."""
        self.pair, self.twins, self.excused = pair, twins, excused
        self.tools = by_tool(pair)

    def teeth(self) -> Obligation:
        """Show that no tooth takes more metal than the worst of the original's, by tool."""
        pair = self.pair
        said = []
        for tool, mine, theirs in self.tools:
            old = self._old[theirs]
            rows = mine[~self.excused[mine]]
            new = self._new[rows]
            was, now = float(old.max(initial=0.0)), float(new.max(initial=0.0))
            said.append(self._told(tool, was, now))
            row = int(rows[int(new.argmax())]) if len(rows) else -1
            if now > was * (1.0 + CHIP_MARGIN) + self._noise(row):
                return Obligation(
                    TOOTH,
                    holds=False,
                    figure=f"{said[-1]} at {self._met(row)}",
                    value=now,
                    limit=was,
                    before=pair.before.block_of(fullest(theirs, old)),
                    after=pair.after.block_of(row),
                )
        return Obligation(TOOTH, holds=True, figure=f"at most, {'; '.join(said)}")

    def _met(self, row: int) -> str:
        """Return where a move takes most; where it only touches what another takes, its start."""
        if not np.isnan(self.twins.after.place[row]).any():
            return self.twins.met(row)
        x, y, _ = self.pair.after.motion.start[row].tolist()
        return f"X{x:.3f} Y{y:.3f}"

    def ramps(self) -> Obligation:
        """Show the same of ramps, and of the circles at depth after helices.

        Their chips count as deep and as wide as each move finds metal at its worst, so that no
        neighbour is mixed in. A stated ramp angle lets a tool take a chip as deep as that angle
        makes it, see `allowed_depth`, and as wide as the tool.
        """
        pair = self.pair
        ramps = [self._ramp_rows(side) for side in (pair.before, pair.after)]
        limit, tools = self._stated, pair.job.tools
        said = []
        for tool, mine, theirs in self.tools:
            rows, old_rows = np.intersect1d(mine, ramps[1]), np.intersect1d(theirs, ramps[0])
            if not len(rows) and not len(old_rows):
                continue
            most = float(self._was[theirs].max(initial=0.0)) * (1.0 + CHIP_MARGIN)
            new = self._now[rows]
            was, now = float(self._was[old_rows].max(initial=0.0)), float(new.max(initial=0.0))
            said.append(self._told(tool, was, now))
            noise = np.array([self._noise(row) for row in rows[new > most].tolist()])
            over = rows[new > most]
            bad = over[self._now[over] > np.maximum(most, limit[over]) + noise]
            if len(bad):
                return self._overloaded(tool, int(bad[np.argmax(self._now[bad])]), theirs)
            angle = tools[tool].max_ramp_angle
            if len(over) and angle is not None:
                said[-1] += f", which the job's ramp angle of {degrees(angle):.4g} degrees allows"
        return Obligation(
            RAMP, holds=True, figure=f"at most, {'; '.join(said)}" if said else "none"
        )

    def _overloaded(self, tool: int, row: int, theirs: Ints) -> Obligation:
        pair = self.pair
        was, now = float(self._was[theirs].max(initial=0.0)), float(self._now[row])
        angle = pair.job.tools[tool].max_ramp_angle
        flutes = pair.job.tools[tool].flutes or 1
        stated = (
            "the job names no ramp angle for it"
            if angle is None
            else f"the job's ramp angle of {degrees(angle):.4g} degrees makes "
            f"{float(self._stated[row]) / flutes:.3g}"
        )
        return Obligation(
            RAMP,
            holds=False,
            figure=f"{self._told(tool, was, now)} at {self.twins.met(row)}; {stated}",
            value=now,
            limit=max(was, float(self._stated[row])),
            before=pair.before.block_of(fullest(theirs, self._was[theirs])),
            after=pair.after.block_of(row),
        )

    @cached_property
    def _old(self) -> Floats:
        """(n,) mm³ per turn of the spindle."""
        return self.twins.before.bite * advance(self.pair.before)

    @cached_property
    def _new(self) -> Floats:
        """(m,) mm³ per turn of the spindle."""
        return self.twins.after.bite * self._advance

    @cached_property
    def _advance(self) -> Floats:
        return advance(self.pair.after)

    @cached_property
    def _was(self) -> Floats:
        """(n,) mm³ per turn of the spindle: a_p a_e times the way."""
        taken, side = self.twins.before, self.pair.before
        return self._deep(side, taken.depth) * taken.width * advance(side)

    @cached_property
    def _now(self) -> Floats:
        """(m,) mm³ per turn of the spindle."""
        taken = self.twins.after
        return self._deep(self.pair.after, taken.depth) * taken.width * self._advance

    def _deep(self, side: Side, depth: Floats) -> Floats:
        """(n,) mm: how deep a chip is; of a helix its pitch where the stock's top is not known."""
        if self.twins.boxed:
            return depth
        result = depth.copy()
        for each in find_helices(side.motion):
            most = float(pitches(side.motion, each).max())
            rows = slice(each.first, each.floor)
            result[rows] = np.minimum(depth[rows], most)
        return result

    @cached_property
    def _stated(self) -> Floats:
        """(m,) mm³ per turn that the job's ramp angle lets a move of `after` take; 0 for none."""
        pair = self.pair
        found = Ramps.of(pair.after)
        deep = np.zeros(len(pair.after.motion))
        deep[found.row] = allowed_depth(pair, found)
        for each in find_helices(pair.after.motion):  # the circle at depth takes what is left
            deep[each.last : each.floor] = deep[each.first : each.last].max()
        return deep * pair.widths(pair.after, unknown=0.0) * self._advance * (1.0 + CHIP_MARGIN)

    def _ramp_rows(self, side: Side) -> Ints:
        circles = [np.arange(each.last, each.floor) for each in find_helices(side.motion)]
        return np.unique(np.concatenate((Ramps.of(side).row, *circles))).astype(np.intp)

    def _told(self, tool: int, was: float, now: float) -> str:
        flutes = self.pair.job.tools[tool].flutes
        unit = "mm³ a tooth" if flutes else "mm³ a turn"
        return f"T{tool} {was / (flutes or 1):.3g} to {now / (flutes or 1):.3g} {unit}"

    def _noise(self, row: int) -> float:
        """Return what one row of cells more would make of a rate, mm³ per turn."""
        if row < 0:
            return 0.0
        return float(self.twins.cell * self.twins.after.depth[row] * self._advance[row])


def advance(side: Side) -> Floats:
    """(n,) mm: how far the tool goes while it turns once, 0 where that is not known.

    In G95 too: the feed is kept per minute. Where the spindle has no speed the feed stands alone.
    """
    motion = side.motion
    if not len(motion):
        return np.zeros(0)
    speed = np.array([abs(state.spindle) for state in motion.states])[motion.state]
    with np.errstate(divide="ignore", invalid="ignore"):
        result: Floats = motion.feed / np.where(speed > 0.0, speed, 1.0)
    return np.nan_to_num(result)
