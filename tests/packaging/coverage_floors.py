"""Holds what the tests reach of each package of gpre against its floor.

    coverage json -q -o FILE && python tests/packaging/coverage_floors.py FILE

Percent of statements and branches together, as coverage counts them. Prints a line for each package
and exits with 1 where one lies below its floor or has none.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any

# What .ci/coverage measured, less one or two; a floor is raised with the tests, and not lowered for
# them.
FLOORS = {
    "cli": 97.0,
    "comparison": 92.0,
    "cuts": 97.0,
    "diagnostics": 99.0,
    "driver": 96.0,
    "editing": 93.0,
    "geometry": 98.0,
    "gpre": 90.0,
    "mill": 97.0,
    "motion": 97.0,
    "prediction": 98.0,
    "program": 98.0,
    "proof": 97.0,
    "report": 97.0,
    "reversals": 97.0,
    "rewrites": 94.0,
    "room": 94.0,
    "scripting": 98.0,
    "settings": 96.0,
    "source": 97.0,
    "stock": 97.0,
}


def by_package(files: dict[str, dict[str, Any]]) -> dict[str, float]:
    """Return the percentage of each package; modules beside them count as `gpre`.

    files: by path, as `coverage json` has them.
    """
    reached: Counter[str] = Counter()
    total: Counter[str] = Counter()
    for path, each in files.items():
        parts = Path(path).parts
        inner = parts[parts.index("gpre") + 1 :]
        name = inner[0] if len(inner) > 1 else "gpre"
        summary = each["summary"]
        reached[name] += summary["covered_lines"] + summary["covered_branches"]
        total[name] += summary["num_statements"] + summary["num_branches"]
    measured = {name: number for name, number in sorted(total.items()) if number}
    return {name: 100.0 * reached[name] / number for name, number in measured.items()}


def below(found: dict[str, float], floors: dict[str, float]) -> list[str]:
    """Return what is wrong, a sentence each."""
    wrong = [
        f"{name} is reached to {percent:.1f} %, below its floor of {floors[name]:.1f} %"
        for name, percent in found.items()
        if name in floors and percent < floors[name]
    ]
    wrong += [f"{name} has no floor" for name in found if name not in floors]
    return wrong + [f"{name} has a floor and was not measured" for name in set(floors) - set(found)]


def main() -> int:
    """Print the table, and what is wrong."""
    files = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))["files"]
    found = by_package(files)
    for name, percent in found.items():
        print(f"{name:<12} {percent:6.1f} %   floor {FLOORS.get(name, 0.0):6.1f} %")
    wrong = below(found, FLOORS)
    print(*wrong, sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
