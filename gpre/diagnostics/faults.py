"""The errors that end a command, each with the exit status it asks for."""

from __future__ import annotations

from gpre.diagnostics.diagnostic import Diagnostic


class Fault(Exception):  # noqa: N818
    """A command cannot go on: `exit_status` and a message for the person at the mill."""

    exit_status = 3

    def __init__(self, message: str, *, help: str = "") -> None:  # noqa: A002
        """Keep the message and the advice that goes with it."""
        super().__init__(message)
        self.message = message
        self.help = help


class UsageFault(Fault):
    """The command was asked for something that cannot be (status 2)."""

    exit_status = 2


class FileFault(Fault):
    """An input file cannot be read or is faulty, or an output cannot be written (status 3).

    `diagnostics` hold the places within the file, if any; their spans are bytes of `data`.
    """

    exit_status = 3

    def __init__(
        self,
        message: str,
        *,
        help: str = "",  # noqa: A002
        name: str = "",
        data: bytes = b"",
        diagnostics: tuple[Diagnostic, ...] = (),
    ) -> None:
        """Keep the file's name and bytes, so that places can be shown."""
        super().__init__(message, help=help)
        self.name = name
        self.data = data
        self.diagnostics = diagnostics


class ProofFault(Fault):
    """A rewritten program could not be proved; nothing was written (status 4)."""

    exit_status = 4
