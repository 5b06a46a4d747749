"""What a terminal shows while a command works."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn


@contextmanager
def busy(with_what: str) -> Iterator[Callable[[str], None]]:
    """Show on a terminal what takes so long, and how long; gives what changes the words.

    It is gone when the work is done. Where standard error is no terminal nothing is shown.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    columns = SpinnerColumn("line"), TextColumn("{task.description}"), TimeElapsedColumn()
    console = Console(file=sys.stderr, markup=False, emoji=False)
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task(with_what, total=None)
        yield lambda words: progress.update(task, description=words)
