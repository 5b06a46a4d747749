"""What the backlash will do to a part, in the words of whoever stands at the mill."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator

import numpy as np
from rich.text import Text

from gpre.cuts.cuts import Shape
from gpre.driver.predicting import Predicted
from gpre.prediction.deviation import Worst
from gpre.prediction.features import Feature
from gpre.report.predict_climb import climb_lines
from gpre.report.predict_holes import circle_lines, hole_lines
from gpre.report.predict_mill import mill_lines, warnings
from gpre.report.predict_time import mark_lines, take_up_lines, time_lines
from gpre.report.quantities import Scale, lines_text
from gpre.report.wording import WIDTH
from gpre.reversals.reversals import AXES

_SHOWN = 6  # entries of one section; --json has more
_UNSEEN = (
    "Predicted from the backlash and twist named above alone. What the cutter does to "
    "the part by bending, and what it does to a loose table by pulling, is in none of these "
    "figures."
)


def render_predict(found: Predicted, mill_name: str) -> Text:
    """Show a prediction; mill_name: the profile's file, "" for the guess."""
    scale = Scale(found.counted.units)
    result = Text()
    _paragraphs(result, mill_lines(found, mill_name, scale))
    for warning in warnings(found):
        result.append("\n")
        result.append("warning: ", "bold yellow")
        result.append(_filled(warning, len("warning: ")) + "\n")
    sections: list[tuple[str, Callable[[Predicted, Scale], Iterable[str]]]] = [
        ("dwell marks", mark_lines),
        ("take-ups", take_up_lines),
        ("time", time_lines),
        ("climb", climb_lines),
    ]
    if found.sizes_known:
        sections[:0] = [("sizes", size_lines), ("holes", hole_lines), ("circles", circle_lines)]
        sections.insert(5, ("if the backlash is not as assumed", sensitivity_lines))
    for head, lines in sections:
        _section(result, head, lines(found, scale))
    result.append("\n" + textwrap.fill(_UNSEEN, WIDTH) + "\n")
    return result


def size_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell which cuts come out off size, worst first, then leads and ends of cuts."""
    prediction = found.prediction
    off = [
        each
        for each in prediction.features
        if each.shape is not Shape.HOLE and not scale.nothing(each.size)
    ]
    groups: dict[str, list[Feature]] = {}
    for each in off:
        groups.setdefault(_feature(each, scale), []).append(each)
    for text, features in list(groups.items())[:_SHOWN]:
        lines = lines_text(_lines_of(found, each) for each in features)
        worst = features[0].block + 1
        at = "" if lines == f"line {worst}" else f"; worst on line {worst}"
        head, rest = text.split("\n")
        yield f"{scale.length(features[0].size)}  {head}, {lines}{at}\n{rest}"
    if len(groups) > _SHOWN:
        yield f"and {len(groups) - _SHOWN:,} more kinds of cut; --json has more"
    most = max((each.size for each in off), default=0.0)
    lead = _worst_lead(found)
    if lead is not None and lead.size > most and not scale.nothing(lead.size - most):
        yield f"{scale.length(lead.size)}  a lead-in or plunge, {_at(lead, scale)}"
    yield from _end_lines(prediction.ends, scale)
    if prediction.missed is not None and not scale.nothing(prediction.missed):
        yield (
            f"{scale.length(prediction.missed)}  is the farthest that any place of the intended "
            "path stays from what is cut"
        )
    some = any(cut.shape is not Shape.HOLE for cut in found.cuts)
    if some and not off and scale.nothing(lead.size if lead else 0.0):
        yield f"no cut is predicted to be off by {scale.length(scale.least)} or more"
    yield from _unsettled(prediction.unsettled)


def _worst_lead(found: Predicted) -> Worst | None:
    """Return the worst place that is not in a hole: of a cut's body, or what leads to it."""
    holes = np.zeros(len(found.counted.motion), np.bool_)
    for cut in found.cuts:
        if cut.shape is Shape.HOLE:
            holes[cut.first : cut.last] = True
    return next((each for each in found.prediction.worst if not holes[each.row]), None)


def _feature(each: Feature, scale: Scale) -> str:
    tool = f" with tool {each.tool}" if each.tool else ""
    return f"{each.shape.value}{tool}\n{_sides(each, scale)}"


def _sides(each: Feature, scale: Scale) -> str:
    if each.size_x is None or each.size_y is None:
        sides = [
            f"{scale.length(size)} to the {name}"
            for size, name in ((-each.least, "left"), (each.greatest, "right"))
            if size > 0.0 and not scale.nothing(size)
        ]
        return f"lies up to {' and '.join(sides)} of its path" if sides else "lies beside its path"
    wide = [
        f"{scale.length(abs(size))} too {'wide' if size > 0 else 'narrow'} in {axis}"
        for size, axis in ((each.size_x, "X"), (each.size_y, "Y"))
        if not scale.nothing(size)
    ]
    return f"comes out {' and '.join(wide)}" if wide else "keeps its width, parts of it shifted"


def _end_lines(ends: tuple[Worst, ...], scale: Scale) -> Iterator[str]:
    off = [each for each in ends if not scale.nothing(each.size)]
    for long, word in ((True, "long"), (False, "short")):
        some = [each for each in off if (each.aside > 0) is long]
        if some:
            lines = lines_text((each.block + 1, each.block + 1) for each in some)
            yield f"{scale.length(some[0].size)}  too {word} where a cut starts or ends, {lines}"


def _unsettled(blocks: tuple[int, ...]) -> Iterator[str]:
    if blocks:
        lines = lines_text((block + 1, block + 1) for block in blocks)
        yield (
            f"{lines}: until an axis has run one way for longer than its backlash, nobody knows on "
            "which side the backlash lies; the worse is told"
        )


def sensitivity_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell the worst case over the uncertainty of the measured backlash."""
    sensitivity = found.prediction.sensitivity
    corner = sensitivity.worst if sensitivity else None
    if corner is None and found.cuts:
        yield "no axis that travels here has an uncertainty in the profile"
    if corner is None or corner.worst is None:
        return
    changes = [
        f"{axis.upper()} {scale.length(abs(change))} {'more' if change > 0 else 'less'}"
        for axis, change in zip(AXES, corner.change, strict=True)
        if change
    ]
    yield (
        f"{scale.length(corner.greatest)}  at worst, {_at(corner.worst, scale)}, with "
        f"{', '.join(changes)} than assumed (as assumed: "
        f"{scale.length(found.prediction.greatest)})"
    )


def _at(worst: Worst, scale: Scale) -> str:
    x, y, z = (scale.figure(each) for each in worst.point)
    return f"line {worst.block + 1} (X{x} Y{y} Z{z})"


def _lines_of(found: Predicted, each: Feature) -> tuple[int, int]:
    block = found.counted.motion.block
    return int(block[each.first]) + 1, int(block[each.last - 1]) + 1


def _section(result: Text, head: str, lines: Iterable[str]) -> None:
    every = list(lines)
    if not every:
        return
    result.append(f"\n{head}\n", "bold")
    for line in every:
        head, *rest = line.split("\n")
        result.append(f"  {_filled(head, 4, first=2)}\n")
        for part in rest:
            result.append(f"    {_filled(part, 6, first=4)}\n")


def _paragraphs(result: Text, lines: Iterable[str]) -> None:
    for line in lines:
        result.append(_filled(line, 2, first=0) + "\n")


def _filled(text: str, indent: int, first: int | None = None) -> str:
    """Wrap a text whose first line starts at column `first`; double blanks are kept."""
    start = indent if first is None else first
    filled = textwrap.fill(
        text,
        WIDTH,
        initial_indent=" " * start,
        subsequent_indent=" " * indent,
        break_on_hyphens=False,
        break_long_words=False,
    )
    return filled[start:]
