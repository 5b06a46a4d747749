"""Where the cutter climbs with more backlash than chip, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from gpre.cuts.milling_side import Milled, MillingSide
from gpre.driver.predicting import Climb, Predicted
from gpre.report.quantities import Scale, lines_text

_SHOWN = 6


def climb_lines(found: Predicted, scale: Scale) -> Iterator[str]:
    """Tell where the chip can grow, and of which cuts it is not known whether they climb."""
    if not found.sides:
        return
    tally = Counter(each.side for each in found.sides)
    words = (
        (MillingSide.CLIMB, "climb"),
        (MillingSide.PARTLY, "climb in part"),
        (MillingSide.CONVENTIONAL, "conventional"),
        (MillingSide.BOTH, "with metal on both sides"),
        (MillingSide.AIR, "in the air"),
        (MillingSide.UNKNOWN, "not known"),
    )
    parts = [f"{tally[side]:,} {word}" for side, word in words if tally[side]]
    ground = " (from tool, stock box and program)" if found.job.stock else ""
    if len(tally) > 1 or MillingSide.UNKNOWN not in tally:
        yield f"passes, contours and leads: {', '.join(parts)}{ground}"
    yield from _grown(found, [each for each in found.climbs if each.load is not None], scale)
    yield from _unknown_load(found, [each for each in found.climbs if each.load is None])
    if found.climbs:
        yield (
            "the cutter can pull the table through its backlash there, whoever takes it up; "
            "cut conventional, tighten the gibs, or lock what need not move"
        )
    yield from _unknown_side(found)


def _grown(found: Predicted, climbs: Sequence[Climb], scale: Scale) -> Iterator[str]:
    groups: dict[str, list[Climb]] = {}
    for each in sorted(climbs, key=lambda climb: -(climb.grown or 0.0) / (climb.load or 1.0)):
        assert each.load is not None
        assert each.grown is not None
        assert each.backlash is not None
        part = " (on part of the way)" if each.milled.side is MillingSide.PARTLY else ""
        text = (
            f"the chip can grow from {scale.figure(each.load)} to {scale.length(each.grown)}: "
            f"climb with {scale.length(each.backlash)} of backlash{part}"
        )
        groups.setdefault(text, []).append(each)
    for text, some in list(groups.items())[:_SHOWN]:
        yield f"{text}; {_lines(found, [each.milled for each in some])}"
    if len(groups) > _SHOWN:
        yield f"and {len(groups) - _SHOWN:,} more kinds of cut; --json has all"


def _unknown_load(found: Predicted, climbs: Sequence[Climb]) -> Iterator[str]:
    if climbs:
        motion = found.counted.motion
        tools = sorted({motion.state_of(each.milled.first).tool for each in climbs})
        named = ", ".join(f"[tool.{tool}]" for tool in tools)
        yield (
            f"climb with backlash, the chip load not known: "
            f"{_lines(found, [each.milled for each in climbs])}; the job file can name the flutes "
            f"under {named}, the program F and S"
        )


def _unknown_side(found: Predicted) -> Iterator[str]:
    groups: dict[tuple[str, tuple[str, ...]], list[Milled]] = {}
    for each in found.sides:
        if each.side is MillingSide.UNKNOWN:
            groups.setdefault((each.reason, each.needs), []).append(each)
    for (reason, needs), some in list(groups.items())[:_SHOWN]:
        name = f" (to know, name {' and '.join(needs)})" if needs else ""
        yield f"not known: {_lines(found, some)}; {reason}{name}"


def _lines(found: Predicted, some: Sequence[Milled]) -> str:
    block = found.counted.motion.block
    return lines_text((int(block[each.first]) + 1, int(block[each.last - 1]) + 1) for each in some)
