"""A prediction as JSON takes it; the shape is documented and stable."""

from __future__ import annotations

from typing import Any

from gpre.driver.predicting import Predicted
from gpre.mill.timing import CycleTime
from gpre.prediction.predict import MOST_SHOWN
from gpre.report.count import stops_early
from gpre.report.predict_mill import warnings
from gpre.report.prediction_summary import summary

_SIZES = ("deviation", "features", "holes", "circles", "sensitivity")


def predict_json(found: Predicted) -> dict[str, Any]:
    """Return a prediction; what is not known is null."""
    counted, goal = found.counted, found.intended
    told = summary(found.prediction, counted.motion, None if goal is None else goal.motion)
    if not found.sizes_known:
        told |= dict.fromkeys(_SIZES)
    return {
        "file": counted.program.source.name,
        "blocks": len(counted.program),
        "moves": len(counted.motion),
        "stops_at_line": stops_early(counted.program, counted.motion),
        "intended": None if goal is None else goal.program.source.name,
        "take_up_mark": None if found.mark is None else found.mark.text,
        "warnings": warnings(found),
        **told,
        "standing": _standing(found),
        "cycle_time": _time(found.time),
        "cycle_time_without_take_ups": _time(found.without),
        "seconds_lost": round(found.time.total - found.without.total, 3),
        "climb": _climb(found),
    }


def _time(time: CycleTime) -> dict[str, Any]:
    return {
        "total": round(time.total, 3),
        "cutting": round(time.cutting, 3),
        "air": round(time.air, 3),
        "dwell": round(time.dwell, 3),
        "take_up_in_cut": round(time.take_up_in_cut, 3),
        "take_up_in_air": round(time.take_up_in_air, 3),
        "tool_change": round(time.tool_change, 3),
        "tool_changes": time.tool_changes,
        "moves_of_unknown_time": len(time.unknown),
        "dwells_of_unknown_time": time.unknown_dwells,
    }


def _standing(found: Predicted) -> dict[str, Any]:
    stands, block = found.standing, found.counted.motion.block
    longest = sorted(range(len(stands)), key=lambda place: -float(stands.seconds[place]))
    return {
        "count": len(stands),
        "seconds": round(float(stands.seconds.sum()), 3),
        "longest": [
            {
                "line": int(block[stands.row[place]]) + 1,
                "seconds": round(float(stands.seconds[place]), 6),
                "turns": round(float(stands.turns[place]), 6),
            }
            for place in longest[:MOST_SHOWN]
        ],
    }


def _climb(found: Predicted) -> dict[str, Any]:
    block = found.counted.motion.block

    def lines(first: int, last: int) -> list[int]:
        return [int(block[first]) + 1, int(block[last - 1]) + 1]

    return {
        "stretches": [
            {
                "lines": lines(each.first, each.last),
                "side": each.side.value,
                "reason": each.reason,
                "needs": list(each.needs),
            }
            for each in found.sides
        ],
        "chip_can_grow": [
            {
                "lines": lines(each.milled.first, each.milled.last),
                "chip_load": _rounded(each.load),
                "backlash": _rounded(each.backlash),
                "chip_at_most": _rounded(each.grown),
            }
            for each in found.climbs
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)
