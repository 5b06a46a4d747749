"""The proof: from two texts, the profile and the job alone, that both make the same part.

Each obligation is looked at by a function of its own and gives a figure and a place. Those about
motion need the events of both programs to agree; where they do not, they count as not shown.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from gpre.geometry.region import CrowdedError
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.program.read import read
from gpre.program.words import BlockFlag
from gpre.proof.cutting import cutting_path, same_holes, true_arcs
from gpre.proof.happenings import left_alone, same_events, same_places, same_state
from gpre.proof.levels import level_order
from gpre.proof.moves import Verdicts
from gpre.proof.proof import Obligation, Proof
from gpre.proof.room import reversals, travel
from gpre.proof.sequence import cut_order, passes_kept
from gpre.proof.side import Pair, Side
from gpre.proof.take_up.obligations import NAMES as TAKE_UP_NAMES
from gpre.proof.take_up.obligations import TakeUps, carries_take_up
from gpre.proof.take_up.texts import kept_words
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
    "arcs",
    "holes",
    "passes",
    "feed",
    "depth order",
    "level order",
    "cut order",
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
    mill, job = mill or Mill(), job or Job()
    first = _prove(before, after, mill, job)
    if not any(_switched(text) for text in (before, after)):
        return first
    # the operator may turn the block delete switch: it must hold either way
    switch = mill.controller.block_delete
    controller = replace(mill.controller, block_delete=not switch)
    other = _prove(before, after, replace(mill, controller=controller), job)
    way = "off" if switch else "on"
    return Proof(
        tuple(
            one if two.holds or not one.holds else _named(two, f" (block delete {way})")
            for one, two in zip(first.obligations, other.obligations, strict=True)
        )
    )


def _switched(text: SourceText) -> bool:
    """Tell whether a text has blocks that a switch on the controller skips."""
    return bool(np.any(read(text).blocks.flags & int(BlockFlag.DELETE)))


def _named(obligation: Obligation, more: str) -> Obligation:
    return replace(obligation, figure=obligation.figure + more)


def _prove(before: SourceText, after: SourceText, mill: Mill, job: Job) -> Proof:
    pair = Pair(Side.of(before, mill), Side.of(after, mill), mill, job)
    if carries_take_up(pair):
        return _prove_take_ups(pair)
    of_texts = tuple(check(pair) for check in OF_TEXTS)
    if not of_texts[1].holds:
        return Proof((*of_texts, *_not_shown(NAMES[len(OF_TEXTS) :], "the events differ")))
    try:
        return Proof((*of_texts, *_of_motion(pair)))
    except CrowdedError:
        rest = NAMES[len(OF_TEXTS) :]
        return Proof((*of_texts, *_not_shown(rest, "too many moves pass over the same place")))


def _prove_take_ups(pair: Pair) -> Proof:
    """Prove what the table does; of the command itself only what the controller reads of it."""
    of_texts = (
        readable(pair), same_events(pair), kept_comments(pair), kept_words(pair), same_form(pair),
    )  # fmt: skip
    rest = (*NAMES[len(OF_TEXTS) :], *TAKE_UP_NAMES)
    if not of_texts[1].holds:
        return Proof((*of_texts, *_not_shown(rest, "the events differ")))
    take_ups = TakeUps(pair)
    commanded = {each.name: each for each in (true_arcs(pair), reversals(pair))}
    try:
        of_table = _of_motion(take_ups.seen)
    except CrowdedError:
        return Proof((*of_texts, *_not_shown(rest, "too many moves pass over the same place")))
    of_motion = tuple(commanded.get(each.name, each) for each in of_table)
    return Proof((*of_texts, *of_motion, *take_ups.obligations()))


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
        true_arcs(pair),
        same_holes(pair),
        passes_kept(pair, verdicts.meeting),
        verdicts.feeds(),
        verdicts.depth_order(),
        level_order(pair),
        cut_order(pair, verdicts.meeting),
        verdicts.ways_in(),
        verdicts.air_moves(),
        travel(pair),
        reversals(pair),
    )


def _not_shown(names: tuple[str, ...], why: str) -> tuple[Obligation, ...]:
    return tuple(Obligation(name, holds=False, figure=f"not shown: {why}") for name in names)
