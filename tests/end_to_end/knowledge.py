"""States of knowledge about a mill: what its profile tells, for the proof and for the own mills."""

from __future__ import annotations

from dataclasses import dataclass, replace

from own_clear import Stock
from own_mills import Known

from gpre.mill.job import Job
from gpre.mill.mill import Mill

ORIGINS = {
    1: (120.0, 60.0, -190.0), 2: (230.5, 58.25, -187.5), 3: (80.0, 90.0, -210.0),
    4: (310.0, 40.0, -195.0), 5: (60.0, 20.0, -200.0), 6: (200.0, 120.0, -205.0),
}  # fmt: skip
LENGTHS = {1: 61.25, 2: 84.5, 3: 47.75, 4: 102.0, 5: 73.5, 6: 55.0, 7: 91.25, 8: 66.0}
HOME, SECOND_HOME = (0.0, 0.0, 150.0), (400.0, 180.0, 150.0)
_SYSTEMS = {7: (10.0, 10.0, -200.0), 8: (20.0, 20.0, -200.0), 9: (30.0, 30.0, -200.0)}


@dataclass(frozen=True)
class Knowledge:
    """name: `nothing`, `one origin` or `all`. mill: what gpre is told. known: what the judge is."""

    name: str
    mill: Mill
    known: Known


def _told(mill: Mill, **keys: object) -> Mill:
    """Put keys into the profile of a mill."""
    return replace(mill, controller=replace(mill.controller, **keys))  # type: ignore[arg-type]


def stock_of(job: Job) -> Stock | None:
    """Return the stock and the tools of a job as the judge takes them; None where none is named."""
    if job.stock is None:
        return None
    diameters = {number: tool.diameter for number, tool in job.tools.items()}
    ramps = {
        number: tool.max_ramp_angle
        for number, tool in job.tools.items()
        if tool.max_ramp_angle is not None
    }
    return Stock(job.stock.min, job.stock.max, diameters, ramps)


def states(mill: Mill | None = None) -> tuple[Knowledge, ...]:
    """Return the three states for a mill; of its controller only the rest is kept."""
    bare = _told(
        mill or Mill(), origins={}, home=None, second_home=None, lengths={},
        tool_change_moves="all", stated=frozenset(),
    )  # fmt: skip
    one = {1: ORIGINS[1]}
    every = {**ORIGINS, **_SYSTEMS}
    told = _told(
        bare, origins=every, lengths=LENGTHS, home=HOME, second_home=SECOND_HOME,
        tool_change_moves="none", stated=frozenset({"units", "plane", "distance"}),
    )  # fmt: skip
    return (
        Knowledge("nothing", bare, Known()),
        Knowledge("one origin", _told(bare, origins=one), Known(origins=one)),
        Knowledge(
            "all",
            told,
            Known(every, LENGTHS, HOME, SECOND_HOME, 21, 90, 17, "none", all_home=False),
        ),
    )


def of_mill(mill: Mill) -> Knowledge:
    """Return what the profile of a mill tells."""
    told = mill.controller
    known = Known(
        told.origins,
        told.lengths,
        told.home,
        told.second_home,
        told.units if "units" in told.stated else None,
        told.distance if "distance" in told.stated else None,
        told.plane if "plane" in told.stated else None,
        told.tool_change_moves,
        all_home=told.g28_moves == "all",
    )
    return Knowledge("its own profile", mill, known)
