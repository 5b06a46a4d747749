"""A mill or a job made in a script, written as its file would be and checked as that is."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from numbers import Real
from typing import Any

from gpre.diagnostics.faults import FileFault
from gpre.mill.job import Job
from gpre.mill.job_file import LoadedJob, read_job
from gpre.mill.mill import Mill
from gpre.mill.profile import DISTANCES, PLANES, TOOL_CHANGE_MOVES, UNITS, LoadedMill, read_profile
from gpre.mill.settings import SettingsFile
from gpre.motion.controller import Controller
from gpre.motion.offsets import SYSTEM_NAMES

_MILL, _JOB = "the mill", "the job"
_KEYS = {"tools": "tool"}  # where the key has another name than the field
_RADIANS = frozenset(("steepest_ramp", "point"))  # the file has degrees
_APPROACH = {1: "+", -1: "-"}
_WORDS: dict[str, dict[Any, str]] = {
    "units": {code: word for word, code in UNITS.items()},
    "plane": {code: word for word, code in PLANES.items()},
    "distance": dict(zip((90, 91), DISTANCES, strict=True)),
    "tool_change_moves": {held: word for word, held in TOOL_CHANGE_MOVES.items()},
    "approach": _APPROACH,
}


def checked_mill(mill: Mill) -> LoadedMill:
    """Return a mill with what a profile would be told; raise FileFault where it would be faulty."""
    try:
        found = read_profile(_file(mill, _MILL)).findings
    except FileFault as fault:
        raise _without_places(fault) from None
    return LoadedMill(mill, findings=tuple(replace(each, span=None) for each in found))


def checked_job(job: Job) -> LoadedJob:
    """Return a job with what a job file would be told; raise FileFault where it would be faulty."""
    try:
        found = read_job(_file(job, _JOB)).findings
    except FileFault as fault:
        raise _without_places(fault) from None
    return LoadedJob(job, findings=tuple(replace(each, span=None) for each in found))


def _file(record: Mill | Job, name: str) -> SettingsFile:
    return SettingsFile.of("\n".join(_lines(record, ())).encode(), name)


def _without_places(fault: FileFault) -> FileFault:
    """Return a fault without the places in a file that nobody has seen."""
    found = tuple(replace(each, span=None) for each in fault.diagnostics)
    return FileFault(fault.message, help=fault.help, name=fault.name, diagnostics=found)


def _lines(record: object, path: tuple[str, ...]) -> Iterator[str]:
    """Yield a record as a table of TOML, and then the tables within it."""
    if path:
        yield f"[{'.'.join(path)}]"
    inner = []
    for key, value in _entries(record):
        if is_dataclass(value) or isinstance(value, Mapping):
            inner.append((key, value))
        else:
            yield f"{json.dumps(key)} = {_value(key, value)}"
    for key, value in inner:
        yield from _lines(value, (*path, json.dumps(key)))


def _entries(record: object) -> Iterator[tuple[str, object]]:
    """Yield the keys of a table and their values; what is None has no key."""
    if isinstance(record, Mapping):
        for number, value in record.items():
            yield _numbered(number, value), value
        return
    assert is_dataclass(record)
    left_out = _unstated(record) if isinstance(record, Controller) else frozenset()
    for each in fields(record):
        value = getattr(record, each.name)
        if value is not None and each.name not in left_out:
            yield _KEYS.get(each.name, each.name), value


def _unstated(controller: Controller) -> frozenset[str]:
    """Return the fields that the file has no key for, or would not have."""
    left_out = {"start_known", "stated", *({"units", "plane", "distance"} - controller.stated)}
    return frozenset(left_out if controller.start_known else left_out | {"start"})


def _numbered(number: object, value: object) -> str:
    """Return the key of a tool, a work system or a tool length."""
    if is_dataclass(value):
        return str(number)
    if isinstance(value, tuple | list):
        return SYSTEM_NAMES.get(number, str(number)) if isinstance(number, int) else str(number)
    return f"H{number}"


def _value(key: str, value: object) -> str:
    """Return a value as TOML has it; what TOML has no place for as a text, which is a fault."""
    words = _WORDS.get(key)
    if words is not None:
        return json.dumps(words.get(value, repr(value)))
    if isinstance(value, bool | str):
        return json.dumps(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Real):
        return repr(math.degrees(value) if key in _RADIANS else float(value))
    if isinstance(value, frozenset | set):
        return f"[{', '.join(_value('', each) for each in sorted(value))}]"
    if isinstance(value, tuple | list):
        return f"[{', '.join(_value('', each) for each in value)}]"
    return json.dumps(repr(value))
