"""What the standard leaves to the controller, as options of the interpreter."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Controller:
    """Lengths in mm, program coordinates unless said otherwise.

    arc_radius_tolerance: greatest difference of an arc's two radii. The standard says 0.002 mm
        (NISTIR 6556, 3.5.3); programs with three decimals cannot always keep it, so 0.01.
    start: where the tool stands before the first block. start_known: False where nobody says so.
    units: 21 or 20 (G21, G20), in force before the program says so.
    plane, distance: 17, 18 or 19 and 90 or 91, in force before the program says so.
    g28_moves: `named` (only the axes in the block) or `all` (as the standard has it).
    home, second_home: machine coordinates of G28 and G30; None: not known, so neither is the
        position afterwards.
    origins: machine coordinates of the work systems 1 to 9; those left out are not known.
    lengths: of tools, by their H number; those left out are not known.
    tool_change_moves: `all`, `z` or `none`: the axes that may stand elsewhere after M6.
    block_delete: True where the switch on the controller is on and / blocks are skipped.
    decimal_point_optional: True where a number without a decimal point is read as the standard has
        it, so that `X10` is 10 mm and not ten thousandths; False where that is not known.
    peck_back_off: how far above the last depth G83 stops its rapid, and how far G73 lifts.
    stated: which of `units`, `plane` and `distance` the profile or an option states; what the
        others have is only taken, and nobody knows it.
    """

    arc_radius_tolerance: float = 0.01
    start: tuple[float, float, float] = (0.0, 0.0, 0.0)
    start_known: bool = True
    units: int = 21
    g28_moves: str = "named"
    home: tuple[float, float, float] | None = None
    second_home: tuple[float, float, float] | None = None
    origins: dict[int, tuple[float, float, float]] = field(default_factory=dict)
    lengths: dict[int, float] = field(default_factory=dict)
    tool_change_moves: str = "all"
    block_delete: bool = False
    peck_back_off: float = 0.254
    accepts: frozenset[str] = frozenset()
    plane: int = 17
    distance: int = 90
    decimal_point_optional: bool = False
    stated: frozenset[str] = frozenset()
