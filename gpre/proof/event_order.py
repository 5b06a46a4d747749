"""The same happens in the same order, and what is new, gone or changed is named as such."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from gpre.motion.events import Event, EventKind
from gpre.proof.blocks import BlockPairs, compare_blocks, fill_between
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair

NAME = "stops and switches"

# where one of these and something else trade places, it is the one that has moved
_LESSER = tuple(
    kind.value.encode() for kind in (EventKind.COOLANT, EventKind.SPINDLE, EventKind.DWELL)
)
_GONE = {
    "M3": "the spindle is not started here",
    "M4": "the spindle is not started here",
    "M5": "the spindle is not stopped here",
    "M7": "no mist coolant from here on",
    "M8": "no flood coolant from here on",
    "M9": "the coolant is not turned off here",
    "M0": "the operator is not stopped here",
    "M1": "the operator is not stopped here",
}
_NEW = {
    "M3": "the spindle is started here",
    "M4": "the spindle is started here, counter-clockwise",
    "M5": "the spindle is stopped here",
    "M7": "mist coolant from here on",
    "M8": "flood coolant from here on",
    "M9": "the coolant is turned off here",
}
_BECAME = {
    ("M0", "M1"): "it stops only where the switch for optional stops is on",
    ("M1", "M0"): "it stops every time, not only with the switch for optional stops on",
    ("G20", "G21"): "lengths and feeds after it are read in the other unit",
    ("G21", "G20"): "lengths and feeds after it are read in the other unit",
}
_LENGTHS = ("G43", "G49")
_TURNS = {"M3": 1, "M4": -1, "M5": 0}


def events_in_common(pair: Pair) -> BlockPairs:
    """Return how the events of both programs fit together: the same ones, and what differs.

    Where that is open, as for one of several M9 that is gone, the blocks that are the same decide.
    """
    old, new = pair.before.motion.events, pair.after.motion.events
    keys = [[each.key for each in some] for some in (old, new)]
    if keys[0] == keys[1]:
        return compare_blocks(*keys)
    same = pair.blocks.same
    left = {one: at for at, (one, _) in enumerate(same)}
    right = {other: at for at, (_, other) in enumerate(same)}
    placed = [
        [key + b"@%d" % number.get(event.block, none) for key, event in zip(*each, strict=True)]
        for number, none, each in (
            (left, -1, (keys[0], old)), (right, -2, (keys[1], new)),
        )
    ]  # fmt: skip
    anchors = compare_blocks(*placed).same
    return fill_between(anchors, keys[0], keys[1], lambda key: key.startswith(_LESSER))


def same_events(pair: Pair) -> Obligation:
    """Show that the same happens in the same order: tools, stops, offsets, spindle, coolant ..."""
    old, new = pair.before.motion.events, pair.after.motion.events
    hunks = events_in_common(pair).hunks
    if not hunks:
        return Obligation(NAME, holds=True, figure=f"all {len(old)} in their order")
    first, end, at, at_end = hunks[0]
    one = old[first] if first < end else None
    other = new[at] if at < at_end else None
    figure = _difference(one, other)
    # only where nothing else is gone or new: an event may be left out since another does it too
    moved = _kinds(old) == _kinds(new)
    if moved and one is not None and other is None:
        added = (new[each] for hunk in hunks for each in range(*hunk[2:]))
        if (other := _alike(one, added)) is not None:
            figure = f"{named(one)} comes later than it did"
    elif moved and other is not None and one is None:
        lost = (old[each] for hunk in hunks for each in range(*hunk[:2]))
        if (one := _alike(other, lost)) is not None:
            figure = f"{named(other)} comes earlier than it did"
    return Obligation(
        NAME,
        holds=False,
        figure=figure,
        before=None if one is None else one.block,
        after=None if other is None else other.block,
    )


def _kinds(events: Iterable[Event]) -> Counter[tuple[EventKind, str]]:
    return Counter((event.kind, event.value) for event in events)


def _alike(event: Event, some: Iterable[Event]) -> Event | None:
    """Return the first of some events that is the same at another place, or None."""
    fit = (each for each in some if (each.kind, each.value) == (event.kind, event.value))
    return next(fit, None)


def _difference(one: Event | None, other: Event | None) -> str:
    """Say what one event has become; None: it is not there."""
    if one is None or other is None:
        there = one or other
        if there is None:
            return ""
        more = (_GONE if one else _NEW).get(there.value, "")
        return f"{named(there)} is {'gone' if one else 'new'}" + (f": {more}" if more else "")
    if one.kind is not other.kind:
        return f"{_difference(one, None)}; {_difference(None, other)}"
    why = _why(one, other)
    return f"{named(one)} became {_value(other)}" + (f": {why}" if why else "")


def named(event: Event) -> str:
    """Return an event as a machinist names it."""
    value = event.value
    if event.kind is EventKind.DWELL:
        return f"a dwell of {value} s"
    if event.kind is EventKind.MESSAGE:
        return f'the message "{value}"'
    if event.kind is EventKind.TOOL_CHANGE:
        return f"the tool change to {value}"
    if event.kind is EventKind.HOME:
        return f"the move home {value}"
    if event.kind in {EventKind.STOP, EventKind.END, EventKind.SPINDLE, EventKind.COOLANT}:
        return value
    if event.kind is EventKind.OFFSET:
        return f"{'length' if value.startswith(_LENGTHS) else 'work'} offset {value}"
    return f"{event.kind.value} {value}".strip()


def _value(event: Event) -> str:
    if event.kind is EventKind.MESSAGE:
        return f'"{event.value}"'
    return f"{event.value} s" if event.kind is EventKind.DWELL else event.value


def _why(one: Event, other: Event) -> str:
    """Say why it matters that an event became another of its kind."""
    kind, was, now = one.kind, one.value, other.value
    if kind is EventKind.SPINDLE:
        return _of_spindle(was, now)
    if kind is EventKind.TOOL_CHANGE:
        return "another cutter makes the cuts after it"
    if kind is EventKind.COOLANT:
        return _NEW.get(now, "")
    if kind is EventKind.OFFSET:
        lengths = was.startswith(_LENGTHS), now.startswith(_LENGTHS)
        if all(lengths):
            return "the tool stands higher or lower by what the two lengths differ"
        return "" if any(lengths) else "what comes after it is cut at another place"
    return _BECAME.get((was, now), "")


def _of_spindle(was: str, now: str) -> str:
    if was in _TURNS and now in _TURNS:
        if not _TURNS[now]:
            return "the spindle is stopped"
        return "the spindle turns the other way round" if _TURNS[was] else "the spindle runs"
    if not (was.startswith("S") and now.startswith("S")):
        return ""
    old, new = float(was[1:]), float(now[1:])
    if new == 0.0:
        return "the spindle does not turn"
    if old == 0.0:
        return "the spindle turns"
    return (
        f"{new / old:.3g} times; so is the cutting speed, and at the same feed the material per "
        f"tooth is {old / new:.3g} times what it was"
    )
