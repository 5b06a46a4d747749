"""Chooses among proposals by what they are worth on this mill; of two that collide one waits."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable
from dataclasses import replace

from gpre.editing.proposal import Plan, Proposal, Refusal
from gpre.editing.worth import Worth, why_not_worth, worth_of
from gpre.mill.mill import Mill
from gpre.source.edit import Edit, collide


def choose(said: Iterable[Proposal | Refusal], mill: Mill | None = None) -> Plan:
    """Make a plan of what a rewrite says; its edits never collide.

    What gains nothing, and what costs more on this mill than it saves, is declined. What was
    asked for and what takes backlash up is not weighed so: it is done. Where two proposals
    claim the same bytes, the one that is worth more goes first; then the one with more
    reversals gone from the cut, more positions reached, the earlier place.
    """
    mill = mill or Mill()
    chosen: list[Proposal] = []
    refused: list[Refusal] = []
    declined: list[Proposal] = []
    wanted: list[tuple[Worth, Proposal]] = []
    for each in said:
        if isinstance(each, Refusal):
            refused.append(each)
            continue
        worth = worth_of(each, mill)
        if not each.edits or not (each.holes or _gains(each)):
            declined.append(each)
        elif not _gains(each) or _costs_more(each, worth):
            declined.append(replace(each, summary=f"{each.summary}; {why_not_worth(worth)}"))
        else:
            wanted.append((worth, each))
    taken: list[Edit] = []
    for _, each in sorted(wanted, key=_rank):
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


def _rank(each: tuple[Worth, Proposal]) -> tuple[float, int, int, int]:
    worth, proposal = each
    total = round(worth.total, 6)  # rounding is no reason
    return -total, -proposal.gained, -proposal.holes, proposal.first_block


def _gains(proposal: Proposal) -> bool:
    return proposal.gained > 0 or proposal.nearer > 0.0 or _is_done_anyway(proposal)


def _is_done_anyway(proposal: Proposal) -> bool:
    return proposal.take_ups > 0 or proposal.asked


def _costs_more(proposal: Proposal, worth: Worth) -> bool:
    """Return whether a proposal is not worth its time; what takes none is never in vain."""
    return worth.seconds > 0.0 and worth.total <= 0.0 and not _is_done_anyway(proposal)


def _collides(edit: Edit, taken: list[Edit]) -> bool:
    """Return whether an edit meets one of those taken, which do not meet one another."""
    at = bisect_left(taken, edit)
    return any(collide(edit, other) for other in taken[max(at - 1, 0) : at + 1])


def _place(said: Proposal | Refusal) -> tuple[int, int]:
    return said.first_block, said.last_block
