"""Helices that go down: arcs of one circle in the XY plane, one behind the other, Z falling.

Lengths mm, angles rad.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gpre.geometry import arc
from gpre.geometry.tolerance import DUST, ONE_CIRCLE, ONE_PITCH, RESOLUTION, ROUNDED
from gpre.motion.events import Effect, kinds
from gpre.motion.motion import Kind, Motion

# of the tool's diameter: the greatest pitch that is given to a helix with fewer turns. Cutting a
# slot half as deep as the tool is wide is within what end mills take; common practice, no source.
PITCH_SHARE = 0.5
END_MILLS = frozenset(("flat", "bull", "ball"))


@dataclass(frozen=True)
class Helix:
    """Rows of Motion, half open: `first` to `last` go down, `last` to `floor` run level behind it.

    centre: (2,) mm. way: +1 counter-clockwise, -1 clockwise. turn, level_turn: rad, how far the
    rows that go down and those behind them turn about it, both positive.
    """

    first: int
    last: int
    floor: int
    centre: NDArray[np.float64]
    radius: float
    way: int
    turn: float
    level_turn: float

    @property
    def full_floor(self) -> bool:
        """True where a full circle at depth follows: then floor and wall are what it leaves."""
        return self.level_turn >= 2.0 * np.pi - ROUNDED / self.radius


def find_helices(motion: Motion) -> tuple[Helix, ...]:
    """Find all helices that go down, in order.

    An event (all but messages), a call, another state, another circle or another way round ends
    one.
    """
    if not len(motion):
        return ()
    flat = (
        (motion.kind == Kind.ARC)
        & (motion.plane == 17)
        & np.isfinite(motion.centre[:, :2]).all(axis=1)
    )
    flat &= motion.known
    drop = motion.start[:, 2] - motion.end[:, 2]
    down = flat & (drop > RESOLUTION)
    if not down.any():
        return ()
    joined = _joined(motion, flat)
    heads = np.flatnonzero(down & ~np.concatenate(([False], down[:-1] & joined)))
    return tuple(
        _helix(motion, int(head), down, joined, np.abs(drop) <= RESOLUTION) for head in heads
    )


def like_a_thread(motion: Motion, helix: Helix, others: tuple[Helix, ...]) -> bool:
    """Return whether a helix may cut a thread, whose pitch must not change.

    A thread has no circle at depth, as a rule. Where it has one, as a relief, the same tool still
    comes back up about the same axis in a helix, or goes down in one of the same pitch that ends
    without a circle, at another radius.
    """
    tools = np.array([state.tool for state in motion.states], np.int64)[motion.state]
    tool = tools[helix.first]
    with np.errstate(invalid="ignore"):
        up = (motion.kind == Kind.ARC) & (motion.plane == 17) & (tools == tool)
        up &= motion.end[:, 2] - motion.start[:, 2] > RESOLUTION
        up &= np.abs(motion.centre[:, :2] - helix.centre).max(axis=1, initial=0.0) <= ONE_CIRCLE
    if up.any():
        return True
    own = _pitch(motion, helix)
    return any(
        tools[each.first] == tool
        and not each.full_floor
        and each.turn > np.pi
        and np.abs(each.centre - helix.centre).max() <= ONE_CIRCLE
        and abs(_pitch(motion, each) - own) <= ONE_PITCH
        for each in others
    )


def turns_of(motion: Motion, helix: Helix) -> NDArray[np.float64]:
    """(n,) rad: how far each row of a helix that goes down turns about its centre."""
    return _turns_about(motion, slice(helix.first, helix.last), helix.centre)


def pitches(motion: Motion, helix: Helix) -> NDArray[np.float64]:
    """(n,) mm: how far each row of a helix goes down in a full turn."""
    rows = slice(helix.first, helix.last)
    drop = motion.start[rows, 2] - motion.end[rows, 2]
    with np.errstate(divide="ignore"):  # a circle no wider than its rounding may turn nowhere
        result: NDArray[np.float64] = drop * 2.0 * np.pi / turns_of(motion, helix)
    return result


def _pitch(motion: Motion, helix: Helix) -> float:
    """Return how far a helix goes down in a full turn, mm, from its first place to its last."""
    drop = float(motion.start[helix.first, 2] - motion.end[helix.last - 1, 2])
    return drop * 2.0 * np.pi / helix.turn


def _turns_about(motion: Motion, rows: slice, centre: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) rad: how far rows turn about one centre, (2,) mm, either way round.

    The centre of each arc is rounded for itself, so sweeps do not add up to whole turns; turns
    about one centre do, where the rows come back to a place.
    """
    start, end = motion.start[rows, :2], motion.end[rows, :2]
    return np.abs(arc.sweeps_about(start, end, centre, motion.sweep[rows]))


def _joined(motion: Motion, flat: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n - 1,): a move and the next lie on one circle, with nothing between them."""
    radius = np.hypot(*(motion.start - motion.centre)[:, :2].T)
    with np.errstate(invalid="ignore"):
        same = np.abs(np.diff(motion.centre[:, :2], axis=0)).max(axis=1, initial=0.0) <= ONE_CIRCLE
        same &= np.abs(np.diff(radius)) <= ONE_CIRCLE
        same &= np.abs(motion.start[1:] - motion.end[:-1]).max(axis=1, initial=0.0) <= DUST
    alike = (motion.state[1:] == motion.state[:-1]) | _alike(motion)
    alike &= motion.called[1:] == motion.called[:-1]
    result: NDArray[np.bool_] = same & alike & flat[1:] & flat[:-1]
    result &= motion.sweep[1:] * motion.sweep[:-1] > 0.0
    parted = motion.moves_at(kinds(Effect.PARTS_CUTS))
    result[parted[(parted > 0) & (parted < len(motion))] - 1] = False
    return result


def _alike(motion: Motion) -> NDArray[np.bool_]:
    """(n - 1,): the states of a move and the next differ in no more than how moves are written."""
    forces = [
        (each.units, each.compensation, each.feed_mode, each.frame, each.tool, each.spindle_way)
        for each in motion.states
    ]
    numbers = {force: number for number, force in enumerate(dict.fromkeys(forces))}
    column = np.array([numbers[force] for force in forces], np.intp)[motion.state]
    result: NDArray[np.bool_] = column[1:] == column[:-1]
    return result


def _helix(
    motion: Motion,
    head: int,
    down: NDArray[np.bool_],
    joined: NDArray[np.bool_],
    level: NDArray[np.bool_],
) -> Helix:
    last = head + 1
    while last < len(motion) and joined[last - 1] and down[last]:
        last += 1
    floor = last
    while floor < len(motion) and joined[floor - 1] and level[floor]:
        floor += 1
    centre = motion.centre[head, :2].copy()
    return Helix(
        head,
        last,
        floor,
        centre,
        float(np.hypot(*(motion.start[head, :2] - centre))),
        1 if motion.sweep[head] > 0 else -1,
        float(_turns_about(motion, slice(head, last), centre).sum()),
        float(_turns_about(motion, slice(last, floor), centre).sum()),
    )
