"""Homes, zeros and the parameters that hold them (NISTIR 6556, 3.2.1, 3.5); nothing of gpre."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from own_blocks import Block
from own_codes import whole
from own_values import LAST_PARAMETER, WHOLE, FaultError, NotFollowedError

if TYPE_CHECKING:
    from own_control import Control


def go_home(control: Control, block: Block, axes: Mapping[int, float], code: float) -> None:
    """3.5.8: to the place that is named, then home; all axes, or those that are named alone."""
    if code == 30 and block.last("P") not in {None, 2.0}:
        raise NotFollowedError("a third or fourth home")
    if axes:
        control.go(block, control.target(axes), rapid=True)
    moved = range(3) if control.m.all_home or not axes else axes
    home = [
        place if control.sure(axis) else math.nan
        for axis, place in enumerate(control.homes[int(code)])
    ]
    goal = [home[axis] if axis in moved else control.at[axis] for axis in range(3)]
    control.go(block, goal, rapid=True, home=True)


def renumber(control: Control, code: float, block: Block, axes: Mapping[int, float]) -> None:
    """G10 and G92 to G92.3: no axis moves (3.5.5, 3.5.18)."""
    if code == 10:
        _set_origin(control, block, axes)
        return
    if code == 92:
        if not axes:
            raise FaultError("G92 without an axis")
        zero = control.zero()
        for axis, value in axes.items():
            if math.isnan(control.at[axis]):  # wherever it is, that is now this place
                control.at[axis] = zero[axis] + value
            control.shift[axis] += control.at[axis] - zero[axis] - value
        control.kept = list(control.shift)
    elif code == 92.3:
        control.shift = list(control.kept)
    else:
        control.shift = [0.0, 0.0, 0.0]
        if code == 92.1:
            control.kept = [0.0, 0.0, 0.0]


def _set_origin(control: Control, block: Block, axes: Mapping[int, float]) -> None:
    """G10 L2 sets an origin in machine coordinates (3.5.5), L20 by where the tool stands.

    L20 and P0, for the system in force, are common practice.
    """
    kind, number = block.last("L"), whole(block.last("P"), "work system")
    if kind is None:
        raise FaultError("G10 without L")
    if kind not in {2, 20} or block.last("R"):
        raise NotFollowedError(f"G10 L{kind:g} with what it sets")
    if number is None or number > 9:
        raise FaultError("G10 without a work system")
    origin = control.origins[number or int(control.modes["system"])]
    for axis, value in axes.items():
        tool = control.length if axis == 2 else 0.0
        if kind == 20 and math.isnan(control.at[axis]):
            control.at[axis] = control.zero()[axis] + value
        here = control.at[axis] - control.shift[axis] - tool - value
        origin[axis] = value if kind == 2 else here


# table 2: where homes, G92 and the origins of the work systems stand; nine systems, 20 apart
_HOMES = {28: 5161, 30: 5181}
_SHIFT, _SYSTEM, _ORIGINS = 5211, 5220, 5221


def _number(value: float) -> int:
    if math.isnan(value) or abs(value - round(value)) > WHOLE:
        raise FaultError(f"there is no parameter #{value:g}")
    if not 1 <= round(value) <= LAST_PARAMETER:
        raise FaultError(f"there is no parameter #{value:g}")
    return round(value)


def _place(control: Control, index: int) -> tuple[list[float], int] | None:
    """Return the place that a parameter holds, and the axis."""
    lists = [(first, control.homes[code]) for code, first in _HOMES.items()]
    lists.append((_SHIFT, control.kept))
    lists += [(_ORIGINS + 20 * (system - 1), control.origins[system]) for system in range(1, 10)]
    for first, place in lists:
        if first <= index < first + 3:
            return place, index - first
        if first + 3 <= index < first + 6:
            raise NotFollowedError(f"#{index}, of a rotary axis")
    return None


def read(control: Control, number: float) -> float:
    """Return a parameter, in the units in force."""
    index = _number(number)
    if index == _SYSTEM:
        return control.modes["system"]
    if (held := _place(control, index)) is not None:
        return held[0][held[1]] / control.scale
    if index not in control.parameters:
        raise NotFollowedError(f"#{index}, which the program has not set")
    return control.parameters[index]


def assign(control: Control, number: float, value: float) -> None:
    """Set a parameter. A zero in force that is set so moves when the controller likes."""
    index = _number(number)
    if index == _SYSTEM or 2001 <= index < 3000 or 5201 <= index < 5207:
        raise NotFollowedError(f"#{index}, which is the controller's")
    held = _place(control, index)
    if held is None:
        control.parameters[index] = value
        return
    if held[0] is control.origins[int(control.modes["system"])]:
        raise NotFollowedError(f"#{index}, of the zero that is in force")
    held[0][held[1]] = value * control.scale
