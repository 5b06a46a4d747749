"""The one table of diagnostic codes. A code is never reused for another fault.

Three letters say who found it (FIL the file as a whole, SRC its bytes, REA the reader, INT the
interpreter, MIL the mill profile, JOB the job file, REW a rewrite, PRF the proof) and three digits
say what.
"""

from __future__ import annotations

from gpre.diagnostics.arc_codes import ARC_CODES
from gpre.diagnostics.diagnostic import Diagnostic, Severity
from gpre.diagnostics.entry import Entry
from gpre.diagnostics.file_codes import FILE_CODES
from gpre.diagnostics.mark_codes import MARK_CODES
from gpre.diagnostics.mill_codes import MILL_CODES
from gpre.diagnostics.motion_codes import MOTION_CODES
from gpre.diagnostics.place_codes import PLACE_CODES
from gpre.diagnostics.reader_codes import READER_CODES
from gpre.diagnostics.rewrite_codes import REWRITE_CODES
from gpre.diagnostics.run_codes import RUN_CODES
from gpre.diagnostics.source_codes import SOURCE_CODES

ENTRIES: tuple[Entry, ...] = (
    *FILE_CODES,
    *SOURCE_CODES,
    *READER_CODES,
    *MARK_CODES,
    *MOTION_CODES,
    *ARC_CODES,
    *PLACE_CODES,
    *RUN_CODES,
    *MILL_CODES,
    *REWRITE_CODES,
)
TABLE: dict[str, Entry] = {entry.code: entry for entry in ENTRIES}


def severity_of(code: str) -> Severity:
    """Return the severity of a code; what is not in the table is an error."""
    return TABLE[code].severity if code in TABLE else Severity.ERROR


def is_error(finding: Diagnostic) -> bool:
    """Return whether a finding is an error."""
    return severity_of(finding.code) is Severity.ERROR
