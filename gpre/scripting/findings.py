"""What is found in a user's files, and the one exception that a script has to expect."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import numpy as np

from gpre.diagnostics.diagnostic import Diagnostic
from gpre.diagnostics.faults import Fault
from gpre.driver.counting import Counted
from gpre.driver.course import Given
from gpre.geometry.too_dense import CrowdedError
from gpre.report.diagnostics import findings_of, has_errors
from gpre.report.records.findings import (
    Finding,
    fault_record,
    finding_records,
    settings_records,
)
from gpre.report.wording import counted
from gpre.source.files import os_fault, too_dense_fault, too_large_fault
from gpre.source.text import SourceText

OWN_FAULT = 70  # as the commands exit where gpre itself is at fault
FAULTY_PROGRAM = 3
MOST_TOLD = 5  # faults in the text of an exception; its findings have all


class GpreError(Exception):
    """gpre cannot do what was asked for; nothing was written.

    message: what is wrong. help: what to do, "" where nothing is known; it names the options of
    the commands, which are the keyword arguments here. findings: what was found in the file that is
    at fault. status: as the command exits: 2 wrong usage, 3 a fault in a file, 4 not proved, 70 a
    fault of gpre itself.
    """

    def __init__(
        self,
        message: str,
        *,
        help: str = "",  # noqa: A002
        status: int = FAULTY_PROGRAM,
        findings: tuple[Finding, ...] = (),
    ) -> None:
        """Keep all of it; the text of the exception has message, first faults and help."""
        errors = [str(each) for each in findings if each.severity == "error"]
        told = [each for each in errors if message not in each]
        if len(told) > MOST_TOLD:
            told[MOST_TOLD:] = [f"and {counted(len(told) - MOST_TOLD, 'more fault')}"]
        self.message = message
        self.help = help or next((each.help for each in findings if each.help), "")
        super().__init__("\n".join(filter(None, (message, *told, self.help))))
        self.status = status
        self.findings = findings


class WrongTypeError(TypeError):
    """An argument is of a type that cannot be meant: a fault of the script."""


@contextmanager
def told_as_errors() -> Iterator[None]:
    """Let nothing but GpreError out, and nothing be printed on the way."""
    try:
        with np.errstate(all="ignore"):  # of this thread alone, as no filter of warnings is
            yield
    except (GpreError, WrongTypeError):
        raise
    except Fault as fault:
        raise _error(fault) from None
    except CrowdedError:
        raise _error(too_dense_fault()) from None
    except MemoryError:
        raise _error(too_large_fault()) from None
    except OSError as error:
        raise _error(os_fault(error, str(error.filename or "a file"), "read")) from None
    except Exception as error:
        message = f"this is a fault of gpre, not of your program: {type(error).__name__}: {error}"
        advice = "please report it with the program that brought it about"
        raise GpreError(message, help=advice, status=OWN_FAULT) from error


def _error(fault: Fault) -> GpreError:
    return GpreError(
        fault.message,
        help=fault.help,
        status=fault.exit_status,
        findings=fault_record(fault).findings,
    )


def findings_told(
    given: Given, *groups: tuple[SourceText, Sequence[Diagnostic]]
) -> tuple[Finding, ...]:
    """Return what was found in profile and job file, and then in the programs, group by group."""
    found = (each for source, some in groups for each in finding_records(source, some))
    return (*settings_records(given.mill, given.job), *found)


def refuse_faulty(*programs: Counted) -> None:
    """Raise GpreError where a program has faults: no figure and no proof of it can be trusted."""
    for each in programs:
        found = findings_of(each)
        if has_errors(found):
            source = each.program.source
            raise GpreError(
                f"{source.name} has faults",
                help="fix them first",
                findings=finding_records(source, found),
            )
