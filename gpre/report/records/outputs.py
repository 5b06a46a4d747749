"""What each command prints with --json, and its schema."""

from __future__ import annotations

from typing import NamedTuple

from gpre.report.records.certificates import CertificateRecord
from gpre.report.records.comparing import DiffRecord
from gpre.report.records.counting import CountRecord
from gpre.report.records.explaining import CodeRecord, CodesRecord, KeysRecord
from gpre.report.records.findings import FaultRecord
from gpre.report.records.predicting import PredictRecord
from gpre.report.records.proofs import ProveRecord
from gpre.report.records.proposing import JobProposalRecord
from gpre.report.records.rewriting import RewriteRecord
from gpre.report.records.schema import Schema, schema_of


class Output(NamedTuple):
    """The records that a command prints, and those that it writes into files."""

    printed: tuple[type, ...]
    written: tuple[type, ...] = ()


OUTPUTS = {
    "count": Output((CountRecord,)),
    "predict": Output((PredictRecord,)),
    "rewrite": Output((RewriteRecord,), (CertificateRecord,)),
    "prove": Output((ProveRecord,), (CertificateRecord,)),
    "diff": Output((DiffRecord,)),
    "job": Output((JobProposalRecord,)),
    "explain": Output((CodeRecord, CodesRecord, KeysRecord)),
}


def command_schema(command: str) -> Schema:
    """Return the schema of what a command prints with --json: its result, or a fault."""
    output = OUTPUTS[command]
    printed = (*output.printed, FaultRecord)
    return schema_of(f"gpre {command} --json", printed, output.written)
