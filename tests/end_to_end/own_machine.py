"""One concrete mill that runs a program, block by block; it shares no code with gpre.

The second reading: a slow, plain interpreter from text to path, after NISTIR 6556, with each rule
beside its clause in `own_blocks` (text), `own_values` (expressions), `own_codes` (modal groups),
`own_control` (the order on a line, moves, feeds), `own_arcs`, `own_cycles` and `own_places` (homes,
zeros, parameters). All places are machine coordinates, mm, of the spindle's nose: a place of the
program plus the origin, G92 and the tool's length.

It does not follow, and names: IF, WHILE, GOTO, O-words, M97 and G65, calls out of the file, G38.2,
U V W E, the geometry of cutter radius compensation (the path is that of the
program), parameters that the program has not set, codes that it does not know.
"""

from __future__ import annotations

from collections.abc import Iterator

from own_blocks import Block, read_blocks
from own_codes import whole
from own_control import Control
from own_mills import Machine
from own_steps import Event, Move, Step
from own_values import FaultError, NotFollowedError

MOST_BLOCKS = 100_000  # run in subprograms
MOST_CALLS = 50  # within calls


def run(text: bytes, machine: Machine) -> list[Step]:
    """Run a program; the steps in their order, the last one the end or a fault.

    Raise NotFollowedError where the program cannot be followed to its end.
    """
    steps = follow(text, machine)
    last = steps[-1]
    if isinstance(last, Event) and last.what == "not followed":
        raise NotFollowedError(f"line {last.line}: {last.text}")
    return steps


def follow(text: bytes, machine: Machine) -> list[Step]:
    """Run a program as far as it can be followed; the last step is the end or says why not."""
    return _Walk(read_blocks(text, machine.reading), machine).walk(len(text.splitlines()))


class _Walk:
    """The way through the blocks, with M98 and M99, which the standard has not (common practice).

    `M98 P1234 L3` runs the blocks from O1234 to M99 three times.
    """

    def __init__(self, blocks: list[Block], machine: Machine) -> None:
        self.blocks = blocks
        self.control = Control(machine)
        self.calls: list[list[int]] = []  # the block to come back to, the first one, runs to come
        self.at = self.called = 0
        self.ended = False

    def walk(self, lines: int) -> list[Step]:
        block = Block(lines, ())
        while self.at < len(self.blocks):
            block = self.blocks[self.at]
            try:
                self.step(block)
            except FaultError as fault:
                self.control.happens(block, "fault", str(fault))
                return self.control.steps
            except NotFollowedError as what:
                self.control.happens(block, "not followed", str(what))
                return self.control.steps
            if self.ended:
                self.control.happens(block, "end", "")
                return self.control.steps
        self.control.happens(block if self.calls else Block(lines, ()), "not ended", "")
        return self.control.steps

    def step(self, block: Block) -> None:
        self.called += bool(self.calls)
        if self.called > MOST_BLOCKS:
            raise NotFollowedError("calls that run for too long")
        codes = self.control.block(block)
        self.at += 1
        if codes.m & {2, 30}:
            self.ended = True
        elif 98 in codes.m:
            self.call(block)
        elif 99 in codes.m:
            self.come_back(block)
        self.control.called = bool(self.calls)

    def call(self, block: Block) -> None:
        number, runs = whole(block.last("P"), "P"), whole(block.last("L"), "L")
        if number is None:
            raise FaultError("M98 without P")
        first = next(
            (at for at, each in enumerate(self.blocks) if _program_number(each) == number), None
        )
        if first is None:
            raise NotFollowedError(f"M98 P{number}, which is not in the file")
        if len(self.calls) >= MOST_CALLS:
            raise NotFollowedError("calls within calls")
        if runs != 0:
            self.calls.append([self.at, first, 1 if runs is None else runs])
            self.at = first

    def come_back(self, block: Block) -> None:
        """M99; in the main program it starts it again, which is run once."""
        if block.last("P") is not None:
            raise NotFollowedError("M99 with P")
        if not self.calls:
            self.ended = True
            return
        self.calls[-1][2] -= 1
        back, first, runs = self.calls[-1]
        self.at = first if runs else back
        if not runs:
            self.calls.pop()


def _program_number(block: Block) -> float | None:
    """Return the number of a block that begins with O."""
    words = [word for word in block.words if word[0] != "N"]
    return words[0][1] if words and words[0][0] == "O" else None


def moves(steps: list[Step]) -> Iterator[Move]:
    return (each for each in steps if isinstance(each, Move))
