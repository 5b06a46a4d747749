"""Where the program goes after a block."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Action(Enum):
    """What the run of the program does next."""

    NEXT = "next block"
    CALL = "into a subprogram"
    RETURN = "back from a subprogram"
    END = "end of the program"
    LOST = "not followed any further"


@dataclass(frozen=True, slots=True)
class Outcome:
    """target: the block index of a subprogram's first block; repeats: how often it runs."""

    action: Action
    target: int = -1
    repeats: int = 1


NEXT = Outcome(Action.NEXT)
