"""The proof: from two texts, the profile and the job alone, that both make the same part.

Each obligation is looked at by a function of its own and gives a figure and a place. Those about
motion need the events of both programs to agree; where they do not, they count as not shown.
"""

from __future__ import annotations

from collections.abc import Callable

from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.proof.cutting import cutting_path, same_holes
from gpre.proof.happenings import left_alone, same_events, same_places, same_state
from gpre.proof.levels import level_order
from gpre.proof.moves import Verdicts
from gpre.proof.proof import Obligation, Proof
from gpre.proof.room import reversals, travel
from gpre.proof.side import Pair, Side
from gpre.proof.texts import kept_comments, readable, same_form, untouched_blocks
from gpre.source.text import SourceText

NAMES = (
    "readable",
    "events",
    "comments",
    "untouched blocks",
    "form",
    "moves left alone",
    "state",
    "places of events",
    "cutting path",
    "holes",
    "feed",
    "depth order",
    "level order",
    "ways in",
    "air moves",
    "travel",
    "reversals",
)
OF_TEXTS: tuple[Callable[[Pair], Obligation], ...] = (
    readable,
    same_events,
    kept_comments,
    untouched_blocks,
    same_form,
)


def prove(
    before: SourceText, after: SourceText, mill: Mill | None = None, job: Job | None = None
) -> Proof:
    """Prove that `after` makes the same part as `before`, as safely.

    Both texts are read and traced afresh. The proof knows nothing of how `after` came about.
    """
    if before.data == after.data:
        return Proof(tuple(Obligation(name, holds=True, figure="same bytes") for name in NAMES))
    mill = mill or Mill()
    pair = Pair(Side.of(before, mill), Side.of(after, mill), mill, job or Job())
    of_texts = tuple(check(pair) for check in OF_TEXTS)
    if not of_texts[1].holds:
        return Proof((*of_texts, *_not_shown(NAMES[len(OF_TEXTS) :], "the events differ")))
    return Proof((*of_texts, *_of_motion(pair)))


def _of_motion(pair: Pair) -> tuple[Obligation, ...]:
    alone = left_alone(pair)
    if not alone.holds:
        rest = NAMES[len(OF_TEXTS) + 1 :]
        return (alone, *_not_shown(rest, "moves that must stay have changed"))
    verdicts = Verdicts(pair)
    return (
        alone,
        same_state(pair),
        same_places(pair),
        cutting_path(pair),
        same_holes(pair),
        verdicts.feeds(),
        verdicts.depth_order(),
        level_order(pair),
        verdicts.ways_in(),
        verdicts.air_moves(),
        travel(pair),
        reversals(pair),
    )


def _not_shown(names: tuple[str, ...], why: str) -> tuple[Obligation, ...]:
    return tuple(Obligation(name, holds=False, figure=f"not shown: {why}") for name in names)
