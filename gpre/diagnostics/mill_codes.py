"""Codes MIL of the table."""

from __future__ import annotations

from gpre.diagnostics.entry import Entry

MILL_CODES: tuple[Entry, ...] = ()
