"""Loaded into pytest by `tests_run.py`: which tests run and in what order, and what they reach.

What is asked stands in a JSON file that MUTATION_ASKED names; the answer is written beside it.
"""

from __future__ import annotations

import importlib.util
import json
import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import Phase, settings

_ASKED = Path(os.environ["MUTATION_ASKED"])
_WITHOUT_COVERAGE = "nothing"


class _Run:
    """tests: node ids in the order in which they run; empty: all, and what they reach is told."""

    def __init__(self) -> None:
        asked = json.loads(_ASKED.read_text("utf-8"))
        self.tree = Path(asked["tree"])
        self.rank = {name: at for at, name in enumerate(asked["tests"])}
        self.seconds: dict[str, float] = {}
        self.failed: list[str] = []
        self.coverage = None
        if not self.rank:
            from coverage import Coverage

            self.coverage = Coverage(data_file=None, source=[str(self.tree / "gpre")])
        _limit(asked["cpu_seconds"])

    def pytest_configure(self) -> None:
        found = importlib.util.find_spec("gpre")
        if found is None or not Path(found.origin or "").is_relative_to(self.tree):
            pytest.exit("gpre is not that of the copy", returncode=90)
        # a failure need not be made small, nor remembered
        settings.register_profile(
            "mutation", settings(), database=None, phases=(Phase.explicit, Phase.generate)
        )
        settings.load_profile("mutation")
        if self.coverage is not None:
            self.coverage.start()
            self.coverage.switch_context(_WITHOUT_COVERAGE)

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        if self.rank:
            mine = [one for one in items if one.nodeid in self.rank]
            items[:] = sorted(mine, key=lambda one: self.rank[one.nodeid])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        if self.coverage is not None:
            self.coverage.switch_context(item.nodeid)
        begun = time.process_time()  # a clock would count what else the machine does
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - begun
            if self.coverage is not None:
                self.coverage.switch_context(_WITHOUT_COVERAGE)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        reached: dict[str, dict[str, list[int]]] = {}
        if self.coverage is not None:
            self.coverage.stop()
            data = self.coverage.get_data()
            for path in data.measured_files():
                module = Path(path).relative_to(self.tree).as_posix()
                for line, names in data.contexts_by_lineno(path).items():
                    for name in names:
                        reached.setdefault(name, {}).setdefault(module, []).append(line)
            reached.pop(_WITHOUT_COVERAGE, None)
        said = {"seconds": self.seconds, "failed": self.failed, "reached": reached}
        _ASKED.with_suffix(".said").write_text(json.dumps(said), "utf-8")


def _limit(cpu_seconds: float) -> None:
    """Let an endless loop end, and a list without an end."""
    try:
        import resource
    except ImportError:  # not everywhere; the clock of `tests_run.py` still ends it
        return
    seconds = int(cpu_seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
    resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))


def pytest_addoption(pluginmanager: pytest.PytestPluginManager) -> None:
    pluginmanager.register(_Run(), "mutation run")
