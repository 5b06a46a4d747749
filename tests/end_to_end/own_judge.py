"""Says whether a change to a program is damage, from what mills do; shares no code with gpre.

Both programs run on each mill (`own_mills`). Where they do not do the same, the steps that both
have at their beginning and end are put aside, and what is left between is judged: the cuts must be
there in their order and direction, no faster; what is new must stay in the air, where the original
itself goes at rapid. On one mill it is harmless is not enough: it must be so on every one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from own_clear import AIR, BESIDE, NEAR, OVER, Clear, Stock, covered, low_part
from own_machine import run
from own_mills import Machine, Point
from own_steps import Event, Force, Move, Step

SLOWEST = 0.01  # of the original's feed: below it the cutter rubs

SAME = "the same motion on every mill"
SLOWER = "lower feed"
AT_FEED = "rapid made at feed"
SWITCHED = "coolant or spindle switched elsewhere, clear of the work"
AGAIN = "cuts again what is cut already"
ELSEWHERE = "happens elsewhere, clear of the work"
BITES = "smaller bites of the same hole"
RAMP = "a helix as steep as its tool may go down"
STOP = "a stop more, where the tool is clear"
DWELL = "a dwell more or less, where the tool is clear"
CLASSES = (
    SAME,
    SLOWER,
    AT_FEED,
    SWITCHED,
    AIR,
    OVER,
    BESIDE,
    BITES,
    RAMP,
    AGAIN,
    ELSEWHERE,
    STOP,
    DWELL,
)

_MORE = {"stop M0": STOP, "stop M1": STOP, "dwell": DWELL}


@dataclass(frozen=True)
class Judgement:
    """harmless: the class of a change that does no harm, or "". damage: what is wrong, or ""."""

    harmless: str = ""
    damage: str = ""


def judge(
    before: bytes,
    after: bytes,
    mills: Sequence[Machine],
    stock: Stock | None = None,
    original: bytes = b"",
) -> Judgement:
    """Run both programs on all mills.

    stock: where it and the tools are known. original: what `before` was rewritten from; where that
    one goes at rapid is clear as well.
    """
    worst = SAME
    for number, mill in enumerate(mills):
        steps = run(before, mill)
        clear = Clear([*steps, *run(original, mill)] if original else steps, stock)
        found = _on(steps, run(after, mill), clear)
        if found.damage:
            return replace(found, damage=f"{found.damage} (mill {number})")
        worst = max(worst, found.harmless, key=CLASSES.index)
    return Judgement(worst)


def _on(before: list[Step], after: list[Step], clear: Clear) -> Judgement:
    old, new = joined(before), joined(after)
    ranks: list[str] = []
    first = 0
    while first < min(len(old), len(new)) and (name := alike(old[first], new[first], clear)):
        ranks.append(name)
        first += 1
    last = 0
    while last < min(len(old), len(new)) - first and (
        name := alike(old[-1 - last], new[-1 - last], clear)
    ):
        ranks.append(name)
        last += 1
    middle = old[first : len(old) - last], new[first : len(new) - last]
    if middle != ([], []):
        found = _between(*middle, new[:first], clear)
        if found.damage:
            return found
        ranks.append(found.harmless)
    return Judgement(max(ranks, key=CLASSES.index, default=SAME))


def joined(steps: list[Step]) -> list[Step]:
    """Leave out moves of no length; join straight moves that go on, and the bites of a hole."""
    result: list[Step] = []
    for step in steps:
        if isinstance(step, Move) and _length(step) < NEAR / 10.0:
            continue
        before = result[-1] if result else None
        if isinstance(step, Move) and isinstance(before, Move) and _goes_on(before, step):
            result[-1] = replace(before, path=(before.path[0], step.path[-1]))
            continue
        if isinstance(step, Move) and step.cycle and not step.rapid:
            step = _with_bites(result, step)  # noqa: PLW2901
        result.append(step)
    return result


def _with_bites(done: list[Step], bite: Move) -> Move:
    """Join a way down in a hole to those before it, which leave `done` with the ways between."""
    top, bottom = bite.path[0], bite.path[-1]
    last = len(done) - 1
    while last >= 0 and _in_hole(done[last], bottom) and done[last].rapid:  # type: ignore[union-attr]
        last -= 1
    first = done[last] if last >= 0 else bite
    if not isinstance(first, Move) or first is bite or not _in_hole(first, bottom):
        return replace(bite, bite=top[2] - bottom[2])
    if first.feed != bite.feed or first.force != bite.force or first.path[-1][2] < bottom[2]:
        return replace(bite, bite=top[2] - bottom[2])
    del done[last:]
    deepest = max(first.bite, first.path[-1][2] - bottom[2])
    return replace(first, path=(first.path[0], bottom), bite=deepest)


def _in_hole(step: Step, place: Point) -> bool:
    return (
        isinstance(step, Move)
        and step.cycle
        and all(math.dist(each[:2], place[:2]) <= NEAR for each in step.path)
    )


def _length(move: Move) -> float:
    return sum(math.dist(a, b) for a, b in zip(move.path, move.path[1:], strict=False))


def _goes_on(one: Move, two: Move) -> bool:
    if (len(one.path), len(two.path)) != (2, 2) or one.rapid != two.rapid:
        return False
    if one.feed != two.feed or _seen(one.force) != _seen(two.force) or one.zero != two.zero:
        return False
    straight = math.dist(one.path[0], two.path[1])
    return straight > _length(one) + _length(two) - 1e-9


def _seen(force: Force) -> Force:
    """What is in force, as far as the tool sees it: the speed of a spindle that stands is none."""
    return replace(force, speed=0.0) if force.way == 5 else force


def alike(old: Step, new: Step, clear: Clear) -> str:
    """Name how one step stands for another, or "" where it does not."""
    if isinstance(old, Event) or isinstance(new, Event):
        return _alike_events(old, new, clear)
    if len(old.path) != len(new.path) or any(
        math.dist(a, b) > NEAR for a, b in zip(old.path, new.path, strict=True)
    ):
        return ""
    if new.rapid:
        return _alike_rapids(old, new, clear) if old.rapid else ""
    if old.rapid:
        return AT_FEED if old.force.tool == new.force.tool else ""
    return _alike_cuts(old, new)


def _alike_cuts(old: Move, new: Move) -> str:
    if _dry(old.force) != _dry(new.force) or _drier(old.force, new.force):
        return ""
    if new.feed > old.feed + 1e-6 or new.feed < SLOWEST * old.feed:
        return ""
    if new.bite > old.bite + NEAR:
        return ""
    if new.bite < old.bite - NEAR:
        return BITES
    if new.feed < old.feed - 1e-6:
        return SLOWER
    return SAME if old.force == new.force else SWITCHED


def _dry(force: Force) -> Force:
    return replace(_seen(force), mist=False, flood=False)


def _drier(old: Force, new: Force) -> bool:
    return (old.mist and not new.mist) or (old.flood and not new.flood)


def _alike_rapids(old: Move, new: Move, clear: Clear) -> str:
    if _seen(old.force) == _seen(new.force):
        return SAME
    if old.force.tool != new.force.tool or old.force.modes != new.force.modes:
        return ""
    turning = (old.force.way, old.force.speed) == (new.force.way, new.force.speed)
    return SWITCHED if turning or clear.above(new) else ""


def _alike_events(old: Step, new: Step, clear: Clear) -> str:
    if not (isinstance(old, Event) and isinstance(new, Event)):
        return ""
    if (old.what, old.text) != (new.what, new.text):
        return ""
    if old.what != "end" and _seen(old.force) != _seen(new.force):
        return ""
    if math.dist(old.place, new.place) <= NEAR:
        return SAME
    return ELSEWHERE if old.what == "end" and clear.above(new) else ""


def _between(old: list[Step], new: list[Step], done: list[Step], clear: Clear) -> Judgement:
    """Judge what is left where two programs differ; done: what the new one did before."""
    ranks = [AIR]
    cut = [each for each in done if isinstance(each, Move) and not each.rapid]
    for at, step in enumerate(new):
        if isinstance(step, Move) and step.rapid:
            earlier = [each for each in new[:at] if isinstance(each, Move) and not each.rapid]
            if not (name := clear.allows(step, [*cut, *earlier])):
                low = clear.plane(step) - min(place[2] for place in step.path)
                return Judgement(damage=f"line {step.line}: a new rapid {low:.3f} below the plane")
            ranks.append(name)
    wanted = [part for step in old if (part := _of_matter(step, clear)) is not None]
    parts = [part for step in new if (part := _of_matter(step, clear)) is not None]
    while parts:
        part = parts[0]
        turns = _same_helix(wanted, parts, clear)
        if wanted and (name := _stands_for(wanted[0], part, clear)):
            ranks.append(name)
            wanted.pop(0)
        elif turns != (0, 0):
            ranks.append(RAMP)
            cut += [each for each in parts[1 : turns[1]] if isinstance(each, Move)]
            del wanted[: turns[0]], parts[1 : turns[1]]
        elif isinstance(part, Move) and covered(part, [each for each in cut if _as(each, part)]):
            ranks.append(AGAIN)
        elif isinstance(part, Move) and clear.run_at_rapid(part):
            ranks.append(AT_FEED)
        elif isinstance(part, Event) and part.clear and part.what in _MORE:
            ranks.append(_MORE[part.what])
        else:
            return Judgement(damage=f"line {part.line}: new {_told(part)}")
        if isinstance(part, Move):
            cut.append(part)
        parts.pop(0)
    while wanted and isinstance(wanted[0], Event) and wanted[0].clear and wanted[0].what == "dwell":
        ranks.append(DWELL)
        wanted.pop(0)
    if wanted:
        return Judgement(damage=f"line {wanted[0].line} gone: {_told(wanted[0])}")
    return Judgement(max(ranks, key=CLASSES.index))


def _same_helix(old: list[Step], new: list[Step], clear: Clear) -> tuple[int, int]:
    """Return how many turns of one helix another one stands for, and how many it has; or (0, 0).

    Both start and end at the same places, on the same circle, and the tool may go down so.
    """
    turns, others = (_turns(steps) for steps in (old, new))
    if not turns or not others:
        return 0, 0
    ends = (turns[0].path[0], others[0].path[0]), (turns[-1].path[-1], others[-1].path[-1])
    if any(math.dist(*pair) > NEAR for pair in ends):
        return 0, 0
    steep = all(clear.may_ramp(each) for each in others)
    as_before = all(_as(turns[0], each) for each in others)
    same = all(
        covered(_flat(each), [_flat(one) for one in by])
        for some, by in ((turns, others), (others, turns))
        for each in some
    )
    return (len(turns), len(others)) if steep and as_before and same else (0, 0)


def _turns(steps: list[Step]) -> list[Move]:
    """Return the arcs that steps begin with."""
    result: list[Move] = []
    for step in steps:
        if not isinstance(step, Move) or len(step.path) < 3:
            break
        result.append(step)
    return result


def _flat(move: Move) -> Move:
    return replace(move, path=tuple((x, y, 0.0) for x, y, _ in move.path))


def _stands_for(old: Step, new: Step, clear: Clear) -> str:
    """Name how a step stands for another, also where it comes at feed from farther off."""
    if name := alike(old, new, clear):
        return name
    if isinstance(old, Event) or isinstance(new, Event) or len(new.path) > 2:
        return ""
    way_there = replace(new, path=(new.path[0], old.path[0]))
    straight = math.dist(*new.path) > _length(way_there) + _length(old) - 1e-9
    if not straight or not clear.run_at_rapid(way_there):
        return ""
    bite = max(new.bite - _length(way_there), 0.0)
    return AT_FEED if alike(old, replace(new, path=old.path, bite=bite), clear) else ""


def _of_matter(step: Step, clear: Clear) -> Step | None:
    """Return an event, or what of a cut lies below the plane; None for rapids and air cuts."""
    if isinstance(step, Event):
        return step
    part = None if step.rapid else low_part(step, clear)
    return None if part is None or clear.touches_nothing(part) else part


def _told(step: Step) -> str:
    if isinstance(step, Event):
        return f"{step.what} {step.text}".strip()
    start, end = (tuple(round(value, 3) for value in step.path[at]) for at in (0, -1))
    return f"cut from {start} to {end} at F{step.feed:g}"


def _as(one: Move, other: Move) -> bool:
    """Whether one cut was made as another one: as fast or faster, the same in force."""
    return _seen(one.force) == _seen(other.force) and one.feed >= other.feed - 1e-6
