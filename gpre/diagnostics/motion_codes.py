"""Codes INT of the table: the codes and words of a block, cycles and feeds."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

MOTION_CODES: tuple[Entry, ...] = (
    Entry(
        "INT302",
        _E,
        "two codes of one modal group",
        "Two G codes, or two M codes, of one modal group stand in one block.",
        "Only one of them can be in force (NISTIR 6556, 3.3.5 and Table 4). The last one is "
        "taken for the modes; the axes that the block names count as unknown.",
        "G17 G18 G2 X10 Y0 I5 J0",
        "Write one of them, or two blocks.",
    ),
    Entry(
        "INT303",
        _W,
        "a code that is not known",
        "A G or M code, or a letter, that neither the standard nor common practice of mills has.",
        "What it does cannot be told. It is passed through as it stands, nothing is moved "
        "across it, and axis words beside an unknown G code make those axes unknown.",
        "G187 P1",
        "Check it against the controller's manual. The profile's accepts list silences it.",
        controllers_differ=True,
    ),
    Entry(
        "INT311",
        _N,
        "an axis word before any motion code",
        "The program moves before it has said how; G1 is in force then by the standard.",
        "Controllers differ in what they start with.",
        "X10 Y5\nG1 Z-1",
        "Write G0 or G1 in the first block that moves.",
        controllers_differ=True,
        once=True,
    ),
    Entry(
        "INT312",
        _E,
        "axis words while no motion is in force",
        "After G80 a block names axes without a motion code of its own.",
        "The standard calls it an error (NISTIR 6556, 3.5.15); what a controller does is not "
        "clear.",
        "G80\nX10 Y10",
        "Write G0 or G1 beside the axis words.",
    ),
    Entry(
        "INT313",
        _W,
        "two codes want the axis words",
        "A motion code stands beside G10, G28, G30 or G92, and the block names axes.",
        "The words cannot serve both (NISTIR 6556, 3.4). The axes named count as unknown "
        "afterwards.",
        "G0 G28 Z0",
        "Write two blocks.",
        controllers_differ=True,
    ),
    Entry(
        "INT314",
        _E,
        "a word that is missing",
        "The code cannot do its work without a word that the block does not hold.",
        "The controller stops here, or does something else. The axes named count as unknown.",
        "G4 X2",
        "Add the word that the message names.",
    ),
    Entry(
        "INT315",
        _E,
        "a word out of its range",
        "The value of the word is not one that its code can take: below zero, not a whole "
        "number, or too large.",
        "The controller stops here, or does something else.",
        "G4 P-1",
        "Write a value of the range that the message names.",
    ),
    Entry(
        "INT316",
        _N,
        "a move at feed without a feed",
        "A move at feed comes before any F word, or before one after a change of the feed mode.",
        "The controller refuses the move, or uses a feed of its own. Said once a program.",
        "G21 G90\nG1 X10",
        "Write F in the first block that cuts.",
        controllers_differ=True,
        once=True,
    ),
    Entry(
        "INT317",
        _E,
        "an inverse-time move without F",
        "In G93 a move at feed has no F word of its own.",
        "F is the time of this one move there (NISTIR 6556, 3.5.19); it is not kept.",
        "G93 G1 X10 F2\nX20",
        "Write F in every block that moves at feed, or G94.",
    ),
    Entry(
        "INT318",
        _N,
        "a feed a turn without a spindle speed",
        "G95 is in force and no S word has been given.",
        "The feed along the path cannot be told. Said once a program.",
        "G95 G1 X10 F0.1",
        "Write S before the move.",
        controllers_differ=True,
        once=True,
    ),
    Entry(
        "INT322",
        _W,
        "a code that cutter compensation forbids",
        "While G41 or G42 is in force the block changes plane, units, system or offset, goes "
        "home, or drills.",
        "The standard forbids it (NISTIR 6556, B.5); controllers stop here.",
        "G41 D1\nG55 G1 X10",
        "Write G40 before it.",
        controllers_differ=True,
    ),
    Entry(
        "INT323",
        _E,
        "a canned cycle that cannot be run",
        "The words of the cycle contradict one another or the modes in force.",
        "The standard forbids it (NISTIR 6556, 3.5.16). The axes it would move count as unknown.",
        "G81 X10 Y10 Z-5 R-8",
        "Correct the words; R lies above the bottom of the hole.",
    ),
    Entry(
        "INT324",
        _E,
        "a word that a canned cycle needs",
        "A canned cycle lacks R, the depth, Q, or every axis word.",
        "It cannot be run. The axes it would move count as unknown.",
        "G83 X10 Y10 Z-20 R2",
        "Add the word; those of a cycle hold until the cycle ends.",
    ),
    Entry(
        "INT327",
        _N,
        "words that nothing uses",
        "A word stands in the block and no code in force asks for it.",
        "Often the code that wants it is missing or mistyped.",
        "G1 X10 Q3",
        "Take the word out or add its code.",
        controllers_differ=True,
    ),
    Entry(
        "INT339",
        _N,
        "a code that stands twice",
        "The same code stands twice in one block.",
        "The standard forbids it (NISTIR 6556, 3.3.5), though nothing is unclear.",
        "G90 G1 X10 G90",
        "Keep one.",
        controllers_differ=True,
    ),
    Entry(
        "INT340",
        _N,
        "G80 beside another motion code",
        "G80 stands in one block with a code of its own group, as many programs open.",
        "The standard forbids it; what is meant is clear: the cycle ends, the other code is "
        "in force.",
        "G0 G17 G40 G80 G90",
        "Write G80 in a block of its own for a strict controller.",
        controllers_differ=True,
    ),
    Entry(
        "INT342",
        _N,
        "a feed in the other unit",
        "The feed in force was stated before the unit of length changed.",
        "Controllers differ in whether it is converted; it is taken as the same speed.",
        "G21 F100\nG20 G1 X1",
        "State F again behind G20 or G21.",
        controllers_differ=True,
    ),
    Entry(
        "INT344",
        _W,
        "a motion mode that is not known",
        "A code that is not understood may have set a motion mode, and no other was stated since.",
        "What the axis words do cannot be told. The axes named count as unknown until stated "
        "again.",
        "G5 X10 Y10\nX20",
        "State G0 or G1 again.",
        controllers_differ=True,
    ),
    Entry(
        "INT345",
        _N,
        "a canned cycle with L0",
        "L0 asks for no hole: read as such, its words kept for the blocks that follow.",
        "The standard forbids L0; some controllers drill once.",
        "G81 X0 Y0 Z-5 R2 L0",
        "Leave L out, or write a whole number above zero.",
        controllers_differ=True,
    ),
    Entry(
        "INT346",
        _W,
        "tapping without the spindle turning clockwise",
        "G84 comes while M3 is not in force.",
        "The standard forbids it (NISTIR 6556, 3.5.16); the tap would break or not cut.",
        "M5\nG84 X0 Y0 Z-10 R5",
        "Write M3 before it.",
        controllers_differ=True,
    ),
    Entry(
        "INT349",
        _E,
        "a feed of zero",
        "A block moves at feed while F0 is in force.",
        "Controllers stop here with an alarm, or the cutter stands in the metal and rubs; nothing "
        "that follows is reached.",
        "G1 X10 F0",
        "Write the feed that is meant. F0 harms nothing where another F comes before the next "
        "move at feed.",
    ),
    Entry(
        "INT351",
        _W,
        "mm or inch is not stated",
        "The program uses lengths or feeds before G20 or G21, and neither the mill profile nor "
        "--units says what is in force then.",
        "What is taken may be wrong by a factor of 25.4. What speaks for inch or mm (feeds, "
        "clearances, depths, decimals) is told, but nothing is decided by it.",
        "G0 Z0.1\nG1 Z-0.05 F12",
        "Give --units mm or --units inch, or the key units under [controller] of the mill profile; "
        "best of all, write G20 or G21 at the head of the program.",
    ),
    Entry(
        "INT352",
        _W,
        "G90 or G91 is not stated",
        "The program moves before G90 or G91, and the mill profile has no key distance.",
        "Read as increments, the same numbers lead to other places.",
        "G21\nG0 X10 Y10\nG1 Z-2 F100",
        "Write G90 or G91 at the head of the program, or the key distance under [controller] of "
        "the mill profile.",
    ),
    Entry(
        "INT353",
        _W,
        "the plane is not stated",
        "An arc or a canned cycle comes before G17, G18 or G19, it makes sense in another plane "
        "too, and the mill profile has no key plane.",
        "In another plane the arc is another one, and the cycle drills along another axis.",
        "G21 G90\nG2 X10 Y0 R5 F100",
        "Write G17 at the head of the program, or the key plane under [controller] of the mill "
        "profile.",
    ),
)
