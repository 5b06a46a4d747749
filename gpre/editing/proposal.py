"""What a rewrite has to say: edits with their claim, gain and cost, or why it stays away."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from gpre.source.edit import Edit


class Claim(Enum):
    """What a rewrite leaves the same, from the strictest on."""

    SAME_PATH = "same path within the tolerance"
    SAME_CUTS = "same cuts, other air moves"
    SAME_METAL = "same metal removed"


@dataclass(frozen=True, slots=True)
class Proposal:
    """Edits that stand or fall together.

    rewrite: its command-line name. first_block, last_block: the blocks it is about, for people.
    summary: what is done, in a machinist's words. gained: reversals while cutting that go away,
    X, Y and Z together. holes: positions now reached from the right side; nearer: mm that they
    come nearer to size by it, added up. longer: mm of air travel added. witness: places where a
    mark may now stand. take_ups: take-ups that the program now carries itself. asked: the user
    asked for it, so it is done though nothing is gained. gained_by_axis: the same reversals for
    X, Y and Z each, None where they are not known apart. seconds: s of cycle time added on this
    mill, the controller's take-ups included, below 0 where time is saved; None where only
    `longer` tells of it.
    """

    rewrite: str
    edits: tuple[Edit, ...]
    claim: Claim
    summary: str
    first_block: int
    last_block: int
    gained: int = 0
    holes: int = 0
    longer: float = 0.0
    witness: int = 0
    take_ups: int = 0
    asked: bool = False
    gained_by_axis: tuple[int, int, int] | None = None
    seconds: float | None = None
    nearer: float = 0.0


@dataclass(frozen=True, slots=True)
class Refusal:
    """A place that a rewrite leaves alone: why, and what to give (`tool 3`, `stock`)."""

    rewrite: str
    reason: str
    first_block: int
    last_block: int
    needs: tuple[str, ...] = ()


def fewer_reversals(gained: int) -> str:
    """Return `1 reversal fewer while cutting`."""
    return f"{gained} reversal{'' if gained == 1 else 's'} fewer while cutting"


@dataclass(frozen=True)
class Plan:
    """Proposals chosen and places refused, each in order of place."""

    chosen: tuple[Proposal, ...] = ()
    refused: tuple[Refusal, ...] = ()
    declined: tuple[Proposal, ...] = field(default=())
