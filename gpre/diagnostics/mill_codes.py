"""Codes MIL and JOB of the table: the mill profile and the job file."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

MILL_CODES: tuple[Entry, ...] = (
    Entry(
        "MIL501",
        _E,
        "the profile or job file is not TOML",
        "The file breaks the rules of TOML, the form in which profiles and job files are written.",
        "Half a profile would give a mill that nobody has.",
        "lost_motion = 0,09",
        "Write numbers with a point, texts in quotes, one key a line: lost_motion = 0.09",
    ),
    Entry(
        "MIL502",
        _E,
        "a key that is not known",
        "The file holds a key or a table that gpre does not know.",
        "A misspelt key would be passed over and its value would never come into force.",
        "[x]\nlostmotion = 0.09",
        "Take the name from the sample profile; the message names the nearest one.",
    ),
    Entry(
        "MIL503",
        _E,
        "a value of the wrong kind",
        "The value is not what the key asks for: a text for a number, one number for a pair.",
        "It cannot be used, and a guess would stand in metal.",
        'lost_motion = "0.09"',
        "Write what the message asks for: lost_motion = 0.09",
    ),
    Entry(
        "MIL504",
        _E,
        "a value out of range",
        "The number is of the right kind but no mill has such a value.",
        "Most often it stands in another unit: 90 for 90 micrometres instead of 0.09 mm.",
        "lost_motion = 90",
        "Give it in the unit of the key: mm, mm/min, mm/s², s or rad.",
    ),
    Entry(
        "MIL505",
        _E,
        "not one of the words allowed here",
        "The key takes one of a few words, and this is none of them.",
        "gpre cannot tell what is meant.",
        'by = "software"',
        "Use one of the words in the message.",
    ),
    Entry(
        "MIL506",
        _E,
        "a table of lost motion that cannot be read",
        "Lost motion over position is a list of pairs [position, lost motion], with at least two "
        "of them and the positions rising.",
        "Between two positions the value is read off a straight line; that needs an order.",
        "lost_motion = [[200.0, 0.11], [0.0, 0.08]]",
        "Sort the pairs by position and give each position once.",
    ),
    Entry(
        "MIL507",
        _E,
        "two values that contradict each other",
        "The lower end lies above the upper end, or two keys cannot both hold.",
        "One of the two is wrong and gpre cannot tell which.",
        "travel = [400.0, 0.0]",
        "Give the lower value first.",
    ),
    Entry(
        "MIL508",
        _N,
        "no profile: the mill is a guess",
        "No profile was named and none lies at the default place, so a cautious guess is used: "
        "0.1 mm of lost motion on each axis, approached in the positive direction.",
        "What is rewritten then suits a mill that nobody has measured.",
        "gpre rewrite plate.ngc --output new.ngc, on a fresh machine",
        "Copy samples/mill.toml, measure your mill, put the values in, and give --mill FILE.",
    ),
    Entry(
        "MIL509",
        _W,
        "more lost motion than a mill should have",
        "The lost motion is more than 1 mm.",
        "Screws that loose cannot hold a size; more likely the value stands in another unit.",
        "lost_motion = 3.5",
        "Measure again with an indicator on the table; write the value in mm.",
    ),
    Entry(
        "MIL510",
        _W,
        "the program leaves the table's travel",
        "A move ends, or an arc swings, beyond the travel that the profile gives for the axis.",
        "The table runs into its end: the controller stops in the cut, or the screw is strained.",
        "G0 X260.0, where the work zero lies at 150 and the table ends at 400",
        "Set the part elsewhere on the table, or put `travel` and the origin of the work system "
        "in the profile right.",
    ),
    Entry(
        "JOB601",
        _E,
        "a tool number that is none",
        "Tools are tables named by their number, as the T word has it.",
        "The program calls its tools by number.",
        "[tool.six]",
        "[tool.6]",
    ),
    Entry(
        "JOB602",
        _E,
        "a stock box without room",
        "In one direction the greatest coordinate is not above the least.",
        "A stock box without room holds no metal.",
        "least = [0, 0, 0]\ngreatest = [80, 60, -12]",
        "Give the lowest corner as `least` and the highest as `greatest`.",
    ),
    Entry(
        "JOB603",
        _N,
        "the job file beside the program is taken",
        "A file with the program's name and the suffix .job.toml lies beside it, so its tools and "
        "stock are used.",
        "What is known of tool and stock decides what may be rewritten.",
        "plate.ngc and plate.job.toml in one folder",
        "Give --job FILE to use another one.",
    ),
    Entry(
        "JOB604",
        _E,
        "a key is missing",
        "A tool needs its diameter, a stock box its two corners.",
        "Without them nothing can be worked out.",
        '[tool.3]\nshape = "flat"',
        "Add the key that the message names.",
    ),
    Entry(
        "JOB605",
        _E,
        "a key that this shape of tool does not have",
        "A corner belongs to a bull-nose tool, the angle of a point to a V tool or a drill.",
        "The tool would be taken for another one.",
        '[tool.3]\ndiameter = 6.0\nshape = "flat"\ncorner = 0.5',
        "Name the shape that has it, or leave the key out.",
    ),
    Entry(
        "JOB606",
        _N,
        "options in inches",
        "The program is written in inches, so the lengths of --tool and --stock are read so, too.",
        "A tool of 9.525 would be taken for one of 242 mm, and the proof would look at that.",
        "G20 in the program, and --tool 3=9.525",
        "Give --tool 3=0.375, or a job file, which names its own units.",
    ),
)
