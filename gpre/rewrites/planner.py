"""Chooses among proposals: what gains nothing is declined, and of two that collide one waits."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable

from gpre.rewrites.proposal import Plan, Proposal, Refusal
from gpre.source.edit import Edit, collide


def choose(said: Iterable[Proposal | Refusal]) -> Plan:
    """Make a plan of what a rewrite says; its edits never collide.

    Where two proposals claim the same bytes, the one that gains more goes first: reversals in the
    cut, then positions reached, then the earlier place.
    """
    everything = list(said)
    proposals = [each for each in everything if isinstance(each, Proposal)]
    refused = [each for each in everything if isinstance(each, Refusal)]
    worth = [each for each in proposals if each.edits and _gains(each)]
    declined = [each for each in proposals if each not in worth]
    taken: list[Edit] = []
    chosen: list[Proposal] = []
    for each in sorted(worth, key=lambda one: (-one.gained, -one.holes, one.first_block)):
        if any(_collides(edit, taken) for edit in each.edits):
            reason = "another change at the same place gains more"
            refused.append(Refusal(each.rewrite, reason, each.first_block, each.last_block))
            continue
        for edit in each.edits:
            insort(taken, edit)
        chosen.append(each)
    return Plan(
        tuple(sorted(chosen, key=_place)), tuple(sorted(refused, key=_place)), tuple(declined)
    )


def _gains(proposal: Proposal) -> bool:
    gains = proposal.gained > 0 or proposal.holes > 0 or proposal.take_ups > 0
    return gains or proposal.asked


def _collides(edit: Edit, taken: list[Edit]) -> bool:
    """Tell whether an edit meets one of those taken, which do not meet one another."""
    at = bisect_left(taken, edit)
    return any(collide(edit, other) for other in taken[max(at - 1, 0) : at + 1])


def _place(said: Proposal | Refusal) -> tuple[int, int]:
    return said.first_block, said.last_block
