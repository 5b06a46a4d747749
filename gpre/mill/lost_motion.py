"""How a profile states the lost motion of an axis: one number, or a table over position."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.settings.table import Settings
from gpre.settings.toml_places import Path
from gpre.settings.values import Amount, Setting

Table = tuple[tuple[float, float], ...]
TO_DOUBT = 1.0  # mm
_AMOUNT, _POSITION = Amount("mm", 0, 5), Amount("mm")


@dataclass(frozen=True)
class LostMotion(Setting):
    """A number, or pairs [position, lost motion] with the positions rising."""

    wanted = f"{_AMOUNT.wanted}, or a list of pairs [position, lost motion]"

    def checked(self, table: Settings, at: Path, value: object) -> float | Table | None:
        """Return mm, or the pairs; more than a mill should have is doubted."""
        found: float | Table | None
        if isinstance(value, list):
            found = _pairs(table, at, value)
            most = max((amount for _, amount in found), default=0.0)
        else:
            found = _AMOUNT.checked(table, at, value)
            most = found or 0.0
        if most > TO_DOUBT:
            message = f"{most:g} mm of lost motion is more than a mill should have"
            table.report("MIL509", message, at, "in mm?")
        return found


def _pairs(table: Settings, at: Path, rows: list[object]) -> Table:
    found: list[tuple[float, float]] = []
    for number, row in enumerate(rows):
        here = (*at, number)
        if not isinstance(row, list) or len(row) != 2:
            table.wrong_kind(here, "a pair [position, lost motion]", row)
            continue
        position = _POSITION.checked(table, (*here, 0), row[0])
        amount = _AMOUNT.checked(table, (*here, 1), row[1])
        if position is None or amount is None:
            continue
        if found and position <= found[-1][0]:
            message = "the positions of a lost-motion table must rise"
            table.report("MIL506", message, (*here, 0), f"not above {found[-1][0]:g}")
        found.append((position, amount))
    if len(rows) < 2:
        message = "a lost-motion table needs at least two pairs"
        advice = "one value for the whole axis is written lost_motion = 0.09"
        table.report("MIL506", message, at, "", advice)
    return tuple(found)
