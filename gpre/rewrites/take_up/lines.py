"""New lines of a program, kept apart by place, numbered once all of them are there."""

from __future__ import annotations

from dataclasses import dataclass, field

from gpre.editing.editable import Editable
from gpre.editing.writer import gap_at, numbered
from gpre.source.edit import Edit


@dataclass
class NewLines:
    """What is written.

    before: new lines in front of each block. body: blocks with other bytes; anew: those of them
    whose motion code and feed are not the old ones. head: whole lines in front of all else.
    """

    editable: Editable
    before: dict[int, list[str]] = field(default_factory=dict)
    body: dict[int, bytes] = field(default_factory=dict)
    anew: set[int] = field(default_factory=set)
    head: dict[int, list[bytes]] = field(default_factory=dict)

    def add(self, block: int, text: bytes) -> None:
        """Put lines, as a writer gives them without numbers, in front of a block."""
        newline = self.editable.manner.newline
        lines = text.decode("ascii").split(newline.decode("ascii"))
        self.before.setdefault(block, []).extend(line for line in lines if line)

    def edits(self) -> list[Edit]:
        """Return one edit for each place."""
        program = self.editable.program
        count = len(program)
        result = []
        for block in sorted(self.before.keys() | self.body.keys() | self.head.keys()):
            lines = self.before.get(block, [])
            new = b"".join(self.head.get(block, []))
            new += numbered(lines, self.editable.manner, gap_at(program, block))
            if block >= count:
                result.append(self._at_end(new))
                continue
            start, end = int(program.source.starts[block]), int(program.source.ends[block])
            body = self.body.get(block)
            if body is None:
                result.append(Edit(start, start, new))
            elif new or body != program.source.data[start:end]:
                result.append(Edit(start, end, new + body))
        return result

    def _at_end(self, new: bytes) -> Edit:
        data, newline = self.editable.program.source.data, self.editable.manner.newline
        if not data.endswith((b"\n", b"\r")):
            new = newline + new.removesuffix(newline)
        return Edit(len(data), len(data), new)
