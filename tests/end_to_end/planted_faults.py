"""Faults planted in gpre's interpreter, and which program the second reading notices each with.

A fault is a change to the source of some modules; gpre is then loaded anew from the changed source,
in this process, and compared with the second reading on the examples. Both of gpre's interpreters,
the scalar one and that of columns, have the fault where both have the rule.

Run by hand it prints the table: `python tests/end_to_end/planted_faults.py`.
"""

from __future__ import annotations

import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType, SimpleNamespace

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parent), str(HERE)]

from reading_examples import EXAMPLES  # noqa: E402
from two_readings import ODD, PLACED, PLAIN, compare, house  # noqa: E402

ARCS, CYCLES, OFFSETS = "gpre.motion.arcs", "gpre.motion.cycles", "gpre.motion.offsets"
GROUPS, COLUMNS = "gpre.motion.groups", "gpre.motion.column_arcs"
VALUES, REFERENCE = "gpre.motion.evaluate", "gpre.motion.reference"
SIGN = "-planar.way if radius < 0.0 else planar.way"
LEVEL = "machine.state.retract == 99 or high < retract"
SET_FIRST = """\
    told = run.program.statements.get(index)
    for one in told.assignments if told is not None else ():
        which = index_of(evaluate(one.parameter, value_of, report))
        assign(run, which or 1, evaluate(one.value, value_of, report))
    values = []
    for word in"""
RANKS = """\
beside.read_text(encoding="utf-8").replace(
            "| product (MULTIPLYING | SLASH) power  -> operation", ""
        ).replace("| sum ADDING product  ", "| sum (ADDING | MULTIPLYING | SLASH) product  ")"""


@dataclass(frozen=True)
class Fault:
    """patches: module, text of its source, and what takes its place."""

    name: str
    patches: tuple[tuple[str, str, str], ...]


def fault(name: str, module: str, old: str, new: str, *others: tuple[str, str, str]) -> Fault:
    return Fault(name, ((module, old, new), *others))


FAULTS = (
    fault("G18 has X before Z", GROUPS, "18: (2, 0, 1)", "18: (0, 2, 1)"),
    fault("G19 has Z before Y", GROUPS, "19: (1, 2, 0)", "19: (2, 1, 0)"),
    fault("I and K of G18 are swapped", GROUPS, '18: ("K", "I")', '18: ("I", "K")'),
    fault(
        *("I and K count from zero", ARCS, "(planar.start[0] + (offsets[0] or 0.0),"),
        "((offsets[0] or 0.0),",
        (COLUMNS, "(0.0 if limits.absolute else from_[0])", "0.0"),
    ),
    fault(
        *("R turns the long way", ARCS, SIGN, "planar.way if radius < 0.0 else -planar.way"),
        (COLUMNS, "height_share(half, radius, way)", "height_share(half, -radius, way)"),
    ),
    fault(
        *(
            "a whole circle turns the other way",
            ARCS,
            "sweep = way * TURN\n",
            "sweep = -way * TURN\n",
        ),
        (COLUMNS, "sweep[full] = way[full] * TURN", "sweep[full] = -way[full] * TURN"),
    ),
    fault(
        *("the feed of a helix is that of its circle", ARCS),
        *("math.hypot(reach * sweep, end[normal] - start[normal])", "abs(reach * sweep)"),
    ),
    fault("a P word of an arc is one turn more", ARCS, "return turns - 1", "return turns"),
    fault("G98 and G99 are swapped", CYCLES, LEVEL, LEVEL.replace("99", "98")),
    fault("no way up to R at first", CYCLES, "if level < retract:", "if level > 1e9:"),
    fault(
        *("R of G91 is a place", CYCLES, 'run.machine.position[normal] + words["R"]'),
        'words["R"]',
    ),
    fault(
        *("L makes a hole more", CYCLES, "for _ in range(holes):"),
        "for _ in range(holes + (holes > 1)):",
    ),
    fault(
        *("a peck comes back to its last depth", CYCLES),
        *("hole.rapid(min(depth + above, hole.clear), Role.DOWN)", "hole.rapid(depth, Role.DOWN)"),
    ),
    fault("Q stays in inches", CYCLES, 'frozenset("RQIJKXYZ")', 'frozenset("RIJKXYZ")'),
    fault("G84 leaves M4 in force", CYCLES, "    hole.spindle(1)\n", "    hole.spindle(-1)\n"),
    fault("SIN takes radians", VALUES, "math.sin(math.radians(value))", "math.sin(value)"),
    fault(
        *("ATAN has two quadrants", VALUES, "math.atan2(values[0], other)"),
        "math.atan(values[0] / other)",
    ),
    fault("FIX goes towards zero", VALUES, "float(math.floor(value))", "float(math.trunc(value))"),
    fault("MOD keeps its sign", VALUES, "rest + abs(right) if rest < 0.0 else rest", "rest"),
    fault("XOR is OR", VALUES, "(left != 0.0) != (right != 0.0)", "left != 0.0 or right != 0.0"),
    fault(
        *("products come no sooner than sums", "gpre.program.grammar"),
        *('beside.read_text(encoding="utf-8")', RANKS),
    ),
    fault(
        *("# is set before it is read", REFERENCE, "    values = []\n    for word in", SET_FIRST),
    ),
    fault(
        *("F counts in the units before it", REFERENCE),
        *("    (units, (Group.UNITS,)),  #", "    #"),
        (REFERENCE, '    (feed, ("F",)),\n', '    (feed, ("F",)),\n    (units, (Group.UNITS,)),\n'),
    ),
    fault(
        *("the zero is chosen after the moves of G10, G92 and G28", REFERENCE),
        *("    (select_system, (Group.SYSTEM,)),\n", ""),
        (
            *(REFERENCE, "    (_non_modal, (Group.NON_MODAL,)),\n"),
            "    (_non_modal, (Group.NON_MODAL,)),\n    (select_system, (Group.SYSTEM,)),\n",
        ),
    ),
    fault("G92 does not add up", OFFSETS, "machine.offset[axis] +=", "machine.offset[axis] ="),
    fault("G92.2 forgets as G92.1 does", OFFSETS, "code in {921, 923}", "code in {921, 922, 923}"),
    fault("G10 L20 sets as L2 does", OFFSETS, "if self.kind == 2:", "if self.kind in {2, 20}:"),
    fault("a longer tool lowers the zero", OFFSETS, "else was - now", "else now - was"),
    fault(
        *("G28 goes straight home", OFFSETS, "    if named:\n        run.move("),
        "    if not named:\n        run.move(",
    ),
    fault(
        *("G53 counts from the program's zero", "gpre.motion.motion_codes"),
        *("machine.in_program(axis, value)", "value"),
    ),
    fault("an inch is 25 mm", "gpre.motion.state", "MM_PER_INCH = 25.4", "MM_PER_INCH = 25.0"),
    fault(
        *("G93 is a feed", "gpre.motion.run", "return number * length if length > 0.0"),
        "return number if length > 0.0",
    ),
    fault(
        *("M98 runs once, whatever L", "gpre.motion.subprograms"),
        *("times = 1 if repeats is None else repeats", "times = 1 if repeats else repeats or 1"),
    ),
    fault(
        *("/ blocks always run", REFERENCE, "flags & _DELETE and run.controller.block_delete"),
        "False",
    ),
    fault(
        *("the origins of systems stand ten apart", "gpre.motion.parameters"),
        *("divmod(index - ORIGINS, 20)", "divmod(index - ORIGINS, 10)"),
    ),
    fault(
        *("M9 stops the flood alone", "gpre.motion.modes"),
        *('{"mist": False, "flood": False}', '{"flood": False}'),
    ),
)


class _Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads the modules of a fault from their changed source."""

    def __init__(self, of: Fault) -> None:
        self.sources: dict[str, str] = {}
        self.loaded: set[str] = set()
        for module, old, new in of.patches:
            source = self.sources.get(module) or self.source(module)
            if source.count(old) < 1:
                raise ValueError(f"{of.name}: {old!r} is not in {module}")
            self.sources[module] = source.replace(old, new)

    def source(self, module: str) -> str:
        return self.path(module).read_text(encoding="utf-8")

    def path(self, module: str) -> Path:
        return HERE.parents[1].joinpath(*module.split(".")).with_suffix(".py")

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name not in self.sources:
            return None
        return importlib.util.spec_from_file_location(name, self.path(name), loader=self)

    def exec_module(self, module: ModuleType) -> None:
        self.loaded.add(module.__name__)
        exec(compile(self.sources[module.__name__], module.__file__ or "", "exec"), module.__dict__)


@contextmanager
def planted(of: Fault) -> Iterator[SimpleNamespace]:
    """Load gpre anew with a fault in it; afterwards all is as it was."""
    finder = _Finder(of)
    kept = {name: sys.modules.pop(name) for name in list(sys.modules) if _of_gpre(name)}
    sys.meta_path.insert(0, finder)
    try:
        yield house()
        if finder.loaded != set(finder.sources):
            raise ValueError(f"{of.name}: {set(finder.sources) - finder.loaded} was not loaded")
    finally:
        sys.meta_path.remove(finder)
        for name in [name for name in sys.modules if _of_gpre(name)]:
            del sys.modules[name]
        sys.modules.update(kept)


def _of_gpre(name: str) -> bool:
    return name == "gpre" or name.startswith("gpre.")


def noticed(of: Fault) -> tuple[str, str]:
    """Return the first example with which the second reading notices a fault, and what it says."""
    with planted(of) as gpre:
        for name, text in EXAMPLES.items():
            for setup in (PLACED, ODD) if "/" in text else (PLACED,):
                found = compare(text.encode(), setup, gpre, most=1)
                if found.said:
                    return name, found.said[0]
        for name, text in EXAMPLES.items():
            found = compare(text.encode(), PLAIN, gpre, most=1)
            if found.said:
                return name, found.said[0]
    return "", ""


def table() -> list[tuple[str, str, str]]:
    """Return all faults with what noticed them."""
    return [(each.name, *noticed(each)) for each in FAULTS]


def main() -> None:
    """Print the table."""
    for name, by, said in table():
        print(f"{name:<54} {by or 'NOT NOTICED':<28} {said}")


if __name__ == "__main__":
    main()
