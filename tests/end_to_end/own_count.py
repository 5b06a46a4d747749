"""A second way to look at motion, by dense samples; it shares no code with gpre.

Works from what the second reading makes of a text (`own_machine`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from own_paths import moves, samples
from own_steps import Step

STEP = 1e-4  # mm; travel up to it is none
DUST = 1e-9  # mm; rounding of float64
FIRST = 1e-6  # mm; less is not the start of a direction: rounded arcs pass their quadrants so
CHORDS_A_TURN = 720


@dataclass(frozen=True)
class Turn:
    """A reversal: axis 0 to 2, the move that starts the new direction, its line, the direction.

    move: its number among the moves that lead somewhere. cuts: it is made at feed.
    """

    axis: int
    move: int
    line: int
    way: int
    cuts: bool


def turns(steps: Sequence[Step]) -> list[Turn]:
    """All reversals, axis by axis, found by walking over the samples."""
    found: list[Turn] = []
    made = list(moves(steps))
    walks = [samples(move, CHORDS_A_TURN) for move in made]
    for axis in range(3):
        way, extreme, of_extreme, fresh = 0, None, 0, False
        for number, walk in enumerate(walks):
            column = walk[:, axis].tolist()
            for before, here in zip(column, column[1:], strict=False):
                if here == before:
                    continue
                if math.isnan(here) or math.isnan(before):  # the direction is not known after it
                    way, extreme, fresh = 0, None, False
                    continue
                if extreme is None:
                    extreme, of_extreme = before, number
                moved = here - extreme
                if way and moved * way >= -FIRST:  # at the extreme, or past it
                    extreme, fresh = (here if moved * way > 0 else extreme), True
                    continue
                if fresh:  # the first step back from the extreme
                    of_extreme, fresh = number, False
                if abs(moved) > STEP + DUST:
                    if way:
                        move = made[of_extreme]
                        found.append(Turn(axis, of_extreme, move.line, -way, not move.rapid))
                    way, extreme, fresh = (1 if moved > 0 else -1), here, True
    return found


def in_cut(steps: Sequence[Step]) -> tuple[int, int, int]:
    """How many reversals of X, Y and Z start with a move at feed."""
    fed = [turn for turn in turns(steps) if turn.cuts]
    return tuple(sum(turn.axis == axis for turn in fed) for axis in range(3))  # type: ignore[return-value]


@dataclass(frozen=True)
class Reached:
    """A hole: where it is, which way X and Y last moved before the feed down, and how far."""

    x: float
    y: float
    way: tuple[int, int]
    run: tuple[float, float]


def holes(steps: Sequence[Step]) -> list[Reached]:
    """Feed moves straight down that follow an air move, each with how it was reached.

    The way and the length of the last travel of X and Y are found by walking back over the moves.
    Places are those of the program.
    """
    made = list(moves(steps))
    found: list[Reached] = []
    for number in range(1, len(made)):
        move = made[number]
        delta = np.subtract(move.path[-1], move.path[0])
        straight = move.arc is None and not move.rapid and delta[2] < 0 and not delta[:2].any()
        if not (straight and made[number - 1].rapid):
            continue
        x, y = (float(move.path[-1][axis] - move.zero[axis]) for axis in (0, 1))
        if found and math.dist((found[-1].x, found[-1].y), (x, y)) < DUST:
            continue  # a further peck
        ways, runs = [], []
        for axis in range(2):
            way, run = 0, 0.0
            for earlier in range(number - 1, -1, -1):
                walk = np.diff(samples(made[earlier], CHORDS_A_TURN)[:, axis])[::-1]
                for step in walk:
                    if step == 0 or (way and step * way > 0) or not way:
                        way = way or int(np.sign(step))
                        run += abs(step)
                    else:
                        break
                else:
                    continue
                break
            ways.append(way)
            runs.append(run)
        found.append(Reached(x, y, (ways[0], ways[1]), (runs[0], runs[1])))
    return found
