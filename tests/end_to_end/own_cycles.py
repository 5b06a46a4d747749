"""Canned cycles of NISTIR 6556, 3.5.16, move by move, in three planes; shares no code with gpre."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from own_arcs import PLANES
from own_blocks import Block
from own_codes import whole
from own_values import FaultError, NotFollowedError

if TYPE_CHECKING:
    from own_control import Control

NEEDS = {73: "Q", 83: "Q", 87: "IJK"}


def keep_words(control: Control, block: Block, code: float) -> None:
    """3.5.16: the words of a cycle are sticky, L is not."""
    normal = "XYZ"[PLANES[int(control.modes["plane"])][2]]
    for letter in (normal, *"RQ", *("IJK" if code == 87 else "")):
        value = control.value(block, letter)
        if value is not None:
            control.sticky[letter] = value
    seconds = block.last("P")
    if seconds is not None:
        control.sticky["P"] = seconds
    if control.sticky.get("P", 0.0) < 0.0:
        raise FaultError("a dwell below zero")


def cycle(control: Control, block: Block, axes: dict[int, float]) -> None:
    """Make the holes of a block."""
    code = control.modes["motion"]
    one, two, normal = PLANES[int(control.modes["plane"])]
    if control.modes["feed mode"] == 93:
        raise FaultError("a cycle in G93")
    if code != 87 and (block.last("K") or 1.0) != 1.0:
        raise NotFollowedError("K beside a cycle: several holes on some controllers")
    old = control.at[normal]
    if control.level is None:
        control.level = old
    keep_words(control, block, code)
    needed = {"R", "XYZ"[normal], *NEEDS.get(int(code), "")}
    if not needed <= control.sticky.keys():
        raise FaultError(f"a cycle without {min(needed - control.sticky.keys())}")
    if "Q" in needed and control.sticky["Q"] <= 0.0:
        raise FaultError("a peck without Q")
    count = whole(block.last("L"), "repeats of a cycle:")
    if count == 0:
        raise FaultError("L0")
    # 3.5.16: in G91 R counts from where the axis stands, the bottom from R
    step, zero = control.modes["distance"] == 91, control.zero()[normal]
    top = control.sticky["R"] + (old if step else zero)
    bottom = control.sticky["XYZ"[normal]] + (top if step else zero)
    if top < bottom - 1e-9:
        raise FaultError("R below the bottom")
    level = control.level if control.m.row_level else old
    if control.modes["retract"] == 98 and math.isnan(level) and not math.isnan(old):
        raise NotFollowedError("the level of G98, after the zero of its axis was moved")
    clear = max(level, top) if control.modes["retract"] == 98 else top
    if old < top:  # once, before all holes of the block
        control.to(block, {normal: top}, rapid=True)
    sideways = {axis: value for axis, value in axes.items() if axis != normal}
    for _ in range(1 if count is None else count):
        goal = control.target(sideways)
        control.to(block, {one: goal[one], two: goal[two]}, rapid=True)
        _Hole(control, block, normal, top, bottom, clear).make(int(code))


class _Hole:
    """One hole: it starts over its place. top: R; clear: where it ends. Machine mm."""

    def __init__(
        self, control: Control, block: Block, normal: int, top: float, bottom: float, clear: float
    ) -> None:
        self.control, self.block, self.normal = control, block, normal
        self.top, self.bottom, self.clear = top, bottom, clear

    def to(self, height: float, *, rapid: bool) -> None:
        self.control.to(self.block, {self.normal: height}, rapid=rapid, cycle=True)

    def dwell(self) -> None:
        seconds = self.control.sticky.get("P", 0.0)
        if seconds > 0.0:
            self.control.happens(self.block, "dwell", f"{seconds:g}")

    def make(self, code: int) -> None:
        way = self.control.way
        if code == 84 and way != 3:  # 3.5.16.4
            raise FaultError("G84 without M3")
        self.to(self.top, rapid=True)
        if code in {73, 83}:
            self.pecks(code)
        elif code == 87:
            self.bore_back(way)
        else:
            self.to(self.bottom, rapid=False)
        if code in {73, 82, 86, 88, 89}:
            self.dwell()
        self.out(code, way)

    def pecks(self, code: int) -> None:
        """G83 comes out to the clear level after each peck (3.5.16.3), G73 lifts a bit."""
        depth, bite, back = self.top, self.control.sticky["Q"], self.control.m.back_off
        if (self.top - self.bottom) / bite > 10_000:
            raise NotFollowedError("more than ten thousand pecks")
        while depth > self.bottom + 1e-9 * bite:
            depth = depth - bite if depth - bite > self.bottom + 1e-9 * bite else self.bottom
            self.to(depth, rapid=False)
            if depth > self.bottom:
                if code == 83:
                    self.to(self.clear, rapid=True)
                high = self.clear if code == 83 else self.top
                self.to(min(depth + back, high), rapid=True)

    def out(self, code: int, way: int) -> None:
        control = self.control
        if code == 84:  # turned round, and out at feed
            control.way = 4
            self.to(self.top if control.m.tap_to_top else self.clear, rapid=False)
            control.way = way
        elif code in {85, 89}:
            self.to(self.clear, rapid=False)
        elif code in {86, 88}:  # out with the spindle standing
            control.way = 5
            if code == 88:
                control.happens(self.block, "stop G88", "")
        self.to(self.clear, rapid=True)
        control.way = way

    def bore_back(self, way: int) -> None:
        """3.5.16.7: down beside the axis with the spindle standing, up at feed from below."""
        control, block, step = self.control, self.block, self.control.sticky
        one, two, _ = PLANES[int(control.modes["plane"])]
        if control.modes["plane"] != 17:
            raise NotFollowedError("G87 in another plane")
        on = {one: control.at[one], two: control.at[two]}
        aside = {one: on[one] + step["I"], two: on[two] + step["J"]}
        far = self.bottom if control.modes["distance"] == 91 else control.zero()[self.normal]
        control.to(block, aside, rapid=True, cycle=True)
        control.way = 5
        self.to(self.bottom, rapid=True)
        control.to(block, on, rapid=True, cycle=True)
        control.way = way
        self.to(step["K"] + far, rapid=False)
        self.to(self.bottom, rapid=False)
        control.way = 5
        control.to(block, aside, rapid=True, cycle=True)
        self.to(self.clear, rapid=True)
        control.to(block, on, rapid=True, cycle=True)
        control.way = way
