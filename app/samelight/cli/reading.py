"""Opening a sequence from the command line, with its progress where somebody watches."""

from __future__ import annotations

import sys
from pathlib import Path

from samelight.session import Session, open_session


def open_watched(folder: Path) -> Session:
    """`open_session`, with a bar on stderr when that is a terminal."""
    if sys.stderr is None or not sys.stderr.isatty():
        return open_session(folder)
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    console = Console(file=sys.stderr)
    columns = (TextColumn("reading"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task("reading", total=None)
        return open_session(
            folder, progress=lambda done, total, name: progress.update(task, completed=done, total=total)
        )
