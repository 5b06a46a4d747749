"""The path that the table makes under the tool when the program is run on a mill with backlash.

Who takes the backlash up decides. `none` and `program`: the screw does what the program says, and
the table follows through the play. `controller`: it adds the backlash at every turn while the tool
stands, so the path is right as long as the backlash is what the controller believes; where it is
not, the screw leads by half of what it believes, and the play has the true backlash. The yaw of the
table is nobody's to take up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gpre.geometry.arc import Floats, Ints
from gpre.geometry.tolerance import DUST
from gpre.mill.backlash import half_backlash
from gpre.mill.mill import Axis, Mill
from gpre.motion.motion import Motion
from gpre.prediction.samples import Samples, insert, places, sample
from gpre.reversals import twist
from gpre.reversals.play import Bounds, engaged, play

Change = tuple[float, float, float]
NO_CHANGE: Change = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class TablePath:
    """m samples in the order of the motion; mm, program coordinates.

    samples: where the program puts the tool. low, high: (m, 3) the least and the greatest place on
    each axis where the tool can stand on the part, equal once the state of the backlash is known;
    NaN where the position is not known. lag: (m, 3) the part of `low` that the play makes, without
    the twist: it changes where the screw crosses its backlash.
    """

    samples: Samples
    low: Floats
    high: Floats
    lag: Floats

    @property
    def middle(self) -> Floats:
        """(m, 3) mm: half way between the bounds."""
        result: Floats = (self.low + self.high) / 2.0
        return result


def table_path(
    motion: Motion,
    mill: Mill,
    *,
    change: Change = NO_CHANGE,
    samples: Samples | None = None,
    ready: bool = False,
) -> TablePath:
    """Run a motion through the backlash of a mill.

    change: mm for each axis, by how much the true backlash differs from the profile's. samples:
    those of `gpre.prediction.samples.sample`, where they are at hand; ready: `with_ends` has been
    over them with this change, axis by axis. The start state is not known: both bounds are carried
    until a run is longer than the backlash. Behind a position that is not known they part again.
    """
    samples = sample(motion, mill) if samples is None else samples
    samples = samples if ready else with_ends(samples, mill, change)
    model = _Model(mill, change)
    lag = [model.lag(samples, axis) for axis in range(3)]
    least = np.column_stack([each.low for each in lag])
    low, high = samples.point + least, samples.point + np.column_stack([each.high for each in lag])
    yaws = twist.twists(mill.twist)
    machine = np.column_stack((samples.machine(0), samples.machine(1))) if yaws else samples.point
    for axis, full in yaws:
        angle = model.yaw(samples, axis, full)
        less, more = twist.shift_bounds(machine, angle, mill.twist.pivot)
        low[:, :2] += less
        high[:, :2] += more
    return TablePath(samples, low, high, least)


def with_ends(samples: Samples, mill: Mill, change: Change = NO_CHANGE) -> Samples:
    """Add samples where take-ups end within moves."""
    model = _Model(mill, change)
    samples = _with_ends(samples, model.turn_ends(samples))
    return _with_ends(samples, model.take_up_ends(samples))


@dataclass(frozen=True)
class _Model:
    """One mill with one true backlash."""

    mill: Mill
    change: Change

    @property
    def by_controller(self) -> bool:
        return self.mill.compensation.by == "controller"

    def turn_ends(self, samples: Samples) -> list[tuple[int, Ints, Floats]]:
        """Find where the controller, and the yaw, have noticed a turn."""
        driving = {axis for axis, _ in twist.twists(self.mill.twist)}
        if self.by_controller:
            changed = {axis for axis in range(3) if self._leads(axis)}
        else:  # where there is no backlash, the yaw swings as soon as the axis turns
            driving = {axis for axis in driving if self._tight(self.mill.axes[axis])}
            changed = set()
        ends: list[tuple[int, Ints, Floats]] = []
        for axis in sorted(driving | changed):
            screw = samples.screw(axis)
            reach = np.full(len(screw), self.mill.axes[axis].resolution / 2.0)
            ends += _ends(axis, samples, Bounds(screw, screw), reach, play(screw, reach))
        return ends

    def take_up_ends(self, samples: Samples) -> list[tuple[int, Ints, Floats]]:
        """Find where the screw has crossed its backlash."""
        ends: list[tuple[int, Ints, Floats]] = []
        for axis in range(3):
            if not self._lags(axis):
                continue
            screw, reach, table = self._played(samples, axis)
            ends += _ends(axis, samples, screw, reach, table)
        return ends

    def lag(self, samples: Samples, axis: int) -> Bounds:
        """Return how far the table stands from where the program puts it: (m,) mm."""
        if not self._lags(axis):
            # NaN where the position is not known
            nothing = samples.screw(axis) - samples.screw(axis)
            return Bounds(nothing, nothing)
        _, _, table = self._played(samples, axis)
        place = samples.screw(axis)
        return Bounds(table.low - place, table.high - place)

    def yaw(self, samples: Samples, axis: int, full: float) -> Bounds:
        """Return the yaw that an axis makes: (m,) rad."""
        each, screw = self.mill.axes[axis], samples.screw(axis)
        least = np.full(len(screw), each.resolution / 2.0)
        reach = least if self.by_controller else np.maximum(self._reach(samples, axis), least)
        return twist.yaw_bounds(screw, play(screw, reach), reach, full)

    def _played(self, samples: Samples, axis: int) -> tuple[Bounds, Floats, Bounds]:
        """Return the screw, half the true backlash, and the table."""
        screw, reach = self._screw(samples, axis), self._reach(samples, axis)
        if screw.low is screw.high:
            return screw, reach, play(screw.low, reach)
        # whichever way the axis ran last, the table followed, all but what the controller lacks;
        # the operator keeps the order of its inputs
        place = samples.screw(axis)
        lacks = abs(self.change[axis]) / 2.0
        start = Bounds(place - lacks, place + lacks)
        low, high = (play(each, reach, start) for each in screw)
        return screw, reach, Bounds(low.low, high.high)

    def _screw(self, samples: Samples, axis: int) -> Bounds:
        place, each = samples.screw(axis), self.mill.axes[axis]
        if not self.by_controller:
            return Bounds(place, place)
        noticed = np.full(len(place), each.resolution / 2.0)
        believed = half_backlash(each, samples.machine(axis))
        # the lead goes as the yaw does: from side to side as the turn is noticed
        lead = twist.yaw_bounds(place, play(place, noticed), noticed, 2.0)
        return Bounds(place + lead.low * believed, place + lead.high * believed)

    def _reach(self, samples: Samples, axis: int) -> Floats:
        return half_backlash(self.mill.axes[axis], samples.machine(axis), self.change[axis])

    def _lags(self, axis: int) -> bool:
        """Return whether the play of an axis shows at all."""
        each = self.mill.axes[axis]
        if each.gravity_loaded:
            return False
        if self.by_controller:
            return self._leads(axis)
        return each.greatest_lost_motion + self.change[axis] > 0.0

    def _leads(self, axis: int) -> bool:
        """Return whether the controller takes up another backlash than there is."""
        return self.change[axis] != 0.0 and not self.mill.axes[axis].gravity_loaded

    def _tight(self, axis: Axis) -> bool:
        return axis.gravity_loaded or axis.greatest_lost_motion <= axis.resolution


def _ends(
    axis: int, samples: Samples, screw: Bounds, reach: Floats, table: Bounds
) -> list[tuple[int, Ints, Floats]]:
    """Find where take-ups end within moves, on both bounds."""
    inner = samples.inner
    ends: list[tuple[int, Ints, Floats]] = []
    pairs = [(screw.low, table.low)]
    if (table.high - table.low > DUST).any():
        pairs.append((screw.high, table.high))
    for place, stands in pairs:
        found = engaged(place, reach, stands)
        some = inner[found.after]
        ends.append((axis, found.after[some], found.share[some]))
    return ends


def _with_ends(samples: Samples, ends: list[tuple[int, Ints, Floats]]) -> Samples:
    ends = [each for each in ends if len(each[1])]
    if not ends:
        return samples
    along = [places(samples, axis, after, share) for axis, after, share in ends]
    after = np.concatenate([each[1] for each in ends])
    return insert(samples, after, np.concatenate(along))
