r"""Runs an RS-274 program through before it goes to a mill with backlash (lost motion).

The names that a script needs, each loaded when it is first used:

>>> import gpre
>>> counted = gpre.count(b"G21 G90 G17\nG0 X0 Y0 Z5\nG1 X1 F100\nG1 X0\nM2\n")
>>> counted.reversals.cutting
1
"""

from importlib import import_module
from typing import TYPE_CHECKING

__version__ = "0.1.0"

_HOMES = {
    "Axis": "gpre.mill.mill",
    "Box": "gpre.mill.job",
    "CompareResult": "gpre.scripting.comparing",
    "CountResult": "gpre.scripting.counting",
    "Finding": "gpre.report.records.findings",
    "GpreError": "gpre.scripting.findings",
    "Job": "gpre.mill.job",
    "Mill": "gpre.mill.mill",
    "PredictResult": "gpre.scripting.predicting",
    "ProgramText": "gpre.scripting.given",
    "ProveResult": "gpre.scripting.proving",
    "RewriteResult": "gpre.scripting.rewriting",
    "Tool": "gpre.mill.job",
    "compare": "gpre.scripting.comparing",
    "count": "gpre.scripting.counting",
    "load_job": "gpre.scripting.given",
    "load_mill": "gpre.scripting.given",
    "predict": "gpre.scripting.predicting",
    "prove": "gpre.scripting.proving",
    "read": "gpre.scripting.given",
    "rewrite": "gpre.scripting.rewriting",
}
__all__ = ["__version__", *_HOMES]  # noqa: PLE0604

if TYPE_CHECKING:
    from gpre.mill.job import Box as Box
    from gpre.mill.job import Job as Job
    from gpre.mill.job import Tool as Tool
    from gpre.mill.mill import Axis as Axis
    from gpre.mill.mill import Mill as Mill
    from gpre.report.records.findings import Finding as Finding
    from gpre.scripting.comparing import CompareResult as CompareResult
    from gpre.scripting.comparing import compare as compare
    from gpre.scripting.counting import CountResult as CountResult
    from gpre.scripting.counting import count as count
    from gpre.scripting.findings import GpreError as GpreError
    from gpre.scripting.given import ProgramText as ProgramText
    from gpre.scripting.given import load_job as load_job
    from gpre.scripting.given import load_mill as load_mill
    from gpre.scripting.given import read as read
    from gpre.scripting.predicting import PredictResult as PredictResult
    from gpre.scripting.predicting import predict as predict
    from gpre.scripting.proving import ProveResult as ProveResult
    from gpre.scripting.proving import prove as prove
    from gpre.scripting.rewriting import RewriteResult as RewriteResult
    from gpre.scripting.rewriting import rewrite as rewrite
else:

    def __getattr__(name: str) -> object:
        """Load a name from its module when it is first asked for."""
        if name not in _HOMES:
            raise AttributeError(f"module 'gpre' has no attribute {name!r}", name=name)
        value = globals()[name] = getattr(import_module(_HOMES[name]), name)
        return value


def __dir__() -> list[str]:
    """List the public names alone."""
    return sorted(__all__)
