"""The tests run on this tree, not on a copy that was installed some time ago."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import gpre

ROOT = Path(__file__).resolve().parents[2]
WHERE = "import gpre.source.text as one; print(one.__file__)"


def test_the_modules_of_this_process_are_those_of_the_tree() -> None:
    assert Path(gpre.__file__).resolve().parent == ROOT / "gpre"
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "gpre" and getattr(module, "__file__", None):
            assert Path(module.__file__ or "").resolve().is_relative_to(ROOT / "gpre"), name


def test_what_the_tests_start_is_the_tree_wherever_it_starts(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WHERE], cwd=tmp_path, capture_output=True, check=True, text=True
    )
    assert Path(done.stdout.strip()) == ROOT / "gpre" / "source" / "text.py"


def test_another_gpre_that_would_be_found_first_is_not_used(tmp_path: Path) -> None:
    """The two tests above, run where a gpre that is none comes before all others."""
    (tmp_path / "gpre").mkdir()
    (tmp_path / "gpre" / "__init__.py").write_text("raise SystemExit('this is another gpre')\n")
    there = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST")}
    there["PYTHONPATH"] = os.pathsep.join((str(tmp_path), os.environ["PYTHONPATH"]))
    alone = subprocess.run(
        [sys.executable, "-c", WHERE], cwd=tmp_path, env=there, capture_output=True, check=False
    )
    assert b"this is another gpre" in alone.stderr
    names = "modules_of_this_process or what_the_tests_start"
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", __file__, "-k", names],
        cwd=ROOT,
        env=there,
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "2 passed" in done.stdout
