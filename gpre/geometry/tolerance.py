"""Every tolerance that more than one module uses, named, with its unit."""

from __future__ import annotations

RESOLUTION = 1e-4  # mm; an axis that moves less than this does not move (default of the profile)
PATH = 2e-3  # mm; how far a rewritten path may leave the intended one (default of the profile)
CHORD = 1e-4  # mm; how far the chords of a sampled arc may leave it
DUST = 1e-9  # mm; below this a length is rounding of float64, not geometry
