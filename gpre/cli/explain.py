"""`gpre explain`: what a code means and what to do about it."""

from __future__ import annotations

import click

from gpre.cli.options import json_option


@click.command()
@click.argument("code", metavar="CODE", required=False)
@json_option
def explain(code: str | None, as_json: bool) -> int:
    """Explain a code such as INT304; without CODE, list them all."""
    from difflib import get_close_matches

    from gpre.cli.console import show, write_text
    from gpre.diagnostics.codes import TABLE
    from gpre.diagnostics.faults import UsageFault
    from gpre.report.explain import explain as explained
    from gpre.report.explain import explain_json, list_codes
    from gpre.report.machine import json_text

    if code is None:
        if as_json:
            codes = [explain_json(TABLE[each]) for each in sorted(TABLE)]
            write_text(json_text({"codes": codes}))
        else:
            show(list_codes())
        return 0
    entry = TABLE.get(code.strip().strip("[]").upper())
    if entry is None:
        close = get_close_matches(code.upper(), TABLE, 3, 0.6)
        advice = f"did you mean {', '.join(close)}?" if close else "gpre explain lists all codes"
        raise UsageFault(f"there is no code {code}", help=advice)
    if as_json:
        write_text(json_text(explain_json(entry)))
    else:
        show(explained(entry))
    return 0
