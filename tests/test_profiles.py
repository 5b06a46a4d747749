"""Each profile of hypothesis makes every property test longer or shorter."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import settings

HERE = Path(__file__).resolve().parent
MAY = {
    "conftest.py",
    "examples.py",
    "mutation_plugin.py",
    Path(__file__).name,
}  # where numbers of examples are said
PROFILES = {"coverage": 10, "dev": 60, "ci": 100, "soak": 5000}


def fixed(source: str) -> list[int]:
    """Lines of a test file that take settings of hypothesis by another way than a share."""
    found = []
    for node in ast.walk(ast.parse(source)):
        named = isinstance(node, ast.ImportFrom) and node.module == "hypothesis"
        if named and any(each.name in {"settings", "*"} for each in node.names):
            found.append(node.lineno)
        taken = isinstance(node, ast.Attribute) and node.attr in {"settings", "max_examples"}
        if taken and ast.unparse(node).startswith(("hypothesis.", "settings.")):
            found.append(node.lineno)
        if isinstance(node, ast.keyword) and node.arg == "max_examples":
            found.append(node.value.lineno)
    return found


def test_no_property_test_has_a_number_of_its_own() -> None:
    found = {
        f"{path.relative_to(HERE)}:{line}"
        for path in HERE.rglob("*.py")
        if path.name not in MAY
        for line in fixed(path.read_text("utf-8"))
    }
    assert found == set()


@pytest.mark.parametrize(
    "source",
    [
        "from hypothesis import given, settings\n",
        "from hypothesis import *\n",
        "import hypothesis\n\n\n@hypothesis.settings(print_blob=True)\ndef test_it(): ...\n",
        "from x import these\n\n\n@these(max_examples=60)\ndef test_it(): ...\n",
        "from x import settings\n\nsettings.max_examples\n",
    ],
)
def test_each_way_to_a_number_of_its_own_is_seen(source: str) -> None:
    assert fixed(source)


def test_a_share_is_no_number_of_its_own() -> None:
    shared = "from examples import share\n\n\n@share(0.6)\n@given(x())\ndef test_it(x): ...\n"
    assert fixed(shared) == []


SAYS = """
import sys
sys.path.insert(0, sys.argv[1])
import conftest, examples
from hypothesis import given, settings, strategies as st

@examples.share(0.6)
@given(st.integers())
def test(x): runs.append(x)

runs = []
if settings.default.max_examples <= 100:
    test()
print(settings.default.max_examples, examples.share(0.6).max_examples,
      examples.share(3).max_examples, len(examples.seeds(0.001)), len(runs))
"""


@pytest.mark.parametrize(("profile", "number"), PROFILES.items())
def test_a_share_follows_the_profile(profile: str, number: int, tmp_path: Path) -> None:
    environment = {**os.environ, "HYPOTHESIS_PROFILE": profile}
    command = [sys.executable, "-c", SAYS, str(HERE)]
    said = subprocess.run(
        command, env=environment, cwd=tmp_path, capture_output=True, text=True, check=True
    )
    whole, part, more, least, ran = map(int, said.stdout.split())
    assert (whole, part, more) == (number, round(0.6 * number), 3 * number)
    assert least == max(1, round(0.001 * number))
    assert ran == (part if number <= 100 else 0)


def test_the_profiles_are_those_that_the_tests_run_in() -> None:
    assert settings.default.max_examples in PROFILES.values()
    for profile, number in PROFILES.items():
        assert settings.get_profile(profile).max_examples == number
        assert settings.get_profile(profile).deadline is None
