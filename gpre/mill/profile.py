"""Reads a mill profile: a TOML file that says how one mill moves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from platformdirs import user_config_path

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.mill.mill import Mill
from gpre.motion.controller import UNITS
from gpre.motion.not_stated import SETTINGS
from gpre.settings.keys import read_record
from gpre.settings.table import Settings
from gpre.settings.toml_file import SettingsFile


@dataclass(frozen=True)
class LoadedMill:
    """A mill, its file ("" for the guess), the file's bytes, and what was found there.

    by_option: keys of [controller] that an option of the command states in the file's place.
    """

    mill: Mill
    name: str = ""
    data: bytes = b""
    findings: tuple[Diagnostic, ...] = ()
    by_option: frozenset[str] = frozenset()


def load_mill(path: Path | None = None) -> Mill:
    """Read a profile, for None the user's own; raise FileFault for a faulty one.

    Where neither is there, give a cautious guess.
    """
    return find_mill(path).mill


def default_place() -> Path:
    """Return the place where the user's own profile is looked for."""
    return user_config_path("gpre") / "mill.toml"


def find_mill(path: Path | None = None) -> LoadedMill:
    """Read a profile as `load_mill` does, and say what was found on the way."""
    if path is None:
        path = default_place()
        if not path.is_file():
            note = Diagnostic(
                "MIL508",
                "no mill profile: a guess of 0.1 mm of lost motion is used",
                help="copy samples/mill.toml, put your mill's values in, and give --mill FILE, "
                f"or save it as {path}",
            )
            return LoadedMill(Mill(), findings=(note,))
    return read_profile(SettingsFile.read(str(path)))


def with_units(loaded: LoadedMill, units: str | None) -> LoadedMill:
    """Put the option --units over a profile: `mm` or `inch`; None leaves the profile as it is.

    It says what is in force before the program states its units, and settles that.
    """
    if units is None:
        return loaded
    controller = loaded.mill.controller
    code = UNITS[units]
    findings = loaded.findings
    if "units" in controller.stated and controller.units != code:
        message = f"--units {units} counts, not the units of the profile"
        findings = (*findings, Diagnostic("MIL516", message))
    settled = replace(controller, units=code, stated=controller.stated | {"units"})
    mill = replace(loaded.mill, controller=settled)
    return replace(loaded, mill=mill, findings=findings, by_option=frozenset(("units",)))


def read_profile(file: SettingsFile) -> LoadedMill:
    """Check every key of a profile; raise FileFault with all faults at their places."""
    mill = read_record(Settings.root(file), Mill)
    findings = file.close()
    assert mill is not None  # no key of a profile must be there
    stated = file.values.get("controller", {})
    assert isinstance(stated, dict)
    controller = replace(
        mill.controller,
        start_known="start" in stated,
        stated=frozenset(each for each in SETTINGS if each in stated),
    )
    return LoadedMill(replace(mill, controller=controller), file.name, file.data, findings)
