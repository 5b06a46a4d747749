"""The mill as its profile describes it. Lengths mm, speeds mm/min, angles rad, times s."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gpre.mill.job import Job
from gpre.motion.controller import Controller

Table = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Axis:
    """One axis.

    lost_motion: mm, or a table of (position, lost motion). uncertainty: mm, half width.
    resolution: mm, travel below it is none. travel: mm, machine coordinates, or None.
    top_speed: mm/min. acceleration: mm/s². approach: +1 or -1, the direction of the last approach
    to a position. gravity_loaded: its weight keeps the backlash on one side.
    """

    lost_motion: float | Table = 0.1
    uncertainty: float = 0.01
    resolution: float = 0.0001
    travel: tuple[float, float] | None = None
    top_speed: float = 2000.0
    acceleration: float = 150.0
    approach: int = 1
    gravity_loaded: bool = False

    @property
    def greatest_lost_motion(self) -> float:
        """The greatest lost motion anywhere on the axis, mm."""
        if isinstance(self.lost_motion, tuple):
            return max(value for _, value in self.lost_motion)
        return self.lost_motion


@dataclass(frozen=True)
class Twist:
    """The table's yaw when an axis turns round: full angle per axis, rad; pivot, mm."""

    x: float = 0.0
    y: float = 0.0
    pivot: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Compensation:
    """Who takes the backlash up: `none`, `controller` or `program`.

    take_up_feed: mm/min, the controller's own. pause: s, for each take-up.
    """

    by: str = "none"
    take_up_feed: float = 60.0
    pause: float = 0.08


@dataclass(frozen=True)
class Limits:
    """tolerance: mm, how far a rewritten path may leave the intended one.

    min_overshoot: mm, how far an approach overshoots, at the least: a quarter turn of a screw
    of 5 mm lead (shop course of Fox Valley Technical College: "at least one-fourth of a turn").
    rapid_clearance: mm, how near a new rapid may come to metal, beside the tool and below it
    (common practice, no source). max_take_up_feed: mm/min. corner_tolerance: mm, how far the
    controller rounds a corner in G64; nobody has to state it to the controller (NISTIR 6556,
    2.1.2.16), so a small value.
    """

    tolerance: float = 0.002
    min_overshoot: float = 1.25
    rapid_clearance: float = 0.5
    max_take_up_feed: float = 120.0
    corner_tolerance: float = 0.01


@dataclass(frozen=True)
class Timing:
    """tool_change: s, what one tool change takes; 0: tool changes are counted, not timed."""

    tool_change: float = 0.0


@dataclass(frozen=True)
class Weights:
    """What the choice among rewrites weighs against a second of cycle time; s of it each.

    dwell_mark: one dwell mark fewer while cutting. error: each 0.01 mm that a place comes nearer to
    size.
    """

    dwell_mark: float = 60.0
    error: float = 60.0


@dataclass(frozen=True)
class Mill:
    """A three-axis mill; the defaults are a cautious guess for a mill not yet measured."""

    name: str = "a mill not yet measured"
    x: Axis = field(default_factory=Axis)
    y: Axis = field(default_factory=Axis)
    z: Axis = field(default_factory=Axis)
    twist: Twist = field(default_factory=Twist)
    compensation: Compensation = field(default_factory=Compensation)
    limits: Limits = field(default_factory=Limits)
    controller: Controller = field(default_factory=lambda: Controller(start_known=False))
    timing: Timing = field(default_factory=Timing)
    weights: Weights = field(default_factory=Weights)

    @property
    def axes(self) -> tuple[Axis, Axis, Axis]:
        """X, Y and Z."""
        return (self.x, self.y, self.z)

    def from_its_start(self) -> Mill:
        """Return the mill with its start taken for known: for figures, never for a proof."""
        return replace(self, controller=replace(self.controller, start_known=True))

    def set_up_for(self, job: Job) -> Mill:
        """Return the mill with the origins and tool lengths that a job gives."""
        if not job.origins and not job.lengths:
            return self
        now = self.controller
        controller = replace(
            now,
            origins={**now.origins, **job.origins},
            lengths={**now.lengths, **job.lengths},
        )
        return replace(self, controller=controller)

    def overshoot(self, axis: int) -> float:
        """Return how far an approach must overshoot on an axis (0 X, 1 Y, 2 Z), mm.

        Twice the backlash with its uncertainty, or the least distance, whichever is more.
        """
        backlash = self.axes[axis].greatest_lost_motion + self.axes[axis].uncertainty
        return max(self.limits.min_overshoot, 2.0 * backlash)
