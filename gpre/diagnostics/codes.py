"""The one table of diagnostic codes. A code is never reused for another fault.

Three letters say who found it (FIL the file as a whole, SRC its bytes, REA the reader, INT the
interpreter, MIL the mill profile, JOB the job file, REW a rewrite, PRF the proof) and three digits
say what.
"""

from __future__ import annotations

from gpre.diagnostics.entry import Entry
from gpre.diagnostics.file_codes import FILE_CODES
from gpre.diagnostics.mill_codes import MILL_CODES
from gpre.diagnostics.motion_codes import MOTION_CODES
from gpre.diagnostics.reader_codes import READER_CODES
from gpre.diagnostics.rewrite_codes import REWRITE_CODES

TABLE: dict[str, Entry] = {
    entry.code: entry
    for entry in (*FILE_CODES, *READER_CODES, *MOTION_CODES, *MILL_CODES, *REWRITE_CODES)
}
