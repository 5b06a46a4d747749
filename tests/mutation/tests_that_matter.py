"""Which test files matter to a module: those that match it, and the wider ones for survivors."""

from __future__ import annotations

from fnmatch import fnmatch
from pathlib import Path

CORE = (
    "gpre/proof/**", "gpre/rewrites/take_up/**", "gpre/prediction/**", "gpre/motion/**",
    "gpre/reversals/**", "gpre/geometry/**", "gpre/rewrites/**",
)  # fmt: skip

# the first pattern that fits a module decides; files are named below tests/
_MATCHING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("gpre/proof/stock/*", (
        "proof/test_stock_*", "proof/test_proof_loads*", "proof/test_rapid_clearance*",
    )),
    ("gpre/proof/take_up/*", ("proof/test_proof_take_up*", "rewrites/test_take_up*")),
    ("gpre/proof/*", (
        "proof/test_*",
    )),
    ("gpre/rewrites/take_up/*", ("rewrites/test_take_up*", "proof/test_proof_take_up*")),
    ("gpre/rewrites/helix/*", ("rewrites/test_*helix*",)),
    ("gpre/rewrites/loops_off/*", ("rewrites/test_*loop*", "rewrites/test_lift_over*")),
    ("gpre/rewrites/loops*", ("rewrites/test_*loop*", "rewrites/test_approach*")),
    ("gpre/rewrites/loop_ways*", ("rewrites/test_*loop*", "rewrites/test_approach*")),
    ("gpre/rewrites/one_way/*", ("rewrites/test_one_way*",)),
    ("gpre/rewrites/order/*", ("rewrites/test_*order*",)),
    ("gpre/rewrites/start_point/*", ("rewrites/test_start_point*",)),
    ("gpre/rewrites/straighten/*", ("rewrites/test_straighten*", "rewrites/test_rewrites_mono*")),
    ("gpre/rewrites/turn_round*", ("rewrites/test_*turn_round*",)),
    ("gpre/rewrites/approach*", ("rewrites/test_approach*",)),
    ("gpre/rewrites/*", ("rewrites/test_rewrites_*", "rewrites/test_approach*")),
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
    patterns = next((files for name, files in table if fnmatch(module, name)), ())
    tests = root / "tests"
    found = [path for one in patterns for path in sorted(tests.glob(one)) if path.suffix == ".py"]
    return list(dict.fromkeys(path.relative_to(root).as_posix() for path in found))
