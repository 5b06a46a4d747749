"""A copy of the tree in which a module may be changed, and runs of tests in it."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_PARTS = (
    "gpre", "grammars", "samples", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md",
    "LICENSE",
)  # fmt: skip
_START = 25.0  # s of the processor: what pytest needs by itself, and slower machines
_TIMES = 4.0  # as long as the tests took before
_CLOCK = 8.0  # as long on the clock, where other processes run too


@dataclass(frozen=True)
class Reached:
    """What the tests of one file reach: for each its seconds, and lines by module."""

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[int]]]
    failed: tuple[str, ...]  # on the unchanged tree


@dataclass
class Copy:
    """A copy of the tree. Nothing outside `place` is written."""

    place: Path
    _known: dict[str, Reached] = field(default_factory=dict)

    @property
    def tree(self) -> Path:
        """The root of the copy."""
        return self.place / "tree"

    def make(self) -> None:
        """Copy the tree anew."""
        shutil.rmtree(self.tree, ignore_errors=True)
        self.tree.mkdir(parents=True)
        skipped = shutil.ignore_patterns("__pycache__", ".*", "mutation", "_grammars")
        for part in _PARTS:
            if (ROOT / part).is_dir():
                shutil.copytree(ROOT / part, self.tree / part, ignore=skipped)
            elif (ROOT / part).exists():
                shutil.copy2(ROOT / part, self.tree / part)

    @contextlib.contextmanager
    def changed(self, module: str, source: bytes) -> Iterator[None]:
        """Have another text in the place of a module for a while."""
        path = self.tree / module
        before, times = path.read_bytes(), path.stat()
        try:
            path.write_bytes(source)
            # compiled code is told by time and size: let that of the true text not fit
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns + 7_000_000_000))
            yield
        finally:
            path.write_bytes(before)
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))

    def reached(self, file: str, kept: Path) -> Reached:
        """Run a test file on the unchanged copy; `kept` has what was found before.

        file: below the root; `FILE -k WORDS` for some of its tests, as pytest has it.
        """
        if file not in self._known:
            whole, _, words = file.partition(" -k ")
            name = file.replace("/", ".").replace(" ", "_")
            path = kept / f"{name}.{self._digest(whole)}.json"
            if not path.exists():
                said = self._run([whole], [], 3600.0, words)[1]
                path.parent.mkdir(parents=True, exist_ok=True)
                part = path.with_suffix(f".{os.getpid()}")
                part.write_text(json.dumps(said), "utf-8")
                part.replace(path)
            said = json.loads(path.read_text("utf-8"))
            found = Reached(said["seconds"], said["reached"], tuple(said["failed"]))
            self._known[file] = found
        return self._known[file]

    def _digest(self, file: str) -> str:
        """Return a mark of all that decides what a test file reaches."""
        digest = hashlib.sha256()
        paths = [self.tree / file, *sorted((self.tree / "gpre").rglob("*.py"))]
        helpers = [p for p in (self.tree / "tests").rglob("*.py") if p.name[:5] != "test_"]
        cases = (self.tree / "tests" / "cases").rglob("*.*") if file.count("/") == 1 else []
        for path in [*paths, *sorted(helpers), *sorted(cases)]:
            digest.update(path.name.encode() + path.read_bytes())
        return digest.hexdigest()[:12]

    def first_failure(self, tests: dict[str, float]) -> str | None:
        """Run tests, named with their seconds, until one fails; return which, None where none."""
        seconds = _START + _TIMES * sum(tests.values())
        files = list(dict.fromkeys(name.split("::")[0] for name in tests))
        status, said = self._run(files, list(tests), seconds)
        if said is None or status not in {0, 1, 5}:
            return "the time, or the tests could not start"
        if status == 1 and not said["failed"]:  # as where a module cannot be imported
            return "the tests could not start"
        return said["failed"][0] if said["failed"] else None

    def _run(
        self, files: list[str], tests: list[str], seconds: float, words: str = ""
    ) -> tuple[int, dict[str, dict] | None]:
        asked = self.place / f"asked-{os.getpid()}.json"
        said = asked.with_suffix(".said")
        said.unlink(missing_ok=True)
        wanted = {"tree": str(self.tree), "tests": tests, "cpu_seconds": seconds}
        asked.write_text(json.dumps(wanted), "utf-8")
        command = [sys.executable, "-m", "pytest", "-q", "-p", "mutation_plugin"]
        command += ["-p", "no:cacheprovider", "-p", "no:cov", "--hypothesis-seed=0"]
        command += ["-x"] if tests else []
        command += ["-k", words] if words else []
        paths = f"{Path(__file__).parent}{os.pathsep}{self.tree}"
        process = subprocess.Popen(
            [*command, *files],
            cwd=self.tree,
            env={
                **os.environ,
                "PYTHONPATH": paths,
                "MUTATION_ASKED": str(asked),
                "PYTEST_ADDOPTS": "",
            }
            | ({"PYTHONDONTWRITEBYTECODE": "1"} if tests else {}),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            out, _ = process.communicate(timeout=60.0 + _CLOCK * seconds)
        except subprocess.TimeoutExpired:
            out = b""
        finally:
            _end(process)
        if not said.exists():
            self.last_words = out.decode(errors="replace")[-2000:]
            return process.returncode, None
        return process.returncode, json.loads(said.read_text("utf-8"))


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a process and all that it started."""
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
    process.wait()
    if process.stdout is not None:  # left open where the time ran out
        process.stdout.close()
