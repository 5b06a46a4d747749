"""What must hold at events, of what is in force, and of moves that nobody may touch."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.matching import keys_of, whole
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Effect, Event, EventKind, kinds
from gpre.motion.programmed import first_in_z
from gpre.program.items import plain_words
from gpre.program.program import Program
from gpre.program.words import MORE_THAN_WORDS
from gpre.proof.behind_stops import stated_behind_stops
from gpre.proof.boxed import boxed
from gpre.proof.event_order import named
from gpre.proof.in_force import difference
from gpre.proof.planes import travel_planes
from gpre.proof.proof import Obligation, since_line
from gpre.proof.side import Bools, Floats, Ints, Pair, Side, force_of

_ANYWHERE_CLEAR, _BLIND = kinds(Effect.CLEAR_ANYWHERE), kinds(Effect.HIDES_MOVES)


def same_places(pair: Pair) -> Obligation:
    """Show that the tool stands at the same place when something happens, or clear of the work.

    Before a stop, a tool change, a dwell, a probe or anything not understood it must stand where
    the original stood, and on an axis whose place is not known from there on; before the others it
    may stand elsewhere on or above the travel plane, or above the stock.
    """
    clear = _ClearOfWork(pair)
    events = _events(pair.before), _events(pair.after)
    if len(events[0]) != len(events[1]):
        odd = max(events, key=len)[-1]
        figure = "only one of the two is followed to its end"
        return Obligation("position at stops", holds=False, figure=figure, before=odd.block)
    for one, other in zip(*events, strict=True):
        if one.kind in _BLIND and (what := _other_modes(pair, one, other)):
            return Obligation(
                "position at stops",
                holds=False,
                figure=f"at {named(one)} another {what} is in force",
                before=one.block,
                after=other.block,
            )
        here, there = _stands(pair.before, one), _stands(pair.after, other)
        if np.allclose(here, there, rtol=0.0, atol=RESOLUTION, equal_nan=True):
            continue
        lost = _lost(pair.before, one) & ~(np.abs(here - there) <= RESOLUTION)
        if lost.any():
            axes = " and ".join("XYZ"[axis] for axis in np.flatnonzero(lost).tolist())
            return Obligation(
                "position at stops",
                holds=False,
                figure=f"from {named(one)} on {axes} is not known, and the tool stands"
                f" {_far(here, there)} from where it stood",
                before=one.block,
                after=other.block,
            )
        zero = _sets_unknown_zero(pair.before, one)
        if zero or one.kind not in _ANYWHERE_CLEAR or not clear.both(one, other):
            more = ", and the zero that it sets is not known" if zero else ""
            return Obligation(
                "position at stops",
                holds=False,
                figure=f"at {named(one)} the tool stands {_far(here, there)} from where it stood"
                + more,
                before=one.block,
                after=other.block,
            )
    return stated_behind_stops(pair, "position at stops") or Obligation(
        "position at stops", holds=True, figure="the tool stands where it stood"
    )


def _lost(side: Side, event: Event) -> Bools:
    """(3,): the axes whose place is known when something happens, and not known from then on."""
    motion = side.motion
    if event.move >= len(motion):
        return np.zeros(3, bool)
    result: Bools = np.isfinite(_stands(side, event)) & np.isnan(motion.start[event.move])
    return result


def _sets_unknown_zero(side: Side, event: Event) -> bool:
    """Return whether G92 or G10 sets a zero of which nothing but the tool's place tells."""
    motion = side.motion
    if event.kind is not EventKind.OFFSET or not event.value.startswith(("G92", "G10")):
        return False
    return event.move < len(motion) and not np.isfinite(motion.state_of(event.move).origin).all()


class _ClearOfWork:
    """Tells whether the tool stands clear in both programs when something happens."""

    def __init__(self, pair: Pair) -> None:
        self._pair = pair
        self._planes = travel_planes(pair.before, pair.job)
        # before the first move in Z the height is only assumed
        self._known_from = max(first_in_z(pair.before.motion), first_in_z(pair.after.motion))

    def both(self, one: Event, other: Event) -> bool:
        """Return whether both stand on or above the travel plane, or above the stock.

        The new place may not be the lower one: a tool drawn up at the end stays drawn up.
        """
        row = min(one.move, other.move) - 1
        was, lowest = _stands(self._pair.before, one)[2], _stands(self._pair.after, other)[2]
        if row < self._known_from or not lowest >= was - RESOLUTION:
            return False
        lowest = min(was, lowest)
        stock = self._pair.job.stock
        if stock is not None and boxed(self._pair) and lowest > stock.max[2] + RESOLUTION:
            return True
        plane = self._planes[self._pair.before.setup[one.move - 1]]
        return bool(lowest >= plane - RESOLUTION)


def _events(side: Side) -> tuple[Event, ...]:
    """Return the events, and one more where the program is not followed to its end."""
    motion = side.motion
    ended = any(event.kind is EventKind.END for event in motion.events)
    if ended or motion.followed_to >= len(side.program):
        return motion.events
    lost = Event(EventKind.HANDOVER, motion.followed_to, len(motion), "not followed any further")
    return (*motion.events, lost)


def _other_modes(pair: Pair, one: Event, other: Event) -> str:
    """Name what differs in force around an event behind which unknown moves may come, or ""."""
    for step in (-1, 0):
        old, new = _form(pair.before, one.move + step), _form(pair.after, other.move + step)
        if old and new:
            for name, value in old.items():
                if new[name] != value:
                    return name
    return ""


def _form(side: Side, row: int) -> dict[str, float]:
    """Return how a move is written and how fast it is; nothing where there is no such move."""
    if not 0 <= row < len(side.motion):
        return {}
    state = side.motion.state_of(row)
    return {
        "motion code": state.motion,
        "G90 or G91": state.distance,
        "centre mode": state.arc_distance,
        "retract mode": state.retract,
        "plane": int(side.motion.plane[row]),
        "feed": round(float(np.nan_to_num(side.motion.feed[row])), 3),
    }


def _stands(side: Side, event: Event) -> Floats:
    place: Floats = np.array(side.begins)
    if event.move:
        place = side.motion.end[event.move - 1]
    return place


def _far(here: Floats, there: Floats) -> str:
    far = float(np.linalg.norm(here - there))
    return f"{far:.4f} mm" if np.isfinite(far) else "an unknown way"


def same_state(pair: Pair) -> Obligation:
    """Show that each section cuts with the same in force: tool, speed, coolant, offsets, units."""
    old, new = (
        _forces(side, force)
        for side, force in zip((pair.before, pair.after), pair.forces, strict=True)
    )
    for section in sorted(old.keys() | new.keys()):
        there, here = old.get(section, {}), new.get(section, {})
        for number, row in here.items():
            if number not in there:
                what = _difference(pair, next(iter(there.values()), None), row)
                return Obligation(
                    "state",
                    holds=False,
                    figure=what,
                    before=pair.before.block_of(next(iter(there.values()), None)),
                    after=pair.after.block_of(row),
                )
        for number, row in there.items():
            if number not in here:
                return Obligation(
                    "state",
                    holds=False,
                    figure="nothing is cut any more as it was cut here",
                    before=pair.before.block_of(row),
                )
    sections = "the one section that cuts" if len(old) == 1 else f"all {len(old)} sections that cut"
    return Obligation("state", holds=True, figure=f"the same in {sections}")


def _forces(side: Side, force: NDArray[np.int64]) -> dict[int, dict[int, int]]:
    """Return for each section what is in force at feed, with the first row of each."""
    rows = np.flatnonzero(side.motion.at_feed)
    pairs, first = np.unique(
        np.column_stack((side.section[rows], force[rows])), axis=0, return_index=True
    )
    result: dict[int, dict[int, int]] = {}
    for (section, number), at in zip(pairs.tolist(), first.tolist(), strict=True):
        result.setdefault(section, {})[number] = int(rows[at])
    return result


def _difference(pair: Pair, old: int | None, new: int) -> str:
    if old is None:
        if not pair.after.motion.state_of(new).spindle_way:
            return "cuts with the spindle stopped, where the original cut nothing"
        return "cuts where the original cut nothing"
    states = pair.before.motion.state_of(old), pair.after.motion.state_of(new)
    return difference(*states) or "cuts with something else in force"


def left_alone(pair: Pair) -> Obligation:
    """Show that moves of unknown place, of rotary axes or under compensation are as they were.

    Each is made by a block of the same bytes, or of the same words apart from those that events
    and what is in force show.
    """
    left, right = _alone(pair.before), _alone(pair.after)
    columns = [_whole(pair, side, rows) for side, rows in enumerate((left, right))]
    if columns[0].shape == columns[1].shape and (columns[0] == columns[1]).all():
        firsts = [_firsts(side, rows) for side, rows in ((pair.before, left), (pair.after, right))]
        first = next(
            (
                at
                for at, (one, other) in enumerate(zip(*firsts, strict=False))
                if not _same_block(pair, one, other)
            ),
            min(map(len, firsts)),
        )
        if first == len(firsts[0]) == len(firsts[1]):
            figure = f"{len(left)} such moves, all as they were"
            return Obligation(_ALONE, holds=True, figure=figure)
        return _changed(pair, _at(firsts[0], first), _at(firsts[1], first), _IN_BLOCK)
    count = min(len(left), len(right))
    differs = np.flatnonzero((columns[0][:count] != columns[1][:count]).any(axis=1))
    first = int(differs[0]) if len(differs) else count
    return _changed(pair, _at(left.tolist(), first), _at(right.tolist(), first), _CHANGED)


_ALONE = "protected moves"
_IN_BLOCK = "a block with a move that may not be touched says something else: {}"
_CHANGED = "a move that may not be touched has changed: {}"


def _changed(pair: Pair, one: int | None, other: int | None, text: str) -> Obligation:
    """Say that a move of both programs, or of one, is no longer what it was, and why it must be."""
    why, since = "it is gone", None
    if one is not None and other is not None and _force_differs(pair, one, other):
        text, why = "{}", _difference(pair, one, other)
    elif one is not None:
        why, since = _why(pair, 0, one)
    elif other is not None:
        why, since = _why(pair, 1, other)
    return Obligation(
        _ALONE,
        holds=False,
        figure=text.format(why) + _other_feed(pair, one, other),
        before=pair.before.block_of(one),
        after=pair.after.block_of(other),
        since=since,
    )


def _force_differs(pair: Pair, one: int, other: int) -> bool:
    return force_of(pair.before.motion.state_of(one)) != force_of(pair.after.motion.state_of(other))


def _other_feed(pair: Pair, one: int | None, other: int | None) -> str:
    """Say how the feeds of two moves differ that go the same way, or ""."""
    if one is None or other is None:
        return ""
    old, new = pair.before.motion, pair.after.motion
    same = np.allclose(old.end[one], new.end[other], rtol=0.0, atol=RESOLUTION, equal_nan=True)
    was, now = float(old.feed[one]), float(new.feed[other])
    both = old.at_feed[one] and new.at_feed[other]
    if not (same and both) or not abs(was - now) > RESOLUTION:
        return ""
    return f"; its feed was {was:.4g} mm/min, is {now:.4g} mm/min"


def _why(pair: Pair, which: int, row: int) -> tuple[str, tuple[int, int] | None]:
    """Say why a move may not be touched, and since which block of which program."""
    motion = (pair.before, pair.after)[which].motion
    for each in motion.unknown:
        if each.first <= row < each.last:
            text = f"{'XYZ'[each.axis]} is not known {since_line(each.block)} ({each.reason})"
            return text, (which, each.block)
    if motion.state_of(row).compensation != 40:
        return "cutter radius compensation is on", None
    if not np.isfinite(np.concatenate((motion.start[row], motion.end[row]))).all():
        return "where it goes is not known", None
    return "a rotary axis turns in the program", None


def _firsts(side: Side, rows: Ints) -> list[int]:
    """Return the first move of each block that makes some moves, once for several in a row."""
    block = side.motion.block[rows]
    if not len(block):
        return []
    result: list[int] = rows[np.concatenate(([True], block[1:] != block[:-1]))].tolist()
    return result


def _same_block(pair: Pair, one: int, other: int) -> bool:
    """Return whether the blocks of two moves say the same of the moves that they make."""
    sides = (pair.before, one), (pair.after, other)
    texts = [side.program.source.block_bytes(int(side.motion.block[row])) for side, row in sides]
    if texts[0] == texts[1]:
        return True
    if any(side.motion.state_of(row).compensation != 40 for side, row in sides):
        return False
    own = [_own_words(side.program, int(side.motion.block[row])) for side, row in sides]
    return own[0] is not None and own[0] == own[1]


def _own_words(program: Program, block: int) -> list[tuple[str, float]] | None:
    """Return what a block says that no event and nothing in force shows; None: more than words."""
    if program.blocks.flags[block] & MORE_THAN_WORDS:
        return None
    (words,) = plain_words(program, block, block + 1)
    return sorted(
        (letter, value)
        for letter, value in words
        if letter not in "MSTF" and (letter != "G" or round(value * 10.0) not in _IN_FORCE)
    )


# G codes times ten that stay in force, or that an event tells
_IN_FORCE = frozenset(
    (
        *(0, 10, 170, 180, 190, 200, 210, 540, 550, 560, 570, 580, 590, 591, 592, 593),
        *(610, 611, 640, 900, 901, 910, 911, 940, 980, 990),
    )
)  # fmt: skip


def _alone(side: Side) -> Ints:
    return np.flatnonzero(~side.ordinary)


def _whole(pair: Pair, which: int, rows: Ints) -> NDArray[np.int64]:
    side = (pair.before, pair.after)[which]
    motion = side.motion
    forms = [
        hash((s.motion, s.distance, s.arc_distance, s.retract)) % (1 << 40) for s in motion.states
    ]
    keys = keys_of(motion, motion.kind.astype(np.int64), side.section.astype(np.int64))
    # a rapid only carries the feed along
    feed = whole(np.where(motion.at_feed, np.nan_to_num(motion.feed, nan=-1.0), -1.0) * 1e3)
    rotary = motion.rotary if len(motion.rotary) else np.zeros((len(motion), 6))
    turns = whole(np.nan_to_num(rotary, nan=1e6) * 1e6)
    result: NDArray[np.int64] = np.column_stack(
        (keys, pair.forces[which], side.of_state(forms), feed, turns)
    )[rows]
    return result


def _at(rows: list[int], place: int) -> int | None:
    return rows[place] if place < len(rows) else None
