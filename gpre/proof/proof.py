"""The verdict on two programs: obligations, each with a figure and a place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Obligation:
    """One thing that must hold.

    name: short, e.g. `cutting path`. holds: the verdict. figure: what was measured, with its unit,
    for people. value, limit: the same as numbers where there are any. before, after: block indices
    (from 0) in the two programs of the worst place, or None. looked: False where there was no way
    to look at it; then it holds, and shows nothing. since: a block that the figure names by its
    line, as `since_line` does, behind the program that it is in, 0 before and 1 after; or None.
    """

    name: str
    holds: bool
    figure: str
    value: float | None = None
    limit: float | None = None
    before: int | None = None
    after: int | None = None
    looked: bool = True
    since: tuple[int, int] | None = None


def since_line(block: int) -> str:
    """Return how a figure names the line from which on something is so."""
    return f"since line {block + 1}"


@dataclass(frozen=True, slots=True)
class Proof:
    """All obligations in the order in which they were looked at.

    changed_places: how many stretches of blocks are not the same bytes in both texts.
    """

    obligations: tuple[Obligation, ...]
    changed_places: int = 0

    @property
    def holds(self) -> bool:
        """True where every obligation holds."""
        return all(each.holds for each in self.obligations)

    @property
    def failed(self) -> tuple[Obligation, ...]:
        """The obligations that do not hold."""
        return tuple(each for each in self.obligations if not each.holds)
