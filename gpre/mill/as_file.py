"""A mill or a job made in a script, written as its file would be and checked as that is."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import FileFault
from gpre.mill.job import Job
from gpre.mill.job_file import LoadedJob, read_job
from gpre.mill.mill import Mill
from gpre.mill.profile import LoadedMill, read_profile
from gpre.motion.controller import Controller
from gpre.motion.not_stated import SETTINGS
from gpre.settings.keys import Numbered, Section, keys_of
from gpre.settings.toml_file import SettingsFile
from gpre.settings.values import Setting


def checked_mill(mill: Mill) -> LoadedMill:
    """Return a mill with what a profile would be told; raise FileFault where it would be faulty."""
    return LoadedMill(mill, findings=_told(read_profile, mill, "the mill"))


def checked_job(job: Job) -> LoadedJob:
    """Return a job with what a job file would be told; raise FileFault where it would be faulty."""
    return LoadedJob(job, findings=_told(read_job, job, "the job"))


def _told(
    read: Callable[[SettingsFile], LoadedMill | LoadedJob], record: Mill | Job, name: str
) -> tuple[Diagnostic, ...]:
    """Return what is found in the file of a record; raise FileFault where that would be faulty."""
    try:
        return _without_places(read(_file(record, name)).findings)
    except FileFault as fault:
        found = _without_places(fault.diagnostics)
        raise FileFault(
            fault.message, help=fault.help, name=fault.name, diagnostics=found
        ) from None


def _file(record: Mill | Job, name: str) -> SettingsFile:
    return SettingsFile.of("\n".join(_lines(Section(type(record)), record)).encode(), name)


def _without_places(findings: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Return findings without their places in a file that nobody has seen."""
    return tuple(replace(each, span=None) for each in findings)


def _lines(takes: Setting, value: Any, path: tuple[str, ...] = ()) -> Iterator[str]:  # noqa: ANN401
    """Yield a value as a table of TOML, and then the tables within it."""
    if path:
        yield f"[{'.'.join(path)}]"
    inner = []
    for name, kind, each in _entries(takes, value):
        if _is_table(kind, each):
            inner.append((kind, each, (*path, json.dumps(name))))
        else:
            yield f"{json.dumps(name)} = {kind.shown(each)}"
    for table in inner:
        yield from _lines(*table)


def _is_table(takes: Setting, value: object) -> bool:
    """Return whether a value can be written as the table that is asked for."""
    if isinstance(takes, Section):
        return isinstance(value, takes.record)
    return isinstance(takes, Numbered) and isinstance(value, Mapping)


def _entries(takes: Setting, value: Any) -> Iterator[tuple[str, Setting, object]]:  # noqa: ANN401
    """Yield the keys of a table, what they take, and their values; those that it leaves out not."""
    if isinstance(takes, Numbered):
        for number, each in value.items():
            yield takes.name_of(number), takes.item, each
        return
    assert isinstance(takes, Section)
    left_out = _unstated(value) if isinstance(value, Controller) else frozenset()
    for name, field, told in keys_of(takes.record):
        each = getattr(value, field.name)
        if name not in left_out and not (each is None and field.default is None):
            yield name, told.takes, each


def _unstated(controller: Controller) -> frozenset[str]:
    """Return the keys that the file of a controller would not have."""
    start = () if controller.start_known else ("start",)
    return frozenset((*start, *(each for each in SETTINGS if each not in controller.stated)))
