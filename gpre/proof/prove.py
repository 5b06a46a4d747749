"""The proof: from two texts, the profile and the job alone, that both make the same part.

Each obligation is looked at by a function of its own and gives a figure and a place. Those about
motion need the events of both programs to agree; where they do not, they count as not shown.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from gpre.geometry.too_dense import CrowdedError
from gpre.mill.job import Job
from gpre.mill.mill import Mill
from gpre.proof.cutting import cutting_path, same_holes, true_arcs
from gpre.proof.directions import Directions, cutting_direction
from gpre.proof.event_checks import left_alone, same_places, same_state
from gpre.proof.event_order import same_events
from gpre.proof.feeds import feeds
from gpre.proof.levels import level_order
from gpre.proof.metal.obligations import NAMES as STOCK_NAMES
from gpre.proof.metal.obligations import stock_obligations
from gpre.proof.modes_stated import modes_stated
from gpre.proof.moves import Verdicts
from gpre.proof.open_settings import readings, together
from gpre.proof.predicted import NAME as PREDICTED
from gpre.proof.proof import Obligation, Proof
from gpre.proof.ramps import ramps
from gpre.proof.sequence import cut_order, passes_kept
from gpre.proof.side import Pair, Side
from gpre.proof.stop_texts import stop_texts
from gpre.proof.take_up.carried import NAME as TABLE
from gpre.proof.take_up.carried import both_carry, same_table
from gpre.proof.take_up.obligations import NAMES as TAKE_UP_NAMES
from gpre.proof.take_up.obligations import TakeUpProof, carries_take_up
from gpre.proof.take_up.texts import kept_words
from gpre.proof.take_up.twist_left import leaves_twist, twist_left
from gpre.proof.texts import kept_comments, readable, same_form, untouched_blocks
from gpre.proof.travel import reversals, travel
from gpre.source.text import SourceText

PATH_NAMES = (
    "readable",
    "stops and switches",
    "text of stops",
    "comments",
    "untouched blocks",
    "line ends and layout",
    "modal codes set",
    "protected moves",
    "state",
    "position at stops",
    "cutting path",
    "arcs",
    "holes",
    "passes",
    "feed",
    "depth order",
    "level order",
    "cut order",
    "cutting direction",
    "entry moves",
    "ramps",
    "air moves",
    "travel",
    "reversals",
)
NAMES = (*PATH_NAMES, *STOCK_NAMES)
_AS_MOVED = {"reversals": ", as the table moves"}
OF_TEXTS: tuple[Callable[[Pair], Obligation], ...] = (
    readable,
    same_events,
    stop_texts,
    kept_comments,
    untouched_blocks,
    same_form,
    modes_stated,
)


def prove(
    before: SourceText,
    after: SourceText,
    mill: Mill | None = None,
    job: Job | None = None,
    *,
    stock: bool = True,
) -> Proof:
    """Prove that `after` makes the same part as `before`, as safely.

    Both texts are read and traced afresh. The proof knows nothing of how `after` came about. It is
    made for every way to read what the programs leave open (see `gpre.proof.open_settings`).
    stock: False looks at the paths alone, which is quicker; what it finds wrong is wrong, but what
    it lets through is not proved yet.
    """
    names = NAMES if stock else PATH_NAMES
    if before.data == after.data:
        return Proof(tuple(Obligation(name, holds=True, figure="same bytes") for name in names))
    job = job or Job()
    mill = (mill or Mill()).set_up_for(job)
    task = _Task(job, stock=stock)
    sides = Side.of(before, mill), Side.of(after, mill)
    first, *others = readings(*sides, mill)
    proofs = [(first, task.prove(*sides, mill))]
    for each in others:
        old, new = (Side.run(side.program, each.mill) for side in sides)
        proofs.append((each, task.prove(old, new, each.mill)))
    return together(proofs)


def _named(obligation: Obligation, more: str) -> Obligation:
    return replace(obligation, figure=obligation.figure + more)


@dataclass(frozen=True)
class _Task:
    """What is to be proved, for one way to read the programs after the other."""

    job: Job
    stock: bool

    def prove(self, before: Side, after: Side, mill: Mill) -> Proof:
        """Look at everything; what follows from nothing known counts as not shown."""
        pair = Pair(before, after, mill, self.job)
        if carries_take_up(pair) and leaves_twist(pair):
            plain = Pair(before, after, mill.without_twist(), self.job)
            obligations = (*self._take_ups(plain), twist_left(pair))
        elif carries_take_up(pair):
            obligations = self._take_ups(pair)
        else:
            of_texts = tuple(check(pair) for check in OF_TEXTS)
            of_motion = self._of_motion(pair, events=of_texts[1])
            obligations = (*of_texts, *of_motion)
            if both_carry(pair):  # in every reading, so that they can be put together
                compared = of_motion[0].holds
                why = "the moves could not be compared"
                obligations += (same_table(pair),) if compared else _not_shown((TABLE,), why)
        return Proof(obligations, len(pair.blocks.hunks))

    def _take_ups(self, pair: Pair) -> tuple[Obligation, ...]:
        """Prove what the table does; of the command itself what the controller reads of it."""
        of_texts = (
            readable(pair), same_events(pair), stop_texts(pair), kept_comments(pair),
            kept_words(pair), same_form(pair), modes_stated(pair),
        )  # fmt: skip
        if not of_texts[1].holds:
            rest = (*self._names, *TAKE_UP_NAMES)
            return (*of_texts, *_not_shown(rest, "the events differ"))
        take_ups = TakeUpProof(pair)
        table = Obligation(PREDICTED, holds=True, figure="what the table path says")
        own = (true_arcs(pair), table, take_ups.reversals())
        of_command = {each.name: each for each in own}
        of_table = self._of_motion(take_ups.seen, events=of_texts[1])
        of_motion = tuple(
            _named(of_command.get(each.name, each), _AS_MOVED.get(each.name, ""))
            for each in of_table
        )
        return (*of_texts, *of_motion, *take_ups.obligations())

    @property
    def _names(self) -> tuple[str, ...]:
        """The obligations that look at motion."""
        return (*PATH_NAMES[len(OF_TEXTS) :], *(STOCK_NAMES if self.stock else ()))

    def _of_motion(self, pair: Pair, events: Obligation) -> tuple[Obligation, ...]:
        if not events.holds:
            return _not_shown(self._names, "the events differ")
        alone = left_alone(pair)
        if not alone.holds:
            return (alone, *_not_shown(self._names[1:], "moves that must stay have changed"))
        try:
            verdicts = Verdicts(pair)
            directions = Directions.of(pair, verdicts.meeting)
            paths = _of_paths(pair, verdicts, directions)
        except CrowdedError:
            return _not_shown(self._names, "too many moves pass over the same place")
        return (alone, *paths, *(self._of_stock(pair, directions) if self.stock else ()))

    @staticmethod
    def _of_stock(pair: Pair, directions: Directions) -> tuple[Obligation, ...]:
        try:
            return stock_obligations(pair, directions)
        except CrowdedError:
            return _not_shown(STOCK_NAMES, "the metal is cut into too many chips to be followed")


def _of_paths(pair: Pair, verdicts: Verdicts, directions: Directions) -> tuple[Obligation, ...]:
    return (
        same_state(pair),
        same_places(pair),
        cutting_path(pair),
        true_arcs(pair),
        same_holes(pair),
        passes_kept(pair, verdicts.meeting),
        feeds(verdicts.meeting),
        verdicts.depth_order(),
        level_order(pair),
        cut_order(pair, verdicts.meeting),
        cutting_direction(pair, verdicts.meeting, directions),
        verdicts.ways_in(),
        ramps(verdicts.meeting),
        verdicts.air_moves(),
        travel(pair),
        reversals(pair),
    )


def _not_shown(names: tuple[str, ...], why: str) -> tuple[Obligation, ...]:
    return tuple(Obligation(name, holds=False, figure=f"not shown: {why}") for name in names)
