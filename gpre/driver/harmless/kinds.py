"""What a harmless edit is: how it looks, what must be true of it, and how it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from gpre.driver.harmless.edits import DWELL_CODE, HarmlessEdit
from gpre.driver.harmless.runs import ProgramRuns

Group = tuple[HarmlessEdit, ...]

OTHER = "another edit"  # it only looks like one of this kind: nothing is said of it


@dataclass(frozen=True)
class HarmlessKind:
    """One kind of edit that does no harm.

    name: as the proof names it. groups: picks, by their words alone, the edits that could be of
    this kind; those that are one only together form a group. refused: says why they are not, looked
    at in what both programs really do; "" where they are, OTHER where it goes without saying.
    figure: says what was done by the edit at some place of `Runs.places`, for people.
    """

    name: str
    groups: Callable[[Sequence[HarmlessEdit]], list[Group]]
    refused: Callable[[ProgramRuns], str]
    figure: Callable[[ProgramRuns, Group, int], str]


def one_by_one(
    fits: Callable[[HarmlessEdit], bool],
) -> Callable[[Sequence[HarmlessEdit]], list[Group]]:
    """Return a choice of single edits."""
    return lambda edits: [(edit,) for edit in edits if edit.plain and fits(edit)]


def has_stray_seconds(edit: HarmlessEdit) -> bool:
    """Return whether a new block has a P word and no G4 that it belongs to."""
    return any(
        DWELL_CODE not in words and any(letter == "P" for letter, _ in words) for words in edit.new
    )


def shown(group: Group) -> str:
    """Return what edits do to the words of the program, for people."""
    lost = _texts(word for edit in group for word in edit.lost)
    added = _texts(word for edit in group for word in edit.added)
    if lost and added:
        return f"{lost} became {added}"
    return f"{added} is new" if added else f"{lost} is gone" if lost else "words in another order"


def _texts(words: Iterable[tuple[str, float]]) -> str:
    return " ".join(f"{letter}{value:g}" for letter, value in words)
