"""`gpre explain`: what a code means and what to do about it; what a key of a file means."""

from __future__ import annotations

import click

from gpre.cli.options import json_option


@click.command()
@click.argument("code", metavar="CODE|KEY", required=False)
@json_option
def explain(code: str | None, as_json: bool) -> int:
    """Explain a code such as INT304 or a key such as max_ramp_angle.

    Without either, list all codes. Keys are those of the mill profile and the job file.
    """
    # no course of a command (cli/course.py) here: there is no program, mill or job to find, nothing
    # is found in one, no file is written, and the exit status is 0 or that of wrong usage
    from difflib import get_close_matches

    from gpre.cli.console import show, write_text
    from gpre.diagnostics.codes import TABLE
    from gpre.diagnostics.faults import UsageFault
    from gpre.report.explain import explain as explained
    from gpre.report.explain import list_codes
    from gpre.report.keys import explain_keys, key_rows, keys_named
    from gpre.report.records.encode import json_text
    from gpre.report.records.explaining import code_record, codes_record, keys_record

    if code is None:
        if as_json:
            write_text(json_text(codes_record()))
        else:
            show(list_codes())
        return 0
    entry = TABLE.get(code.strip().strip("[]").upper())
    if entry is None:
        keys = keys_named(code)
        if not keys:
            known = (*TABLE, *dict.fromkeys(row.name for row in key_rows()))
            close = get_close_matches(code.upper(), known, 3, 0.6) or get_close_matches(code, known)
            advice = (
                f"did you mean {', '.join(close)}?" if close else "gpre explain lists all codes"
            )
            raise UsageFault(f"there is no code and no key {code}", help=advice)
        if as_json:
            write_text(json_text(keys_record(keys)))
        else:
            show(explain_keys(keys))
    elif as_json:
        write_text(json_text(code_record(entry)))
    else:
        show(explained(entry))
    return 0
