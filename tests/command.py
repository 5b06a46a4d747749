"""Runs a command as its user does, within the process."""

from __future__ import annotations

import pytest

from gpre.cli.bridge import run
from gpre.cli.main import gpre


def call(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Return the status, and what stands on standard output and standard error."""
    status = run(gpre, [str(each) for each in arguments])
    out, err = capsys.readouterr()
    return status, out, err
