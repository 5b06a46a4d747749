"""Codes REW of the table."""

from __future__ import annotations

from gpre.diagnostics.entry import Entry

REWRITE_CODES: tuple[Entry, ...] = ()
