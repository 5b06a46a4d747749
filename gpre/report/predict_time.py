"""Dwell marks, take-ups and the cycle time, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from gpre.driver.predicting import Predicted
from gpre.geometry.arc import Floats, Ints
from gpre.report.quantities import Scale, duration, lines_text, span
from gpre.report.wording import counted, visible
from gpre.reversals.reversals import AXES

_SHOWN = 6
_SHORTEST_TOLD = 0.05  # s; less is 0.0 s


def mark_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell where the tool stands while cutting, how long, and how many turns it rubs."""
    del scale
    marks, stands = found.prediction.marks, found.standing
    if found.prediction.by == "controller":
        if not len(marks):
            yield "none: no reversal makes the cutter dwell in the metal"
            return
        yield (
            f"{counted(len(marks), 'place')} where the cutter dwells "
            f"{_rubbing(marks.seconds, marks.turns)}"
        )
        yield from _where(found, marks.row, marks.seconds, marks.axis)
        return
    if len(stands):
        yield (
            f"{counted(len(stands), 'place')} where the cutter dwells while the screw "
            f"crosses the backlash, {_rubbing(stands.seconds, stands.turns)}"
        )
        yield from _where(found, stands.row, stands.seconds)
    if len(marks):
        yield (
            f"{counted(len(marks), 'place')} where the path stops for a moment "
            "as an axis turns round (there and straight back, or exact stop)"
        )
        if not len(stands):
            yield from _where(found, marks.row, marks.seconds, marks.axis)
    if not len(stands) and not len(marks):
        yield "none: no reversal makes the cutter dwell in the metal"


def _rubbing(seconds: Floats, turns: Floats) -> str:
    """Return how long the tool stands and how many turns it makes."""
    known = turns[turns > 0.0].tolist()
    rubs = f", {span(known, 1)} turns of the cutter rubbing" if known else ""
    vague = "" if len(known) == len(turns) else "; turns are not told where no spindle turns"
    together = f"; together {duration(float(seconds.sum()))}" if len(seconds) > 1 else ""
    return f"{span(seconds.tolist(), 2)} s{rubs}{together}{vague}"


def _where(
    found: Predicted, row: Ints, seconds: Floats, axis: NDArray[np.uint8] | None = None
) -> Iterator[str]:
    """Tell the cuts with the most places; (k,) each: rows of Motion, seconds, axes."""
    block = found.counted.motion.block
    first = np.array([cut.first for cut in found.cuts], np.intp)
    cut = np.searchsorted(first, row, side="right") - 1
    groups: dict[tuple[str, str], list[tuple[int, int]]] = {}
    numbers, count = np.unique(cut[cut >= 0], return_counts=True)
    for at in np.argsort(-count, kind="stable").tolist():
        each, some = found.cuts[int(numbers[at])], np.flatnonzero(cut == numbers[at])
        names = [
            f"{name.upper()} {int((axis[some] == number).sum())}"
            for number, name in enumerate(AXES)
            if axis is not None and (axis[some] == number).any()
        ]
        total = float(seconds[some].sum())
        tail = f" ({', '.join(names)})" if names else ""
        tail += f", {duration(total)}" if total >= _SHORTEST_TOLD else ""
        lines = int(block[each.first]) + 1, int(block[each.last - 1]) + 1
        groups.setdefault((f"{len(some):,}  {each.shape.value}", tail), []).append(lines)
    for (head, tail), where in list(groups.items())[:_SHOWN]:
        yield f"{head}{' each' if len(where) > 1 else ''}, {lines_text(where)}{tail}"
    if len(groups) > _SHOWN:
        yield "and cuts with fewer; --json has more"


def take_up_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Return how quickly the backlash is crossed while cutting, against the mill's limit."""
    prediction, mill = found.prediction, found.mill
    limit = scale.speed(mill.limits.max_take_up_feed)
    smallest = prediction.smallest_tool
    tool = "" if smallest is None else f"; the smallest tool in use is {scale.size(smallest)}"
    warning = f"a quick take-up can break a small end mill{tool}"
    if prediction.by == "controller":
        own = scale.speed(mill.compensation.take_up_feed)
        if prediction.quick_controller:
            yield f"too quick: the controller's own take-up feed is {own}, the limit is {limit}"
            yield warning
        else:
            yield f"the controller's own take-up feed is {own}, within the limit of {limit}{tool}"
        return
    take_ups = prediction.take_ups
    if not len(take_ups):
        yield "none at feed"
        return
    quick = np.array(prediction.too_quick, np.intp)
    number = counted(len(take_ups), "crossing") + " of the backlash at feed"
    if not len(quick):
        fastest = int(take_ups.speed.argmax())
        line = int(found.counted.motion.block[take_ups.row[fastest]]) + 1
        speed = scale.speed(float(take_ups.speed[fastest]))
        yield f"{number}, at most {speed} (line {line}), within the limit of {limit}"
        return
    yield f"{number}; above the limit of {limit}: {len(quick):,}"
    yield from _quickest(found, quick, scale)
    yield warning


def _quickest(found: Predicted, quick: np.ndarray, scale: Scale) -> Iterator[str]:
    take_ups, block = found.prediction.take_ups, found.counted.motion.block
    groups: dict[str, list[int]] = {}
    for row in quick[np.argsort(-take_ups.speed[quick], kind="stable")].tolist():
        axis = AXES[int(take_ups.axis[row])].upper()
        text = f"{scale.speed(float(take_ups.speed[row]))}  {axis}"
        groups.setdefault(text, []).append(int(block[take_ups.row[row]]) + 1)
    for text, lines in list(groups.items())[:_SHOWN]:
        yield f"{text}, {lines_text((line, line) for line in lines)}"
    if len(groups) > _SHOWN:
        yield "and slower ones; --json has more"


def time_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell the cycle time, and what of it the take-ups cost."""
    del scale
    time, without = found.time, found.without
    lost = time.total - without.total
    yield f"{duration(time.total)}  cycle time"
    if found.prediction.by == "controller":
        yield (
            f"{duration(lost)}  of it lost to take-ups, {duration(time.take_up)} of that standing "
            f"and the rest slowing down for it; without them {duration(without.total)}"
        )
    elif found.intended is not None:
        more = "more" if lost >= 0.0 else "less"
        name = visible(found.intended.program.source.name)
        yield f"{duration(abs(lost))}  {more} than {name} takes, where nothing is taken up"
    elif found.mark is not None:
        yield "what its take-ups cost is told with --intended FILE"
    else:
        yield "nothing is lost to take-ups: the path does not stop for them"
    yield from _not_counted(found)


def _not_counted(found: Predicted) -> Iterator[str]:
    time, each = found.time, found.mill.timing.tool_change
    missing: list[str] = []
    if time.tool_changes and not each:
        missing.append(counted(time.tool_changes, "tool change"))
    elif time.tool_changes:
        changes = counted(time.tool_changes, "tool change")
        yield f"{duration(time.tool_change)}  of it for {changes}"
    if len(time.unknown):
        missing.append(f"{counted(len(time.unknown), 'move')} of unknown time")
    if time.unknown_dwells:
        missing.append(counted(time.unknown_dwells, "dwell") + " of unknown length")
    if missing:
        yield f"not counted: {', '.join(missing)}"
