"""Single blocks with other coordinates: numbers changed in place, or a block written anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gpre.editing.code_style import CodeStyle
from gpre.editing.editable import Editable
from gpre.editing.skip import Skip
from gpre.editing.word_edits import FoundWord, words_of
from gpre.editing.writer import SAME, BlockWriter
from gpre.geometry.arc import Floats
from gpre.geometry.tolerance import DUST
from gpre.program.comments import comments
from gpre.source.edit import Edit, EditSet

AXES = "XYZ"
MOVES = frozenset("XYZIJKRF")
STATED = frozenset((0, 10, 20, 30))  # G codes times ten that the writer states itself
LAST = frozenset((0, 1, 2, 30, 60))  # M codes that come behind the motion (NISTIR 6556, 3.8)
DECIMALS = {21: 4, 20: 5}  # what backlash to a tenth of a thousandth of a millimetre needs


def fine_manner(editable: Editable) -> CodeStyle:
    """Return the program's manner with decimals enough for backlash."""
    manner = editable.manner
    least = max(DECIMALS[state.units] for state in editable.motion.states)
    length = replace(manner.length, decimals=max(manner.length.decimals, least))
    centre = replace(manner.centre, decimals=max(manner.centre.decimals, least))
    return replace(manner, length=length, centre=centre)


def steps_of(editable: Editable) -> tuple[float, float]:
    """Return the steps of the coordinates and of the feeds that are written, mm and mm/min.

    Where the units change, those of inches.
    """
    manner = fine_manner(editable)
    scale = max((state.scale for state in editable.motion.states), default=1.0)
    decimals = max(manner.feed.decimals, 1 if scale == 1.0 else 2)
    return float(10.0**-manner.length.decimals * scale), float(10.0**-decimals * scale)


def renumbered(
    editable: Editable, manner: CodeStyle, block: int, here: Floats, goal: Sequence[float | None]
) -> tuple[bytes, Floats]:
    """Write other coordinates into a block, and say where the command then stands, mm.

    here: (3,) mm, where it stands before. goal: mm; None leaves an axis. Axes that the block does
    not name, and that must move, are added.
    """
    modes = editable.modes.after(block)
    named = {word.letter: word.value for word in words_of(editable, block)}
    there = here.copy()
    values: dict[str, float] = {}
    for axis, place in enumerate(goal):
        letter = AXES[axis]
        if place is None or (letter not in named and abs(place - here[axis]) <= SAME):
            continue
        base = float(here[axis]) if modes.distance == 91 else 0.0
        if not np.isfinite(base + place):
            raise Skip(f"the place of {letter} is not known in line {block + 1}")
        value = manner.length.rounded((place - base) / modes.scale)
        reached = base + value * modes.scale
        if letter in named or abs(reached - here[axis]) > SAME:
            values[letter] = value
            there[axis] = reached
    return reworded(editable, manner, block, values), there


def reworded(
    editable: Editable, manner: CodeStyle, block: int, values: Mapping[str, float]
) -> bytes:
    """Return a block with other numbers behind some letters; words that it lacks are added."""
    source = editable.program.source
    start = int(source.starts[block])
    words = words_of(editable, block)
    edits, added = [], []
    for letter, value in values.items():
        text = manner.length.write(value)
        word = next((each for each in words if each.letter == letter), None)
        if word is None:
            added.append(manner.blank + manner.letter(letter) + text)
        elif abs(float(text) - word.value) > DUST:
            edits.append(_number(editable, word, text, start))
    if added:
        at = _last_axis(words) - start
        edits.append(Edit(at, at, "".join(added).encode("ascii")))
    return EditSet.of(edits).apply(source.block_bytes(block))


def _number(editable: Editable, word: FoundWord, text: str, start: int) -> Edit:
    """Put another number behind a word's letter; blanks between the two stay."""
    old = editable.program.source.data[word.start + 1 : word.end]
    blanks = len(old) - len(old.lstrip())
    return Edit(word.start + 1 + blanks - start, word.end - start, text.encode("ascii"))


def _last_axis(words: list[FoundWord]) -> int:
    named = [word.end for word in words if word.letter in AXES]
    return max(named or [word.end for word in words])


@dataclass(frozen=True)
class Anew:
    """A block that is written anew: what does not move the tool stays."""

    editable: Editable
    manner: CodeStyle
    block: int

    def text(self, writer: BlockWriter, comment: str) -> bytes:
        """Return the block with the words of a writer that holds one block at the most."""
        source = self.editable.program.source
        line, start = source.block_bytes(self.block), int(source.starts[self.block])
        words = words_of(self.editable, self.block)
        head = line[: words[0].start - start]
        kept = [each for each in words if self._stays(each)]
        text = {each: source.data[each.start : each.end] for each in kept}
        before = [text[each] for each in kept if each.letter == "G"]
        behind = [text[each] for each in kept if each.letter != "G"]
        blank = self.manner.blank.encode("ascii")
        new = writer.text().removesuffix(self.manner.newline)
        body = blank.join([*before, *([new] if new else []), *behind])
        spans = comments(self.editable.program, self.block)
        said = [source.data[a:b] for a, b in spans if a >= words[0].start]
        if comment and writer.comments and not spans:
            said.append(self.manner.comment(comment).encode("ascii", "replace"))
        return head + b" ".join(part for part in (body, *said) if part)

    def need_one(self) -> None:
        """Raise Skip where the block must not become several."""
        for word in words_of(self.editable, self.block):
            if word.letter == "M" and round(word.value) in LAST:
                raise Skip(f"line {self.block + 1} moves and stops in one block")

    def _stays(self, word: FoundWord) -> bool:
        if word.letter == "G":
            return round(word.value * 10.0) not in STATED
        return word.letter not in MOVES
