"""Codes REA of the table."""

from __future__ import annotations

from gpre.diagnostics.entry import Entry

READER_CODES: tuple[Entry, ...] = ()
