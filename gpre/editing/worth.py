"""What a proposal is worth on this mill: marks, errors and seconds, weighed in seconds.

A reversal that leaves the cut saves what it costs there, by who compensates:

- `controller`: one dwell mark. The path is right, so no error.
- `none`: no mark; the path is off by as much as the backlash b behind it.
- `program`: no mark. The take-up that the program will carry leaves next to no error, but it is
  made for the whole program or not at all, and where it is refused the path is off by b/2 to
  either side: so b/2.

A position reached from the right side is nearer to size by what its rewrite says. A gravity-loaded
axis, or one without backlash, costs nothing where it turns, and twist is left out there.

Seconds are those of the timing model where the rewrite has rehearsed its changes. Otherwise the
way in the air is timed, and with `controller` a take-up is saved for each reversal that goes,
unless the way in the air got longer: then the axis turns there instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gpre.editing.proposal import Proposal
from gpre.mill.costs import air_seconds, backlash_at_turns, take_up_costs
from gpre.mill.mill import Mill

PER_ERROR = 0.01  # mm; what the profile's weight of errors is for


@dataclass(frozen=True, slots=True)
class Worth:
    """What a proposal saves and costs.

    marks: dwell marks fewer while cutting. error: mm that places come nearer to size, added up.
    seconds: s of cycle time added, below 0 where time is saved. saved: s, marks and errors by the
    weights of the mill.
    """

    marks: int
    error: float
    seconds: float
    saved: float

    @property
    def total(self) -> float:
        """What it is worth, s."""
        return self.saved - self.seconds


def worth_of(proposal: Proposal, mill: Mill) -> Worth:
    """Weigh what a proposal saves on a mill against the time it takes."""
    by = mill.compensation.by
    backlash = backlash_at_turns(mill)
    turning = _spread(proposal, [1.0 if each > 0.0 else 0.0 for each in backlash])
    marks = round(turning) if by == "controller" else 0
    error = 0.0
    if by != "controller":
        error = _spread(proposal, backlash) * (0.5 if by == "program" else 1.0)
    error += proposal.nearer
    seconds = proposal.seconds
    if seconds is None:
        seconds = _seconds(proposal, mill)
    weights = mill.weights
    saved = marks * weights.dwell_mark + error / PER_ERROR * weights.error
    return Worth(marks, error, seconds, saved)


def why_not_worth(worth: Worth) -> str:
    """Say that a proposal costs more than it saves, with the figures."""
    saves = []
    if worth.marks:
        saves.append(f"{worth.marks} mark{'' if worth.marks == 1 else 's'} while cutting")
    if worth.error > 0.0:
        saves.append(f"{worth.error:.3f} mm of error in total")
    what = " and ".join(saves) or "nothing that counts on this mill"
    weighed = f", weighed as {worth.saved:.1f} s" if saves else ""
    return f"it costs {worth.seconds:.1f} s and saves {what}{weighed}"


def _spread(proposal: Proposal, values: Sequence[float]) -> float:
    """Add up a value for each reversal that goes; the mean one where the axes are not known."""
    axes = proposal.gained_by_axis
    if axes is None or sum(axes) != proposal.gained:  # some of them are not told apart
        return proposal.gained * sum(values) / len(values)
    return sum(count * value for count, value in zip(axes, values, strict=True))


def _seconds(proposal: Proposal, mill: Mill) -> float:
    """Return the cycle time added where it has not been rehearsed, s."""
    seconds = air_seconds(mill, proposal.longer)
    if proposal.longer <= 0.0:
        seconds -= _spread(proposal, take_up_costs(mill))
    return seconds
