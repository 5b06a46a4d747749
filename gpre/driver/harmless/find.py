"""Finds edits by hand that do no harm, shows that they are such, and undoes them.

What is undone is told by name, and the proof proper runs on what is left. An edit is undone only if
it is of one kind in full: by its words, and by what both programs really do. All other changes
stay, for the proof to judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gpre.driver.harmless.coolant import COOLANT
from gpre.driver.harmless.cycles import HIGHER_R, SMALLER_Q
from gpre.driver.harmless.dwells import DWELLS
from gpre.driver.harmless.edits import Edits, HarmlessEdit, Undone
from gpre.driver.harmless.ending import HOME, LAST_RETRACT
from gpre.driver.harmless.kinds import OTHER, Group, HarmlessKind, shown
from gpre.driver.harmless.program_end import PROGRAM_END
from gpre.driver.harmless.runs import ProgramRun, ProgramRuns
from gpre.driver.harmless.stops import STOPS
from gpre.driver.spelling import Bare
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.proof.open_settings import OpenReading, readings
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side
from gpre.proof.texts import readable

# the way out comes last: by then no other edit stands in it
KINDS = (PROGRAM_END, STOPS, DWELLS, COOLANT, HIGHER_R, SMALLER_Q, HOME, LAST_RETRACT)
NAMES = tuple(kind.name for kind in KINDS)
MOST_EDITS = 400  # more are no work of a hand
MOST_TRIALS = 40  # programs run through to find out


@dataclass(frozen=True)
class Harmless:
    """The bare texts with what does no harm undone.

    told: an obligation for each such edit, holding not, to be told as `differs`. refused: for each
    edit that looks like one and is none, an obligation that says why.
    """

    bare: Bare
    told: tuple[Obligation, ...] = ()
    refused: tuple[Obligation, ...] = ()


def find_harmless(bare: Bare, mill: Mill, job: Job) -> Harmless:
    """Return two bare texts with the harmless edits of the second one undone."""
    edits = Edits(bare)
    if not 0 < len(edits) <= MOST_EDITS or not len(bare.lines[1]):
        return Harmless(bare)
    # it must be harmless in each way to read the programs: with the block delete switch turned,
    # and with each unit, distance mode and plane that nothing states
    old, new = Side.of(bare.before, mill), Side.of(bare.after, mill)
    search = _Search(bare, edits, readings(old, new, mill), job)
    for kind in KINDS:
        search.look_for(kind)
    return search.result()


def _refused(kind: HarmlessKind, runs: ProgramRuns) -> str:
    """Return why an edit is not of a kind, or ""; one that brings new faults is of none."""
    why = kind.refused(runs)
    if why:
        return why
    found = readable(Pair(runs.was.side, runs.now.side, runs.mill, runs.was.job))
    return "" if found.holds else found.figure


class _Search:
    """Looks for one kind of edit after the other, in what the ones before have left."""

    def __init__(self, bare: Bare, edits: Edits, readings: Sequence[OpenReading], job: Job) -> None:
        self._bare, self._edits, self._job = bare, edits, job
        self._readings, self._mills = readings, [each.mill for each in readings]
        self._undone: frozenset[HarmlessEdit] = frozenset()
        self._sides: dict[tuple[frozenset[HarmlessEdit], int], tuple[Undone, Side]] = {}
        self._originals = [Side.of(bare.before, each) for each in self._mills]
        self._told: list[Obligation] = []
        self._refused: dict[HarmlessEdit, Obligation] = {}
        self._trials = 0

    def look_for(self, kind: HarmlessKind) -> None:
        """Undo all edits of a kind: all at once where that holds, else in halves."""
        groups = kind.groups([edit for edit in self._edits if edit not in self._undone])
        if len({edit for group in groups for edit in group}) == sum(map(len, groups)):
            self._look_at(kind, groups)
            return
        for group in groups:  # each is another choice of the same edits
            if self._undone.isdisjoint(group):
                self._look_at(kind, [group])

    def _look_at(self, kind: HarmlessKind, groups: list[Group]) -> None:
        if not groups or self._trials >= MOST_TRIALS:
            return
        if self._try(kind, groups) and len(groups) > 1:
            half = len(groups) // 2
            self._look_at(kind, groups[:half])
            self._look_at(kind, groups[half:])

    def _try(self, kind: HarmlessKind, groups: list[Group]) -> str:
        """Undo some edits if they are of a kind; return why they are not, or ""."""
        self._trials += 1
        some = [edit for group in groups for edit in group]
        every = [self._runs(at, some) for at in range(len(self._mills))]
        why = ""
        for runs, reading in zip(every, self._readings, strict=True):
            if why := _refused(kind, runs):
                # what is wrong however the programs are read needs no word about that
                other = why == OTHER or reading is self._readings[0]
                why = why if other else f"{why}{reading.name}"
                break
        if why:
            if len(groups) == 1 and why != OTHER:
                edit = some[-1]
                self._refused[edit] = replace(
                    self._told_of(kind, edit, edit), figure=f"{shown(groups[0])}: {why}"
                )
            return why
        at = 0
        for group in groups:
            figure = kind.figure(every[0], group, at)
            self._told.append(replace(self._told_of(kind, group[0], group[-1]), figure=figure))
            at += len(group)
        self._undone |= frozenset(some)
        for edit in some:
            self._refused.pop(edit, None)
        return ""

    def _runs(self, mill: int, some: list[HarmlessEdit]) -> ProgramRuns:
        now, now_side = self._side(self._undone, mill)
        was, was_side = self._side(self._undone | frozenset(some), mill)
        order = {edit: at for at, edit in enumerate(self._edits)}
        original = self._originals[mill]
        places = tuple((was.places[order[edit]], now.places[order[edit]]) for edit in some)
        return ProgramRuns(
            ProgramRun(was_side, original, self._mills[mill], self._job),
            ProgramRun(now_side, original, self._mills[mill], self._job),
            self._mills[mill],
            places,
        )

    def _side(self, undone: frozenset[HarmlessEdit], mill: int) -> tuple[Undone, Side]:
        if (undone, mill) not in self._sides:
            if len(self._sides) > 2 * len(self._mills):
                self._sides.clear()
            found = self._edits.undo(undone, self._bare.after.name)
            self._sides[undone, mill] = found, Side.of(found.text, self._mills[mill])
        return self._sides[undone, mill]

    def _told_of(self, kind: HarmlessKind, first: HarmlessEdit, last: HarmlessEdit) -> Obligation:
        """Return an obligation with the places of an edit in the full texts."""
        both = first, last
        old = [edit.hunk.before for edit in both if edit.old and edit.lost]
        old += [edit.hunk.before for edit in both if edit.old]
        new = [edit.hunk.after for edit in both if edit.new and edit.added]
        new += [edit.hunk.after for edit in both if edit.new]
        return Obligation(
            kind.name,
            holds=False,
            figure="",
            before=self._bare.block(0, old[0] if old else None),
            after=self._bare.block(1, new[0] if new else None),
        )

    def result(self) -> Harmless:
        """Return what was found."""
        if not self._undone:
            return Harmless(self._bare, refused=tuple(self._refused.values()))
        undone, _ = self._side(self._undone, 0)
        lines = self._bare.lines[0], self._bare.lines[1][undone.lines]
        bare = Bare(self._bare.before, undone.text, lines)
        return Harmless(bare, tuple(self._told), tuple(self._refused.values()))
