"""The floors of coverage: one for each package, and held."""

from pathlib import Path

import pytest
from coverage_floors import FLOORS, below, by_package

GPRE = Path(__file__).parents[2] / "gpre"


def measured(statements, lines, branches, taken):
    return {
        "summary": {
            "num_statements": statements,
            "covered_lines": lines,
            "num_branches": branches,
            "covered_branches": taken,
        }
    }


def test_each_package_has_a_floor():
    packages = {each.parent.name for each in GPRE.glob("*/__init__.py")}
    packages |= {each.name for each in GPRE.iterdir() if any(each.glob("*.py"))}
    assert set(FLOORS) == packages | {"gpre"}
    assert all(30.0 <= floor < 100.0 for floor in FLOORS.values())


def test_statements_and_branches_of_a_package_count_together():
    files = {
        "gpre/proof/prove.py": measured(60, 60, 20, 10),
        "gpre/proof/metal/field.py": measured(20, 20, 0, 0),
        "gpre/__init__.py": measured(4, 3, 0, 0),
        "gpre/cli/__init__.py": measured(0, 0, 0, 0),
    }
    assert by_package(files) == {"proof": pytest.approx(90.0), "gpre": pytest.approx(75.0)}


def test_below_the_floor_or_without_one_is_wrong():
    assert below({"proof": 95.0}, {"proof": 95.0}) == []
    assert below({"proof": 94.9}, {"proof": 95.0}) == [
        "proof is reached to 94.9 %, below its floor of 95.0 %"
    ]
    assert below({"proof": 95.0, "mill": 99.0}, {"proof": 95.0}) == ["mill has no floor"]
    assert below({}, {"proof": 95.0}) == ["proof has a floor and was not measured"]
