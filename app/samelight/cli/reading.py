"""The progress of reading a sequence, where somebody watches."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from samelight.session import Progress


@contextmanager
def watched() -> Iterator[Progress | None]:
    """What `open_session` takes as progress: a bar on stderr when that is a terminal, nothing otherwise."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("reading"), BarColumn(), MofNCompleteColumn())
    with Bar(*columns, console=Console(file=sys.stderr), transient=True) as bar:
        task = bar.add_task("reading", total=None)
        yield lambda done, total, name: bar.update(task, completed=done, total=total)
