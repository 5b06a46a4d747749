"""Codes FIL of the table: files that cannot be read or written at all."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Severity
from gpre.diagnostics.entry import Entry

_E = Severity.ERROR

FILE_CODES: tuple[Entry, ...] = (
    Entry(
        "FIL001",
        _E,
        "the file is not there",
        "No file has the name that was given, or a folder on the way to it is missing.",
        "Nothing was read and nothing was written.",
        "gpre count plate.nc, where the file is called plate.ngc",
        "Check the spelling, the suffix and the folder.",
    ),
    Entry(
        "FIL002",
        _E,
        "a folder where a file should be",
        "The name belongs to a folder.",
        "A folder holds no blocks.",
        "gpre count programs/",
        "Name one program within the folder.",
    ),
    Entry(
        "FIL003",
        _E,
        "not allowed to read or write the file",
        "The system refuses access to the file, or to the folder that should hold it.",
        "Nothing was written; a file that stood there still does.",
        "gpre rewrite plate.ngc --output of a file that is write-protected",
        "Change the permissions, or write to another folder.",
    ),
    Entry(
        "FIL004",
        _E,
        "the disk is full",
        "The disk, the card or the quota has no room for the new file.",
        "A program that lacks its end can leave the spindle running in the part. So the new file "
        "is written under another name first, and is taken away again.",
        "gpre rewrite plate.ngc --output onto a full memory card",
        "Make room, or write to another disk.",
    ),
    Entry(
        "FIL005",
        _E,
        "the file could not be read or written",
        "The system reports a fault of its own; its words stand in the message.",
        "Nothing was written; a file that stood there still does.",
        "a name that is too long, a network drive that is gone, a card that was pulled out",
        "Put the cause right and run the command again.",
    ),
    Entry(
        "FIL006",
        _E,
        "the file is empty",
        "The file holds no byte, or nothing but a byte order mark.",
        "An empty program is most often a transfer that failed.",
        "a file of 0 bytes",
        "Send or post the program again.",
    ),
    Entry(
        "FIL007",
        _E,
        "the file is no text",
        "The file holds bytes of value zero. A part program is plain text and has none.",
        "Something else was named (a picture, an archive, a tape image), or the text was saved "
        "with two bytes for each character.",
        "a drawing instead of the program",
        "Name the program itself, or save it as plain text (UTF-8 or Latin-1).",
    ),
    Entry(
        "FIL008",
        _E,
        "not enough memory",
        "The program is too large for the memory of this computer.",
        "Nothing was written.",
        "a surface program of several gigabytes on a small computer",
        "Close other programs, or cut the program up at its tool changes.",
    ),
    Entry(
        "FIL009",
        _E,
        "too much in one place",
        "Thousands of moves pass over the same spot, or arcs make millions of chords.",
        "Each would have to be compared with all the others, which would take hours.",
        "ten thousand full circles about one centre",
        "Give the program in parts, a tool at a time.",
    ),
    Entry(
        "FIL010",
        _E,
        "a standard stream is closed",
        "Standard input, output or error was closed, or opened the wrong way, when gpre started.",
        "Without standard output there is nowhere to give the result, so nothing is done. Where a "
        "file was written before the stream failed the message says so.",
        "gpre rewrite plate.ngc --output new.ngc >&-",
        "Leave the stream open; send what nobody wants to the null device: >/dev/null.",
    ),
    Entry(
        "FIL011",
        _E,
        "no name where a file should be named",
        "The name of a file is an empty text.",
        "Most often a variable of a script is not set.",
        'gpre count "$PROGRAM", where PROGRAM is not set',
        "Name the file.",
    ),
    Entry(
        "FIL012",
        _E,
        "too long to be read",
        "What was named goes on and on: a device or a pipe that may never end, or a file far "
        "longer than a profile or a job file can be.",
        "It would fill the memory. A program in a file may be as long as the memory bears.",
        "gpre count /dev/zero",
        "Name the program itself, or save what comes through the pipe as a file first.",
    ),
)
