"""Where a rewrite leaves a place alone the reason becomes a refusal, here and nowhere else."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import Protocol, TypeVar

from gpre.editing.context import Context
from gpre.editing.proposal import Proposal, Refusal
from gpre.editing.skip import Skip
from gpre.source.decimals import UnwritableError


class Rows(Protocol):
    """Rows `first` to `last` of Motion, half open: a cut, a helix, a row of holes."""

    @property
    def first(self) -> int:
        """The first row."""

    @property
    def last(self) -> int:
        """One past the last row."""


Place = TypeVar("Place", bound=Rows)


def at_each(
    name: str,
    context: Context,
    places: Iterable[Place],
    propose: Callable[[Place], Proposal | None],
) -> Iterator[Proposal | Refusal]:
    """Yield what a rewrite proposes at each place, or the refusal that its Skip amounts to.

    propose: returns None where there is nothing to do. UnwritableError is the writer's: new blocks
    that cannot be written.
    """
    for place in places:
        blocks = context.motion.blocks_of(place.first, place.last)
        yield from _said(name, blocks, partial(propose, place))


def at_all(
    name: str, context: Context, propose: Callable[[], Proposal]
) -> Iterator[Proposal | Refusal]:
    """Yield what a rewrite proposes for the whole program, or the refusal; see `at_each`."""
    yield from _said(name, (0, len(context.program) - 1), propose)


def whole_program(name: str, context: Context, reason: str) -> Refusal:
    """Return the refusal of a rewrite that leaves the whole program alone."""
    return Refusal(name, reason, 0, len(context.program) - 1)


def _said(
    name: str, blocks: tuple[int, int], propose: Callable[[], Proposal | None]
) -> Iterator[Proposal | Refusal]:
    try:
        proposal = propose()
    except Skip as why:
        yield Refusal(name, why.reason, *blocks, why.needs)
    except UnwritableError as fault:
        yield Refusal(name, f"the new blocks cannot be written: {fault}", *blocks)
    else:
        if proposal is not None:
            yield proposal
