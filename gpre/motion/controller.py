"""What the standard leaves to the controller, as options of the interpreter."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from gpre.motion.groups import SYSTEMS, code_name
from gpre.settings.keys import Numbered, about, key
from gpre.settings.values import FLAG, Amount, Amounts, Choice, CodeList

Point = tuple[float, float, float]
UNITS = {"mm": 21, "inch": 20}
WORK_SYSTEMS = {code_name(code): system for code, system in SYSTEMS.items()}
_H_NUMBER = re.compile(r"[Hh]0*([1-9]\d{0,5})", re.ASCII)
TOOL_LENGTH = Amount("mm", -5e3, 5e3)
_PLACE = Amounts(3, Amount("mm"))
_NOT_KNOWN = "not known"


def origins_in(unit: str) -> Numbered:
    """Return a table of work systems and their origins."""
    return Numbered(Amounts(3, Amount(unit)), WORK_SYSTEMS)


def lengths_in(unit: str) -> Numbered:
    """Return a table of tool lengths, such as H3."""
    message = "a tool length is named by its H number, and {} is not one"
    return Numbered(
        replace(TOOL_LENGTH, unit=unit),
        _H_NUMBER,
        "H{}",
        "MIL515",
        message,
        "write H3 = 82.5",
    )


@dataclass(frozen=True)
class Controller:
    """Lengths in mm, program coordinates unless said otherwise.

    start_known: False where nobody says where the tool stands before the first block.
    units: 21 or 20; plane: 17, 18 or 19; distance: 90 or 91. origins: by work system, 1 to 9.
    lengths: by H number. stated: which of `units`, `plane` and `distance` the profile or an option
    states; what the others have is only taken, and nobody knows it.
    """

    # the standard says 0.002 mm (NISTIR 6556, 3.5.3); programs with three decimals cannot always
    # keep it
    arc_radius_tolerance: float = key(
        0.01,
        Amount("mm", above=0, max=1),
        "The greatest difference of an arc's two radii, at its start and at its end.",
        old="arc_tolerance",
    )
    start: Point = key(
        (0.0, 0.0, 0.0), _PLACE, "Where the tool stands before the first block.", _NOT_KNOWN
    )
    start_known: bool = True
    units: int = key(
        21, Choice(UNITS), "The units in force before the program says G20 or G21.", _NOT_KNOWN
    )
    g28_moves: str = key(
        "named",
        Choice.of("named", "all"),
        "The axes that G28 X0 moves: those named in the block, or all (as the standard has it).",
    )
    home: Point | None = key(None, _PLACE, "Where G28 goes, machine coordinates.", _NOT_KNOWN)
    second_home: Point | None = key(
        None, _PLACE, "Where G30 goes, machine coordinates.", _NOT_KNOWN
    )
    origins: dict[int, Point] = field(
        default_factory=dict,
        metadata=about(
            origins_in("mm"),
            "Machine coordinates of the work systems as touched off: G54 = [150.0, 60.0, -120.0].",
            "those left out are not known",
        ),
    )
    lengths: dict[int, float] = field(
        default_factory=dict,
        metadata=about(
            lengths_in("mm"),
            "Tool lengths by H number: H3 = 82.5.",
            "those left out are not known",
        ),
    )
    tool_change_moves: str = key(
        "all",
        Choice({"all": "all", "Z": "z", "none": "none"}),
        "The axes that may stand elsewhere after M6.",
    )
    block_delete: bool = key(
        False, FLAG, "The block delete switch is on: blocks that begin with / are skipped."
    )
    peck_back_off: float = key(
        0.254,
        Amount("mm", 0, 50),
        "How far above the last depth G83 stops its rapid, and how far G73 lifts.",
    )
    accepts: frozenset[str] = key(
        frozenset(), CodeList(), "Words of your controller that gpre should not warn about.", "none"
    )
    plane: int = key(
        17,
        Choice({"XY": 17, "ZX": 18, "YZ": 19}),
        "The plane in force before the program says G17, G18 or G19.",
        _NOT_KNOWN,
    )
    distance: int = key(
        90,
        Choice({"absolute": 90, "incremental": 91}),
        "The distance mode in force before the program says G90 or G91.",
        _NOT_KNOWN,
    )
    decimal_point_optional: bool = key(
        False,
        FLAG,
        "X10 is 10 mm, as the standard has it, and not ten thousandths as on some older "
        "controllers.",
        "not known: a lost decimal point fails the proof",
        old="point_optional",
    )
    stated: frozenset[str] = frozenset()
