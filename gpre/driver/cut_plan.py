"""Cut by cut: reversals while cutting before and after a rewrite, the fewest possible, the cost.

All figures are counted in the two programs, not added up from what the rewrites promised. A block
of the new program counts for the cut whose block it goes back to. The way to a cut belongs to it,
and the lift straight off it; what follows the last cut belongs to none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.cuts.cuts import Cut, Shape
from gpre.cuts.find_cuts import find_cuts
from gpre.cuts.least import Axes, CutLeast, Least, least_reversals
from gpre.driver.counting import Counted
from gpre.driver.rewrite import Rewritten
from gpre.editing.proposal import Proposal
from gpre.geometry.tolerance import RESOLUTION
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.mill.timing import cycle_time
from gpre.motion.motion import Kind, Motion

Owner = NDArray[np.intp]  # for each block the number of its row, or _NONE
_NONE = -1
_UNSET = -2


@dataclass(frozen=True, slots=True)
class CutRow:
    """Cuts of the same blocks: a cut, the pecks of a hole, a subprogram called several times.

    first_block, last_block: of the original, without the way there. cuts: how many, a hole with all
    its pecks one; tool: its number. now, after: reversals while cutting of X, Y and Z. least,
    lifted: the fewest possible, see `CutLeast`. rewrites: the names of those that touch it. longer:
    mm more at rapid; seconds: s more of cycle time; both below 0 where it got less.
    """

    first_block: int
    last_block: int
    shape: Shape
    cuts: int
    tool: int
    now: Axes
    after: Axes
    least: Least
    lifted: Least | None
    rewrites: tuple[str, ...]
    longer: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What lies in no cut that could be followed; as `CutRow` has it."""

    now: Axes
    after: Axes
    longer: float
    seconds: float


@dataclass(frozen=True)
class CutPlan:
    """rows: in order of the program. elsewhere: the rest; the sums are those of the program."""

    rows: tuple[CutRow, ...]
    elsewhere: Elsewhere


class _Figures(NamedTuple):
    """For k rows, and what is elsewhere: (k + 1, 3) reversals while cutting, (k + 1,) mm, s."""

    in_cut: NDArray[np.int64]
    air: NDArray[np.float64]
    seconds: NDArray[np.float64]

    def axes(self, row: int) -> Axes:
        x, y, z = (int(each) for each in self.in_cut[row])
        return x, y, z


def cut_plan(rewritten: Rewritten, mill: Mill, job: Job) -> CutPlan:
    """Look at a rewritten program cut by cut."""
    before, after = rewritten.before, rewritten.after
    cuts = find_cuts(before.motion, mill.z.resolution)
    least = least_reversals(before.motion, cuts, job, mill.limits.tolerance)
    groups = _groups(before.motion, cuts)
    owner = _owner(before, cuts, groups)
    blocks = np.arange(len(before.program), dtype=np.intp)
    now = _figures(before, owner, blocks, len(groups), mill)
    then = _figures(after, owner, rewritten.origins, len(groups), mill)
    names = _names(rewritten.plan.chosen, owner, len(groups))
    rows = []
    for number, group in enumerate(groups):
        row = _row(before.motion, [cuts[at] for at in group], [least[at] for at in group])
        rows.append(
            CutRow(
                *row,
                now.axes(number),
                then.axes(number),
                *_sum([least[at] for at in group]),
                names[number],
                float(then.air[number] - now.air[number]),
                float(then.seconds[number] - now.seconds[number]),
            )
        )
    rest = Elsewhere(
        now.axes(_NONE),
        then.axes(_NONE),
        float(then.air[_NONE] - now.air[_NONE]),
        float(then.seconds[_NONE] - now.seconds[_NONE]),
    )
    return CutPlan(tuple(rows), rest)


def _groups(motion: Motion, cuts: Sequence[Cut]) -> list[list[int]]:
    """Put cuts together that share blocks; numbers of cuts, in order of their blocks."""
    spans = sorted(
        (*motion.blocks_of(cut.first, cut.last), number) for number, cut in enumerate(cuts)
    )
    result: list[list[int]] = []
    reached = -1
    for first, last, number in spans:
        if result and first <= reached:
            result[-1].append(number)
        else:
            result.append([number])
        reached = max(reached, last)
    return result


def _row(
    motion: Motion, cuts: Sequence[Cut], least: Sequence[CutLeast]
) -> tuple[int, int, Shape, int, int]:
    firsts = [motion.block_of(cut.first) for cut in cuts]
    lasts = [motion.block_of(cut.last - 1) for cut in cuts]
    tool = motion.state_of(cuts[0].first).tool
    count = len(cuts)
    if all(cut.shape is Shape.HOLE for cut in cuts):
        count = len({tuple(motion.start[cut.first, :2].round(3).tolist()) for cut in cuts})
    return min(firsts), max(lasts), least[0].shape, count, tool


def _sum(least: Sequence[CutLeast]) -> tuple[Least, Least | None]:
    lifted = [each.lifted for each in least if each.lifted is not None]
    down = _added([each.down for each in least])
    return down, _added(lifted) if len(lifted) == len(least) else None


def _added(least: Sequence[Least]) -> Least:
    x, y, z = (sum(each.by_axis[axis] for each in least) for axis in range(3))
    return Least((x, y, z), sum(each.together for each in least))


def _owner(counted: Counted, cuts: Sequence[Cut], groups: Sequence[Sequence[int]]) -> Owner:
    """(m,): the group of each block."""
    motion = counted.motion
    group_of = {number: at for at, group in enumerate(groups) for number in group}
    owner = np.full(len(counted.program), _UNSET, np.intp)
    for number, cut in enumerate(cuts):
        owner[motion.block[cut.first : cut.last]] = group_of[number]
    at, last = 0, _NONE
    ends = [*((cut.first, cut.last, group_of[number]) for number, cut in enumerate(cuts))]
    for first, behind, group in [*ends, (len(motion), len(motion), _NONE)]:
        lift = _lifts(motion, at, first) if last != _NONE else at
        _claim(owner, motion.block[at:lift], last)
        _claim(owner, motion.block[lift:first], group)
        at, last = behind, group
    # a block without moves goes with what follows it
    following = np.flatnonzero(owner != _UNSET)
    where = np.searchsorted(following, np.arange(len(owner)))
    filled = np.append(owner[following], _NONE)
    return filled[where]


def _lifts(motion: Motion, first: int, last: int) -> int:
    """Return the row behind the rapids that go straight up from `first` on."""
    while first < last:
        travel = motion.end[first] - motion.start[first]
        aside = np.abs(travel[:2]).max()
        if motion.kind[first] != Kind.RAPID or not (travel[2] > 0.0 and aside <= RESOLUTION):
            break
        first += 1
    return first


def _claim(owner: Owner, blocks: NDArray[np.int32], group: int) -> None:
    free = blocks[owner[blocks] == _UNSET]
    owner[free] = group


def _figures(
    counted: Counted, owner: Owner, origins: NDArray[np.intp], count: int, mill: Mill
) -> _Figures:
    """Add up a program's figures by the groups of the original's blocks."""
    motion, turns = counted.motion, counted.reversals
    group = owner[origins[motion.block]] if len(motion) else np.zeros(0, np.intp)
    group = np.where(group == _NONE, count, group)
    time = cycle_time(motion, turns, mill)
    turned = group[turns.move]
    seconds = np.zeros(count + 1)
    np.add.at(seconds, group, np.nan_to_num(time.moves))
    np.add.at(seconds, turned, time.take_ups)
    rapid = motion.kind == Kind.RAPID
    length = np.linalg.norm(motion.end - motion.start, axis=1)
    air = np.zeros(count + 1)
    np.add.at(air, group[rapid], np.nan_to_num(length[rapid]))
    in_cut = np.zeros((count + 1, 3), np.int64)
    np.add.at(in_cut, (turned[turns.in_cut], turns.axis[turns.in_cut]), 1)
    return _Figures(in_cut, air, seconds)


def _names(chosen: Iterable[Proposal], owner: Owner, count: int) -> list[tuple[str, ...]]:
    """Return the names of the proposals that touch each group, each once, in order of place."""
    found: list[dict[str, None]] = [{} for _ in range(count)]
    for each in chosen:
        for group in np.unique(owner[each.first_block : each.last_block + 1]).tolist():
            if group != _NONE:
                found[group][each.rewrite] = None
    return [tuple(names) for names in found]
