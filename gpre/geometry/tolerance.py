"""Every tolerance, named, with its unit: where two lengths, places, angles or shares count as one.

What concerns the mill comes from the profile (`mill.axes[0].resolution`, `mill.limits.tolerance`);
`RESOLUTION` and `PATH` are its defaults, and hold where no profile is at hand or where a coarser
mill must not loosen what is shown: in the proof.
"""

from __future__ import annotations

# lengths, mm
DUST = 1e-9  # below this a length is rounding of float64, not geometry; of a share, mm² or rad too
POINT = 1e-6  # two places nearer than this are one: the last of the six decimals that are written
RESOLUTION = 1e-4  # an axis that moves less than this does not move (default of the profile)
HALF_DECIMAL = 5e-4  # half of the last of three decimals: what rounding does to one coordinate
ROUNDED = 1e-3  # rounding of three decimals at both ends: two places, levels or circles are one
PATH = 2e-3  # how far a rewritten path may leave the intended one (default of the profile)
ONE_CIRCLE = 5.1e-3  # centres and radii of its arcs: start, I, J of four decimals of an inch, twice
ONE_PITCH = 1e-2  # pitches of helices so alike may be one: rounded Z; those of threads differ more
ARC_RADII = 2e-3  # by how much the radii at an arc's ends may differ (NISTIR 6556, 3.5.3)
GRAZE = 5e-3  # metal that a tool meets, or sticks out by, and that rounding accounts for
NEAR = 1e-2  # so near to a path, an edge or a place a tool is at it, where nothing hangs on it

# how far the chords of a sampled arc may leave it, mm
CHORD = 1e-4  # where figures are told
HELIX_CHORD = 2e-4  # where a helix cuts cells of the stock away
SWATH_CHORD = 5e-4  # where a swath is drawn; a tenth of what it may be short by (GRAZE)
SIDE_CHORD = 1e-3  # where only the side of a move is asked for
COARSE_CHORD = 5e-3  # where only the way of an axis, or that a contour bends, is asked for
ROUGH_CHORD = 2e-2  # where arcs are only found, to be measured themselves then

# angles, rad, and shares of something
ANGLE = 1e-4  # sweeps that differ by less are the same
ARC_ANGLE = 1e-3  # a sweep that lacks less is a full one, and rounds so alike are one: rounded ends
SMOOTH = 5e-3  # rounded coordinates bend a smooth path by as much (no source)
BEND = 1e-2  # a path that bends less runs straight: rounding of short moves
SHARE = 1e-6  # of a feed, a slope, a turn, a move: rounding of programs in inch
FEED_SHARE = 1e-3  # of a feed over a tenth of a millimetre: rounding of its ends
SLOPE = 2e-2  # sine; what goes down less is level, two slopes so alike are one: short moves
LAST_DIGIT = 1e-12  # of a unit vector, a sine, a share: the last digits of float64

VOLUME = 1e-3  # mm³; less metal is none
