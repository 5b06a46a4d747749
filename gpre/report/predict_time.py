"""Dwell marks, take-ups and the cycle time, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gpre.driver.predicting import Predicted
from gpre.report.quantities import Scale, duration, lines_text, span
from gpre.report.wording import counted
from gpre.reversals.reversals import AXES

_SHOWN = 6


def mark_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell where the tool stands in the cut, how long, and how many turns it rubs."""
    del scale
    marks = found.prediction.marks
    by_controller = found.prediction.by == "controller"
    if not len(marks):
        yield "none: no reversal makes the tool stand in the cut"
        return
    number = counted(len(marks), "place")
    if not by_controller:
        yield (
            f"{number} in the cut where the path itself comes to a stop for a moment as an axis "
            "turns round (there and straight back, or exact stop)"
        )
    else:
        seconds = span(marks.seconds.tolist(), 2)
        turns = marks.turns[marks.turns > 0.0].tolist()
        rubs = f", {span(turns, 1)} turns of the cutter rubbing" if turns else ""
        together = duration(marks.lost_in_cut)
        yield f"{number} in the cut where the tool stands {seconds} s{rubs}; together {together}"
        if len(turns) < len(marks):
            yield "where the spindle stands or its speed is not stated, no turns are told"
    yield from _where(found, by_controller=by_controller)


def _where(found: Predicted, *, by_controller: bool) -> Iterator[str]:
    """Tell the cuts with the most marks."""
    marks, block = found.prediction.marks, found.counted.motion.block
    first = np.array([cut.first for cut in found.cuts])
    if not len(first):
        return
    cut = np.searchsorted(first, marks.row, side="right") - 1
    groups: dict[str, list[tuple[int, int]]] = {}
    numbers, count = np.unique(cut[cut >= 0], return_counts=True)
    for at in np.argsort(-count, kind="stable").tolist():
        each, rows = found.cuts[int(numbers[at])], np.flatnonzero(cut == numbers[at])
        axes = [
            f"{name.upper()} {int((marks.axis[rows] == axis).sum())}"
            for axis, name in enumerate(AXES)
            if (marks.axis[rows] == axis).any()
        ]
        long = f", {duration(float(marks.seconds[rows].sum()))}" if by_controller else ""
        text = f"{len(rows):,}  {each.shape.value}\n ({', '.join(axes)}){long}"
        lines = int(block[each.first]) + 1, int(block[each.last - 1]) + 1
        groups.setdefault(text, []).append(lines)
    for text, where in list(groups.items())[:_SHOWN]:
        head, tail = text.split("\n")
        yield f"{head}{' each' if len(where) > 1 else ''}, {lines_text(where)}{tail}"
    if len(groups) > _SHOWN:
        yield "and cuts with fewer; --json has more"


def take_up_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell how quickly the slack is crossed in the cut, against the mill's limit."""
    prediction, mill = found.prediction, found.mill
    limit = scale.speed(mill.limits.greatest_take_up_feed)
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
    number = counted(len(take_ups), "crossing") + " of the slack at feed"
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
