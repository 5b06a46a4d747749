"""Which test files matter to a module: those that match it, and the wider ones for survivors."""

from __future__ import annotations

from fnmatch import fnmatch
from pathlib import Path

CORE = (
    "gpre/proof/**", "gpre/rewrites/take_up/**", "gpre/prediction/**", "gpre/motion/**",
    "gpre/reversals/**", "gpre/geometry/**", "gpre/cuts/**", "gpre/room/**", "gpre/stock/**",
    "gpre/editing/**", "gpre/rewrites/**",
)  # fmt: skip


def _cases(*rewrites: str) -> str:
    return f"test_cases.py -k {' or '.join(rewrites)}"


def _pairs(*files: str) -> str:
    return f"test_pairs.py -k {' or '.join(files)}"


_STOCK = (
    "stock/test_stock_*", "proof/test_stock_*", "proof/test_proof_load*",
    "proof/test_rapid_clearance*",
)  # fmt: skip
_METAL = (*_STOCK, _pairs("ramps/", "rapid_onto_stock/"))
_TAKE_UP = ("rewrites/test_take_up*", _cases("take-up/"), "proof/test_proof_take_up*")
# the first pattern that fits a module decides; files are named below tests/
_MATCHING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("gpre/proof/metal/own_rapids*", ("proof/test_own_rapids*", *_STOCK)),
    ("gpre/proof/metal/climb*", (*_STOCK, _pairs("climb/"))),
    ("gpre/proof/metal/*", _METAL),
    ("gpre/stock/*", _METAL),
    ("gpre/proof/take_up/*", ("proof/test_proof_take_up*", *_TAKE_UP, _pairs("take_up/"))),
    ("gpre/proof/feeds*", ("proof/test_*", _pairs("feeds/", "tapping/"))),
    ("gpre/proof/cutting*", ("proof/test_*", _pairs("peck_depth/", "r_level/", "spring_pass/"))),
    ("gpre/proof/moves*", (
        "proof/test_*", _pairs("low_ways_in/", "clear_places/", "one_tool_named/", "not_named/"),
    )),
    ("gpre/proof/plunges*", ("proof/test_*", _pairs("low_ways_in/", "one_tool_named/"))),
    ("gpre/proof/ramps*", ("proof/test_*", _pairs("ramps/"))),
    ("gpre/proof/readings*", ("proof/test_*", _pairs("readings/", "spelling/"))),
    ("gpre/proof/event_checks*", ("proof/test_*", _pairs("clear_places/", "work_offsets/"))),
    ("gpre/proof/behind_stops*", ("proof/test_*", _pairs("behind_stops/"))),
    ("gpre/proof/modes_stated*", ("proof/test_*", _pairs("not_stated/", "left_in_force/"))),
    ("gpre/proof/semicolons*", ("proof/test_*", _pairs("readings/"))),
    ("gpre/proof/stop_texts*", ("proof/test_*", _pairs("stop_text/"))),
    ("gpre/proof/*", ("proof/test_*",)),
    ("gpre/rewrites/take_up/*", _TAKE_UP),
    ("gpre/rewrites/helix/*", ("rewrites/test_*helix*", _cases("helix/"))),
    ("gpre/rewrites/loops_off/*", (
        "rewrites/test_*loop*", "rewrites/test_lift_over*", _cases("corner-loop/", "lift-over/"),
    )),
    ("gpre/editing/loops*", ("rewrites/test_*loop*", "rewrites/test_approach*")),
    ("gpre/editing/loop_ways*", ("rewrites/test_*loop*", "rewrites/test_approach*")),
    ("gpre/rewrites/one_way/*", ("rewrites/test_one_way*", _cases("one-way/"))),
    ("gpre/rewrites/order/*", ("rewrites/test_*order*", _cases("order/"))),
    ("gpre/rewrites/start_point/*", ("rewrites/test_start_point*", _cases("start-point/"))),
    ("gpre/rewrites/straighten/*", (
        "rewrites/test_straighten*", "rewrites/test_rewrites_mono*", _cases("straighten/"),
    )),
    ("gpre/rewrites/turn_round*", ("rewrites/test_*turn_round*", _cases("turn-round/"))),
    ("gpre/rewrites/approach*", (
        "rewrites/test_approach*", "rewrites/test_rewrites_backlash*", _cases("approach/"),
    )),
    ("gpre/rewrites/*", ("rewrites/test_rewrites_*", "rewrites/test_approach*")),
    ("gpre/editing/*", ("editing/test_*", "rewrites/test_rewrites_*", "rewrites/test_approach*")),
    ("gpre/room/*", ("room/test_*", "rewrites/test_rewrites_*", "rewrites/test_approach*")),
    ("gpre/cuts/*", ("cuts/test_*", "rewrites/test_rewrites_least*")),
    ("gpre/prediction/*", ("prediction/test_*",)),
    ("gpre/motion/*", ("motion/test_*",)),
    ("gpre/reversals/*", ("reversals/test_*",)),
    ("gpre/geometry/*", ("geometry/test_*",)),
)  # fmt: skip
_CASES = ("test_cases.py",)
_PAIRS = ("test_pairs.py",)
_WIDER: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("gpre/proof/take_up/*", ("end_to_end/test_effect*", "driver/test_*")),
    ("gpre/proof/*", (*_PAIRS, "driver/test_*")),
    ("gpre/rewrites/take_up/*", (*_CASES, "end_to_end/test_effect*")),
    ("gpre/rewrites/*", (*_CASES, "rewrites/test_*", "driver/test_*")),
    ("gpre/editing/*", (*_CASES, "rewrites/test_*", "driver/test_*")),
    ("gpre/room/*", (*_CASES, "rewrites/test_*", "proof/test_proof_new_ways*")),
    ("gpre/stock/*", (*_PAIRS, "driver/test_*")),
    ("gpre/cuts/*", (*_CASES, "driver/test_cut_plan*", "report/test_report_p*")),
    ("gpre/prediction/*", (
        "proof/test_proof_take_up*", "rewrites/test_take_up*", "report/test_report_predict*",
    )),
    ("gpre/motion/*", (
        "reversals/test_*", "proof/test_proof_readings*", "end_to_end/test_constructs*",
        "end_to_end/test_traps*", *_PAIRS, *_CASES,
    )),
    ("gpre/reversals/*", (
        "rewrites/test_rewrites_*", *_CASES, "driver/test_cut_plan*", "report/test_report_p*",
    )),
    ("gpre/geometry/*", ("motion/test_motion_arcs*", "prediction/test_*", "proof/test_*", *_CASES)),
)  # fmt: skip


def modules(root: Path, wanted: list[str]) -> list[str]:
    """Return the modules of a tree that paths or patterns name, in order; none: the core."""
    found: list[str] = []
    for pattern in wanted or CORE:
        name = pattern.rstrip("/")
        paths = [root / name] if name.endswith(".py") else sorted(root.glob(name))
        for path in paths:
            inner = sorted(path.rglob("*.py")) if path.is_dir() else [path]
            found += [one.relative_to(root).as_posix() for one in inner if one.suffix == ".py"]
    return [one for one in dict.fromkeys(found) if not one.endswith("__init__.py")]


def matching(root: Path, module: str) -> list[str]:
    """Return the test files that match a module."""
    return _files(root, module, _MATCHING)


def wider(root: Path, module: str) -> list[str]:
    """Return the further test files that a change of a module may be noticed by."""
    near = matching(root, module)
    return [one for one in _files(root, module, _WIDER) if one not in near]


def _files(root: Path, module: str, table: tuple[tuple[str, tuple[str, ...]], ...]) -> list[str]:
    found: list[str] = []
    for one in next((files for name, files in table if fnmatch(module, name)), ()):
        pattern, dash, words = one.partition(" -k ")
        paths = sorted((root / "tests").glob(pattern))
        found += [
            path.relative_to(root).as_posix() + dash + words
            for path in paths
            if path.suffix == ".py"
        ]
    return list(dict.fromkeys(found))
