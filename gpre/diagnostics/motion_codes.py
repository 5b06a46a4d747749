"""Codes INT of the table."""

from __future__ import annotations

from gpre.diagnostics.entry import Entry

MOTION_CODES: tuple[Entry, ...] = ()
