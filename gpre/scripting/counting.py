"""`gpre.count`: how often each axis of a program turns round, and where."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from gpre.driver.course import count_run
from gpre.report.count import count_axes, stops_early
from gpre.report.diagnostics import all_findings_of
from gpre.report.records.values import line_of, place
from gpre.reversals.reversals import AXES, ReversalKind, Reversals
from gpre.scripting.findings import findings_told, refuse_faulty, told_as_errors
from gpre.scripting.given import AnyMill, AnyProgram, Result, Units, read, settings, source_of


@dataclass(frozen=True)
class AxisReversals:
    """Reversals of one axis: all of them, those while cutting, and all by kind.

    The kinds are `corner`, `quadrant`, `helix`, `join` and `link`.
    """

    total: int
    cutting: int
    by_kind: Mapping[str, int] = field(repr=False)


@dataclass(frozen=True)
class ReversalCounts:
    """Reversals of the three axes."""

    x: AxisReversals
    y: AxisReversals
    z: AxisReversals

    @property
    def total(self) -> int:
        """All of them, X, Y and Z together."""
        return self.x.total + self.y.total + self.z.total

    @property
    def cutting(self) -> int:
        """Those while cutting, X, Y and Z together."""
        return self.x.cutting + self.y.cutting + self.z.cutting


@dataclass(frozen=True)
class ReversalPlace:
    """One reversal. line: from 1. axis: `x`, `y` or `z`. direction: 1 or -1, the new one.

    kind: as in `AxisReversals`. position: mm, X, Y and Z, None where one is not known.
    """

    line: int
    axis: str
    direction: int
    kind: str
    cutting: bool
    position: tuple[float | None, float | None, float | None]


@dataclass(frozen=True, kw_only=True)
class CountResult(Result):
    """What `gpre.count` returns. stops_at_line: the first line that could not be followed."""

    name: str
    blocks: int
    moves: int
    reversals: ReversalCounts
    stops_at_line: int | None
    _columns: Reversals = field(repr=False, compare=False)

    @cached_property
    def places(self) -> tuple[ReversalPlace, ...]:
        """Each reversal with its place, in the order in which they happen."""
        found = self._columns
        return tuple(
            ReversalPlace(
                line=line_of(found.block[row]),
                axis=AXES[int(found.axis[row])],
                direction=int(found.direction[row]),
                kind=ReversalKind(int(found.kind[row])).name.lower(),
                cutting=bool(found.in_cut[row]),
                position=place(found.position[row]),
            )
            for row in range(len(found))
        )


@told_as_errors()
def count(program: AnyProgram, *, mill: AnyMill = None, units: Units | None = None) -> CountResult:
    """Count the reversals of a program, as `gpre count` does.

    program: a path, bytes, or what `read` returns. mill: a path or a `Mill`; None takes your own at
    the default place, else a guess. units: in force before the program states its own. Raises
    GpreError for a fault in a file, and where the program has faults.
    """
    source = source_of(read(program))
    counted, given = count_run(source, settings(mill, None, units))
    refuse_faulty(counted)
    return CountResult(
        mill=given.mill.name or None,
        job=None,
        findings=findings_told(given, (source, all_findings_of(counted))),
        name=source.name,
        blocks=len(counted.program),
        moves=len(counted.motion),
        reversals=reversal_counts(counted.reversals),
        stops_at_line=stops_early(counted.program, counted.motion),
        _columns=counted.reversals,
    )


def reversal_counts(reversals: Reversals) -> ReversalCounts:
    """Count reversals axis by axis."""
    x, y, z = (
        AxisReversals(each.total, each.cutting, each.by_kind)
        for each in count_axes(reversals).values()
    )
    return ReversalCounts(x, y, z)
