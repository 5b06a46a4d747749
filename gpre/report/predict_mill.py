"""On what ground a prediction stands: the mill, its backlash, and who takes it up."""

from __future__ import annotations

from collections.abc import Iterator

from gpre.driver.predicting import Predicted
from gpre.mill.mill import Axis, Mill
from gpre.report.diagnostics import has_errors
from gpre.report.quantities import Scale
from gpre.report.wording import visible
from gpre.reversals.reversals import AXES


def mill_lines(found: Predicted, mill_name: str, scale: Scale) -> Iterator[str]:
    """Name the mill, its backlash, and who takes it up."""
    mill = found.mill
    if mill_name:
        yield f"predicted for: {visible(mill.name)} ({visible(mill_name)})"
    else:
        yield (
            "predicted for: a guess, not a mill that was measured; measure yours before you lean "
            "on any figure"
        )
    amounts = [
        f"{name.upper()} {_backlash(axis, scale)}"
        for name, axis in zip(AXES, mill.axes, strict=True)
    ]
    loaded = [
        name.upper() for name, axis in zip(AXES, mill.axes, strict=True) if axis.gravity_loaded
    ]
    verbs = ("is", "shows") if len(loaded) == 1 else ("are", "show")
    none = (
        "; {} {} gravity-loaded and {} none".format(" and ".join(loaded), *verbs) if loaded else ""
    )
    yield f"lost motion: {', '.join(amounts)} {scale.unit}{none}{_twist(mill)}"
    yield f"compensation `{mill.compensation.by}`: {_taken_up(found, scale)}"
    if found.intended is not None:
        yield f"intended path: that of {visible(found.intended.program.source.name)}"


def _backlash(axis: Axis, scale: Scale) -> str:
    if not isinstance(axis.lost_motion, tuple):
        return scale.figure(axis.lost_motion)
    least = min(value for _, value in axis.lost_motion)
    return f"{scale.figure(least)} to {scale.figure(axis.greatest_lost_motion)}"


def _twist(mill: Mill) -> str:
    yaws = [
        f"by {angle:g} rad when {axis} turns round"
        for angle, axis in ((mill.twist.x, "X"), (mill.twist.y, "Y"))
        if angle
    ]
    return f"; the table twists {' and '.join(yaws)}" if yaws else ""


def _taken_up(found: Predicted, scale: Scale) -> str:
    compensation = found.mill.compensation
    if compensation.by == "controller":
        feed = scale.speed(compensation.take_up_feed)
        twist = ", and the twist it cannot take up" if _twist(found.mill) else ""
        return (
            f"the controller takes the backlash up at every reversal, at {feed}, and pauses "
            f"{compensation.pause:g} s; sizes hold if it was given the true backlash{twist}"
        )
    if compensation.by == "program" and found.mark is not None:
        return "the program carries its own take-ups; that of the controller must be off"
    if compensation.by == "program":
        return "the program is to carry its own take-ups"
    return "nobody takes the backlash up, so the table lags behind after every reversal"


def warnings(found: Predicted) -> list[str]:
    """Tell of errors, and where take-ups in the program do not fit what the profile says."""
    by = found.mill.compensation.by
    result: list[str] = []
    programs = (found.counted,) if found.intended is None else (found.counted, found.intended)
    if any(has_errors((*each.program.findings, *each.motion.findings)) for each in programs):
        result.append(
            "the program has faults, and what they stand in is left out of every figure; fix them "
            "first"
        )
    if found.mark is None:
        if by == "program":
            result.append(
                "this program carries no take-ups of its own, so it cuts as on a mill where "
                "nobody takes the backlash up"
            )
        return result
    said = f"line {found.mark.block + 1} says that this program carries its own take-ups"
    if by == "controller":
        result.append(
            f"{said}, and the profile says that the controller takes the backlash up too: it would "
            "be taken up twice. Switch one of the two off"
        )
    if found.intended is None:
        result.append(
            f"{said}; its own path is then not the one meant, so nothing is said of sizes, holes "
            "and circles. Name the program that it was made from: --intended FILE"
        )
    return result
