"""The mill as its profile describes it. Lengths mm, speeds mm/min, angles rad, times s."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gpre.mill.job import Job
from gpre.mill.lost_motion import LostMotion, Table
from gpre.motion.controller import Controller
from gpre.settings.keys import Section, about, key
from gpre.settings.values import FLAG, TEXT, Amount, Amounts, Choice

_SPEED = Amount("mm/min", above=0, max=1e6)
_TAKE_UP_FEED = Amount("mm/min", above=0, max=1e5)
_ANGLE = Amount("rad", 0, 0.1)
_WEIGHT = Amount("s", 0, 1e5)


@dataclass(frozen=True)
class Axis:
    """One axis: mm, mm/min, mm/s². approach: +1 or -1."""

    lost_motion: float | Table = key(
        0.1,
        LostMotion(),
        "The backlash: what the motor turns before the table follows, after it turns round; "
        "between the positions of a table it is read off straight lines.",
    )
    uncertainty: float = key(
        0.01, Amount("mm", 0, 1), "The lost motion is known to plus or minus this."
    )
    resolution: float = key(
        0.0001, Amount("mm", above=0, max=0.1), "Travel below this is no travel."
    )
    travel: tuple[float, float] | None = key(
        None,
        Amounts(2, Amount("mm"), a_range=True),
        "From where to where the axis can travel, machine coordinates.",
        "not checked",
    )
    top_speed: float = key(2000.0, _SPEED, "The greatest speed of the axis.")
    acceleration: float = key(
        150.0, Amount("mm/s²", above=0, max=1e6), "How fast the axis gains speed."
    )
    approach: int = key(
        1,
        Choice({"+": 1, "-": -1}),
        "The direction in which positions are reached; a drill goes down to its depth.",
    )
    gravity_loaded: bool = key(
        False, FLAG, "The weight on the axis keeps its backlash on one side.", old="hangs"
    )

    @property
    def greatest_lost_motion(self) -> float:
        """The greatest lost motion anywhere on the axis, mm."""
        if isinstance(self.lost_motion, tuple):
            return max(value for _, value in self.lost_motion)
        return self.lost_motion


@dataclass(frozen=True)
class Twist:
    """The table's yaw when an axis turns round: full angle per axis, rad; pivot, mm."""

    x: float = key(0.0, _ANGLE, "How far the table yaws when X turns round, the full angle.")
    y: float = key(0.0, _ANGLE, "How far the table yaws when Y turns round, the full angle.")
    pivot: tuple[float, float] = key(
        (0.0, 0.0), Amounts(2, Amount("mm")), "The point about which it yaws, machine coordinates."
    )


@dataclass(frozen=True)
class Compensation:
    """Who takes the backlash up: `none`, `controller` or `program`."""

    by: str = key(
        "none",
        Choice.of("none", "controller", "program"),
        "Who takes the backlash up: nobody, the controller itself, or the program.",
    )
    take_up_feed: float = key(60.0, _TAKE_UP_FEED, "The feed at which the controller takes it up.")
    pause: float = key(
        0.08, Amount("s", 0, 10), "How long the controller waits after each take-up."
    )


@dataclass(frozen=True)
class Limits:
    """How far a rewrite may go."""

    tolerance: float = key(
        0.002,
        Amount("mm", above=0, max=1),
        "How far a rewritten path may leave the intended one.",
    )
    # a quarter turn of a screw of 5 mm lead (shop course of Fox Valley Technical College: "at least
    # one-fourth of a turn")
    min_overshoot: float = key(
        1.25,
        Amount("mm", above=0, max=50),
        "How far at least an approach goes beyond the position before it comes back to it.",
        old="approach_distance",
    )
    # common practice, no source
    rapid_clearance: float = key(
        0.5,
        Amount("mm", above=0, max=50),
        "How far new rapids keep from metal, beside the tool and below it.",
    )
    max_take_up_feed: float = key(
        120.0,
        _TAKE_UP_FEED,
        "How fast at most an axis crosses its backlash where the program takes it up.",
        old="greatest_take_up_feed",
    )
    # nobody has to state it to the controller (NISTIR 6556, 2.1.2.16), so a small value
    corner_tolerance: float = key(
        0.01,
        Amount("mm", 0, 1),
        "How far the controller rounds a corner in G64; only times depend on it.",
    )


@dataclass(frozen=True)
class Timing:
    """What the machine takes besides moving, s."""

    tool_change: float = key(
        0.0,
        Amount("s", 0, 3600),
        "What one tool change takes, by hand or not.",
        "changes are counted, not timed",
    )


@dataclass(frozen=True)
class Weights:
    """What the choice among rewrites weighs against a second of cycle time; s of it each."""

    dwell_mark: float = key(
        60.0, _WEIGHT, "How many seconds it is worth that one dwell mark less is cut.", old="mark"
    )
    error: float = key(
        60.0, _WEIGHT, "How many seconds it is worth that a place comes 0.01 mm nearer to size."
    )


@dataclass(frozen=True)
class Mill:
    """A three-axis mill; the defaults are a cautious guess for a mill not yet measured."""

    name: str = key("a mill not yet measured", TEXT, "What you call the mill.")
    x: Axis = key(Axis(), Section(Axis))
    y: Axis = key(Axis(), Section(Axis))
    z: Axis = key(Axis(), Section(Axis))
    twist: Twist = key(Twist(), Section(Twist))
    compensation: Compensation = key(Compensation(), Section(Compensation))
    limits: Limits = key(Limits(), Section(Limits))
    controller: Controller = field(
        default_factory=lambda: Controller(start_known=False), metadata=about(Section(Controller))
    )
    timing: Timing = key(Timing(), Section(Timing))
    weights: Weights = key(Weights(), Section(Weights))

    @property
    def axes(self) -> tuple[Axis, Axis, Axis]:
        """X, Y and Z."""
        return (self.x, self.y, self.z)

    def from_its_start(self) -> Mill:
        """Return the mill with its start taken for known: for figures, never for a proof."""
        return replace(self, controller=replace(self.controller, start_known=True))

    def without_twist(self) -> Mill:
        """Return the mill with a table that does not twist."""
        return replace(self, twist=Twist())

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
