"""The codes of a block by their modal groups (NISTIR 6556, table 4); shares no code with gpre."""

from __future__ import annotations

from own_blocks import Block
from own_values import WHOLE, FaultError, NotFollowedError

CYCLES = (73, 81, 82, 83, 84, 85, 86, 87, 88, 89)  # 3.5.16; G73 is common practice
SYSTEMS = {54: 1, 55: 2, 56: 3, 57: 4, 58: 5, 59: 6, 59.1: 7, 59.2: 8, 59.3: 9}
UNITS = {20: 20, 21: 21, 70: 20, 71: 21}  # G70 and G71 in an older manner
GROUPS: dict[float, str] = {
    **dict.fromkeys((0, 1, 2, 3, 80, *CYCLES), "motion"),
    **dict.fromkeys((17, 18, 19), "plane"),
    **dict.fromkeys((90, 91), "distance"),
    **dict.fromkeys((93, 94, 95), "feed mode"),
    **dict.fromkeys(UNITS, "units"),
    **dict.fromkeys((40, 41, 42, 41.1, 42.1), "compensation"),
    **dict.fromkeys((43, 49), "length"),
    **dict.fromkeys((98, 99), "retract"),
    **dict.fromkeys(SYSTEMS, "system"),
    **dict.fromkeys((61, 61.1, 64), "path"),
    **dict.fromkeys((90.1, 91.1), "centres"),
    **dict.fromkeys((4, 10, 28, 30, 53, 92, 92.1, 92.2, 92.3), "once"),
}
TAKE_AXES = {10, 28, 30, 92}  # 3.4: these use the axis words, a motion of the block cannot
# they end what is not followed anyway: polar words, scaling, mirrors, macros, rotation; G97 says
# what S is (common practice, no source)
ENDS_NOTHING = {15, 50, 50.1, 67, 69, 97}
M_GROUPS = ((0, 1, 2, 30, 60), (6,), (3, 4, 5), (9, 8), (9, 7), (48, 49), (98, 99))
LETTERS = set("ABCDFGHIJKLMNOPQRSTXYZ")


class Codes:
    """g: codes by group. m: the M codes. Two codes of one group are a fault (3.3.5, 3.4).

    The same code twice is read as once, and G80 beside another motion code as that code: programs
    in use open so (common practice).
    """

    def __init__(self, block: Block) -> None:
        self.g: dict[str, float] = {}
        codes = [_code(value) for value in block.all("G")]
        moving = {code for code in codes if GROUPS.get(code) == "motion"} - {80}
        for code in codes:
            group = GROUPS.get(code)
            if code in ENDS_NOTHING or (code == 80 and moving):
                continue
            if group is None:
                raise NotFollowedError(f"G{code:g}")
            if self.g.get(group, code) != code:
                raise FaultError(f"two G codes of one group: {group}")
            self.g[group] = code
        self.m = {_code(value) for value in block.all("M")}
        known = {code for group in M_GROUPS for code in group}
        if strange := self.m - known:
            raise NotFollowedError(f"M{min(strange):g}")
        for group in M_GROUPS:
            if len(self.m.intersection(group)) > 1:
                raise FaultError("two M codes of one group")
        letters = [letter for letter, _, _ in block.words]
        if others := set(letters) - LETTERS:
            raise NotFollowedError(f"words with {' '.join(sorted(others))}")
        for letter in set(letters) - {"G", "M", "N", "O"}:
            if letters.count(letter) > 1:
                raise FaultError(f"{letter} twice")
        taken = self.g.get("once") in TAKE_AXES and "motion" in self.g
        if taken and set(letters) & set("XYZ") and self.g["motion"] != 80:
            raise FaultError("two codes that both use the axis words")
        if self.g.get("units") in {70, 71} and set(letters) & set("PQ"):
            raise NotFollowedError("a cycle of a lathe")


def _code(value: float) -> float:
    """Return a code as a number with at most one decimal (3.3.2.1)."""
    nearest = round(value * 10.0)
    if abs(value * 10.0 - nearest) > WHOLE:
        raise NotFollowedError(f"a code {value:g}")
    return nearest / 10.0


def whole(value: float | None, what: str) -> int | None:
    """Return a word that must be a whole number, zero or more (3.3.2.1)."""
    if value is None:
        return None
    if value != value or abs(value - round(value)) > WHOLE or round(value) < 0:  # noqa: PLR0124
        raise FaultError(f"{what} {value:g}")
    return round(value)
