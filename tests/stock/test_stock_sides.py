"""The record of chips, cell by cell, against plain counting; what is set off of climb."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.geometry.too_dense import CrowdedError
from gpre.mill.job import Box, Job, Tool
from gpre.mill.mill import Mill
from gpre.motion.controller import Controller
from gpre.motion.trace import trace
from gpre.program.read import read
from gpre.proof.proof import Obligation
from gpre.proof.prove import prove
from gpre.source.text import SourceText
from gpre.stock import sides
from gpre.stock.cutter import Cutter
from gpre.stock.field import Field, Grid
from gpre.stock.sides import ChipLog, Chips, Climbed, MetalAtSides


def chips_of(rows: list[tuple[int, float, float, bool]]) -> Chips:
    """Chips of cells, from a height to a height, mm, and whether they climb."""
    cell, low, high, climbs = zip(*rows, strict=True)
    number = np.arange(len(rows), dtype=np.int32)
    return Chips(
        np.array(cell, np.int32), np.array(low, np.float32), np.array(high, np.float32),
        np.array(climbs, bool), number, number,
    )  # fmt: skip


def test_chips_lie_over_the_cells_of_the_whole_field() -> None:
    cells = Field.level(Grid((0.0, 0.0), 1.0, (5, 7)), 0.0)
    cut = np.array([[True, False, True], [False, True, True]])
    chips = chips_of([(0, -1.0, 0.0, climbs) for climbs in (True, False, False, True)])
    every, climbing = ChipLog(every=True), ChipLog(every=False)
    for log in (every, climbing):
        log.note(cells, (slice(2, 4), slice(4, 7)), cut, chips)
        log.note(cells, (slice(0, 2), slice(0, 3)), cut, chips)
    wanted = [(2, 4), (2, 6), (3, 5), (3, 6), (0, 0), (0, 2), (1, 1), (1, 2)]
    assert every.chips().cell.tolist() == [row * 7 + column for row, column in wanted]
    assert climbing.chips().row.tolist() == [0, 3, 0, 3]
    assert climbing.chips().cell.tolist() == [18, 27, 0, 9]


def test_more_chips_than_there_is_room_for_are_a_crowd(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sides, "MOST_CHIPS", 8)
    cells = Field.level(Grid((0.0, 0.0), 1.0, (5, 7)), 0.0)
    log, window = ChipLog(every=True), (slice(0, 2), slice(0, 2))
    chips = chips_of([(0, -1.0, 0.0, False)] * 4)
    for _ in range(2):
        log.note(cells, window, np.ones((2, 2), bool), chips)
    with pytest.raises(CrowdedError):
        log.note(cells, window, np.ones((2, 2), bool), chips)


def test_where_nothing_was_cut_nothing_climbed() -> None:
    none = ChipLog(every=True).chips()
    assert [len(column) for column in none] == [0] * 6
    some = chips_of([(3, -1.0, 0.0, True)])
    assert Climbed(none).within(some).tolist() == [0.0]
    assert Climbed(some).within(none).tolist() == []


EDGES = st.lists(st.integers(-40, 40), min_size=2, max_size=6, unique=True).map(sorted)
STACKS = st.dictionaries(st.integers(0, 4), EDGES, min_size=1, max_size=4)


@given(STACKS, STACKS)
def test_what_was_cut_climbing_within_a_chip_is_counted_chip_by_chip(
    old: dict[int, list[int]], new: dict[int, list[int]]
) -> None:
    """Over each cell the chips lie one above the other; some have a gap between them."""
    was, now = (
        [
            (cell, low / 8, high / 8)
            for cell, edges in stacks.items()
            for low, high in zip(edges[::step], edges[1::step], strict=False)
        ]
        for stacks, step in ((old, 2), (new, 1))
    )
    found = Climbed(chips_of([(*each, True) for each in was])).within(
        chips_of([(*each, False) for each in now])
    )
    wanted = [
        sum(max(min(top, high) - max(bottom, low), 0.0) for at, bottom, top in was if at == cell)
        for cell, low, high in now
    ]
    assert found == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("width", [0.25, 0.5, 3.0])
@pytest.mark.parametrize("left", [True, False])
def test_metal_beside_the_way_is_told_by_its_side(width: float, *, left: bool) -> None:
    """A rib on one side of a slotting cutter of 2 mm, 1 mm high, narrower than it or not."""
    motion = trace(read(SourceText.of(b"G21 G90 G17 G94\nF300\nG1 X1 Y0 Z-1\nX9\n")), Controller())
    cells = Field.level(Grid((0.0, -4.0), 0.05, (160, 200)), -2.0)
    x, y = cells.grid.centres()
    rib = (y < width) & (y > 0.0) if left else (y > -width) & (y < 0.0)
    cells.top[np.ix_(rib, (x > 3.0) & (x < 7.0))] = 0.0
    beside = MetalAtSides(np.ones(len(motion), bool))
    beside.look(motion, len(motion) - 1, cells, Cutter.of(Tool(2.0)))
    seen, none = (beside.left[-1], beside.right[-1])[:: 1 if left else -1]
    reach = min(width, 1.0 + sides.REACH * 0.05)
    assert seen == pytest.approx(4.0 * reach * 1.0, rel=0.1)
    assert none == 0.0


# --- what the proof makes of it ------------------------------------------------------------------

HEAD = "G21 G90 G17 G94\nT1 M6\nS3000 M3\nG0 Z5\nX-20 Y-20\n"
JOB = Job({1: Tool(6.0, flutes=2)}, Box((0.0, 0.0, -10.0), (60.0, 40.0, 0.0)))
CORNERS = [(0, 0), (60, 0), (60, 40), (0, 40), (0, 0)]


def run(*places: tuple[float, float], z: float = -2.0) -> str:
    (x, y), *others = places
    moves = "".join(f"G1 X{x:g} Y{y:g} F300\n" for x, y in others)
    return f"G0 X{x:g} Y{y:g}\nG0 Z1\nG1 Z{z:g} F100\n{moves}G0 Z5\n"


def climb_share(before: str, after: str) -> Obligation:
    texts = (SourceText.of(f"{HEAD}{text}M30\n".encode()) for text in (before, after))
    every = prove(*texts, Mill(), JOB).obligations
    return next(each for each in every if each.name == "climb share")


def outline(z: float = -2.0, *, turned: bool = False) -> str:
    return run(*(CORNERS[::-1] if turned else CORNERS), z=z)


def slot(y: float, *, turned: bool = False, pieces: int = 1) -> str:
    way = [(-5 + 70 * at / pieces, y) for at in range(pieces + 1)]
    return run(*(way[::-1] if turned else way))


def test_a_slot_the_other_way_climbs_on_its_other_side_and_that_is_set_off() -> None:
    # with M3 the outline against the clock is conventional
    before = outline(turned=True) + slot(20)
    assert climb_share(before, outline() + slot(20, turned=True)).holds
    assert not climb_share(outline() + slot(20), outline(turned=True) + slot(20)).holds


@pytest.mark.parametrize("pieces", [1, 30])
@pytest.mark.parametrize("others", [1, 30])
def test_each_move_has_the_spindle_of_its_own_program(pieces: int, others: int) -> None:
    """A first slot with M3, in some pieces or other; with M4 the sides have changed places."""
    first, again = (slot(10, pieces=count) + "M5\nM4\n" for count in (pieces, others))
    outer = run((0, 0), (60, 0))
    back = run((60, 0), (0, 0))
    # along the lower edge the part lies on the left of +X: with M4 that climbs
    found = climb_share(first + outer + slot(30), again + back + slot(30, turned=True))
    assert found.holds, found.figure
    assert not climb_share(first + back + slot(30), again + outer + slot(30)).holds


def test_the_metal_that_turned_to_climb_is_that_of_its_level() -> None:
    """As much turns to climb above as no longer climbs below; the one does not excuse the other."""
    before = outline(-2.0) + outline(-4.0, turned=True)
    found = climb_share(before, outline(-2.0, turned=True) + outline(-4.0))
    assert not found.holds
    # 2 deep, 3 wide inside the edge of 60 by 40 mm (definition)
    assert found.value == pytest.approx(2.0 * (60 * 40 - 54 * 34), rel=0.06)
