"""What the machine, and the user who runs the tests, let a test do."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

TREE = Path(__file__).resolve().parents[1]
IS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0  # Windows has no users by number

not_as_root = pytest.mark.skipif(IS_ROOT, reason="root may write anywhere")
has_permissions = pytest.mark.skipif(
    sys.platform == "win32", reason="permissions are of another kind there"
)


def use_the_tree() -> None:
    """Let this process and all that it starts import gpre from this tree, not from elsewhere.

    The command that installs what the tests need installs gpre too; that copy is as old as the
    installation.
    """
    others = os.environ.get("PYTHONPATH", "").split(os.pathsep)
    parts = [str(TREE), *(each for each in others if each and each != str(TREE))]
    os.environ["PYTHONPATH"] = os.pathsep.join(parts)
    if sys.path[:1] != [str(TREE)]:
        sys.path.insert(0, str(TREE))
