"""The certificate that `gpre prove` and `gpre rewrite` write on request."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from gpre.diagnostics.faults import UsageFault
from gpre.driver.course import Given
from gpre.driver.output import refuse_same_file, write_program
from gpre.driver.own_files import refuse_foreign_certificate
from gpre.driver.proving import Proved
from gpre.report.certificate import Certificate
from gpre.report.records.certificates import certificate_bytes
from gpre.source.files import STANDARD_INPUT


def refuse_certificate(
    name: str, others: Iterable[tuple[str, str]], *, force: bool | None = None
) -> None:
    """Raise UsageFault where a certificate would go over another file.

    others: names of files, and what they are. force: it may go over what is no certificate; None
    where the command has no such option.
    """
    if name in {STANDARD_INPUT, ""}:
        raise UsageFault("a certificate is a file", help="name one: --certificate FILE")
    for other, what in others:
        if other:
            refuse_same_file(other, name, what, "the certificate")
    if not force:
        more = "" if force is None else ", or add --force to write over this file"
        refuse_foreign_certificate(name, f"name another file{more}")


def write_certificate(name: str, proved: Proved, given: Given, names: tuple[str, str]) -> None:
    """Write a certificate, whole or not at all; names: of the two programs."""
    date = datetime.now().astimezone().isoformat(" ", "seconds")
    certificate = Certificate(proved, given.mill, given.job, date, *names)
    write_program(certificate_bytes(certificate, name), name)
