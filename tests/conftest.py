"""What holds for all tests: the profiles of hypothesis, and no profile of the user's own mill."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# drawing a whole program takes its time, on a busy machine above all: that alone is no fault
_SLOW = [HealthCheck.too_slow]
# a test takes its share of these numbers (examples.py), never a number of its own
settings.register_profile("dev", max_examples=60, deadline=None, suppress_health_check=_SLOW)
settings.register_profile("ci", max_examples=100, deadline=None, suppress_health_check=_SLOW)
settings.register_profile("soak", max_examples=5000, deadline=None, suppress_health_check=_SLOW)
# the same programs in each run, so that what they reach does not change by chance
settings.register_profile(
    "coverage",
    max_examples=10,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "dev"))

# The person who runs the tests may have a profile at the default place; the tests must not see it.
os.environ["XDG_CONFIG_HOME"] = os.path.join(os.path.dirname(__file__), "no-such-folder")  # noqa: PTH118, PTH120

sys.path.insert(0, os.path.dirname(__file__))  # noqa: PTH120  (examples.py)

from four_holes import HOLES  # noqa: E402  (it stands beside this file)
from machine import use_the_tree  # noqa: E402

use_the_tree()


@pytest.fixture
def holes(tmp_path: Path) -> Path:
    """Return a file that holds the four holes."""
    path = tmp_path / "holes.ngc"
    path.write_bytes(HOLES)
    return path


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-cases", action="store_true", help="rewrite the expectations in tests/cases"
    )


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--update-cases") and os.environ.get("CI", "").lower() in {"1", "true"}:
        raise pytest.UsageError("--update-cases is refused where CI is set")
