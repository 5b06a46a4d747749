"""What the standard library has elsewhere and not on Windows, as typeshed tells it.

typeshed (the types of the standard library that come with mypy) has each name that depends on the
system under a test of `sys.platform`. Reading its files for two systems tells what one of them
lacks.
"""

from __future__ import annotations

import ast
import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path

MODULES = ("os", "signal", "socket", "select", "time", "errno", "mmap", "shutil")


def typeshed() -> Path:
    """Return the folder of the standard library's types."""
    found = importlib.util.find_spec("mypy")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "typeshed" / "stdlib"


def _holds(test: ast.expr, platform: str) -> bool:
    """Return what a condition of a stub file is on a system; raise ValueError where it is odd."""
    match test:
        case ast.BoolOp(ast.And(), parts):
            return all(_holds(part, platform) for part in parts)
        case ast.BoolOp(ast.Or(), parts):
            return any(_holds(part, platform) for part in parts)
        case ast.UnaryOp(ast.Not(), inner):
            return not _holds(inner, platform)
    known = {"sys": _System(platform), "TYPE_CHECKING": True}
    return bool(eval(compile(ast.Expression(test), "stub", "eval"), {"__builtins__": {}}, known))


class _System:
    """What a stub file may ask of `sys`."""

    def __init__(self, platform: str) -> None:
        self.platform = platform
        self.version_info = sys.version_info


def _names(body: list[ast.stmt], platform: str) -> Iterator[str]:
    """Yield the names that statements define; imports are no definitions."""
    for each in body:
        match each:
            case ast.If():
                yield from _names(
                    each.body if _holds(each.test, platform) else each.orelse, platform
                )
            case ast.FunctionDef(name=name) | ast.ClassDef(name=name):
                yield name
            case ast.AnnAssign(target=ast.Name(id=name)):
                yield name
            case ast.Assign(targets=targets):
                yield from (target.id for target in targets if isinstance(target, ast.Name))
            case _:
                pass


def defined(module: str, platform: str) -> set[str]:
    """Return the names that a module of the standard library defines on a system, but for _x."""
    folder = typeshed()
    file = folder / module / "__init__.pyi"
    if not file.exists():
        file = folder / f"{module}.pyi"
    body = ast.parse(file.read_text(encoding="utf-8")).body
    return {name for name in _names(body, platform) if not name.startswith("_")}


def lacking_names(platform: str = "win32") -> list[str]:
    """Return `module.name` of all that Linux has in the modules above and a system has not."""
    return [
        f"{module}.{name}"
        for module in MODULES
        for name in sorted(defined(module, "linux") - defined(module, platform))
    ]


def lacking_modules(platform: str = "win32") -> list[str]:
    """Return the modules that define something on Linux and nothing at all on a system."""
    return [
        file.stem
        for file in sorted(typeshed().glob("*.pyi"))
        if not file.stem.startswith("_")
        and defined(file.stem, "linux")
        and not defined(file.stem, platform)
    ]
