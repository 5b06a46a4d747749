"""Makes a Linux machine look like Windows to gpre and its tests; put its folder on PYTHONPATH.

Python runs it at the start of each process. The modules of gpre and of tests/ then see a `sys` of
Windows, an `os` and a `signal` without what Windows lacks (GPRE_LACKING_NAMES, as module.name), and
cannot import GPRE_LACKING_MODULES; nobody sees /proc, /sys and /dev. Files that are opened as text
are in a code page, where nothing else is said, and get lines that end with CR LF, as standard
output does. Libraries and the standard library see the machine as it is:
they have parts of their own for Windows, which do not run elsewhere.

Paths keep their slashes, and files can be removed while they are open: these two differ on Windows
and are not shown here.
"""

from __future__ import annotations

import builtins
import io
import os
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
OURS = (f"{ROOT / 'gpre'}{os.sep}", f"{ROOT / 'tests'}{os.sep}")
CODE_PAGE = "cp1252"  # Western Europe and America
HIDDEN = ("/proc", "/sys", "/dev")
SHOWN = (os.devnull, "/dev/tty", "/dev/urandom", "/dev/shm/sem.")
LACKING: dict[str, set[str]] = {"sys": set(), "os": set()}
for _each in os.environ.get("GPRE_LACKING_NAMES", "").split():
    _module, _, _name = _each.partition(".")
    LACKING.setdefault(_module, set()).add(_name)
NO_MODULES = frozenset(os.environ.get("GPRE_LACKING_MODULES", "").split())
OTHER = {"sys": {"platform": "win32"}, "os": {"name": "nt"}}


class Narrowed:
    """A module without some of its names; what is set in it is set in the module itself."""

    __slots__ = ("_whole",)
    _whole: ModuleType

    def __init__(self, whole: ModuleType) -> None:
        object.__setattr__(self, "_whole", whole)

    @property
    def __dict__(self) -> dict[str, Any]:  # type: ignore[override]
        return vars(self._whole)

    def __getattr__(self, name: str) -> Any:
        module = self._whole.__name__
        if name in LACKING[module]:
            raise AttributeError(f"module {module!r} has no attribute {name!r} on Windows")
        return OTHER.get(module, {}).get(name) or getattr(self._whole, name)

    def __setattr__(self, name: str, value: object) -> None:
        setattr(self._whole, name, value)

    def __delattr__(self, name: str) -> None:
        delattr(self._whole, name)

    def __dir__(self) -> list[str]:
        return [name for name in dir(self._whole) if name not in LACKING[self._whole.__name__]]


NARROWED: dict[str, Narrowed] = {}
_import = builtins.__import__


def _is_ours(names: dict[str, Any] | None) -> bool:
    """Return whether a module is one of gpre's or of the tests' (or a script given with -c)."""
    if not names:
        return False
    file = names.get("__file__")
    if file is None:
        return names.get("__name__") == "__main__"
    return str(file).startswith(OURS) and file != __file__


def _import_for(
    name: str,
    globals: dict[str, Any] | None = None,  # noqa: A002  (as __import__ has it)
    locals: dict[str, Any] | None = None,  # noqa: A002
    fromlist: tuple[str, ...] | None = (),
    level: int = 0,
) -> Any:
    """Import as `import` does; gpre and its tests get what there is on Windows."""
    if level == 0 and _is_ours(globals):
        if name in NO_MODULES:
            raise ModuleNotFoundError(f"No module named {name!r} on Windows", name=name)
        if name in LACKING:
            return NARROWED.setdefault(name, Narrowed(_import(name)))
    return _import(name, globals, locals, fromlist, level)


def _is_hidden(place: object) -> bool:
    if not isinstance(place, str | bytes | os.PathLike):
        return False
    text = os.path.abspath(os.fsdecode(os.fspath(place)))  # noqa: PTH100
    return text.startswith(HIDDEN) and not text.startswith(SHOWN)


def _hiding(look: Callable[..., Any]) -> Callable[..., Any]:
    def looked(path: Any, *given: Any, **more: Any) -> Any:
        if _is_hidden(path):
            raise FileNotFoundError(2, "No such file or directory", path)
        return look(path, *given, **more)

    return looked


def _hide_places() -> None:
    """Hide what Linux has of itself in files."""
    for name in ("stat", "lstat", "open", "listdir", "scandir"):
        whole = getattr(os, name)
        hiding = _hiding(whole)
        for kind in (os.supports_dir_fd, os.supports_fd, os.supports_follow_symlinks):
            if whole in kind:
                kind.add(hiding)
        setattr(os, name, hiding)
    _open = io.open

    def open_as_there(file: Any, mode: str = "r", *given: Any, **more: Any) -> Any:
        if _is_hidden(file):
            raise FileNotFoundError(2, "No such file or directory", file)
        if "b" not in mode:
            if len(given) < 2 and more.get("encoding") in (None, "locale"):
                more["encoding"] = CODE_PAGE
            if len(given) < 4 and "newline" not in more and not set(mode) & set("r+"):
                more["newline"] = "\r\n"
        return _open(file, mode, *given, **more)

    io.open = open_as_there
    builtins.open = open_as_there


_hide_places()
builtins.__import__ = _import_for
for _stream in (sys.stdout, sys.stderr):
    if isinstance(_stream, io.TextIOWrapper):
        _stream.reconfigure(newline="\r\n")
