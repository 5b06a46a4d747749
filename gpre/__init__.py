r"""Runs an RS-274 program through before it goes to a mill with backlash (lost motion).

The names that a script needs, loaded when first used:

>>> import gpre
>>> motion = gpre.trace(gpre.read(b"G0 X1\nG1 X0 F100\n"))
>>> len(gpre.find_reversals(motion))
1
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "SourceText": "gpre.source.text",
    "read": "gpre.program.read",
    "trace": "gpre.motion.trace",
    "find_reversals": "gpre.reversals.find",
    "find_cuts": "gpre.cuts.find_cuts",
    "load_mill": "gpre.mill.profile",
    "predict": "gpre.prediction.predict",
    "rewrite": "gpre.driver.rewrite",
    "prove": "gpre.proof.prove",
    "diff": "gpre.comparison.diff",
}
__all__ = [  # noqa: PLE0604
    *_HOMES,
]


def __getattr__(name: str) -> Any:  # noqa: ANN401
    """Load a name from its module when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module 'gpre' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
