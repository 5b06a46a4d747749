"""A prediction as plain dicts, lists and numbers, for JSON; lines count from 1, lengths mm."""

from __future__ import annotations

import math
from collections.abc import Iterable

from gpre.motion.motion import Motion
from gpre.prediction.circles import Circle
from gpre.prediction.deviation import Worst
from gpre.prediction.features import Feature
from gpre.prediction.holes import Holes
from gpre.prediction.marks import MarkKind, Marks
from gpre.prediction.predict import MOST_SHOWN, Prediction
from gpre.prediction.sensitivity import Sensitivity
from gpre.prediction.take_ups import TakeUps
from gpre.reversals.reversals import AXES

Table = dict[str, object]
_PLACES = 6  # digits behind the point
_MARKS = {MarkKind.TAKE_UP: "take-up", MarkKind.STOP: "stop"}


def summary(prediction: Prediction, motion: Motion, intended: Motion | None = None) -> Table:
    """Return what is worth telling; long lists are cut after `MOST_SHOWN` and their counts kept.

    intended: as it was given to `predict`; the lines of circles are those of that program.
    """
    goal = motion if intended is None else intended
    return {
        "compensation": prediction.by,
        "intended_path_given": prediction.intended,
        "deviation": {
            "greatest": _number(prediction.greatest),
            "worst": [_worst(each) for each in prediction.worst],
            "ends": [_worst(each) for each in prediction.ends],
            "missed": None if prediction.missed is None else _number(prediction.missed),
            "chord": _number(prediction.chord),
        },
        "features": [_feature(each, motion) for each in prediction.features],
        "holes": _holes(prediction.holes, motion),
        "circles": {
            "count": len(prediction.circles),
            "worst": [_circle(each, goal) for each in _roundness(prediction.circles)],
        },
        "marks": _marks(prediction.marks, motion),
        "take_ups": {
            **_take_ups(prediction.take_ups, prediction.too_quick, motion),
            "controller_too_quick": prediction.quick_controller,
            "smallest_tool": prediction.smallest_tool,
        },
        "sensitivity": _sensitivity(prediction.sensitivity),
        "unsettled_lines": [block + 1 for block in prediction.unsettled],
    }


def _number(value: float) -> float | None:
    """Round; JSON has no NaN, and -0 says nothing."""
    return round(value, _PLACES) + 0.0 if math.isfinite(value) else None


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [_number(float(value)) for value in values]


def _worst(each: Worst) -> Table:
    return {
        "line": each.block + 1,
        "at": _numbers(each.point),
        "deviation": _number(each.size),
        "aside": _number(each.aside),
        "backlash_known": each.known,
    }


def _feature(each: Feature, motion: Motion) -> Table:
    return {
        "shape": each.shape.value,
        "first_line": int(motion.block[each.first]) + 1,
        "last_line": int(motion.block[each.last - 1]) + 1,
        "worst_line": each.block + 1,
        "tool": each.tool,
        "deviation": _number(each.size),
        "aside": _numbers((each.least, each.greatest)),
        "size_x": None if each.size_x is None else _number(each.size_x),
        "size_y": None if each.size_y is None else _number(each.size_y),
        "backlash_known": each.known,
    }


def _holes(holes: Holes, motion: Motion) -> Table:
    shown = range(min(len(holes), MOST_SHOWN))
    return {
        "count": len(holes),
        "spread_x": _number(holes.spread_x),
        "spread_y": _number(holes.spread_y),
        "spread": _number(holes.spread),
        "first": [
            {
                "line": int(motion.block[holes.row[hole]]) + 1,
                "at": _numbers(holes.point[hole]),
                "error_least": _numbers(holes.low[hole]),
                "error_greatest": _numbers(holes.high[hole]),
                "cycle": bool(holes.cycle[hole]),
            }
            for hole in shown
        ],
    }


def _roundness(circles: tuple[Circle, ...]) -> list[Circle]:
    return sorted(circles, key=lambda each: -each.g)[:MOST_SHOWN]


def _circle(each: Circle, motion: Motion) -> Table:
    return {
        "line": int(motion.block[each.first]) + 1,
        "plane": each.plane,
        "centre": _numbers(each.centre),
        "radius": _number(each.radius),
        "way": "G3" if each.counter_clockwise else "G2",
        "radial_deviation_max": _number(each.f_max),
        "radial_deviation_min": _number(each.f_min),
        "circular_deviation_lsc": _number(each.g),
        "circular_hysteresis": None if each.h is None else _number(each.h),
        "backlash_known": each.known,
    }


def _marks(marks: Marks, motion: Motion) -> Table:
    longest = sorted(range(len(marks)), key=lambda mark: -float(marks.seconds[mark]))
    return {
        "count": len(marks),
        "in_cut_seconds": _number(marks.lost_in_cut),
        "all_seconds": _number(marks.lost_seconds),
        "take_ups": marks.take_ups,
        "longest": [
            {
                "line": int(motion.block[marks.row[mark]]) + 1,
                "axis": AXES[int(marks.axis[mark])],
                "kind": _MARKS[MarkKind(int(marks.kind[mark]))],
                "seconds": _number(float(marks.seconds[mark])),
                "turns": _number(float(marks.turns[mark])),
            }
            for mark in longest[:MOST_SHOWN]
        ],
    }


def _take_ups(take_ups: TakeUps, too_quick: tuple[int, ...], motion: Motion) -> Table:
    quickest = sorted(too_quick, key=lambda row: -float(take_ups.speed[row]))
    return {
        "count": len(take_ups),
        "too_quick": len(too_quick),
        "quickest": [
            {
                "line": int(motion.block[take_ups.row[row]]) + 1,
                "axis": AXES[int(take_ups.axis[row])],
                "distance": _number(float(take_ups.distance[row])),
                "speed": _number(float(take_ups.speed[row])),
            }
            for row in quickest[:MOST_SHOWN]
        ],
    }


def _sensitivity(found: Sensitivity | None) -> Table | None:
    worst = found.worst if found else None
    if found is None or worst is None or worst.worst is None:
        return None
    return {
        "worst": _worst(worst.worst),
        "backlash_change": _numbers(worst.change),
        "corners": [
            {"backlash_change": _numbers(each.change), "deviation": _number(each.greatest)}
            for each in found.corners
        ],
    }
