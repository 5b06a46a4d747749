"""What must hold at events, of what is in force, and of moves that nobody may touch."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gpre.geometry.matching import keys_of, whole
from gpre.geometry.tolerance import RESOLUTION
from gpre.motion.events import Event, EventKind
from gpre.motion.said import first_in_z
from gpre.proof.behind_stops import stated_behind_stops
from gpre.proof.event_order import named
from gpre.proof.planes import LEVEL, travel_planes
from gpre.proof.proof import Obligation, since_line
from gpre.proof.side import Bools, Floats, Ints, Pair, Side, force_of

# the tool may stand elsewhere when these happen, as long as it stands clear
_ANYWHERE_CLEAR = frozenset(
    (
        EventKind.END,
        EventKind.SPINDLE,
        EventKind.COOLANT,
        EventKind.MODE,
        EventKind.MESSAGE,
        EventKind.OFFSET,
        EventKind.PARAMETER,
    )
)

# behind these come moves that are not seen here, made with what is in force
_BLIND = frozenset((EventKind.HANDOVER, EventKind.UNKNOWN))


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
        return Obligation("places of events", holds=False, figure=figure, before=odd.block)
    for one, other in zip(*events, strict=True):
        if one.kind in _BLIND and (what := _other_modes(pair, one, other)):
            return Obligation(
                "places of events",
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
                "places of events",
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
                "places of events",
                holds=False,
                figure=f"at {named(one)} the tool stands {_far(here, there)} from where it stood"
                + more,
                before=one.block,
                after=other.block,
            )
    return stated_behind_stops(pair, "places of events") or Obligation(
        "places of events", holds=True, figure="the tool stands where it stood"
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
        """Tell whether both stand on or above the travel plane, or above the stock.

        The new place may not be the lower one: a tool drawn up at the end stays drawn up.
        """
        row = min(one.move, other.move) - 1
        was, lowest = _stands(self._pair.before, one)[2], _stands(self._pair.after, other)[2]
        if row < self._known_from or not lowest >= was - RESOLUTION:
            return False
        lowest = min(was, lowest)
        stock = self._pair.job.stock
        if stock is not None and lowest > stock.greatest[2] + LEVEL:
            return True
        plane = self._planes[self._pair.before.setup[one.move - 1]]
        return bool(lowest >= plane - RESOLUTION)


def _events(side: Side) -> tuple[Event, ...]:
    """Give the events, and one more where the program is not followed to its end."""
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
    """Give how a move is written and how fast it is; nothing where there is no such move."""
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
                    before=_block(pair.before, next(iter(there.values()), None)),
                    after=_block(pair.after, row),
                )
        for number, row in there.items():
            if number not in here:
                return Obligation(
                    "state",
                    holds=False,
                    figure="nothing is cut any more as it was cut here",
                    before=_block(pair.before, row),
                )
    return Obligation("state", holds=True, figure=f"the same in all {len(old)} sections that cut")


def _forces(side: Side, force: NDArray[np.int64]) -> dict[int, dict[int, int]]:
    """Give for each section what is in force at feed, with the first row of each."""
    rows = np.flatnonzero(side.motion.at_feed)
    pairs, first = np.unique(
        np.column_stack((side.section[rows], force[rows])), axis=0, return_index=True
    )
    result: dict[int, dict[int, int]] = {}
    for (section, number), at in zip(pairs.tolist(), first.tolist(), strict=True):
        result.setdefault(section, {})[number] = int(rows[at])
    return result


_FORCES = (
    "feed mode", "units", "compensation", "path mode", "tool length offset", "work system",
    "zero", "origin", "spindle speed", "spindle", "tool", "selected tool", "mist", "flood",
    "overrides",
)  # fmt: skip


def _difference(pair: Pair, old: int | None, new: int) -> str:
    if old is None:
        if not pair.after.motion.state_of(new).spindle_way:
            return "cuts with the spindle stopped, where the original cut nothing"
        return "cuts where the original cut nothing"
    one = force_of(pair.before.motion.state_of(old))
    other = force_of(pair.after.motion.state_of(new))
    for name, was, now in zip(_FORCES, one, other, strict=True):
        if was != now:
            return f"{name} was {was}, is {now}"
    return "cuts with something else in force"


def _block(side: Side, row: int | None) -> int | None:
    return None if row is None else int(side.motion.block[row])


def left_alone(pair: Pair) -> Obligation:
    """Show that moves of unknown place, of rotary axes or under compensation are as they were."""
    left, right = _alone(pair.before), _alone(pair.after)
    columns = [_whole(pair, side, rows) for side, rows in enumerate((left, right))]
    if columns[0].shape == columns[1].shape and (columns[0] == columns[1]).all():
        blocks = [
            [side.program.source.block_bytes(block) for block in _blocks(side, rows)]
            for side, rows in ((pair.before, left), (pair.after, right))
        ]
        if blocks[0] == blocks[1]:
            figure = f"{len(left)} such moves, all as they were"
            return Obligation("moves left alone", holds=True, figure=figure)
        first = next(
            (at for at, (a, b) in enumerate(zip(*blocks, strict=False)) if a != b),
            min(map(len, blocks)),
        )
        why = _why_alone(pair, left, first)
        return Obligation(
            "moves left alone",
            holds=False,
            figure=f"a block with a move that may not be touched ({why.text})"
            " is not the same bytes",
            before=_at(_blocks(pair.before, left), first),
            after=_at(_blocks(pair.after, right), first),
            since=why.since,
        )
    count = min(len(left), len(right))
    differs = np.flatnonzero((columns[0][:count] != columns[1][:count]).any(axis=1))
    first = int(differs[0]) if len(differs) else count
    why = _why_moves(pair, left, right, first)
    return Obligation(
        "moves left alone",
        holds=False,
        figure=f"a move that may not be touched has changed: {why.text}"
        + _other_feed(pair, left, right, first),
        before=_at(pair.before.motion.block[left].tolist(), first),
        after=_at(pair.after.motion.block[right].tolist(), first),
        since=why.since,
    )


class _Why(NamedTuple):
    """Why a move may not be touched; since: the block named in it, and of which program."""

    text: str
    since: tuple[int, int] | None = None


def _why_moves(pair: Pair, left: Ints, right: Ints, at: int) -> _Why:
    """Say why one of some moves of either program may not be touched."""
    if at < len(left):
        return _why(pair, 0, int(left[at]))
    return _why(pair, 1, int(right[at])) if at < len(right) else _Why("it is gone")


def _other_feed(pair: Pair, left: Ints, right: Ints, at: int) -> str:
    """Say how the feeds of two moves differ that go the same way, or ""."""
    if at >= min(len(left), len(right)):
        return ""
    old, new = pair.before.motion, pair.after.motion
    one, other = int(left[at]), int(right[at])
    same = np.allclose(old.end[one], new.end[other], rtol=0.0, atol=RESOLUTION, equal_nan=True)
    was, now = float(old.feed[one]), float(new.feed[other])
    both = old.at_feed[one] and new.at_feed[other]
    if not (same and both) or not abs(was - now) > RESOLUTION:
        return ""
    return f"; its feed was {was:.4g} mm/min, is {now:.4g} mm/min"


def _why_alone(pair: Pair, rows: Ints, at: int) -> _Why:
    """Say why the move of block `at` of some moves may not be touched."""
    block = pair.before.motion.block[rows]
    firsts = np.flatnonzero(np.concatenate(([True], block[1:] != block[:-1])))
    return _why(pair, 0, int(rows[firsts[min(at, len(firsts) - 1)]]))


def _why(pair: Pair, which: int, row: int) -> _Why:
    motion = (pair.before, pair.after)[which].motion
    for each in motion.unknown:
        if each.first <= row < each.last:
            axis, since = "XYZ"[each.axis], since_line(each.block)
            return _Why(f"{axis} is not known {since}, {each.reason}", (which, each.block))
    if motion.state_of(row).compensation != 40:
        return _Why("cutter radius compensation is on")
    if not np.isfinite(np.concatenate((motion.start[row], motion.end[row]))).all():
        return _Why("where it goes is not known")
    return _Why("a rotary axis turns in the program")


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


def _blocks(side: Side, rows: Ints) -> list[int]:
    """Give the blocks of some moves, each once where it makes several of them in a row."""
    block = side.motion.block[rows]
    if not len(block):
        return []
    new = np.concatenate(([True], block[1:] != block[:-1]))
    result: list[int] = block[new].tolist()
    return result


def _at(blocks: list[int], place: int) -> int | None:
    return blocks[place] if place < len(blocks) else None
