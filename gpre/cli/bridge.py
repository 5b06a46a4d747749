"""Runs a command and sees to it that it ends with words and a status, whatever happens."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress

import click

from gpre.cli.streams import drop_stream, program_goes_to_output, replace_closed_error
from gpre.diagnostics.faults import Fault, UsageFault
from gpre.geometry.too_dense import CrowdedError

INTERRUPTED = 130  # 128 + SIGINT, as shells have it
PIPE_CLOSED = 141  # 128 + SIGPIPE
FAULTY = 3  # as every fault of an input file
OWN_FAULT = 70  # a fault of gpre itself (EX_SOFTWARE of sysexits.h)


def run(command: click.Command, arguments: Sequence[str]) -> int:
    """Run a command; give its exit status. Nothing but KeyboardInterrupt's kin gets past it."""
    if sys.stdout is None:
        return _no_output()
    replace_closed_error(arguments)
    try:
        try:
            status = _run(command, arguments)
        except MemoryError:
            status = None
        if status is None:  # behind the handler, where what the error held on to is free again
            status = _too_large(arguments)
        sys.stdout.flush()
        sys.stderr.flush()
    except BrokenPipeError:
        _drop_streams()
        return PIPE_CLOSED
    except OSError as error:  # the streams themselves: a full disk behind a redirection
        return _stream_fault(error)
    return status


def _no_output() -> int:
    """Say that standard output is closed, where there is a stream to say it on."""
    from gpre.cli.console import show
    from gpre.report.fault import render_fault
    from gpre.source.files import closed_fault

    fault = closed_fault("standard output", "write", "nothing was read and nothing was written")
    if sys.stderr is not None:
        with suppress(OSError):
            show(render_fault(fault), talk=True)
            sys.stderr.flush()
    _drop_streams()
    return fault.exit_status


def _run(command: click.Command, arguments: Sequence[str]) -> int:
    as_json = "--json" in arguments
    try:
        with command.make_context("gpre", list(arguments)) as context:
            result = command.invoke(context)
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.ClickException as error:
        if not as_json:
            error.show()
            return 2
        return _show_fault(UsageFault(error.format_message()), arguments, as_json=True)
    except Fault as fault:
        return _show_fault(fault, arguments, as_json=as_json)
    except (KeyboardInterrupt, click.Abort):
        return INTERRUPTED
    except (OSError, MemoryError):
        raise
    except CrowdedError:
        from gpre.source.files import too_dense_fault

        return _show_fault(too_dense_fault(), arguments, as_json=as_json)
    except Exception as error:  # noqa: BLE001
        return _own_fault(error)
    return result if isinstance(result, int) else 0


def _too_large(arguments: Sequence[str]) -> int:
    """Say that the memory does not suffice; in plain words alone where it is very short."""
    from gpre.source.files import CUT_UP, TOO_LARGE, too_large_fault

    try:
        return _show_fault(too_large_fault(), arguments, as_json="--json" in arguments)
    except MemoryError:
        sys.stderr.write(f"FAULT    {TOO_LARGE} (FIL008)\n  Do     {CUT_UP}\n")
        return FAULTY


def _show_fault(fault: Fault, arguments: Sequence[str], *, as_json: bool) -> int:
    from gpre.cli.console import show, write_text
    from gpre.report.fault import render_fault
    from gpre.report.records.encode import json_text
    from gpre.report.records.findings import fault_record

    if as_json:
        write_text(json_text(fault_record(fault)), talk=program_goes_to_output(arguments))
    else:
        show(render_fault(fault), talk=True)
    return fault.exit_status


def _stream_fault(error: OSError) -> int:
    from gpre.cli.console import show
    from gpre.report.fault import render_fault
    from gpre.source.files import os_fault

    fault = os_fault(error, error.filename or "standard output", "write")
    with suppress(OSError):
        show(render_fault(fault), talk=True)
    _drop_streams()
    return fault.exit_status


def _own_fault(error: Exception) -> int:
    """Say that gpre is at fault, and where, in few words; nothing has been written."""
    from gpre.cli.console import write_text
    from gpre.report.wording import visible

    frame = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{os.path.basename(frame.filename)}:{frame.lineno}"  # noqa: PTH119
    said = visible(" ".join(str(error).split()))[:200]
    write_text(
        "FAULT    this is a fault of gpre, not of your program; no program was written.\n"
        f"         {type(error).__name__} at {place}, in {frame.name}: {said}\n"
        "  Do     please report it with the program that brought it about\n",
        talk=True,
    )
    return OWN_FAULT


def _drop_streams() -> None:
    """Send what is still buffered nowhere, so that leaving does not fail again."""
    for stream in (sys.stdout, sys.stderr):
        drop_stream(stream)
