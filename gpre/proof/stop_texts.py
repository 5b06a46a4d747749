"""What the operator reads at a stop must stay: he does what it says while the program waits."""

from __future__ import annotations

import numpy as np

from gpre.motion.events import Event, EventKind
from gpre.program.operator_text import messages, plain, shown, text_blocks, texts_of
from gpre.program.words import BlockFlag
from gpre.proof.blocks import compare_blocks
from gpre.proof.event_order import events_in_common
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair, Side

NAME = "text of stops"


def stop_texts(pair: Pair) -> Obligation:
    """Show that each stop says what it said, and that every message is still given.

    The text of a stop is what `text_blocks` finds. Blanks and case do not count. A stop that is
    new or gone is for the events to show.
    """
    sides = pair.before, pair.after
    texts = [_texts(side) for side in sides]
    old, new = (side.motion.events for side in sides)
    stops = 0
    for one, other in events_in_common(pair).same:
        if not _is_stop(old[one]):
            continue
        stops += 1
        was, now = texts[0][old[one].block], texts[1][new[other].block]
        if plain(was) != plain(now):
            return Obligation(
                NAME,
                holds=False,
                figure=f"at {old[one].value} the operator read {_read(was)}, now {_read(now)}",
                before=old[one].block,
                after=new[other].block,
            )
    return _same_messages(pair, stops)


def _is_stop(event: Event) -> bool:
    """Return whether an event is M0, M1 or M60; G88 stops without a text."""
    return event.kind is EventKind.STOP and event.value.startswith("M")


def _texts(side: Side) -> dict[int, list[str]]:
    """Return the text at the block of each stop."""
    stops = {event.block for event in side.motion.events if _is_stop(event)}
    blocks = text_blocks(side.program, sorted(stops))
    return {
        stop: [text for block in spoken for text in texts_of(side.program, block)]
        for stop, spoken in blocks.items()
    }


def _read(texts: list[str]) -> str:
    return f'"{shown(texts)}"' if texts else "nothing"


def _same_messages(pair: Pair, stops: int) -> Obligation:
    """Show that the messages are the same ones; those of the standard are events as well."""
    said = [_messages(side) for side in (pair.before, pair.after)]
    keys = [[plain([text]).encode() for text, _ in each] for each in said]
    hunks = compare_blocks(*keys).hunks
    if not hunks:
        figure = f"{stops} stops and {len(said[0])} messages say what they said"
        return Obligation(NAME, holds=True, figure=figure)
    first, end, at, at_end = hunks[0]
    one = said[0][first] if first < end else None
    other = said[1][at] if at < at_end else None
    was = f'the message "{shown([one[0]])}"' if one else ""
    now = f'"{shown([other[0]])}"' if other else ""
    if one and other:
        figure = f"{was} became {now}"
    else:
        figure = f"{was} is gone" if one else f"the message {now} is new"
    return Obligation(
        NAME,
        holds=False,
        figure=figure,
        before=one[1] if one else None,
        after=other[1] if other else None,
    )


def _messages(side: Side) -> list[tuple[str, int]]:
    """Return every message with its block."""
    flags = side.program.blocks.flags
    spoken = (flags & int(BlockFlag.COMMENT | BlockFlag.OUTSIDE)) == int(BlockFlag.COMMENT)
    return [
        (text, block)
        for block in np.flatnonzero(spoken).tolist()
        for text in messages(side.program, block)
    ]
