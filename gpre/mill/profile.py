"""Reads a mill profile: a TOML file that says how one mill moves."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from platformdirs import user_config_path

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.mill.mill import Axis, Compensation, Limits, Mill, Table, Timing, Twist, Weights
from gpre.mill.settings import Settings, SettingsFile
from gpre.motion.controller import Controller
from gpre.motion.not_stated import SETTINGS
from gpre.motion.offsets import SYSTEM_NAMES

LOST_MOTION_TO_DOUBT = 1.0  # mm
SYSTEMS = tuple(SYSTEM_NAMES[number] for number in range(1, 10))
PLANES = {"XY": 17, "ZX": 18, "YZ": 19}
UNITS = {"mm": 21, "inch": 20}
DISTANCES = ("absolute", "incremental")
TOOL_CHANGE_MOVES = {"all": "all", "Z": "z", "none": "none"}
_H_NUMBER = re.compile(r"[Hh]0*([1-9]\d{0,5})", re.ASCII)
_WORD = re.compile(r"([A-Z])0*(\d+)(?:\.0*(\d+?)0*)?", re.ASCII)


@dataclass(frozen=True)
class LoadedMill:
    """A mill, its file ("" for the guess), the file's bytes, and what was found there.

    by_option: keys of [controller] that an option of the command states in the file's place.
    """

    mill: Mill
    name: str = ""
    data: bytes = b""
    findings: tuple[Diagnostic, ...] = ()
    by_option: frozenset[str] = frozenset()


def load_mill(path: Path | None = None) -> Mill:
    """Read a profile, for None the user's own; raise FileFault for a faulty one.

    Where neither is there, give a cautious guess.
    """
    return find_mill(path).mill


def default_place() -> Path:
    """Return the place where the user's own profile is looked for."""
    return user_config_path("gpre") / "mill.toml"


def find_mill(path: Path | None = None) -> LoadedMill:
    """Read a profile as `load_mill` does, and say what was found on the way."""
    if path is None:
        path = default_place()
        if not path.is_file():
            note = Diagnostic(
                "MIL508",
                "no mill profile: a guess of 0.1 mm of lost motion is used",
                help="copy samples/mill.toml, put your mill's values in, and give --mill FILE, "
                f"or save it as {path}",
            )
            return LoadedMill(Mill(), findings=(note,))
    file = SettingsFile.read(str(path))
    return read_profile(file)


def with_units(loaded: LoadedMill, units: str | None) -> LoadedMill:
    """Put the option --units over a profile: `mm` or `inch`; None leaves the profile as it is.

    It says what is in force before the program states its units, and settles that.
    """
    if units is None:
        return loaded
    controller = loaded.mill.controller
    code = UNITS[units]
    findings = loaded.findings
    if "units" in controller.stated and controller.units != code:
        message = f"--units {units} counts, not the units of the profile"
        findings = (*findings, Diagnostic("MIL516", message))
    settled = replace(controller, units=code, stated=controller.stated | {"units"})
    mill = replace(loaded.mill, controller=settled)
    return replace(loaded, mill=mill, findings=findings, by_option=frozenset(("units",)))


def read_profile(file: SettingsFile) -> LoadedMill:
    """Check every key of a profile; raise FileFault with all faults at their places."""
    root = file.root()
    mill = Mill(
        name=root.text("name", Mill.name),
        x=_axis(root.table("x").with_old(gravity_loaded="hangs")),
        y=_axis(root.table("y").with_old(gravity_loaded="hangs")),
        z=_axis(root.table("z").with_old(gravity_loaded="hangs")),
        twist=_twist(root.table("twist")),
        compensation=_compensation(root.table("compensation")),
        limits=_limits(
            root.table("limits").with_old(
                max_take_up_feed="greatest_take_up_feed", min_overshoot="approach_distance"
            )
        ),
        controller=_controller(
            root.table("controller").with_old(
                arc_radius_tolerance="arc_tolerance", decimal_point_optional="point_optional"
            )
        ),
        timing=_timing(root.table("timing")),
        weights=_weights(root.table("weights").with_old(dwell_mark="mark")),
    )
    root.finish()
    return LoadedMill(mill, file.name, file.data, file.close())


def _axis(table: Settings) -> Axis:
    guess = Axis()
    axis = Axis(
        lost_motion=_lost_motion(table),
        uncertainty=table.number("uncertainty", guess.uncertainty, least=0, greatest=1, unit="mm"),
        resolution=table.number("resolution", guess.resolution, above=0, greatest=0.1, unit="mm"),
        travel=_range(table, "travel"),
        top_speed=table.number("top_speed", guess.top_speed, above=0, greatest=1e6, unit="mm/min"),
        acceleration=table.number(
            "acceleration", guess.acceleration, above=0, greatest=1e6, unit="mm/s²"
        ),
        approach=1 if table.word("approach", "+", ("+", "-")) == "+" else -1,
        gravity_loaded=table.flag("gravity_loaded", guess.gravity_loaded),
    )
    table.finish()
    return axis


def _lost_motion(table: Settings) -> float | Table:
    if not isinstance(table.values.get("lost_motion"), list):
        found: float | Table = table.number(
            "lost_motion", Axis().greatest_lost_motion, least=0, greatest=5, unit="mm"
        )
    else:
        found = _lost_motion_table(table)
    most = (
        found if isinstance(found, float) else max((backlash for _, backlash in found), default=0.0)
    )
    if most > LOST_MOTION_TO_DOUBT:
        message = f"{most:g} mm of lost motion is more than a mill should have"
        table.file.report("MIL509", message, table.place(("lost_motion",)), "in mm?")
    return found


def _lost_motion_table(table: Settings) -> Table:
    rows = table.take("lost_motion")
    assert isinstance(rows, list)
    found: list[tuple[float, float]] = []
    for at, row in enumerate(rows):
        keys = ("lost_motion", at)
        if not isinstance(row, list) or len(row) != 2:
            table.wrong_kind(keys, "a pair [position, lost motion]", row)
            continue
        position = table.checked(row[0], (*keys, 0), unit="mm")
        backlash = table.checked(row[1], (*keys, 1), least=0, greatest=5, unit="mm")
        if position is None or backlash is None:
            continue
        if found and position <= found[-1][0]:
            message = "the positions of a lost-motion table must rise"
            label = f"not above {found[-1][0]:g}"
            table.file.report("MIL506", message, table.place((*keys, 0)), label)
        found.append((position, backlash))
    if len(rows) < 2:
        message = "a lost-motion table needs at least two pairs"
        advice = "one value for the whole axis is written lost_motion = 0.09"
        table.file.report("MIL506", message, table.place(("lost_motion",)), "", advice)
    return tuple(found)


def _range(table: Settings, key: str) -> tuple[float, float] | None:
    found = table.numbers(key, 2)
    if found is None:
        return None
    low, high = found
    if low >= high:
        message = f"the lower end of {key} is not below its upper end"
        table.file.report("MIL507", message, table.place((key,)), "lower end first")
    return (low, high)


def _twist(table: Settings) -> Twist:
    pivot = table.numbers("pivot", 2)
    twist = Twist(
        x=table.number("x", 0.0, least=0, greatest=0.1, unit="rad"),
        y=table.number("y", 0.0, least=0, greatest=0.1, unit="rad"),
        pivot=(pivot[0], pivot[1]) if pivot else (0.0, 0.0),
    )
    table.finish()
    return twist


def _compensation(table: Settings) -> Compensation:
    guess = Compensation()
    found = Compensation(
        by=table.word("by", guess.by, ("none", "controller", "program")),
        take_up_feed=table.number(
            "take_up_feed", guess.take_up_feed, above=0, greatest=1e5, unit="mm/min"
        ),
        pause=table.number("pause", guess.pause, least=0, greatest=10, unit="s"),
    )
    table.finish()
    return found


def _limits(table: Settings) -> Limits:
    guess = Limits()
    found = Limits(
        tolerance=table.number("tolerance", guess.tolerance, above=0, greatest=1, unit="mm"),
        min_overshoot=table.number(
            "min_overshoot", guess.min_overshoot, above=0, greatest=50, unit="mm"
        ),
        rapid_clearance=table.number(
            "rapid_clearance", guess.rapid_clearance, above=0, greatest=50, unit="mm"
        ),
        max_take_up_feed=table.number(
            "max_take_up_feed",
            guess.max_take_up_feed,
            above=0,
            greatest=1e5,
            unit="mm/min",
        ),
        corner_tolerance=table.number(
            "corner_tolerance", guess.corner_tolerance, least=0, greatest=1, unit="mm"
        ),
    )
    table.finish()
    return found


def _timing(table: Settings) -> Timing:
    found = Timing(
        tool_change=table.number(
            "tool_change", Timing.tool_change, least=0, greatest=3600, unit="s"
        ),
    )
    table.finish()
    return found


def _weights(table: Settings) -> Weights:
    guess = Weights()
    found = Weights(
        dwell_mark=table.number("dwell_mark", guess.dwell_mark, least=0, greatest=1e5, unit="s"),
        error=table.number("error", guess.error, least=0, greatest=1e5, unit="s"),
    )
    table.finish()
    return found


def _controller(table: Settings) -> Controller:
    guess = Controller()
    stated = frozenset(key for key in SETTINGS if table.has(key))
    found = Controller(
        arc_radius_tolerance=table.number(
            "arc_radius_tolerance", guess.arc_radius_tolerance, above=0, greatest=1, unit="mm"
        ),
        start=_point(table, "start") or guess.start,
        start_known=table.has("start"),
        units=UNITS[table.word("units", "mm", tuple(UNITS))],
        g28_moves=table.word("g28_moves", guess.g28_moves, ("named", "all")),
        home=_point(table, "home"),
        second_home=_point(table, "second_home"),
        origins=read_origins(table.table("origins")),
        lengths=read_lengths(table.table("lengths")),
        tool_change_moves=TOOL_CHANGE_MOVES[
            table.word("tool_change_moves", "all", tuple(TOOL_CHANGE_MOVES))
        ],
        block_delete=table.flag("block_delete", guess.block_delete),
        peck_back_off=table.number(
            "peck_back_off", guess.peck_back_off, least=0, greatest=50, unit="mm"
        ),
        accepts=_accepts(table),
        plane=PLANES[table.word("plane", "XY", tuple(PLANES))],
        decimal_point_optional=table.flag("decimal_point_optional", guess.decimal_point_optional),
        distance=91 if table.word("distance", "absolute", DISTANCES) == "incremental" else 90,
        stated=stated,
    )
    table.finish()
    return found


def _point(table: Settings, key: str) -> tuple[float, float, float] | None:
    found = table.numbers(key, 3)
    return (found[0], found[1], found[2]) if found else None


def read_origins(table: Settings, scale: float = 1.0) -> dict[int, tuple[float, float, float]]:
    """Return the origins of the work systems 1 to 9 that a table gives, mm; scale: mm a unit."""
    found = {at: _point(table, name) for at, name in enumerate(SYSTEMS, 1)}
    table.finish()
    return {
        at: (point[0] * scale, point[1] * scale, point[2] * scale)
        for at, point in found.items()
        if point is not None
    }


def read_lengths(table: Settings, scale: float = 1.0) -> dict[int, float]:
    """Return tool lengths by H number, mm, of a table with keys such as H3; scale: mm a unit."""
    found: dict[int, float] = {}
    for name in table.values:
        match = _H_NUMBER.fullmatch(name)
        if match is None:
            table.take(name)
            message = f"a tool length is named by its H number, and {name} is none"
            table.file.report("MIL515", message, table.key_place(name), "", "write H3 = 82.5")
            continue
        found[int(match.group(1))] = scale * table.number(name, 0.0, least=-5e3, greatest=5e3)
    table.finish()
    return found


def _accepts(table: Settings) -> frozenset[str]:
    """Return words in one manner: upper case, no zeros that say nothing (`m08` is `M8`)."""
    words = table.take("accepts")
    if words is None:
        return frozenset()
    if not isinstance(words, list):
        table.wrong_kind("accepts", 'a list of words like ["G5.1", "M97"]', words)
        return frozenset()
    found: set[str] = set()
    for at, each in enumerate(words):
        match = _WORD.fullmatch(each.strip().upper()) if isinstance(each, str) else None
        if match:
            found.add(
                match.group(1) + match.group(2) + (f".{match.group(3)}" if match.group(3) else "")
            )
        else:
            table.wrong_kind(("accepts", at), 'a word like "G5.1" or "M97"', each)
    return frozenset(found)
