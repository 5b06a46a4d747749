"""Tries proposals on a text and keeps those with which the proof still holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from gpre.editing.proposal import Proposal, Refusal
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.proof.proof import Proof
from gpre.proof.prove import prove
from gpre.source.edit import EditSet
from gpre.source.text import SourceText

TAKEN_BACK = "taken back"
TOO_MANY = f"{TAKEN_BACK}, too many changes failed the proof"
MOST_PROOFS = 60  # for one rewrite's proposals; what is not settled by then is taken back


@dataclass(frozen=True)
class Kept:
    """The text with the proposals that hold, their edits, and they themselves."""

    data: bytes
    edits: EditSet
    proposals: tuple[Proposal, ...]


@dataclass
class Trial:
    """Holds texts against the original. Proofs already made are kept.

    stock: True looks at the metal for each trial; False at the paths alone, and at the metal once,
    for the text that is written.
    """

    original: SourceText
    mill: Mill
    job: Job
    stock: bool = False
    _proofs: dict[bytes, Proof] = field(default_factory=dict)
    _made: int = 0

    def whole_proof(self, data: bytes) -> Proof:
        """Prove a text against the original, the metal too."""
        return prove(self.original, SourceText.of(data, self.original.name), self.mill, self.job)

    def proof(self, data: bytes) -> Proof:
        """Prove a text against the original, as far as trials go."""
        found = self._proofs.get(data)
        if found is None:
            after = SourceText.of(data, self.original.name)
            found = prove(self.original, after, self.mill, self.job, stock=self.stock)
            self._proofs = {data: found}  # the last one is the one that is asked for again
            self._made += 1
        return found

    def keep(self, text: bytes, proposals: Sequence[Proposal]) -> tuple[Kept, tuple[Refusal, ...]]:
        """Find a largest set of proposals with which the proof holds, by halving.

        Gives what is kept, and a refusal for each proposal taken back.
        """
        self._made = 0
        kept: list[Proposal] = []
        broken: list[Refusal] = []
        self._settle(text, list(proposals), kept, broken)
        edits = _edits(kept)
        return Kept(edits.apply(text), edits, tuple(kept)), tuple(broken)

    def _settle(
        self, text: bytes, waiting: list[Proposal], kept: list[Proposal], broken: list[Refusal]
    ) -> None:
        if not waiting:
            return
        if self._made >= MOST_PROOFS:
            broken += (_refusal(each, TOO_MANY) for each in waiting)
            return
        proof = self.proof(_edits([*kept, *waiting]).apply(text))
        if proof.holds:
            kept += waiting
            return
        if len(waiting) == 1:
            first = proof.failed[0]
            reason = f"{TAKEN_BACK}, the proof does not hold: {first.name}, {first.figure}"
            broken.append(_refusal(waiting[0], reason))
            return
        half = len(waiting) // 2
        self._settle(text, waiting[:half], kept, broken)
        self._settle(text, waiting[half:], kept, broken)


def _edits(proposals: Sequence[Proposal]) -> EditSet:
    return EditSet.of(edit for each in proposals for edit in each.edits)


def _refusal(proposal: Proposal, reason: str) -> Refusal:
    return Refusal(proposal.rewrite, reason, proposal.first_block, proposal.last_block)
